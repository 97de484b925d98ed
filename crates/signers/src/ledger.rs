//! The plant's ledger: whoever signs in the journal of a record enters here how far that journal and
//! the register of signers went. So it is seen when a journal, a record or the register is cut short,
//! replaced or taken away, which their own chains can't show.
//!
//! [`Ledger`] is what its lines give: a pure replay, in which every signature is checked against the
//! register. It begins with a supervisor who takes stock. The bodies are in `docs/review.md`.

use crate::person::{Act, SignerId};
use crate::register::{Register, begins_with};
use crate::violation::Violation;
use journal::{Body, Damage, Digest, Line, Signature, Stamp};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// A journal as it stood when somebody signed in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stood {
    /// The journal's file, from the ledger's folder on, with `/` between folders.
    pub journal: String,
    /// How many lines it had.
    pub lines: u64,
    /// The digest of the last of them, hexadecimal.
    pub head: String,
    /// The digest of the plant file that the record was audited with, hexadecimal; none where the
    /// plant was assumed.
    pub plant_file: Option<String>,
}

/// Operators' entries as they stood when somebody signed them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entries {
    /// Their file, from the ledger's folder on, with `/` between folders.
    pub file: String,
    /// The digest of its bytes, hexadecimal.
    pub sha256: String,
}

/// What a line of the ledger says. `register` is the digest of the register's last line then, and
/// `register_lines` says how many lines it had.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub(crate) enum Posting {
    /// A supervisor accepts the journals as they are.
    StockTaken { reason: String, journals: Vec<Stood>, register: String, register_lines: u64 },
    /// A line was signed in a journal.
    Entered { journal: Stood, register: String, register_lines: u64 },
    /// Operators' entries were signed.
    EntriesSigned { entries: Entries, register: String, register_lines: u64 },
    /// The register was changed.
    Registered { register: String, register_lines: u64 },
    /// The clock ran ahead before this line.
    ClockCorrected { reason: String, register: String, register_lines: u64 },
}

impl Posting {
    pub(crate) fn from_body(body: &Body) -> Result<Self, String> {
        serde_json::from_value(Value::Object(body.clone()))
            .map_err(|cause| format!("its body is not one of a ledger: {cause}"))
    }

    #[expect(clippy::expect_used, reason = "names and texts have no cause to fail")]
    pub(crate) fn to_body(&self) -> Body {
        match serde_json::to_value(self).expect("a posting can be written as JSON") {
            Value::Object(body) => body,
            _ => Body::new(),
        }
    }

    /// The register as it was: the digest of its last line, and how many it had.
    fn register(&self) -> (&str, u64) {
        match self {
            Self::StockTaken { register, register_lines, .. }
            | Self::Entered { register, register_lines, .. }
            | Self::EntriesSigned { register, register_lines, .. }
            | Self::Registered { register, register_lines }
            | Self::ClockCorrected { register, register_lines, .. } => {
                (register.as_str(), *register_lines)
            }
        }
    }

    /// What the person must be allowed to do.
    pub(crate) const fn act(&self) -> Act {
        match self {
            Self::Entered { .. } => Act::Enter,
            Self::EntriesSigned { .. } => Act::SignEntries,
            Self::StockTaken { .. } | Self::Registered { .. } | Self::ClockCorrected { .. } => {
                Act::Supervise
            }
        }
    }
}

/// A journal in the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Posted {
    /// The ledger's line, from 1.
    pub line: u64,
    /// Who entered it.
    pub by: SignerId,
    /// When.
    pub at: Stamp,
    /// Whether a supervisor took stock, and accepted the journal as it was.
    pub is_stock: bool,
    /// The journal.
    pub stood: Stood,
}

/// A signature under operators' entries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedEntries {
    /// The ledger's line, from 1.
    pub line: u64,
    /// Who signed.
    pub by: SignerId,
    /// When.
    pub at: Stamp,
    /// What was signed.
    pub entries: Entries,
}

/// What the ledger says of a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found<'a> {
    /// It knows no journal of this name or with these lines.
    Nothing,
    /// The journal has the lines that it had.
    Agrees(&'a Posted),
    /// It is not the journal that was signed, in a sentence.
    Contradicts(String),
}

/// The ledger as its lines give it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ledger {
    posted: Vec<Posted>,
    /// By journal, the place of its latest posting.
    latest: BTreeMap<String, usize>,
    entries: Vec<SignedEntries>,
    lines: Vec<Digest>,
    register_lines: u64,
}

