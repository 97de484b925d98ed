//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::decision::Settlement;
use crate::entries_signed::EntriesSigned;
use crate::mark::Mark;
use crate::product_hold::{Ended, ProductHold};
use crate::stage::Stage;
use crate::state::{Signed, State};
use crate::verify::{Evidence, Kind, Link, Verification, limits_approved, verify_state};
use journal::Digest;
use signers::{Books, Equipment, Imprint, Register};
use std::collections::BTreeMap;
use std::sync::Arc;
use trace::Instant;

/// What was decided about a record, and whether it can be relied on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reviewed {
    /// How far it is.
    pub stage: Stage,
    /// What was decided; `None` where nothing was, or where not even the journal's first line can be
    /// followed.
    pub state: Option<State>,
    /// The verdicts on all links.
    pub verification: Verification,
    /// The register of signers and the ledger that it was checked against; `None` where there is no
    /// register that can be relied on.
    pub books: Option<Imprint>,
    /// Why the limits that the record was audited with do not count, in a sentence: no supervisor had
    /// approved the plant file. `None` where they count, or the plant was assumed.
    pub unapproved: Option<String>,
    /// What does not hold, in sentences; empty where nothing was decided yet. That it is not signed is
    /// none of that.
    pub faults: Vec<String>,
    /// Who signed the operators' entries that are there now, as the ledger says.
    pub entries_signed: EntriesSigned,
    /// The tests of the equipment and the seals, as the register says; none without one.
    pub equipment: Arc<Equipment>,
    /// The printed names of those in the register of signers, by their identifiers.
    pub names: BTreeMap<String, String>,
}

impl Reviewed {
    /// The review of a record that has no journal, and of which nothing else is known.
    pub fn unread() -> Self {
        Self::of(&Evidence {
            lines: &[],
            fault: None,
            name: String::new(),
            books: &Books::none("there is no register of signers"),
            fresh: Err(String::new()),
            hole: None,
            folder: None,
            now: Instant::from_unix_milliseconds(0),
        })
    }

    /// The same of a record whose journal is there and can't be read.
    #[must_use]
    pub fn unreadable(mut self, why: &str) -> Self {
        self.stage = Stage::ChangedSinceSigning;
        self.faults.push(why.to_owned());
        self
    }

    /// How an exception was resolved, and by whom; `None` while it is not.
    pub fn resolution(&self, id: &str) -> Option<(&Settlement, &Mark)> {
        self.state.as_ref().and_then(|state| state.resolution(id))
    }

    /// The printed name of whom an identifier names; the identifier where the register knows nobody of
    /// that name.
    pub fn name_of<'a>(&'a self, identifier: &'a str) -> &'a str {
        self.names.get(identifier).map_or(identifier, String::as_str)
    }

    /// What is or was on hold, in the order in which it was put on hold.
    pub fn holds(&self) -> &[ProductHold] {
        self.state.as_ref().map_or(&[], State::holds)
    }

    /// A hold in a line: what is held, and where it stands.
    pub fn hold_in_words(&self, hold: &ProductHold) -> String {
        format!("{}: {}; {}", hold.name, hold.what(), self.hold_standing(hold))
    }

    /// Where a hold stands: since when and by whom, in printed names, and what ended it.
    pub fn hold_standing(&self, hold: &ProductHold) -> String {
        let by = |mark: &Mark| (self.name_of(&mark.by).to_owned(), mark.at.minute());
        let (name, minute) = by(&hold.since);
        let since = format!("{minute} by {name}");
        let Some(Ended { ending, mark, verdict }) = &hold.ended else {
            return format!("on hold since {since}");
        };
        let (name, minute) = by(mark);
        let ended = format!(
            "{} {minute} by {name}: {}; {}",
            ending.outcome,
            ending.reason.trim(),
            ending.evidence.in_words()
        );
        if verdict.holds() {
            format!("on hold since {since}; {ended}")
        } else {
            format!(
                "ON HOLD since {since}, as the signature that ended it fails ({verdict}): {ended}"
            )
        }
    }

    /// The digest of the journal's last line; `None` where nothing was decided.
    pub fn head(&self) -> Option<Digest> {
        self.state.as_ref().map(|_| self.verification.head)
    }

    /// All signatures, in order, superseded ones too.
    pub fn signatures(&self) -> &[Signed] {
        self.state.as_ref().map_or(&[], State::signatures)
    }

    /// Whether there is a review and something in it does not hold: it was changed or forged, or what
    /// it is about was changed. That it is not finished is none of that.
    pub fn is_at_fault(&self) -> bool {
        self.stage != Stage::Unread && !self.verification.is_intact()
    }

    /// What a journal says, checked against what there is; see [`crate::verify()`].
    pub fn of(evidence: &Evidence<'_>) -> Self {
        let Evidence { lines, fault, books, .. } = evidence;
        let (state, broken) = State::replay_as_far(lines, books.signers());
        let broken = broken.map(|(line, why)| (line, why.to_string()));
        let verification = verify_state(evidence, state.as_ref(), broken);
        let stage = Stage::of(!lines.is_empty() || fault.is_some(), state.as_ref(), &verification);
        let unapproved = unapproved(evidence, state.as_ref(), &verification);
        let mut faults = Vec::new();
        if stage != Stage::Unread {
            let failing = verification.links.iter().filter(|link| !link.holds);
            let failing = failing.filter(|link| link.kind != Kind::SignOff);
            faults.extend(failing.map(Link::in_words));
        }
        let signers = books.signers().map(Register::signers).unwrap_or_default();
        let names = signers.iter().map(|one| (one.id().to_string(), one.name().to_owned()));
        let equipment = books.signers().map(|register| Arc::clone(register.equipment()));
        let equipment = equipment.unwrap_or_default();
        let source = evidence.fresh.as_ref().ok().and_then(|one| one.operator_entries.as_ref());
        let entries_signed = source.map_or(EntriesSigned::Nobody, |source| {
            EntriesSigned::of(books, &evidence.name, source)
        });
        let (books, names) = (books.imprint(), names.collect());
        Self {
            stage,
            state,
            verification,
            books,
            unapproved,
            faults,
            entries_signed,
            equipment,
            names,
        }
    }
}

fn unapproved(
    evidence: &Evidence<'_>,
    state: Option<&State>,
    verification: &Verification,
) -> Option<String> {
    if state.is_some() {
        let approval = verification.links.iter().find(|link| link.kind == Kind::Approval)?;
        return (!approval.holds).then(|| approval.found.clone());
    }
    // Nobody has decided anything yet: what counts now.
    let fresh = evidence.fresh.as_ref().ok()?;
    let Some(register) = evidence.books.signers() else {
        let found = "NOT APPROVED: there is no register of signers that says so".to_owned();
        return fresh.plant_file.as_ref().map(|_| found);
    };
    let (approved, found) = limits_approved(register, fresh, evidence.now)?;
    (!approved).then_some(found)
}
