//! What a rule is: its definition and its place among the others. Which rules there are stands in
//! `rules`.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use trace::Role;

/// What there is to say of a rule.
///
/// `happened` and `asked` are templates like those of observations: `{name}` is a figure, a part in
/// square brackets is left out when a figure in it is missing. The figures are listed where they
/// are filled, in `report`.
#[derive(Debug)]
pub struct RuleDefinition {
    /// The key in JSON and CSV.
    pub key: &'static str,
    /// The name for a person, in lower case.
    pub name: &'static str,
    /// The name where there is little room.
    pub short_name: &'static str,
    /// The letters on bands, badges and paper.
    pub code: &'static str,
    /// The key and the name of the time in which it alone was not met.
    pub class: (&'static str, &'static str),
    /// The channels whose readings it judges. One that is worked out stands for those that it is
    /// worked out of.
    pub reads: &'static [Role],
    /// Where the method page defines it.
    pub section: &'static str,
    /// What it asks for, in one sentence.
    pub asks: &'static str,
    /// Why it matters, in one sentence.
    pub why: &'static str,
    /// What is to be done where it was not met.
    pub what_to_do: &'static str,
    /// Where its limits come from, and how well that is known.
    pub source: &'static str,
    /// What happened while it was not met.
    pub happened: &'static str,
    /// Which limit it holds to, and whose that is.
    pub asked: &'static str,
}

/// The rule that an exception is one of. Rules are in the order of reports.
#[derive(Clone, Copy)]
pub struct Rule {
    place: u8,
    definition: &'static RuleDefinition,
}

impl Rule {
    /// The rule that stands at a place, counted from 0, in the list of them.
    pub(crate) const fn new(place: u8, definition: &'static RuleDefinition) -> Self {
        Self { place, definition }
    }

    /// Its place in [`Self::ALL`].
    pub const fn place(self) -> usize {
        self.place as usize
    }

    /// What there is to say of it.
    pub const fn definition(self) -> &'static RuleDefinition {
        self.definition
    }

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        self.definition.key
    }

    /// The name for a person, in lower case.
    pub const fn name(self) -> &'static str {
        self.definition.name
    }

    /// The letters on bands, badges and paper.
    pub const fn code(self) -> &'static str {
        self.definition.code
    }
}

impl fmt::Debug for Rule {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.key())
    }
}

impl PartialEq for Rule {
    fn eq(&self, other: &Self) -> bool {
        self.place == other.place
    }
}

impl Eq for Rule {}

impl Hash for Rule {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.place.hash(state);
    }
}

impl PartialOrd for Rule {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rule {
    fn cmp(&self, other: &Self) -> Ordering {
        self.place.cmp(&other.place)
    }
}
