//! The command line.

mod daybook;
mod entries;
mod equipment;
mod record;
mod review;
mod signer;

pub use daybook::{
    DaysArguments, FolderArguments, HoldsArguments, ListFormat, LotArguments, SummaryArguments,
    SummaryFormat, SummaryRows, TableFormat, WorkArguments,
};
pub use entries::{AddEntryArguments, EntriesCommand, OfRecordArguments, SignEntriesArguments};
pub use equipment::{
    AtPlantArguments, EquipmentCommand, EquipmentListArguments, SealArguments, SealBrokenArguments,
    TestArguments,
};
pub use record::{
    AuditArguments, Format, RecordArguments, ReportArguments, ReportFormat, ReportPaper, Rows,
    SetupArguments, TablesArguments,
};
pub use review::{
    AcknowledgeArguments, CloseArguments, Common, CorrectClockArguments, DivertArguments,
    EndHoldArguments, EnterArguments, HoldOutcome, ListArguments, NoteSealArguments,
    PassphraseArguments, ReopenArguments, ReviewCommand, SendBackArguments, SettleArguments,
    SignArguments, SignedMeaning, VerifyArguments, WithdrawArguments,
};
pub use signer::{
    ActingArguments, ApproveArguments, CorrectRegisterArguments, EnrolArguments, KeyArguments,
    LedgerCommand, QualifyArguments, RegisterArguments, RevokeArguments, RoleArguments,
    SecondArguments, SetUpArguments, SignerCommand, SignerRole, StockArguments, TrustArguments,
    WithdrawFileArguments,
};

use clap::{Args, Parser, Subcommand};
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
    /// What is on hold, the oldest first, across days and pasteurizers.
    ///
    /// Exit status 0: nothing is on hold; 1: something is, or a journal can't be followed; 2: the folder
    /// can't be read.
    Holds(HoldsArguments),
    /// The work list: what is to be reviewed, to be approved, returned, overdue or on hold, across days
    /// and pasteurizers.
    ///
    /// Exit status 0: nothing waits (with `--by`: for that person); 1: something does, or a folder
    /// could not be looked into; 2: the folder can't be read, or nobody knows the person.
    Work(WorkArguments),
    /// Resolve exceptions, close observations and sign, without the window.
    #[command(subcommand)]
    Review(Box<ReviewCommand>),
    /// Who may sign: keys on this machine, and the plant's register.
    #[command(subcommand)]
    Signer(SignerCommand),
    /// Tests of the equipment and seals, in the plant's register.
    #[command(subcommand)]
    Equipment(Box<EquipmentCommand>),
    /// What the operators write down on the day, and their signature under it.
    #[command(subcommand)]
    Entries(EntriesCommand),
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
    /// A logger file, the files of one record, or a folder of days; what was open last when left out.
    #[arg(value_name = "FILE_OR_FOLDER")]
    pub paths: Vec<PathBuf>,
    /// The plant file; `plant.toml` beside the record when left out.
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
}
