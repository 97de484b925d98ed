//! `holdtrace signer`.

use super::review::PassphraseArguments;
use chrono::NaiveDate;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What to do with signers.
#[derive(Debug, Subcommand)]
pub enum SignerCommand {
    /// Create the plant's register: the first supervisor creates a key and is enrolled.
    SetUp(SetUpArguments),
    /// Create a key on this machine, and print the public key for a supervisor to enrol.
    Key(KeyArguments),
    /// Change the passphrase of a key on this machine.
    ///
    /// The old one is asked for, then the new one twice. With --passphrase-fd the first line is the old
    /// one and the second the new one. The key stays the same. A copy of the old key file, such as in a
    /// backup, still opens with the old passphrase.
    Passphrase(KeyArguments),
    /// Enrol somebody by their public key (supervisors).
    Enrol(EnrolArguments),
    /// Give somebody another role (supervisors).
    Role(RoleArguments),
    /// Enter what somebody is qualified for, and since when (supervisors); it is printed with
    /// signatures.
    Qualify(QualifyArguments),
    /// Revoke somebody: later signatures fail, earlier ones hold (supervisors).
    Revoke(RevokeArguments),
    /// Everybody in the register, the plant files that count, and what waits for another supervisor.
    List(RegisterArguments),
    /// Approve a plant file, so that records audited with it count (supervisors; another agrees where
    /// there are two).
    Approve(ApproveArguments),
    /// Withdraw the approval of a plant file (supervisors).
    Withdraw(WithdrawFileArguments),
    /// Agree to what another supervisor entered, so that it takes effect (supervisors).
    Second(SecondArguments),
    /// Correct a clock that was ahead, so that lines with the right date can be entered again
    /// (supervisors).
    CorrectClock(CorrectRegisterArguments),
    /// Accept a register of signers as the plant's on this machine, after its fingerprint was compared
    /// with paper.
    Trust(TrustArguments),
}

/// Which plant file is approved.
#[derive(Debug, Args)]
pub struct ApproveArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The plant file.
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: PathBuf,
}

/// Which plant file no longer counts.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("file").required(true))]
pub struct WithdrawFileArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The plant file.
    #[arg(long, value_name = "PLANT.toml", group = "file")]
    pub plant: Option<PathBuf>,
    /// The SHA-256 of its bytes, for one that no longer exists.
    #[arg(long, value_name = "SHA256", group = "file")]
    pub sha256: Option<String>,
    /// Why.
    #[arg(long)]
    pub reason: String,
}

/// What is agreed to.
#[derive(Debug, Args)]
pub struct SecondArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The line of the register, as `signer list` prints it.
    #[arg(long, value_name = "NUMBER")]
    pub line: u64,
}

/// Why a clock is corrected.
#[derive(Debug, Args)]
pub struct CorrectRegisterArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// What happened.
    #[arg(long)]
    pub reason: String,
}

/// Which register is accepted.
#[derive(Debug, Args)]
pub struct TrustArguments {
    #[command(flatten)]
    pub register: RegisterArguments,
    /// The plant file [default: `plant.toml` beside the register].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The fingerprint of the first supervisor, copied from paper.
    #[arg(long)]
    pub fingerprint: String,
}

/// What to do with the ledger of what was signed.
#[derive(Debug, Subcommand)]
pub enum LedgerCommand {
    /// List the journals in the ledger and how many lines of each it has.
    Show(RegisterArguments),
    /// Take stock: accept the journals of a folder as they are (supervisors). A folder from before
    /// there was a ledger begins with it.
    Stock(StockArguments),
}

/// What is accepted.
#[derive(Debug, Args)]
pub struct StockArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The folder of the records [default: that of the register].
    #[arg(long, value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// A record that is accepted although it is not what was signed, such as one from the backup.
    /// Can be given more than once.
    #[arg(long, value_name = "RECORD")]
    pub record: Vec<PathBuf>,
    /// Why.
    #[arg(long)]
    pub reason: String,
}

/// Which register.
#[derive(Debug, Args)]
pub struct RegisterArguments {
    /// The register, `signers.jsonl` beside the plant file.
    #[arg(long, value_name = "SIGNERS.jsonl", default_value = "signers.jsonl")]
    pub register: PathBuf,
}

/// Who creates it.
#[derive(Debug, Args)]
pub struct SetUpArguments {
    #[command(flatten)]
    pub register: RegisterArguments,
    /// The supervisor's identifier: `a–z`, `0–9`, `.`, `-`, `_`.
    #[arg(long)]
    pub signer: String,
    /// The name as printed under signatures.
    #[arg(long)]
    pub name: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
    /// Continue although this machine's clock and that of the disk differ.
    #[arg(long)]
    pub clock_is_right: bool,
}

/// Whose key.
#[derive(Debug, Args)]
pub struct KeyArguments {
    /// The signer's identifier: `a–z`, `0–9`, `.`, `-`, `_`.
    #[arg(long)]
    pub signer: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
}

/// Whom to enrol.
#[derive(Debug, Args)]
pub struct EnrolArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The new signer's identifier.
    #[arg(long)]
    pub signer: String,
    /// The name as printed under signatures.
    #[arg(long)]
    pub name: String,
    /// The role.
    #[arg(long, value_enum)]
    pub role: SignerRole,
    /// The public key, PEM; `-` is standard input.
    #[arg(long, value_name = "PATH.pem")]
    pub public_key: PathBuf,
}

/// The supervisor who acts.
#[derive(Debug, Args)]
pub struct ActingArguments {
    #[command(flatten)]
    pub register: RegisterArguments,
    /// Who does it, by the identifier in the register.
    #[arg(long, value_name = "SIGNER")]
    pub by: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
    /// Continue although this machine's clock and that of the disk differ.
    #[arg(long)]
    pub clock_is_right: bool,
}

/// Whose role.
#[derive(Debug, Args)]
pub struct RoleArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The signer's identifier.
    #[arg(long)]
    pub signer: String,
    /// The new role.
    #[arg(long, value_enum)]
    pub role: SignerRole,
}

/// Who is qualified, and for what.
#[derive(Debug, Args)]
pub struct QualifyArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The signer's identifier.
    #[arg(long)]
    pub signer: String,
    /// What for, such as "preventive controls qualified individual".
    #[arg(long)]
    pub qualification: String,
    /// Since when.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: NaiveDate,
}

/// Whom to revoke.
#[derive(Debug, Args)]
pub struct RevokeArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The signer's identifier.
    #[arg(long)]
    pub signer: String,
    /// Why.
    #[arg(long)]
    pub reason: String,
}

/// What a signer may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SignerRole {
    /// Signs operators' entries, and reviews nothing.
    Operator,
    /// Signs as reviewed.
    Technician,
    /// Signs as reviewed or approved, and keeps the register.
    Supervisor,
}
