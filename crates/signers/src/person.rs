//! Who a signer is to the plant: an identifier, a role, and what a signature in that role can mean.

use crate::error::Error;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// The identifier of a signer: 1 to 64 of `a–z`, `0–9`, `.`, `-`, `_`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct SignerId(String);

impl SignerId {
    /// The identifier as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for SignerId {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        text.to_owned().try_into()
    }
}

impl TryFrom<String> for SignerId {
    type Error = Error;

    fn try_from(text: String) -> Result<Self, Error> {
        let fits = |byte: u8| matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'.' | b'-' | b'_');
        if (1..=64).contains(&text.len()) && text.bytes().all(fits) {
            Ok(Self(text))
        } else {
            Err(Error::NotAnIdentifier { text })
        }
    }
}

impl From<SignerId> for String {
    fn from(signer: SignerId) -> Self {
        signer.0
    }
}

impl fmt::Display for SignerId {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

/// What a signer is in the plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Runs the line, and signs what they entered during the day; reviews nothing.
    Operator,
    /// Goes through the exceptions and signs as reviewed.
    Technician,
    /// Signs as reviewed or approved, and keeps the register.
    Supervisor,
}

impl fmt::Display for Role {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::Operator => "operator",
            Self::Technician => "technician",
            Self::Supervisor => "supervisor",
        })
    }
}

/// What a signature under a record says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meaning {
    /// Everything in it was looked at and settled.
    Reviewed,
    /// The review was looked at and is accepted.
    Approved,
}

impl Meaning {
    /// Whether a signer in `role` may sign with this meaning.
    pub fn is_open_to(self, role: Role) -> bool {
        match self {
            Self::Reviewed => role != Role::Operator,
            Self::Approved => role == Role::Supervisor,
        }
    }
}

/// What a signed line is: what a signer must be allowed to do for it to count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Act {
    /// A signature under a record.
    Sign(Meaning),
    /// A signature under the operators' entries of a day, which everybody may give.
    SignEntries,
    /// What everybody who reviews may do, and must prove to be theirs: release product, reopen what they
    /// may sign, enter in the ledger.
    Enter,
    /// What only a supervisor may do: return, reopen what is approved, correct a clock, take stock.
    Supervise,
}

impl Act {
    /// Whether a signer in `role` may do it.
    pub fn is_open_to(self, role: Role) -> bool {
        match self {
            Self::Sign(meaning) => meaning.is_open_to(role),
            Self::SignEntries => true,
            Self::Enter => role != Role::Operator,
            Self::Supervise => role == Role::Supervisor,
        }
    }
}

impl From<Meaning> for Act {
    fn from(meaning: Meaning) -> Self {
        Self::Sign(meaning)
    }
}

impl fmt::Display for Meaning {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::Reviewed => "reviewed",
            Self::Approved => "approved",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identifiers_are_short_and_plain() {
        let longest = "x".repeat(64);
        for text in ["m.ortega", "a", "0-9_z", "..", longest.as_str()] {
            assert_eq!(text.parse::<SignerId>().map(String::from).ok().as_deref(), Some(text));
        }
        let too_long = "x".repeat(65);
        for text in ["", "M.Ortega", "a b", "a/b", "a\\b", "ä", "a\n", "a\0", too_long.as_str()] {
            let error = text.parse::<SignerId>().map(String::from).err();
            assert!(matches!(error, Some(Error::NotAnIdentifier { .. })), "{text:?}");
        }
    }

    #[test]
    fn only_a_supervisor_approves() {
        assert!(!Meaning::Reviewed.is_open_to(Role::Operator));
        assert!(Meaning::Reviewed.is_open_to(Role::Technician));
        assert!(Meaning::Reviewed.is_open_to(Role::Supervisor));
        assert!(!Meaning::Approved.is_open_to(Role::Operator));
        assert!(!Meaning::Approved.is_open_to(Role::Technician));
        assert!(Meaning::Approved.is_open_to(Role::Supervisor));
    }

    #[test]
    fn an_operator_signs_entries_and_does_nothing_else() {
        for role in [Role::Operator, Role::Technician, Role::Supervisor] {
            assert!(Act::SignEntries.is_open_to(role));
            assert_eq!(Act::Enter.is_open_to(role), role != Role::Operator);
            assert_eq!(Act::Supervise.is_open_to(role), role == Role::Supervisor);
        }
    }
}
