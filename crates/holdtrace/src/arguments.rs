//! The command line.

mod daybook;
mod review;
mod signer;

pub use daybook::{
    DaysArguments, FolderArguments, ListFormat, LotArguments, SummaryArguments, SummaryFormat,
    SummaryRows,
};
pub use review::{
    AcknowledgeArguments, CloseArguments, Common, CorrectClockArguments, EnterArguments,
    ListArguments, PassphraseArguments, ReopenArguments, ReviewCommand, SendBackArguments,
    SettleArguments, SignArguments, SignedMeaning, VerifyArguments, WithdrawArguments,
};
pub use signer::{
    ActingArguments, ApproveArguments, CorrectRegisterArguments, EnrolArguments, KeyArguments,
    LedgerCommand, RegisterArguments, RevokeArguments, RoleArguments, SecondArguments,
    SetUpArguments, SignerCommand, SignerRole, StockArguments, TrustArguments,
    WithdrawFileArguments,
};

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Audits the logger files of an HTST pasteurizer: finds where the record does not show that forward
/// flow was hot enough, long enough, and on the safe side of the regenerator.
///
/// A review aid, not a legal recorder or controller. Limits must be confirmed with the plant's
/// authority; local codes and licensed people decide.
#[derive(Debug, Parser)]
#[command(version, args_conflicts_with_subcommands = true)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub window: WindowArguments,
}

/// What to do instead of opening the window.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Audit one run record without a display.
    ///
    /// Exit status 0: no exception, and nothing to close; 1: exceptions, or observations to close; 2:
    /// the input can't be used.
    Audit(AuditArguments),
    /// Draft a plant file from logger files: what each column seems to be, why, and what is to be said.
    ///
    /// Exit status 0: the files can be read with the draft; 1: something is still to be said in it, which
    /// standard error names; 2: the input can't be used or the output not be written.
    Setup(SetupArguments),
    /// Write a run record, the exceptions found in it, or the observations, as Parquet files.
    ///
    /// The exit status is that of `audit`.
    Tables(TablesArguments),
    /// One record with what was decided about it: on paper, for a spreadsheet, for a program.
    ///
    /// Exit status 0: written; 1: written, and something in its review does not hold, which standard
    /// error names; 2: the input can't be used, the journal can't be read or the output not be written.
    Report(ReportArguments),
    /// The day log: every record of a folder, with where its review stands.
    ///
    /// Exit status 0: all are signed; 1: something is left to do; 2: the folder can't be read.
    Days(DaysArguments),
    /// Many records summed up, from a date to a date.
    ///
    /// Exit status 0: written; 1: written, and a folder in it could not be looked into; 2: the folder
    /// can't be read or the output not be written.
    Summary(SummaryArguments),
    /// Everything that touches a lot: runs, exceptions, what was decided, and which records say so.
    ///
    /// Exit status 0: no exception touched it; 1: one did, or a record can't be told; 2: no record
    /// names it, or the folder can't be read.
    Lot(LotArguments),
    /// Resolve exceptions, close observations and sign, without the window.
    #[command(subcommand)]
    Review(ReviewCommand),
    /// Who may sign: keys on this machine, and the plant's register.
    #[command(subcommand)]
    Signer(SignerCommand),
    /// The ledger of what was signed, beside the register.
    #[command(subcommand)]
    Ledger(LedgerCommand),
    /// Check that records are what was signed: sources, plant file and its approval, audit, journal,
    /// register, ledger, signatures.
    ///
    /// Exit status 0: every link holds, and standing signatures approve the whole of every record;
    /// 1: not so.
    Verify(VerifyArguments),
}

/// What the window opens on.
#[derive(Debug, Args)]
pub struct WindowArguments {
    /// A logger file, the files of one record, or a folder of days; the demo when left out.
    #[arg(value_name = "FILE_OR_FOLDER")]
    pub paths: Vec<PathBuf>,
    /// The plant file; `plant.toml` beside the record when left out.
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
}

/// One run record.
#[derive(Debug, Clone, Args)]
pub struct RecordArguments {
    /// The files of one run record; `-` is standard input.
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
    /// The plant file; `plant.toml` beside the first file when left out.
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The run sheet; `NAME.run-sheet.csv` beside a record of one file when left out.
    #[arg(long, value_name = "SHEET.csv")]
    pub run_sheet: Option<PathBuf>,
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
    /// Where to write; standard output when left out.
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
}

/// What to audit and how to tell.
#[derive(Debug, Args)]
pub struct AuditArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// Human-readable text, JSON, or CSV.
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
    /// In CSV: one row an exception, or one row an observation.
    #[arg(long, value_enum, default_value = "exceptions")]
    pub rows: Rows,
    /// Where to write; standard output when left out.
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
}

/// How an audit is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Human-readable text.
    Text,
    /// JSON.
    Json,
    /// What the audit found, as JSON without the program and without how the files were found: the
    /// SHA-256 of these bytes stands for the audit in a review journal.
    Result,
    /// CSV, one row an exception or an observation.
    Csv,
}

/// What a row of CSV stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Rows {
    /// An exception.
    Exceptions,
    /// An observation, with its figures.
    Observations,
}

/// What to report and how.
#[derive(Debug, Args)]
pub struct ReportArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// PDF/A for filing, CSV, or JSON.
    #[arg(long, value_enum, default_value = "pdf")]
    pub format: ReportFormat,
    /// In CSV: one row an exception, or one row an observation.
    #[arg(long, value_enum, default_value = "exceptions")]
    pub rows: Rows,
    /// Where to write; standard output when left out.
    #[arg(long, value_name = "PATH")]
    pub output: Option<PathBuf>,
    /// The size of the pages.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: ReportPaper,
    /// The plant's own template for the pages; `assets/summary.typ` is what to start from.
    #[arg(long, value_name = "TEMPLATE.typ")]
    pub template: Option<PathBuf>,
}

/// How a record is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ReportFormat {
    /// PDF/A, for filing.
    Pdf,
    /// CSV, one row an exception or an observation.
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
    /// One row a sample.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub record: Option<PathBuf>,
    /// One row an exception.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub exceptions: Option<PathBuf>,
    /// One row an observation.
    #[arg(long, value_name = "PATH.parquet", group = "table")]
    pub observations: Option<PathBuf>,
}
