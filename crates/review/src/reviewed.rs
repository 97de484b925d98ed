//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::hole::HoleBefore;
use crate::stage::Stage;
use crate::state::State;
use crate::subject::Subject;
use crate::verify::{Verification, verify_after};
use journal::Reading;
use signers::Register;

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
}

impl Reviewed {
    /// Whether there is a review and something in it does not hold: it was changed or forged, or what
    /// it is about was changed. That it is not finished is none of that.
    pub fn is_at_fault(&self) -> bool {
        self.stage != Stage::Unread && !self.verification.is_intact()
    }

    /// What a journal says of a record that was read and audited as `fresh`; see
    /// [`crate::verify()`].
    pub fn of(
        journal: &Reading,
        register: Result<&Register, String>,
        fresh: Result<&Subject, String>,
    ) -> Self {
        Self::of_record_after(journal, register, fresh, None)
    }

    /// The same for a record whose folder was gone through; see [`verify_after`].
    pub fn of_record_after(
        journal: &Reading,
        register: Result<&Register, String>,
        fresh: Result<&Subject, String>,
        hole: Option<&HoleBefore>,
    ) -> Self {
        let (state, _) = State::replay_as_far(&journal.lines);
        let verification = verify_after(journal, register, fresh, hole);
        let stage = Stage::of(journal, state.as_ref(), &verification);
        Self { stage, state, verification }
    }
}
