//! An audit's observations as a data frame.

use crate::error::Error;
use crate::record::instants;
use analysis::Audit;
use plant::Zone;
use polars::prelude::{Column, DataFrame};
use report::{DisplayUnits, sentence};
use trace::Interval;

/// The observations of an audit, a row each, in the audit's order: those to close before those to
/// note.
///
/// Columns: `kind`, `rank` (`close`, `note`), `start` and `end`, `count` (how many rows or samples it
/// speaks of), `file` and `line`, `message`, whose times are on the clock of `zone`. What is not
/// known is null.
///
/// # Errors
/// When the columns make no data frame.
pub fn observations_frame(audit: &Audit, zone: Zone) -> Result<DataFrame, Error> {
    let all = &audit.observations;
    let columns = vec![
        Column::new("kind".into(), all.iter().map(|one| one.kind.key()).collect::<Vec<_>>()),
        Column::new("rank".into(), all.iter().map(|one| one.kind.rank().key()).collect::<Vec<_>>()),
        instants("start", all.iter().map(|one| one.interval.map(Interval::start))),
        instants("end", all.iter().map(|one| one.interval.map(Interval::end))),
        Column::new("count".into(), all.iter().map(|one| one.count).collect::<Vec<_>>()),
        Column::new(
            "file".into(),
            all.iter()
                .map(|one| one.position.as_ref().map(|position| position.file.to_string()))
                .collect::<Vec<_>>(),
        ),
        Column::new(
            "line".into(),
            all.iter()
                .map(|one| one.position.as_ref().map(|position| position.line))
                .collect::<Vec<_>>(),
        ),
        Column::new(
            "message".into(),
            all.iter().map(|one| sentence(one, zone, DisplayUnits::RECORDED)).collect::<Vec<_>>(),
        ),
    ];
    DataFrame::new(all.len(), columns).map_err(Error::Frame)
}
