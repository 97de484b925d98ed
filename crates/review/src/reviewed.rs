//! A review as it was left, without opening it for work: what was decided, as far as the journal can
//! be followed, and whether it can be relied on.

use crate::state::State;
use crate::subject::Subject;
use crate::verify::{Verification, verify};
use journal::Reading;
use signers::Register;

/// What was decided about a record, and whether it can be relied on.
#[derive(Debug, Clone)]
pub struct Reviewed {
    /// What was decided; `None` where nothing was.
    pub state: Option<State>,
    /// The verdicts on all links.
    pub verification: Verification,
}

impl Reviewed {
    /// What a journal says of a record that was read and audited as `fresh`; see [`verify`].
    pub fn of(journal: &Reading, register: Result<&Register, String>, fresh: &Subject) -> Self {
        Self {
            state: State::replay_as_far(&journal.lines).0,
            verification: verify(journal, register, Ok(fresh)),
        }
    }
}
