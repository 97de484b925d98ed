//! Where the review of a record stands: from its journal and the register of signers, against the
//! record as it is now.

use review::{Evidence, Meaning, Reviewed, Settlement, Stage, Standing, State, Verification};
use serde::Serialize;
use std::collections::BTreeMap;
use trace::Instant;

/// What was decided about one exception.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Decision {
    /// What.
    #[serde(flatten)]
    pub settlement: Settlement,
    /// Who decided.
    pub by: String,
    /// When, RFC 3339.
    pub at: String,
}

impl Decision {
    /// What was decided, in a line: disposition, quantity, cause and action.
    pub fn in_words(&self) -> String {
        let Settlement { cause, action, quantity, .. } = &self.settlement;
        let words = [&self.settlement.disposition_in_words(), quantity, cause, action];
        let given = words.map(|text| text.trim()).into_iter().filter(|text| !text.is_empty());
        given.collect::<Vec<_>>().join("; ")
    }
}

/// Why there is nothing left to do about what was to be closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Closing {
    /// Why.
    pub reason: String,
    /// What else there is to say.
    pub note: String,
    /// Who says so.
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
    /// How many exceptions are resolved, and how many there are, those outside production included.
    pub resolved: (usize, usize),
    /// How many observations are closed, and how many there are to close.
    pub closed: (usize, usize),
    /// How the hole before the record was closed; `None` where it is open, or where there is none.
    pub hole_closed: Option<Closing>,
    /// By the exception's id, what was decided about the resolved ones.
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
    pub fn unread(exceptions: usize, to_close: usize) -> Self {
        Self {
            stage: Stage::Unread,
            resolved: (0, exceptions),
            closed: (0, to_close),
            hole_closed: None,
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

    /// What a journal says, checked link by link against what there is.
    pub fn of(evidence: &Evidence<'_>) -> Self {
        let Evidence { fresh, hole, .. } = evidence;
        let now = fresh.as_ref().ok().map(|fresh| &fresh.exceptions);
        let exceptions = now.map_or(0, Vec::len);
        let to_close_now = fresh.as_ref().ok().map(|fresh| &fresh.to_close);
        let to_close = to_close_now.map_or(0, Vec::len);
        let Reviewed { stage, state, verification, .. } = Reviewed::of(evidence);
        if stage == Stage::Unread {
            return Self::unread(exceptions, to_close);
        }
        let faults = faults(&verification);
        let Some(state) = state else {
            // There is a journal, and not even its first line can be relied on.
            return Self { stage, faults, ..Self::unread(exceptions, to_close) };
        };
        let decisions = decisions(&state);
        // An exception that the journal does not know yet is not resolved.
        let resolved = now.map_or_else(
            || state.progress().exceptions,
            |now| (now.iter().filter(|item| decisions.contains_key(&item.id)).count(), exceptions),
        );
        let items = state.subject().entries.iter();
        let entered = items
            .filter_map(|item| Some((item.clone(), state.entered(item)?.value.clone())))
            .collect();
        let closed = to_close_now.map_or_else(
            || state.progress().closed,
            |now| {
                let is_closed = |id: &str| state.closed(id).is_some();
                (now.iter().filter(|item| is_closed(&item.id)).count(), to_close)
            },
        );
        let hole_closed = hole.and_then(|hole| state.hole_closed(hole)).map(|made| Closing {
            reason: made.value.clone(),
            note: made.note.clone(),
            by: made.mark.by.clone(),
            at: made.mark.at.to_string(),
        });
        Self {
            stage,
            resolved,
            closed,
            hole_closed,
            decisions,
            signatures: signatures(&state, &verification),
            faults,
            entered,
            reviewed_at: state.covered_at(Meaning::Reviewed),
            approved_at: state.covered_at(Meaning::Approved),
            head: verification.head.to_string(),
        }
    }
}

fn faults(verification: &Verification) -> Vec<String> {
    let sign_off = |link: &&review::Link| link.kind != review::Kind::SignOff;
    let failing = verification.links.iter().filter(|link| !link.holds).filter(sign_off);
    failing.map(|link| format!("{}: {}", link.what, link.found)).collect()
}

fn decisions(state: &State) -> BTreeMap<String, Decision> {
    let items = state.subject().exceptions.iter();
    let settled = items.filter_map(|item| match state.exception(&item.id) {
        Standing::Settled { settlement, mark } => {
            let settlement = settlement.clone();
            let (by, at) = (mark.by.clone(), mark.at.to_string());
            Some((item.id.clone(), Decision { settlement, by, at }))
        }
        Standing::Open | Standing::SentBack { .. } => None,
    });
    settled.collect()
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
