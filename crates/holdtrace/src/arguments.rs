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
    /// Draft a plant file from logger files: what each column seems to be, why, and what is still
    /// required.
    /// Exit status 0: the files can be read with the draft; 1: something in it must still be filled
    /// in, listed on standard error; 2: the input can't be used or the output can't be written.
    Setup(SetupArguments),
    /// Write a run record, the exceptions found in it, or the observations, as Parquet files.
    ///
    /// The exit status is that of `audit`.
    Tables(TablesArguments),
    /// Write one record with its review as PDF/A, CSV or JSON.
    /// Exit status 0: written; 1: written, but something in its review fails, listed on standard
    /// error; 2: the input can't be used, the journal can't be read or the output can't be written.
    Report(ReportArguments),
    /// The day log: every record of a folder, with the state of its review.
    /// Exit status 0: all records are signed; 1: something is left to do; 2: the folder can't be
    /// read.
    Days(DaysArguments),
    /// Sum up the records from one date to another.
    /// Exit status 0: written; 1: written, but a subfolder could not be searched; 2: the folder
    /// can't be read or the output can't be written.
    Summary(SummaryArguments),
    /// Trace a lot: its runs, exceptions, decisions, and the records they are in.
    /// Exit status 0: no exception concerns it; 1: one does, or a record can't be read; 2: no
    /// record names it, or the folder can't be read.
    Lot(LotArguments),
    /// What is on hold, the oldest first, across days and pasteurizers.
    /// Exit status 0: nothing is on hold; 1: something is, or a journal can't be read; 2: the
    /// folder can't be read.
    Holds(HoldsArguments),
    /// The work list: what is to be reviewed, to be approved, returned, overdue or on hold, across days
    /// and pasteurizers.
    /// Exit status 0: nothing is waiting (with `--by`: for that person); 1: something is, or a
    /// subfolder could not be searched; 2: the folder can't be read, or the person is not in the
    /// register.
    Work(WorkArguments),
    /// Resolve exceptions, close observations and sign.
    #[command(subcommand)]
    Review(Box<ReviewCommand>),
    /// Who may sign: keys on this machine, and the plant's register.
    #[command(subcommand)]
    Signer(SignerCommand),
    /// Tests of the equipment and seals, in the plant's register.
    #[command(subcommand)]
    Equipment(Box<EquipmentCommand>),
    /// The operators' entries of a day, and their signature.
    #[command(subcommand)]
    Entries(EntriesCommand),
    /// The ledger of what was signed, beside the register.
    #[command(subcommand)]
    Ledger(LedgerCommand),
    /// Check that records are what was signed: sources, plant file and its approval, audit, journal,
    /// register, ledger, signatures.
    /// Exit status 0: every link holds, and current signatures approve the whole of every record;
    /// 1: otherwise.
    Verify(VerifyArguments),
}

/// What the window opens on.
#[derive(Debug, Args)]
pub struct WindowArguments {
    /// A logger file, the files of one record, or a folder of records [default: what was open
    /// last].
    #[arg(value_name = "FILE_OR_FOLDER")]
    pub paths: Vec<PathBuf>,
    /// The plant file [default: `plant.toml` beside the record].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
}
