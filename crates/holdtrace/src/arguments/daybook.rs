//! `holdtrace days`, `holdtrace summary` and `holdtrace lot`: many records.

use super::record::ReportPaper;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// A plant's folder of records.
#[derive(Debug, Args)]
pub struct FolderArguments {
    /// The folder with one logger file a day; the folders in it are looked into as well.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Read every record again, also those whose files have not changed since they were read.
    #[arg(long)]
    pub read_again: bool,
}

/// How many records are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ListFormat {
    /// For a person.
    Text,
    /// For a program.
    Json,
}

/// Which days to list.
#[derive(Debug, Args)]
pub struct DaysArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// For a person or for a program.
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
    /// For a person, for filing, for a spreadsheet, for a program, or for an engine that reads
    /// columns.
    #[arg(long, value_enum, default_value = "text")]
    pub format: SummaryFormat,
    /// For a spreadsheet: one row a record, or one row an exception.
    #[arg(long, value_enum, default_value = "days")]
    pub rows: SummaryRows,
    /// Where to write; standard output when left out. For Parquet a new folder.
    #[arg(long, value_name = "PATH", required_if_eq("format", "parquet"))]
    pub output: Option<PathBuf>,
    /// The size of the pages.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: ReportPaper,
}

/// How a range is summed up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SummaryFormat {
    /// For a person.
    Text,
    /// For filing: PDF/A.
    Pdf,
    /// For a spreadsheet.
    Csv,
    /// For a program.
    Json,
    /// Folders of Parquet files, divided by pasteurizer and month.
    Parquet,
}

/// What a row stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SummaryRows {
    /// A record.
    Days,
    /// An exception.
    Exceptions,
}

/// How a list is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TableFormat {
    /// For a person.
    Text,
    /// For a spreadsheet.
    Csv,
    /// For a program.
    Json,
}

/// Which holds to list.
#[derive(Debug, Args)]
pub struct HoldsArguments {
    #[command(flatten)]
    pub folder: FolderArguments,
    /// Tell what was on hold as well; a table always does.
    #[arg(long)]
    pub all: bool,
    /// For a person, for a spreadsheet or for a program.
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
    /// For a person or for a program.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ListFormat,
}
