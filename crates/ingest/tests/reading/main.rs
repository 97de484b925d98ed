//! Whole files through [`ingest::read`]: dialects, time, rows of one instant, bad input, and what
//! must not change the record.

mod bad_input;
mod changes;
#[path = "../../../../tests/src/containers.rs"]
mod containers;
mod dialects;
mod doubtful;
mod duplicates;
mod loggers;
mod placing;
mod plain;
mod same_record;
mod stamp_forms;
mod support;
mod time;
