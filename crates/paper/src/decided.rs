//! What people decided about a record, as the summary prints it. Plain data: whoever keeps reviews
//! and signatures fills it, and has verified what is said here to hold.

use review::{Settlement, Stage};
use std::collections::BTreeMap;
use trace::Instant;

/// What was decided about a record. The default: nothing was.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Decided {
    /// How the record is named in the day log; `None` to name it by unit, date and digest.
    pub record: Option<String>,
    /// How far the review is.
    pub stage: Stage,
    /// What was decided about exceptions, by [`analysis::Exception::id`]. An id that the audit does
    /// not hold is told on paper.
    pub exceptions: BTreeMap<String, Decision>,
    /// How observations were closed, by [`review::closing_ids`]. An id that the audit does not hold is
    /// told on paper.
    pub closed: BTreeMap<String, Closing>,
    /// The time without a record before this one that a person closed; one that is open is told by
    /// the verification.
    pub hole: Option<Hole>,
    /// What was seen of the observations to note.
    pub acknowledged: Vec<Acknowledgement>,
    /// What people entered that no sensor can give.
    pub entries: Vec<Entry>,
    /// The signatures, in order of time.
    pub signatures: Vec<Signature>,
    /// What was verified about the signed record, line by line.
    pub verification: Vec<Verification>,
    /// Digests beside those of the files: audit, head of the journal, of the register of signers and of
    /// the ledger, fingerprints of the signers' keys.
    pub digests: Vec<Digest>,
    /// Why the limits do not count, in a sentence: no supervisor approved the plant file.
    pub unapproved: Option<String>,
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

/// The time without a record before a record, and how it was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hole {
    /// From when to when, and where the flow diversion device stood at both ends.
    pub words: String,
    /// How it was closed.
    pub closing: Closing,
}

/// How an observation was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// The reason.
    pub reason: String,
    /// What else was said.
    pub note: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// Somebody saw the observations of a kind.
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
    /// What, as the list of required entries names it.
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
