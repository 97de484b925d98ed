//! One of several loggers has no file in the record.

use plant::Logger;
use trace::{Definition, FigureKind, Instant, Interval, Observation, Rank, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "logger_missing",
    title: "logger file missing",
    rank: Rank::Close,
    figures: &[("text", FigureKind::Word), ("absent", FigureKind::Word)],
    sentence: "None of the files is one of the logger \"{text}\"; without it the record has no {absent}. \
               None of these counts as safe. Open the file of that logger together with these.",
    about: &[],
    why: "All readings of a logger are missing, and nothing that it would have shown counts as \
          safe.",
    what_to_do: "Find its file and open it together with these. If there is none, write down why.",
    source: "the plant file (method, section 3)",
};

/// Of a logger, for all of the record.
pub(crate) fn observation(logger: &Logger, rows: &[Instant], at: SourcePosition) -> Observation {
    let roles: Vec<&str> = logger.columns.roles.keys().map(|role| role.name()).collect();
    Observation {
        kind: super::LOGGER_MISSING,
        interval: whole(rows),
        position: Some(at),
        count: rows.len().max(1) as u64,
        figures: Vec::new(),
    }
    .with("text", Value::Word(logger.name.clone()))
    .with("absent", Value::Word(roles.join(", ")))
}

/// From the first row of the record to the last.
pub(super) fn whole(rows: &[Instant]) -> Option<Interval> {
    Some(Interval::between(*rows.first()?, *rows.last()?))
}
