//! Where the review of a record stands: from its journal and the register of signers, against the
//! record as it is now.

use journal::Reading;
use review::{Meaning, Standing, State, Subject, Verification, verify};
use serde::Serialize;
use signers::Register;
use std::collections::BTreeMap;
use trace::Instant;

/// How far the review of a record is, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Nobody has decided anything.
    Unread,
    /// Something is decided, and no standing signature says that all was reviewed.
    BeingReviewed,
    /// Standing signatures say that the whole record was reviewed.
    Reviewed,
    /// Standing signatures approve the whole record, and every link holds.
    Signed,
    /// It bears a signature, and a link does not hold: it is not what was signed.
    ChangedSinceSigning,
}

impl Stage {
    /// All stages, in order.
    pub const ALL: [Self; 5] = [
        Self::Unread,
        Self::BeingReviewed,
        Self::Reviewed,
        Self::Signed,
        Self::ChangedSinceSigning,
    ];

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Unread => "unread",
            Self::BeingReviewed => "being_reviewed",
            Self::Reviewed => "reviewed",
            Self::Signed => "signed",
            Self::ChangedSinceSigning => "changed_since_signing",
        }
    }

    /// The words for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unread => "unread",
            Self::BeingReviewed => "being reviewed",
            Self::Reviewed => "reviewed",
            Self::Signed => "signed",
            Self::ChangedSinceSigning => "changed since signing",
        }
    }

    /// Whether a technician still has to look at it.
    pub const fn is_to_review(self) -> bool {
        matches!(self, Self::Unread | Self::BeingReviewed | Self::ChangedSinceSigning)
    }
}

/// What was decided about one exception.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Decision {
    /// Why it happened.
    pub cause: String,
    /// What was done.
    pub action: String,
    /// What becomes of the product, a key or the plant's own words.
    pub disposition: String,
    /// Why, where the disposition asks for a reason.
    pub disposition_reason: String,
    /// How much product, with its unit.
    pub quantity: String,
    /// Which lot.
    pub lot: String,
    /// What else there is to say.
    pub note: String,
    /// Who decided.
    pub by: String,
    /// When, RFC 3339.
    pub at: String,
}

/// One signature, superseded ones too.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Given {
    /// The printed name.
    pub name: String,
    /// The role.
    pub role: String,
    /// What it means.
    pub meaning: String,
    /// What it covers.
    pub scope: String,
    /// When, RFC 3339.
    pub at: String,
    /// Whether it holds.
    pub holds: bool,
    /// Whether nothing has superseded it.
    pub stands: bool,
    /// What the check found, in a sentence.
    pub found: String,
}

/// Where the review of one record stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Review {
    /// How far it is.
    pub stage: Stage,
    /// How many exceptions are settled, and how many there are.
    pub settled: (usize, usize),
    /// By the exception's id, what was decided about the settled ones.
    pub decisions: BTreeMap<String, Decision>,
    /// All signatures, in order.
    pub signatures: Vec<Given>,
    /// What does not hold, in sentences; empty where nothing was decided yet.
    pub faults: Vec<String>,
    /// What people entered, by item of the plant's list.
    pub entered: BTreeMap<String, String>,
    /// When standing signatures first covered the whole record as reviewed.
    #[serde(skip)]
    pub reviewed_at: Option<Instant>,
    /// When standing signatures first covered the whole record as approved.
    #[serde(skip)]
    pub approved_at: Option<Instant>,
    /// The digest of the journal's last line; blank without a journal.
    pub head: String,
}

impl Review {
    /// The review of a record that has no journal.
    pub fn unread(exceptions: usize) -> Self {
        Self {
            stage: Stage::Unread,
            settled: (0, exceptions),
            decisions: BTreeMap::new(),
            signatures: Vec::new(),
            faults: Vec::new(),
            entered: BTreeMap::new(),
            reviewed_at: None,
            approved_at: None,
            head: String::new(),
        }
    }

