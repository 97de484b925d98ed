//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::stage::Stage;
use crate::state::State;
use crate::verify::{Evidence, Kind, Verification, limits_approved, verify_state};
use signers::Imprint;

/// What was decided about a record, and whether it can be relied on.
#[derive(Debug, Clone)]
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
}

impl Reviewed {
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
        Self { stage, state, verification, books: books.imprint(), unapproved }
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
