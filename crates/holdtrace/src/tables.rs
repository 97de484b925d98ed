//! `holdtrace tables`: a record, its exceptions and its observations as Parquet.

use crate::arguments::TablesArguments;
use crate::audit;
use crate::outcome::Outcome;
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the input can't be used or a file not be written; a file is there whole or not at all.
pub fn run(arguments: &TablesArguments) -> Result<Outcome, Box<dyn Error>> {
    let audited = audit::read(&arguments.source)?;
    if let Some(path) = &arguments.record {
        ::tables::write_parquet(&mut ::tables::record_frame(audited.record())?, path)?;
    }
    if let Some(path) = &arguments.exceptions {
        let mut frame = ::tables::table_frame(&audited.exceptions_table())?;
        ::tables::write_parquet(&mut frame, path)?;
    }
    if let Some(path) = &arguments.observations {
        let mut frame = ::tables::table_frame(&audited.observations_table())?;
        ::tables::write_parquet(&mut frame, path)?;
    }
    Ok(audit::outcome(audited.audit()))
}
