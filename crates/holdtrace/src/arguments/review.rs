//! `holdtrace review` and `holdtrace verify`.

use super::record::RecordArguments;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What to do with a review.
#[derive(Debug, Subcommand)]
pub enum ReviewCommand {
    /// What is resolved and closed, what is open, and who signed.
    ///
    /// Exit status 0: nothing is left to do; 1: something is; 2: the input can't be used.
    List(ListArguments),
    /// Resolve exceptions: cause, corrective action, product disposition. To release product is signed.
    #[command(name = "resolve", alias = "settle")]
    Settle(SettleArguments),
    /// Close an observation with a reason, one at a time; `review list` gives the identifiers.
    Close(CloseArguments),
    /// Enter the reason of a divert; `review list` gives the identifiers.
    Divert(DivertArguments),
    /// Acknowledge the observations of a kind that is only to be noted.
    Acknowledge(AcknowledgeArguments),
    /// Make a required entry.
    Enter(EnterArguments),
    /// Note what a broken seal means for a record; required before approval.
    NoteSeal(NoteSealArguments),
    /// End a hold, signed: what became of the product, why, and what shows it (supervisors, unless the
    /// plant file says otherwise).
    EndHold(EndHoldArguments),
    /// Withdraw a resolution, a closing, a reason, an acknowledgement or an entry that is not signed yet, or the
    /// end of a hold.
    Withdraw(WithdrawArguments),
    /// Return a resolved exception with a comment, signed (supervisors).
    SendBack(SendBackArguments),
    /// Reopen what was signed, with a signature; by a supervisor where it is approved.
    Reopen(ReopenArguments),
    /// Enter the new audit of a record, plant file, program or audit method that has changed since the
    /// review began. What was signed before stays in the journal and is superseded.
    ReAudit(Common),
    /// Sign.
    Sign(SignArguments),
    /// Correct a clock that was ahead, so that entries with the right date can be made again (supervisors).
    CorrectClock(CorrectClockArguments),
}

/// Which record, and who is at work.
#[derive(Debug, Args)]
pub struct Common {
    #[command(flatten)]
    pub record: RecordArguments,
    /// The identifier of the person, as in the register of signers.
    #[arg(long, value_name = "SIGNER")]
    pub by: String,
    /// Continue although this machine's clock and that of the disk differ.
    #[arg(long)]
    pub clock_is_right: bool,
}

/// What to list.
#[derive(Debug, Args)]
pub struct ListArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// JSON.
    #[arg(long)]
    pub json: bool,
}

/// Which exceptions, and how they are resolved.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct SettleArguments {
    #[command(flatten)]
    pub common: Common,
    /// One exception by its identifier.
    #[arg(long, value_name = "ID", group = "which")]
    pub exception: Option<String>,
    /// The open exceptions of an episode, in one step; all of them when none is open.
    #[arg(long, value_name = "NUMBER", group = "which")]
    pub episode: Option<usize>,
    /// The open exceptions of a cleaning, in one step; all of them when none is open.
    #[arg(long, value_name = "NUMBER", group = "which")]
    pub cleaning: Option<usize>,
    /// Every exception that is open.
    #[arg(long, group = "which")]
    pub all_open: bool,
    /// Why it happened.
    #[arg(long)]
    pub cause: String,
    /// What was done.
    #[arg(long)]
    pub action: String,
    /// Since when it was under control again, where the plant requires the parts of a corrective
    /// action.
    #[arg(long, value_name = "TEXT")]
    pub under_control: Option<String>,
    /// What prevents it from happening again.
    #[arg(long, value_name = "TEXT")]
    pub recurrence: Option<String>,
    /// Why no unsafe product went out.
    #[arg(long, value_name = "TEXT")]
    pub product_safe: Option<String>,
    /// What becomes of the product: held, re_pasteurized, diverted_to_other_use, destroyed,
    /// released or none_needed (both with --reason), or the plant's own words.
    #[arg(long)]
    pub disposition: String,
    /// Why, for `released` and `none_needed`.
    #[arg(long, default_value = "")]
    pub reason: String,
    /// How much product, with its unit [default: what the audit found].
    #[arg(long)]
    pub quantity: Option<String>,
    /// Which lot [default: what the audit found].
    #[arg(long)]
    pub lot: Option<String>,
    /// The tag on what is put on hold [default: the record's name and a number].
    #[arg(long, value_name = "TAG")]
    pub hold_tag: Option<String>,
    /// The tank that holds it [default: those that the run sheet names].
    #[arg(long)]
    pub tank: Option<String>,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// Which seal, and what its being broken means.
