//! What people decided about a record, as the summary prints it. Plain data: whoever keeps reviews
//! and signatures fills it, and has verified what is said here to hold.

use review::{Settlement, Stage};
use std::collections::BTreeMap;
use trace::Instant;

/// What was decided about a record. The default: nothing was.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Decided {
    /// How the record is named in the register; `None` to name it by unit, date and digest.
    pub record: Option<String>,
    /// How far the review is.
    pub stage: Stage,
    /// What was decided about exceptions, by [`analysis::Exception::id`]. An id that the audit does
    /// not hold is told on paper.
    pub exceptions: BTreeMap<String, Decision>,
    /// What was seen of the observations.
    pub acknowledged: Vec<Acknowledgement>,
    /// What people entered that no sensor can give.
    pub entries: Vec<Entry>,
    /// The signatures, in order of time.
    pub signatures: Vec<Signature>,
    /// What was verified about the signed record, line by line.
    pub verification: Vec<Verification>,
    /// Digests beside those of the files: audit, head of the journal.
    pub digests: Vec<Digest>,
}

/// What was decided about one exception. A blank text was left blank.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Decision {
    /// What.
    pub settlement: Settlement,
    /// Who decided.
    pub by: String,
    /// When.
    pub at: Option<Instant>,
}

/// Somebody saw an observation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acknowledgement {
    /// Which, in words.
    pub observation: String,
    /// What was said about it.
    pub note: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// Something that somebody entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What, as the list of required items names it.
    pub what: String,
    /// The entry.
    pub value: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// A signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// The printed name.
    pub name: String,
    /// The signer's role.
    pub role: String,
    /// What the signature means: reviewed, approved, …
    pub meaning: String,
    /// When it was given.
    pub at: Instant,
    /// What it is about.
    pub scope: Scope,
    /// Whether it holds.
    pub verdict: Verdict,
    /// Whether a later one took its place.
    pub superseded: bool,
}

/// What a signature is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scope {
    /// The whole record.
    Day,
    /// One shift, by its name.
    Shift(String),
}

/// What the verification of a signature gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// It is the signer's, over this very record.
    Holds,
    /// It is not, and why.
    Fails(String),
}

/// One thing that was verified.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Whether it is as it should be.
    pub holds: bool,
    /// What was verified, in a sentence.
    pub line: String,
}

/// A SHA-256.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digest {
    /// Of what.
    pub of: String,
    /// In lower-case hexadecimal.
    pub sha256: String,
}
