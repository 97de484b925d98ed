//! `holdtrace days`, `holdtrace summary` and `holdtrace lot`: many records.

use super::record::ReportPaper;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// A plant's folder of records.
#[derive(Debug, Args)]
pub struct FolderArguments {
    /// The folder with one logger file per day; its subfolders are searched as well.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Read every record again, including those whose files have not changed.
    #[arg(long)]
    pub read_again: bool,
}

/// The output format of many records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ListFormat {
    /// Human-readable text.
    Text,
    /// JSON.
    Json,
}

/// Which days to list.
#[derive(Debug, Args)]
pub struct DaysArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// Human-readable text or JSON.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ListFormat,
}

/// What to sum up.
#[derive(Debug, Args)]
pub struct SummaryArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// The first date.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub from: Option<NaiveDate>,
    /// The last date.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub to: Option<NaiveDate>,
    /// One pasteurizer.
    #[arg(long, value_name = "NAME")]
    pub unit: Option<String>,
    /// One product.
    #[arg(long, value_name = "NAME")]
    pub product: Option<String>,
    /// One lot.
    #[arg(long, value_name = "NAME")]
    pub lot: Option<String>,
    /// Human-readable text, PDF/A, CSV, JSON or Parquet.
    #[arg(long, value_enum, default_value = "text")]
    pub format: SummaryFormat,
    /// In CSV: one row per record, or one row per exception.
    #[arg(long, value_enum, default_value = "days")]
    pub rows: SummaryRows,
    /// Where to write; for Parquet, a new folder [default: standard output].
    #[arg(long, value_name = "PATH", required_if_eq("format", "parquet"))]
    pub output: Option<PathBuf>,
    /// The size of the pages.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: ReportPaper,
}

/// The output format of a range summary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SummaryFormat {
    /// Human-readable text.
    Text,
    /// PDF/A, for filing.
    Pdf,
    /// CSV.
    Csv,
    /// JSON.
    Json,
    /// Parquet files, in a folder for each pasteurizer and month.
    Parquet,
}

/// What a row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SummaryRows {
    /// A record.
    Days,
    /// An exception.
    Exceptions,
}

/// The output format of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TableFormat {
    /// Human-readable text.
    Text,
    /// CSV.
    Csv,
    /// JSON.
    Json,
}

/// Which holds to list.
#[derive(Debug, Args)]
pub struct HoldsArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// Also list holds that have ended; CSV always does.
    #[arg(long)]
    pub all: bool,
    /// Human-readable text, CSV or JSON.
    #[arg(long, value_enum, default_value = "text")]
    pub format: TableFormat,
}

/// Whose work to list.
#[derive(Debug, Args)]
pub struct WorkArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// The identifier of somebody in the register of signers, whose work comes first.
    #[arg(long, value_name = "IDENTIFIER")]
    pub by: Option<String>,
    /// Human-readable text or JSON.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ListFormat,
}

/// Which lot to trace.
#[derive(Debug, Args)]
pub struct LotArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// The lot, or a part of its name, its product or its tank; all lots when it is left out.
    #[arg(value_name = "LOT")]
    pub lot: Option<String>,
    /// Human-readable text or JSON.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ListFormat,
}
