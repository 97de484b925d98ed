//! Why a divert happened, by what people entered: the reason of one, or the closing of one without a cause.

use crate::state::{Made, State};
use analysis::{Audit, Divert};

/// The reason that was entered of a divert, or with which the observation of one without a cause was
/// closed; `ids` are the audit's [`closing_ids`](crate::closing_ids).
pub fn divert_reason<'a>(
    state: &'a State,
    audit: &Audit,
    ids: &[Option<String>],
    divert: &Divert,
) -> Option<&'a Made> {
    let closing = || state.closed(ids.get(audit.observation_of(divert)?)?.as_ref()?);
    state.explained(&divert.id).or_else(closing)
}
