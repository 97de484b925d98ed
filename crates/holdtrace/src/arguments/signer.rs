//! `holdtrace signer`.

use super::review::PassphraseArguments;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What to do with signers.
#[derive(Debug, Subcommand)]
pub enum SignerCommand {
    /// Begin the plant's register: the first supervisor gets a key and enrols themselves.
    SetUp(SetUpArguments),
    /// Make a key on this machine, and print its public part for a supervisor to enrol.
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
    /// Revoke somebody: later signatures fail, earlier ones hold (supervisors).
    Revoke(RevokeArguments),
    /// Everybody in the register.
    List(RegisterArguments),
}

/// Which register.
#[derive(Debug, Args)]
pub struct RegisterArguments {
    /// The register, `signers.jsonl` beside the plant file.
    #[arg(long, value_name = "SIGNERS.jsonl", default_value = "signers.jsonl")]
    pub register: PathBuf,
}

/// Who begins.
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
    /// The supervisor's identifier.
    #[arg(long, value_name = "SUPERVISOR")]
    pub by: String,
    #[command(flatten)]
    pub passphrase: PassphraseArguments,
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
    /// Signs as reviewed.
    Technician,
    /// Signs as reviewed or approved, and keeps the register.
    Supervisor,
}