    /// The review of a record whose journal is there and can't be read.
    pub fn unreadable(&self, why: &str) -> Self {
        let mut faults = self.faults.clone();
        faults.push(why.to_owned());
        Self { stage: Stage::ChangedSinceSigning, faults, ..self.clone() }
    }

    /// What a journal says, checked link by link against the register and the record as it is now.
    /// `register` and `fresh` are sentences where they can't be had.
    pub fn of(
        journal: &Reading,
        register: Result<&Register, String>,
        fresh: Result<&Subject, String>,
    ) -> Self {
        let exceptions = fresh.as_ref().map_or(0, |fresh| fresh.exceptions.len());
        if journal.lines.is_empty() && journal.fault.is_none() {
            return Self::unread(exceptions);
        }
        let (state, _) = State::replay_as_far(&journal.lines);
        let verification = verify(journal, register, fresh.clone());
        let Some(state) = state else {
            // There is a journal, and not even its first line can be relied on.
            let faults = faults(&verification);
            let stage = Stage::ChangedSinceSigning;
            return Self { stage, faults, ..Self::unread(exceptions) };
        };
        let stage = stage(&state, &verification);
        let decisions = decisions(&state);
        // An exception that the journal does not know yet is not settled.
        let settled = fresh.map_or_else(
            |_| state.progress().exceptions,
            |fresh| {
                let items = fresh.exceptions.iter();
                (items.filter(|item| decisions.contains_key(&item.id)).count(), exceptions)
            },
        );
        Self {
            stage,
            settled,
            decisions,
            signatures: signatures(&state, &verification),
            faults: faults(&verification),
            entered: state
                .subject()
                .entries
                .iter()
                .filter_map(|item| Some((item.clone(), state.entered(item)?.value.clone())))
                .collect(),
            reviewed_at: state.covered_at(Meaning::Reviewed),
            approved_at: state.covered_at(Meaning::Approved),
            head: verification.head.to_string(),
        }
    }
}

fn stage(state: &State, verification: &Verification) -> Stage {
    if !state.signatures().is_empty() && !verification.is_intact() {
        Stage::ChangedSinceSigning
    } else if verification.holds() {
        Stage::Signed
    } else if state.covered_at(Meaning::Reviewed).is_some() && verification.is_intact() {
        Stage::Reviewed
    } else {
        Stage::BeingReviewed
    }
}

fn faults(verification: &Verification) -> Vec<String> {
    let sign_off = |link: &&review::Link| link.what != review::SIGN_OFF;
    let failing = verification.links.iter().filter(|link| !link.holds).filter(sign_off);
    failing.map(|link| format!("{}: {}", link.what, link.found)).collect()
}

fn decisions(state: &State) -> BTreeMap<String, Decision> {
    let items = state.subject().exceptions.iter();
    let settled = items.filter_map(|item| match state.exception(&item.id) {
        Standing::Settled { settlement, mark } => Some((settlement, mark)),
        Standing::Open | Standing::SentBack { .. } => None,
    });
    settled
        .map(|(settlement, mark)| {
            let review::Settlement {
                exception,
                cause,
                action,
                disposition,
                disposition_reason,
                quantity,
                lot,
                note,
            } = settlement.clone();
            let (by, at) = (mark.by.clone(), mark.at.to_string());
            let decision = Decision {
                cause,
                action,
                disposition,
                disposition_reason,
                quantity,
                lot,
                note,
                by,
                at,
            };
            (exception, decision)
        })
        .collect()
}

fn signatures(state: &State, verification: &Verification) -> Vec<Given> {
    let given = state.signatures().iter().map(|signed| {
        let link = verification.signature(signed.mark.line);
        Given {
            name: signed.name.clone(),
            role: signed.role.to_string(),
            meaning: signed.meaning.to_string(),
            scope: signed.scope.to_string(),
            at: signed.mark.at.to_string(),
            holds: link.is_some_and(|link| link.holds),
            stands: signed.stands(),
            found: link.map_or("it could not be checked", |link| &link.found).to_owned(),
        }
    });
    given.collect()
}
