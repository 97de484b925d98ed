//! `holdtrace review` and `holdtrace verify`.

use super::RecordArguments;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What to do with a review.
#[derive(Debug, Subcommand)]
pub enum ReviewCommand {
    /// What is settled, what is open, and who signed.
    ///
    /// Exit status 0: nothing is left to do; 1: something is; 2: the input can't be used.
    List(ListArguments),
    /// Settle exceptions: cause, action, disposition of the product.
    Settle(SettleArguments),
    /// Acknowledge the observations of a kind.
    Acknowledge(AcknowledgeArguments),
    /// Make an entry that the plant's list asks for.
    Enter(EnterArguments),
    /// Take back a settlement, an acknowledgement or an entry that is not signed yet.
    Withdraw(WithdrawArguments),
    /// Send a settled exception back with a remark (supervisors).
    SendBack(SendBackArguments),
    /// Open again what was signed.
    Reopen(ReopenArguments),
    /// Go on with a record, plant file or program that gives another audit than the one reviewed.
    ReAudit(Common),
    /// Sign.
    Sign(SignArguments),
}

/// Which record, and who is at work.
#[derive(Debug, Args)]
pub struct Common {
    #[command(flatten)]
    pub record: RecordArguments,
    /// The identifier of the person, as in the register of signers.
    #[arg(long, value_name = "SIGNER")]
    pub by: String,
}

/// What to list.
#[derive(Debug, Args)]
pub struct ListArguments {
    #[command(flatten)]
    pub record: RecordArguments,
    /// For a program.
    #[arg(long)]
    pub json: bool,
}

/// Which exceptions, and how they are settled.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct SettleArguments {
    #[command(flatten)]
    pub common: Common,
    /// One exception by its identifier.
    #[arg(long, value_name = "ID", group = "which")]
    pub exception: Option<String>,
    /// All exceptions of an episode.
    #[arg(long, value_name = "NUMBER", group = "which")]
    pub episode: Option<usize>,
    /// Every exception that is open.
    #[arg(long, group = "which")]
    pub all_open: bool,
    /// Why it happened.
    #[arg(long)]
    pub cause: String,
    /// What was done.
    #[arg(long)]
    pub action: String,
    /// What becomes of the product: held, re_pasteurized, diverted_to_other_use, destroyed,
    /// released or none_needed (both with --reason), or the plant's own words.
    #[arg(long)]
    pub disposition: String,
    /// Why, for `released` and `none_needed`.
    #[arg(long, default_value = "")]
    pub reason: String,
    /// How much product, with its unit; what the audit found when left out.
    #[arg(long)]
    pub quantity: Option<String>,
    /// Which lot; what the audit found when left out.
    #[arg(long)]
    pub lot: Option<String>,
    /// What else there is to say.
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
    /// Every kind that is not acknowledged.
    #[arg(long, group = "which")]
    pub all_open: bool,
    /// What there is to say.
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
    /// What is entered.
    #[arg(long)]
    pub value: String,
    /// What there is to say.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What to take back.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct WithdrawArguments {
    #[command(flatten)]
    pub common: Common,
    /// The settlement of an exception.
    #[arg(long, value_name = "ID", group = "which")]
    pub exception: Option<String>,
    /// The acknowledgement of a kind of observations.
    #[arg(long, value_name = "KIND", group = "which")]
    pub observation: Option<String>,
    /// An entry.
    #[arg(long, value_name = "ITEM", group = "which")]
    pub entry: Option<String>,
}

/// What to send back.
#[derive(Debug, Args)]
pub struct SendBackArguments {
    #[command(flatten)]
    pub common: Common,
    /// The exception's identifier.
    #[arg(long, value_name = "ID")]
    pub exception: String,
    /// What is to be looked at again.
    #[arg(long)]
    pub remark: String,
}

/// What to open again.
#[derive(Debug, Args)]
pub struct ReopenArguments {
    #[command(flatten)]
    pub common: Common,
    /// One shift; the whole day when left out.
    #[arg(long, value_name = "NAME")]
    pub shift: Option<String>,
    /// Why.
    #[arg(long)]
    pub reason: String,
}

/// What to sign.
#[derive(Debug, Args)]
pub struct SignArguments {
    #[command(flatten)]
    pub common: Common,
    /// What the signature means.
    #[arg(long, value_enum)]
    pub meaning: SignedMeaning,
    /// One shift; the whole day when left out.
    #[arg(long, value_name = "NAME")]
    pub shift: Option<String>,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SignedMeaning {
    /// Everything was looked at and settled.
    Reviewed,
    /// What was settled is agreed to (supervisors).
    Approved,
}

/// Where the passphrase comes from.
#[derive(Debug, Args)]
pub struct PassphraseArguments {
    /// Read the passphrase from this file descriptor, its first line; ask for it when left out.
    #[arg(long, value_name = "NUMBER")]
    pub passphrase_fd: Option<u32>,
}

/// What to verify.
#[derive(Debug, Args)]
pub struct VerifyArguments {
    /// Logger files or review journals, one a record.
    #[arg(value_name = "RECORD", required = true)]
    pub records: Vec<PathBuf>,
    /// The plant file; the one that the journal names, beside the record or above it, when left
    /// out.
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The register of signers; the one beside the plant file when left out.
    #[arg(long, value_name = "SIGNERS.jsonl")]
    pub register: Option<PathBuf>,
}