#[derive(Debug, Args)]
pub struct NoteSealArguments {
    #[command(flatten)]
    pub common: Common,
    /// The seal's number.
    #[arg(long, value_name = "NUMBER")]
    pub seal: String,
    /// What it means for this record.
    #[arg(long)]
    pub reason: String,
}

/// Which hold, and how it ends.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("shown").required(true).args(["file", "lab_test"]))]
pub struct EndHoldArguments {
    #[command(flatten)]
    pub common: Common,
    /// The hold's tag, as `review list` and `holds` print it.
    #[arg(long, value_name = "TAG")]
    pub hold: String,
    /// What happened to the product.
    #[arg(long, value_enum)]
    pub outcome: HoldOutcome,
    /// Why.
    #[arg(long)]
    pub reason: String,
    /// A file beside the record that shows it; its sha256 is kept.
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub laboratory: LaboratoryArguments,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// A laboratory's result.
#[derive(Debug, Args)]
pub struct LaboratoryArguments {
    /// What the laboratory looked for, such as "alkaline phosphatase".
    #[arg(long, value_name = "TEST")]
    pub lab_test: Option<String>,
    /// By which method.
    #[arg(long, value_name = "METHOD", default_value = "", requires = "lab_test")]
    pub lab_method: String,
    /// What was found: a figure, which may begin with <, or words.
    #[arg(long, value_name = "VALUE", default_value = "", requires = "lab_test")]
    pub lab_value: String,
    /// The highest allowed value, or the required words.
    #[arg(long, value_name = "LIMIT", default_value = "", requires = "lab_test")]
    pub lab_limit: String,
    /// The unit of both.
    #[arg(long, value_name = "UNIT", default_value = "", requires = "lab_test")]
    pub lab_unit: String,
    /// Which laboratory.
    #[arg(long, value_name = "NAME", default_value = "", requires = "lab_test")]
    pub laboratory: String,
    /// The date of the result.
    #[arg(long, value_name = "YYYY-MM-DD", default_value = "", requires = "lab_test")]
    pub lab_date: String,
}

/// What happened to product that was on hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub enum HoldOutcome {
    /// It was released; a laboratory's result must be within its limit.
    Released,
    /// It was pasteurized again.
    RePasteurized,
    /// It went to another use.
    DivertedToOtherUse,
    /// It was destroyed.
    Destroyed,
}

