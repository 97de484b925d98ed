//! What the plant says of its reviews: its own words for causes, actions and dispositions, and
//! who may approve.

/// The `[review]` section of a plant file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Review {
    /// Causes that are offered; free text is always possible.
    pub causes: Vec<String>,
    /// Corrective actions that are offered.
    pub actions: Vec<String>,
    /// Product dispositions that are offered beside the built-in ones.
    pub dispositions: Vec<String>,
    /// Whether the person who reviewed may approve as well; not unless the plant says so.
    pub same_person_may_approve: bool,
}
