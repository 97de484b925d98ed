//! `holdtrace audit`, `setup`, `tables` and `report`: one record.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// One run record.
#[derive(Debug, Clone, Args)]
pub struct RecordArguments {
    /// The files of one run record; `-` is standard input.
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
    /// The plant file [default: `plant.toml` beside the first file].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The run sheet [default: `NAME.run-sheet.csv` beside a record of one file, or of the leading
    /// logger].
    #[arg(long, value_name = "SHEET.csv")]
    pub run_sheet: Option<PathBuf>,
    /// The operators' entries [default: `NAME.entries.csv`, found like the run sheet].
    #[arg(long, value_name = "ENTRIES.csv")]
    pub operator_entries: Option<PathBuf>,
}

/// What to draft a plant file from.
#[derive(Debug, Args)]
pub struct SetupArguments {
    /// The files of one run record; `-` is standard input.
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
    /// The plant's name.
    #[arg(long, value_name = "NAME", default_value = "")]
    pub name: String,
    /// The pasteurizer's name.
    #[arg(long, value_name = "NAME", default_value = "")]
    pub pasteurizer: String,
    /// The zone of the logger's clock, such as `America/Chicago`.
    #[arg(long, value_name = "ZONE", default_value = "")]
    pub zone: String,
    /// Where to write [default: standard output].
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
}

/// What to audit and the output format.
#[derive(Debug, Args)]
pub struct AuditArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// Human-readable text, JSON, or CSV.
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
    /// In CSV: one row per exception, or one row per observation.
    #[arg(long, value_enum, default_value = "exceptions")]
    pub rows: Rows,
    /// Where to write [default: standard output].
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
}

/// The output format of an audit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Human-readable text.
    Text,
    /// JSON.
    Json,
    /// What the audit found, as JSON without the program and without how the files were found: the
    /// SHA-256 of these bytes stands for the audit in a review journal.
    Result,
    /// CSV, one row per exception or observation.
    Csv,
}

/// What a row of CSV is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Rows {
    /// An exception.
    Exceptions,
    /// An observation, with its figures.
    Observations,
    /// A divert, with its cause.
    Diverts,
}

/// What to report and how.
#[derive(Debug, Args)]
pub struct ReportArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// PDF/A for filing, CSV, or JSON.
    #[arg(long, value_enum, default_value = "pdf")]
    pub format: ReportFormat,
    /// In CSV: one row per exception, or one row per observation.
    #[arg(long, value_enum, default_value = "exceptions")]
    pub rows: Rows,
    /// Where the records of other days and pasteurizers lie, whose run sheets say what else went into the tanks
    /// [default: the record's folder].
    #[arg(long, value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// Where to write [default: standard output].
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
    /// The size of the pages.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: ReportPaper,
    /// The plant's own template for the pages; start from `assets/summary.typ`.
    #[arg(long, value_name = "TEMPLATE.typ")]
    pub template: Option<PathBuf>,
}

/// The output format of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ReportFormat {
    /// PDF/A, for filing.
    Pdf,
    /// CSV, one row per exception or observation.
    Csv,
    /// JSON.
    Json,
}

/// The size of the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ReportPaper {
    /// 210 mm by 297 mm.
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

/// Which tables to write.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("table").required(true).multiple(true))]
pub struct TablesArguments {
    #[command(flatten)]
    pub source: RecordArguments,
    /// One row per sample.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub record: Option<PathBuf>,
    /// One row per exception.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub exceptions: Option<PathBuf>,
    /// One row per observation.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub observations: Option<PathBuf>,
}