/// Which observation, and why it is closed.
#[derive(Debug, Args)]
pub struct CloseArguments {
    #[command(flatten)]
    pub common: Common,
    /// The observation's identifier, as `review list` prints it; `hole_before_record` for the hole
    /// between this record and the one before it in its folder.
    #[arg(long, value_name = "ID")]
    pub observation: String,
    /// Where the record before it lies, for `hole_before_record`: the folder of the day log that told
    /// of the hole [default: the record's folder].
    #[arg(long, value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// The reason.
    #[arg(long)]
    pub reason: String,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// Which divert, and why.
#[derive(Debug, Args)]
pub struct DivertArguments {
    #[command(flatten)]
    pub common: Common,
    /// The divert's identifier, as `review list` prints it. One without a cause in the record is closed.
    #[arg(long, value_name = "ID")]
    pub divert: String,
    /// Why the device left forward flow.
    #[arg(long)]
    pub reason: String,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// Which observations.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct AcknowledgeArguments {
    #[command(flatten)]
    pub common: Common,
    /// The kind, as in the audit.
    #[arg(long, value_name = "KIND", group = "which")]
    pub observation: Option<String>,
    /// Every kind to note that is not acknowledged; what is to be closed stays open.
    #[arg(long, group = "which")]
    pub all_open: bool,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// Which entry.
#[derive(Debug, Args)]
pub struct EnterArguments {
    #[command(flatten)]
    pub common: Common,
    /// The item of the plant's list.
    #[arg(long, value_name = "ITEM")]
    pub entry: String,
    /// What is entered [default for "signature or initials": the signature under the operators'
    /// entries].
    #[arg(long)]
    pub value: Option<String>,
    /// A note.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What to withdraw.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct WithdrawArguments {
    #[command(flatten)]
    pub common: Common,
    /// The resolution of an exception.
    #[arg(long, value_name = "ID", group = "which")]
    pub exception: Option<String>,
    /// The closing of an observation, or the acknowledgement of a kind.
    #[arg(long, value_name = "ID|KIND", group = "which")]
    pub observation: Option<String>,
    /// The reason of a divert.
    #[arg(long, value_name = "ID", group = "which")]
    pub divert: Option<String>,
    /// An entry.
    #[arg(long, value_name = "ITEM", group = "which")]
    pub entry: Option<String>,
    /// The end of a hold, signed: the product is on hold again.
    #[arg(long, value_name = "TAG", group = "which")]
    pub hold: Option<String>,
    /// What was said of a broken seal.
    #[arg(long, value_name = "NUMBER", group = "which")]
    pub seal: Option<String>,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// What to return.
#[derive(Debug, Args)]
pub struct SendBackArguments {
    #[command(flatten)]
    pub common: Common,
    /// The exception's identifier.
    #[arg(long, value_name = "ID")]
    pub exception: String,
    /// What to check again.
    #[arg(long)]
    pub remark: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// What to reopen.
#[derive(Debug, Args)]
pub struct ReopenArguments {
    #[command(flatten)]
    pub common: Common,
    /// One shift [default: the whole record].
    #[arg(long, value_name = "NAME")]
    pub shift: Option<String>,
    /// Why.
    #[arg(long)]
    pub reason: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// Why a clock is corrected.
#[derive(Debug, Args)]
pub struct CorrectClockArguments {
    #[command(flatten)]
    pub common: Common,
    /// What happened.
    #[arg(long)]
    pub reason: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// What to sign.
#[derive(Debug, Args)]
pub struct SignArguments {
    #[command(flatten)]
    pub common: Common,
    /// What the signature means.
    #[arg(long, value_enum)]
    pub meaning: SignedMeaning,
    /// One shift [default: the whole record].
    #[arg(long, value_name = "NAME")]
    pub shift: Option<String>,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SignedMeaning {
    /// Everything was examined, resolved and closed.
    Reviewed,
    /// The review is agreed to (supervisors).
    Approved,
}

/// Where the passphrase comes from.
#[derive(Debug, Args)]
pub struct PassphraseArguments {
    /// Read the passphrase once from this file descriptor, its first line [default: ask for it, for
    /// a new one twice].
    #[arg(long, value_name = "NUMBER")]
    pub passphrase_fd: Option<u32>,
}

/// What to verify.
#[derive(Debug, Args)]
pub struct VerifyArguments {
    /// Logger files or review journals, one a record.
    #[arg(value_name = "RECORD", required = true)]
    pub records: Vec<PathBuf>,
    /// The plant file [default: the one that the journal names, beside the record or above it].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The register of signers [default: the one beside the plant file].
    #[arg(long, value_name = "SIGNERS.jsonl")]
    pub register: Option<PathBuf>,
    /// The fingerprint of the first supervisor as a page prints it: the register must begin with it.
    #[arg(long, value_name = "FINGERPRINT")]
    pub fingerprint: Option<String>,
    /// The sha256 of a last line as a page prints it, of journal, register or ledger: one of them must
    /// have a line with it. Can be given more than once.
    #[arg(long, value_name = "SHA256")]
    pub head: Vec<String>,
}
