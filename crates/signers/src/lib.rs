//! Who may sign: encrypted private keys, and the plant's register of public keys.
//!
//! A signer has a private key in a folder of their own, encrypted with a passphrase ([`KeyFolder`]);
//! unlocked it signs bytes and is wiped when dropped ([`UnlockedKey`]). The plant has one
//! [`Register`], replayed from a chained journal, in which supervisors enrol signers with their
//! public keys, change roles, revoke, approve plant files, and enter tests of the equipment and seals
//! ([`Equipment`]). From it follows whether a signature holds
//! ([`Verdict`]). Beside it lies the [`Ledger`] of what was signed; both together are the [`Books`].
//! The formats are in `docs/review.md`. This crate has no clock: instants come from the caller.

mod books;
mod change;
mod equipment;
mod error;
mod folder;
mod key;
mod ledger;
mod ledger_file;
mod passphrase;
mod person;
mod public_key;
mod register;
mod register_file;
mod rekey;
mod shut;
mod tries;
mod verdict;
mod violation;
mod wiped;

pub use books::{Books, Imprint, Known};
pub use change::{Enrolment, Qualification};
pub use equipment::{EnteredBy, Equipment, Seal, SealBroken, Sealed, TestStanding, Tested};
pub use error::Error;
pub use folder::KeyFolder;
pub use key::{Cost, UnlockedKey};
pub use ledger::{Entries, Found, Ledger, Posted, SignedEntries, Stood};
pub use ledger_file::LedgerFile;
pub use passphrase::Passphrase;
pub use person::{Act, Meaning, Role, SignerId};
pub use public_key::PublicKey;
pub use register::{Approval, Correction, Pending, Register, Signer};
pub use register_file::RegisterFile;
pub use shut::Shut;
pub use verdict::Verdict;
pub use violation::Violation;
