//! `holdtrace entries`.

use super::signer::ActingArguments;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What to do with the operators' entries of a record.
#[derive(Debug, Subcommand)]
pub enum EntriesCommand {
    /// Add an entry to `NAME.entries.csv` beside the record `NAME.csv`, which need not be there yet.
    /// Entries that were signed must be signed again.
    Add(AddEntryArguments),
    /// Sign the entries of a record as they are (operators, technicians, supervisors).
    Sign(SignEntriesArguments),
}

/// Whose entries.
#[derive(Debug, Args)]
pub struct OfRecordArguments {
    /// The record, or the file of entries itself.
    #[arg(value_name = "FILE")]
    pub record: PathBuf,
    /// The plant file [default: the one beside the record].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
}

/// What is entered.
#[derive(Debug, Args)]
pub struct AddEntryArguments {
    #[command(flatten)]
    pub of: OfRecordArguments,
    /// When, on the plant's clock.
    #[arg(long, value_name = "YYYY-MM-DD HH:MM")]
    pub time: String,
    /// About what: indicating, recorder, cut_in, cut_out, alarm, occurrence or seals.
    #[arg(long, value_name = "KIND")]
    pub entry: String,
    /// The temperature that was read, in the unit of the file.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub reading: String,
    /// The unit of the readings of a new file [default: that of the holding temperature in the
    /// plant file].
    #[arg(long, value_name = "degF|degC")]
    pub unit: Option<String>,
    /// Who made it.
    #[arg(long, value_name = "NAME")]
    pub by: String,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// Who signs.
#[derive(Debug, Args)]
pub struct SignEntriesArguments {
    #[command(flatten)]
    pub of: OfRecordArguments,
    #[command(flatten)]
    pub acting: ActingArguments,
}
