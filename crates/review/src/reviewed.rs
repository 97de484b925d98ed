//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::stage::Stage;
use crate::state::State;
use crate::subject::Subject;
use crate::verify::{Verification, verify};
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
    /// What a journal says of a record that was read and audited as `fresh`; see [`verify`].
    pub fn of(
        journal: &Reading,
        register: Result<&Register, String>,
        fresh: Result<&Subject, String>,
    ) -> Self {
        let (state, _) = State::replay_as_far(&journal.lines);
        let verification = verify(journal, register, fresh);
        let stage = Stage::of(journal, state.as_ref(), &verification);
        Self { stage, state, verification }
    }
}
