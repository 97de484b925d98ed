//! What lies around the open record, looked for in its folder on another thread: the hole before it, shown until
//! somebody closes it, and what the run sheets of other records say of tanks. Until it is known whether there
//! is a hole, nothing is signed.

use crate::job::Job;
use crate::why::Why;
use ::review::HoleBefore;
use daybook::TankSheet;

/// What was found around a record.
pub struct Around {
    /// The hole before it that is to be closed.
    pub hole: Option<HoleBefore>,
    /// What the run sheets of the other records say of tanks.
    pub sheets: Vec<TankSheet>,
}

/// How far the search is.
#[derive(Default)]
pub enum Before {
    /// It is to begin.
    #[default]
    NotBegun,
    /// It goes on.
    Searching(Job<Result<Around, Why>>),
    /// It is done; what was found is with the desk.
    Known,
    /// It could not be done, and why.
    Failed(Why),
}

impl Before {
    /// Whether the search is still to end.
    pub const fn goes_on(&self) -> bool {
        matches!(self, Self::NotBegun | Self::Searching(_))
    }

    /// Why nothing can be signed yet; `None` when the search is done.
    pub fn holds_up(&self) -> Option<String> {
        match self {
            Self::Known => None,
            Self::NotBegun | Self::Searching(_) => {
                Some("the folder is being searched for the previous record".to_owned())
            }
            Self::Failed(why) => Some(format!(
                "it is not known which record came before this one, so a hole between them would not be seen: {why}"
            )),
        }
    }
}
