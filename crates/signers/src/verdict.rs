//! Whether a signature holds, and if not, the first reason why.

use crate::person::{Act, Role};
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
    /// At the line named the signer's role might not do that.
    RoleMayNot {
        /// The role there.
        role: Role,
        /// What was signed for.
        act: Act,
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
    /// At its date the signer's role might not do that.
    RoleMightNotThen {
        /// What was signed for.
        act: Act,
    },
    /// The key fits, but the name or the role that is printed with it is not the register's.
    NamedOtherwise,
    /// There is no register of signers to check it against.
    NoRegister,
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
            Self::RoleMayNot { role, act: Act::Sign(meaning) } => write!(
                formatter,
                "the signer was a {role} then, whose signature can't mean \"{meaning}\""
            ),
            Self::RoleMayNot { role, act: Act::Enter | Act::SignEntries } => {
                write!(formatter, "the signer was an {role} then, who may not do this")
            }
            Self::RoleMayNot { role, act: Act::Supervise } => {
                write!(formatter, "the signer was a {role} then, and only a supervisor may do this")
            }
            Self::BeforeEnrolment { enrolled } => {
                write!(formatter, "it is dated before the signer was enrolled ({enrolled})")
            }
            Self::AfterRevocation { revoked } => {
                write!(formatter, "it is dated after the signer was revoked ({revoked})")
            }
            Self::RoleMightNotThen { act: Act::Sign(meaning) } => write!(
                formatter,
                "at its date the signer had no role whose signature can mean \"{meaning}\""
            ),
            Self::RoleMightNotThen { act: _ } => {
                formatter.write_str("at its date the signer had no role that may do this")
            }
            Self::NamedOtherwise => {
                formatter.write_str("the printed name or role is not the one in the register")
            }
            Self::NoRegister => {
                formatter.write_str("there is no register of signers to check it against")
            }
        }
    }
}
