//! Whether a signature holds, and if not, the first reason why.

use crate::person::{Meaning, Role};
use journal::Stamp;
use std::fmt;

/// The verdict on one signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The key fits, and the signer might sign with that meaning.
    Holds,
    /// The register never enrolled the signer.
    UnknownSigner,
    /// The key is not the one in the register, or the signature covers other bytes.
    KeyDoesNotFit,
    /// The digest named is that of no line of the register.
    UnknownRegisterHead,
    /// At the line named the signer was not yet enrolled.
    NotYetEnrolled,
    /// At the line named the signer was revoked.
    AlreadyRevoked,
    /// At the line named the signer's role might not give the meaning.
    RoleMayNot {
        /// The role there.
        role: Role,
        /// The meaning of the signature.
        meaning: Meaning,
    },
    /// It is dated before the signer was enrolled.
    BeforeEnrolment {
        /// When that was.
        enrolled: Stamp,
    },
    /// It is dated after the signer was revoked.
    AfterRevocation {
        /// When that was.
        revoked: Stamp,
    },
    /// At its date the signer's role might not give the meaning.
    RoleMightNotThen {
        /// The meaning of the signature.
        meaning: Meaning,
    },
}

impl Verdict {
    /// Whether the signature holds.
    pub fn holds(self) -> bool {
        self == Self::Holds
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Holds => formatter.write_str("the signature holds"),
            Self::UnknownSigner => formatter.write_str("the register never enrolled this signer"),
            Self::KeyDoesNotFit => formatter.write_str(
                "the key is not the one that the register has for this signer, or something else \
                 was signed",
            ),
            Self::UnknownRegisterHead => formatter.write_str(
                "it names a line that this register does not have: it was made with another \
                 register, or the register was cut",
            ),
            Self::NotYetEnrolled => formatter
                .write_str("at the line of the register that it names the signer was not enrolled"),
            Self::AlreadyRevoked => formatter
                .write_str("at the line of the register that it names the signer was revoked"),
            Self::RoleMayNot { role, meaning } => write!(
                formatter,
                "the signer was a {role} then, whose signature can't mean \"{meaning}\""
            ),
            Self::BeforeEnrolment { enrolled } => {
                write!(formatter, "it is dated before the signer was enrolled ({enrolled})")
            }
            Self::AfterRevocation { revoked } => {
                write!(formatter, "it is dated after the signer was revoked ({revoked})")
            }
            Self::RoleMightNotThen { meaning } => write!(
                formatter,
                "at its date the signer had no role whose signature can mean \"{meaning}\""
            ),
        }
    }
}
