//! Readings of another logger that belong to no row, and rows without one.

use super::logger_missing::whole;
use plant::Logger;
use trace::{Definition, FigureKind, Instant, Observation, Rank, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "loggers_not_joined",
    title: "readings of another logger not joined",
    rank: Rank::Note,
    figures: &[("text", FigureKind::Word), ("limit", FigureKind::Time), ("rows", FigureKind::Count), ("readings", FigureKind::Count)],
    sentence: "Of the logger \"{text}\" a reading counts for a row of the record no further than {limit} \
               away.[ Rows of the record without one: {rows}; none of them counts as safe.][ Readings of \
               it near no row, which are not used: {readings}.]",
    about: &[],
    why: "A row with no reading of the other logger near it lacks that reading, and never counts \
          as safe without it.",
    what_to_do: "Compare clocks and intervals of the loggers.",
    source: "the plant file (method, section 3)",
};

/// Of a logger: how many rows have no reading of it, and how many of its readings belong to no row.
pub(crate) fn observation(
    logger: &Logger,
    [without, unused]: [u64; 2],
    rows: &[Instant],
    at: SourcePosition,
) -> Observation {
    let mut observation = Observation {
        kind: super::LOGGERS_NOT_JOINED,
        interval: whole(rows),
        position: Some(at),
        count: (without + unused).max(1),
        figures: Vec::new(),
    }
    .with("text", Value::Word(logger.name.clone()))
    .with("limit", Value::Time(logger.tolerance));
    for (name, count) in [("rows", without), ("readings", unused)] {
        if count > 0 {
            observation = observation.with(name, Value::Count(count));
        }
    }
    observation
}