/// A signature that is to be checked.
struct Check<'a> {
    line: &'a Line,
    by: SignerId,
    act: Act,
    register: Digest,
    /// The register's line that it tells of, whose author may tell of it.
    register_lines: Option<u64>,
    signature: Signature,
}

impl Ledger {
    /// Replays the lines of a ledger against the register. No lines give the empty ledger.
    ///
    /// # Errors
    /// The first line that breaks a rule, names a state that the register never had, or whose
    /// signature does not hold.
    pub fn replay(lines: &[Line], register: &Register) -> Result<Self, Violation> {
        let mut ledger = Self::default();
        let mut checks = Vec::with_capacity(lines.len());
        for line in lines {
            let at_line = |why| Violation { line: line.sequence(), why };
            checks.push(ledger.enter(line, register).map_err(at_line)?);
        }
        match first_that_fails(&checks, register) {
            Some(violation) => Err(violation),
            None => Ok(ledger),
        }
    }

    /// Goes on by a line, whose signature is checked by who calls.
    fn enter<'a>(&mut self, line: &'a Line, register: &Register) -> Result<Check<'a>, String> {
        let by: SignerId = line.by().parse().map_err(|cause: crate::Error| cause.to_string())?;
        let signature = line.signature().ok_or("it is not signed")?;
        let posting = Posting::from_body(line.body())?;
        if self.lines.is_empty() && !matches!(posting, Posting::StockTaken { .. }) {
            return Err("a ledger begins with a supervisor who takes stock".to_owned());
        }
        let (head, lines) = posting.register();
        let head: Digest = head.parse().map_err(|cause: Damage| cause.to_string())?;
        if !register.was(lines, head) {
            return Err(format!(
                "it names a register of {lines} lines that this register never was: the register \
                 was cut short or replaced"
            ));
        }
        // The register only grows; so who was revoked can't enter anything behind its back by naming
        // an older line of it.
        if lines < self.register_lines {
            return Err(format!(
                "it names the register as it was with {lines} lines, and a line above with {}",
                self.register_lines
            ));
        }
        self.register_lines = lines;
        let act = posting.act();
        let register_lines = matches!(posting, Posting::Registered { .. }).then_some(lines);
        let place = line.sequence();
        let mut post = |stood: Stood, is_stock| -> Result<(), String> {
            stood.head.parse::<Digest>().map_err(|cause| cause.to_string())?;
            self.latest.insert(stood.journal.clone(), self.posted.len());
            self.posted.push(Posted {
                line: place,
                by: by.clone(),
                at: line.at(),
                is_stock,
                stood,
            });
            Ok(())
        };
        match posting {
            Posting::StockTaken { journals, .. } => {
                for stood in journals {
                    post(stood, true)?;
                }
            }
            Posting::Entered { journal, .. } => post(journal, false)?,
            Posting::EntriesSigned { entries, .. } => {
                entries.sha256.parse::<Digest>().map_err(|cause| cause.to_string())?;
                let at = line.at();
                self.entries.push(SignedEntries { line: place, by: by.clone(), at, entries });
            }
            Posting::Registered { .. } | Posting::ClockCorrected { .. } => {}
        }
        self.lines.push(line.digest());
        Ok(Check { line, by, act, register: head, register_lines, signature })
    }

    /// Goes on by a line that this program has just written.
    pub(crate) fn append(&mut self, line: &Line, register: &Register) -> Result<(), Violation> {
        let at_line = |why| Violation { line: line.sequence(), why };
        let mut next = self.clone();
        let check = next.enter(line, register).map_err(at_line)?;
        match first_that_fails(&[check], register) {
            Some(violation) => Err(violation),
            None => {
                *self = next;
                Ok(())
            }
        }
    }

    /// How many lines it has.
    pub fn len(&self) -> u64 {
        self.lines.len() as u64
    }

    /// Whether nobody has begun it.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The digest of the last line.
    pub fn head(&self) -> Digest {
        self.lines.last().copied().unwrap_or(Digest::NONE)
    }

    /// The digests of its lines, in order.
    pub fn digests(&self) -> impl Iterator<Item = Digest> + '_ {
        self.lines.iter().copied()
    }

    /// Whether its first `lines` lines end with the one of the digest `head`: an earlier state of it.
    pub fn was(&self, lines: u64, head: Digest) -> bool {
        begins_with(&self.lines, lines, head)
    }

    /// The last state of every journal that it knows.
    pub fn latest(&self) -> impl Iterator<Item = &Posted> {
        self.latest.values().filter_map(|place| self.posted.get(*place))
    }

    /// The signatures under operators' entries of these bytes, in order. Where nobody signed these, the
    /// last one under the file of this name (as in [`Entries`]): it was changed since.
    pub fn of_entries(&self, file: &str, sha256: &str) -> Vec<&SignedEntries> {
        let of = |one: &&SignedEntries| one.entries.sha256 == sha256;
        let signed: Vec<&SignedEntries> = self.entries.iter().filter(of).collect();
        if signed.is_empty() {
            self.entries.iter().rfind(|one| one.entries.file == file).into_iter().collect()
        } else {
            signed
        }
    }

    /// What a supervisor accepted of a journal when the ledger began: up to which line. Lines up to there
    /// may have been written under older rules. Stock that is taken later excuses no such line: by then
    /// every program followed these.
    pub fn stock_of(&self, lines: &[Line]) -> u64 {
        let begun = self.posted.iter().take_while(|posted| posted.line == 1 && posted.is_stock);
        let accepted = begun.filter(|posted| is_of(posted, lines));
        accepted.map(|posted| posted.stood.lines).max().unwrap_or(0)
    }

    /// What the ledger says of the journal in the file `journal`, named as in [`Stood`], with these
    /// lines. A journal that was moved to another folder is found by its lines.
    pub fn of_journal(&self, journal: &str, lines: &[Line]) -> Found<'_> {
        let of_name = self.latest.get(journal);
        let moved = || {
            let known = self.posted.iter().rev().find(|posted| is_of(posted, lines))?;
            self.latest.get(&known.stood.journal)
        };
        let Some(posted) = of_name.copied().or_else(|| moved().copied()) else {
            return Found::Nothing;
        };
        let Some(posted) = self.posted.get(posted) else { return Found::Nothing };
        if is_of(posted, lines) {
            return Found::Agrees(posted);
        }
        let Posted { line, by, at, stood, .. } = posted;
        let has = lines.len() as u64;
        let how = if has < stood.lines {
            format!("it has {has} lines now: lines were cut off, or an older copy was put back")
        } else {
            "that line is another now: the journal was replaced".to_owned()
        };
        Found::Contradicts(format!(
            "line {line} of the ledger ({by}, {at}) has {} lines of {}, the last with sha256 {}; {how}",
            stood.lines, stood.journal, stood.head
        ))
    }
}

