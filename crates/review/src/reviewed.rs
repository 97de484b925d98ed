//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::stage::Stage;
use crate::state::State;
use crate::verify::{Evidence, Verification, verify_state};

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
    /// What a journal says, checked against what there is; see [`crate::verify()`].
    pub fn of(evidence: &Evidence<'_>) -> Self {
        let Evidence { lines, fault, books, .. } = evidence;
        let (state, broken) = State::replay_as_far(lines, books.signers());
        let broken = broken.map(|(line, why)| (line, why.to_string()));
        let verification = verify_state(evidence, state.as_ref(), broken);
        let stage = Stage::of(!lines.is_empty() || fault.is_some(), state.as_ref(), &verification);
        Self { stage, state, verification }
    }
}
