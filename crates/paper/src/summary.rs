//! What the summary of one record is made from.

use crate::filing::Filing;
use crate::pages::{Paper, Template};
use trace::Instant;

/// What a summary is about.
#[derive(Debug, Clone, Copy)]
pub struct Summary<'a> {
    /// The record and its review. Times are printed on the plant's clock.
    pub filing: Filing<'a>,
    /// The size of the pages.
    pub paper: Paper,
    /// When it is made.
    pub created: Instant,
    /// The plant's own template; `None` for the built-in one.
    pub template: Option<Template<'a>>,
}