/// Whether a journal has the lines that were posted.
fn is_of(posted: &Posted, lines: &[Line]) -> bool {
    let last = usize::try_from(posted.stood.lines).ok().and_then(|lines| lines.checked_sub(1));
    let line = last.and_then(|last| lines.get(last));
    line.is_some_and(|line| line.digest().to_string() == posted.stood.head)
}

/// Checks signatures, on all cores where there are many: a ledger of years has thousands.
fn first_that_fails(checks: &[Check<'_>], register: &Register) -> Option<Violation> {
    let fails = |check: &Check<'_>| {
        let Check { line, by, act, register: head, register_lines, signature } = check;
        let bytes = line.signed_bytes();
        if register_lines.is_some_and(|lines| register.is_author(by, lines, (&bytes, signature))) {
            return None;
        }
        let verdict = register.check(by, *act, line.at(), *head, &bytes, signature);
        let why = format!("the signature of {by}: {verdict}");
        (!verdict.holds()).then(|| Violation { line: line.sequence(), why })
    };
    let workers = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let part = checks.len().div_ceil(workers).max(32);
    if checks.len() <= part {
        return checks.iter().find_map(fails);
    }
    std::thread::scope(|scope| {
        let parts = checks.chunks(part).map(|part| scope.spawn(|| part.iter().find_map(fails)));
        let parts: Vec<_> = parts.collect();
        // A thread that stopped has checked nothing.
        let lost = || Some(Violation { line: 1, why: "it could not be checked".to_owned() });
        let found = parts.into_iter().map(|part| part.join().unwrap_or_else(|_| lost()));
        found.flatten().min_by_key(|violation| violation.line)
    })
}
