//! How far the review of a record is: the one word that the register, the paper and every table
//! use for it.

use crate::state::{Signed, State};
use crate::verify::Verification;
use signers::Meaning;

/// How far the review of a record is, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Stage {
    /// Nobody has decided anything.
    #[default]
    Unread,
    /// Something is decided, and no standing signature says that all was reviewed.
    BeingReviewed,
    /// Standing signatures say that the whole record was reviewed.
    Reviewed,
    /// Standing signatures approve the whole record, and every link holds.
    Signed,
    /// It bears a standing signature on an audit by another version of the method, and nothing else
    /// has changed: the new audit is to be entered and reviewed.
    MethodChanged,
    /// It bears a standing signature and nothing was changed, but the ledger does not know of it, or
    /// nobody approved the plant file: a supervisor is to look at it.
    Unproven,
    /// It bears a signature and a link does not hold, or its journal can't be relied on from the
    /// first line: it is not what was signed.
    ChangedSinceSigning,
}

impl Stage {
    /// All stages, in order.
    pub const ALL: [Self; 7] = [
        Self::Unread,
        Self::BeingReviewed,
        Self::Reviewed,
        Self::Signed,
        Self::MethodChanged,
        Self::Unproven,
        Self::ChangedSinceSigning,
    ];

    /// Where a journal leaves the review: whether there is one, what replaying it gave, and what
    /// checking it link by link found. One that the ledger knows and that is gone was changed.
    pub(crate) fn of(is_there: bool, state: Option<&State>, verification: &Verification) -> Self {
        let Some(state) = state else {
            let was_there = is_there || verification.is_contradicted;
            return if was_there { Self::ChangedSinceSigning } else { Self::Unread };
        };
        if verification.is_intact_but_for_the_method() {
            // What was signed before and is open again is only being reviewed.
            let stands = state.signatures().iter().any(Signed::stands);
            return if stands { Self::MethodChanged } else { Self::BeingReviewed };
        }
        if !verification.is_intact() && verification.is_intact_but_for_the_books() {
            let stands = state.signatures().iter().any(Signed::stands);
            return if stands { Self::Unproven } else { Self::BeingReviewed };
        }
        let was_signed = !state.signatures().is_empty() || verification.is_contradicted;
        if was_signed && !verification.is_intact() {
            Self::ChangedSinceSigning
        } else if verification.holds() {
            Self::Signed
        } else if state.covered_at(Meaning::Reviewed).is_some() {
            Self::Reviewed
        } else {
            Self::BeingReviewed
        }
    }

    /// Key and name.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Unread => ("unread", "unread"),
            Self::BeingReviewed => ("being_reviewed", "being reviewed"),
            Self::Reviewed => ("reviewed", "reviewed"),
            Self::Signed => ("signed", "signed"),
            Self::MethodChanged => ("method_changed", "audit method changed"),
            Self::Unproven => ("unproven", "signed, not verifiable"),
            Self::ChangedSinceSigning => ("changed_since_signing", "changed since signing"),
        }
    }

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        self.words().0
    }

    /// The words for a person.
    pub const fn name(self) -> &'static str {
        self.words().1
    }

    /// Whether it was signed and does not stand as it was signed.
    pub const fn is_alarming(self) -> bool {
        match self {
            Self::MethodChanged | Self::Unproven | Self::ChangedSinceSigning => true,
            Self::Unread | Self::BeingReviewed | Self::Reviewed | Self::Signed => false,
        }
    }

    /// Whether a technician still has to look at it.
    pub const fn is_to_review(self) -> bool {
        self.is_alarming() || matches!(self, Self::Unread | Self::BeingReviewed)
    }
}
