//! The clocks of two loggers seem to be apart.

use super::logger_missing::whole;
use plant::Logger;
use trace::{Definition, Duration, FigureKind, Instant, Observation, Rank, Role, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "loggers_apart",
    title: "clocks of two loggers apart",
    rank: Rank::Close,
    figures: &[("text", FigureKind::Word), ("channel", FigureKind::Word), ("by", FigureKind::Time), ("time", FigureKind::Time)],
    sentence: "The {channel} that two loggers record changes together if the clock of the logger \
               \"{text}\"[ is {by} ahead, beyond what the plant file says][ is {time} behind, beyond what \
               the plant file says]. This is a suggestion, and nothing was set by it: compare the clocks, \
               then correct them or clock_ahead or clock_behind in the plant file.",
    about: &[],
    why: "Where the clocks of two loggers differ, readings of different moments are taken for \
          those of one.",
    what_to_do: "Compare the clocks. Set them, or state the difference in the plant file, and read \
                 the record again.",
    source: "Holdtrace's own check (method, section 3)",
};

/// Of a logger whose clock seems to be ahead by so many milliseconds, by what a channel shows.
pub(crate) fn observation(
    logger: &Logger,
    (role, by): (Role, i64),
    rows: &[Instant],
    at: SourcePosition,
) -> Observation {
    let way = if by > 0 { "by" } else { "time" };
    Observation {
        kind: super::LOGGERS_APART,
        interval: whole(rows),
        position: Some(at),
        count: rows.len().max(1) as u64,
        figures: Vec::new(),
    }
    .with("text", Value::Word(logger.name.clone()))
    .with("channel", Value::Word(role.name().to_owned()))
    .with(way, Value::Time(Duration::from_milliseconds(by.abs())))
}
