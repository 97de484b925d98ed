//! Things that need a look but are not forward-flow exceptions.
//!
//! Both the reading of files and the audit make observations. A kind is a [`Definition`] that its
//! finder keeps beside its code; an observation carries figures (quantities with units, instants,
//! places in files) and no sentence. The sentence is made from the kind's template and the figures
//! in one place (`report`), in the units that the reader chose.

use crate::decimal::Decimal;
use crate::instant::{Duration, Instant, Interval};
use crate::role::Role;
use crate::units::{FlowUnit, PressureUnit, TemperatureUnit, VolumeUnit};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

/// What is asked of the reviewer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rank {
    /// To be closed one by one, each with a reason.
    Close,
    /// To be noted; acknowledged by kind.
    Note,
}

impl Rank {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Close => "close",
            Self::Note => "note",
        }
    }
}

/// What there is to say of a kind of observation.
#[derive(Debug, PartialEq, Eq)]
pub struct Definition {
    /// The key in JSON and CSV.
    pub key: &'static str,
    /// A few words for a list, in lower case.
    pub title: &'static str,
    /// What is asked of the reviewer.
    pub rank: Rank,
    /// The figures that an observation of the kind may carry, beside [`MORE`]; a name stands once for
    /// each kind of quantity that it may be. Tables have columns by this list.
    pub figures: &'static [(&'static str, FigureKind)],
    /// The sentence with `{name}` for each figure; a part in square brackets is left out when the
    /// observation lacks a figure in it, and what stands behind a bar in it is said instead. It says what is wrong, and what to do where that is not
    /// plain.
    pub sentence: &'static str,
    /// The channels that it is about, beside the one that a figure `channel` names.
    pub about: &'static [Role],
    /// Why it matters, in a sentence or two.
    pub why: &'static str,
    /// What is to be done about it, in a sentence or two.
    pub what_to_do: &'static str,
    /// Where the figures come from, and how well that is known.
    pub source: &'static str,
}

/// A kind of observation. Kinds to close come before kinds to note, then by key.
#[derive(Clone, Copy)]
pub struct ObservationKind(&'static Definition);

impl ObservationKind {
    /// The kind with that definition.
    ///
    /// # Panics
    /// When the definition leaves a text out: that it does not compile then is the point.
    pub const fn new(definition: &'static Definition) -> Self {
        let Definition { why, what_to_do, source, .. } = definition;
        assert!(!why.is_empty() && !what_to_do.is_empty(), "why it matters, and what to do");
        assert!(!source.is_empty(), "a source, `common practice`, or `not verified`");
        Self(definition)
    }

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        self.0.key
    }

    /// A few words for a list, in lower case.
    pub const fn title(self) -> &'static str {
        self.0.title
    }

    /// What is asked of the reviewer.
    pub const fn rank(self) -> Rank {
        self.0.rank
    }

    /// The figures that it may carry, see [`Definition::figures`].
    pub const fn figures(self) -> &'static [(&'static str, FigureKind)] {
        self.0.figures
    }

    /// The sentence's template, see [`Definition::sentence`].
    pub const fn sentence(self) -> &'static str {
        self.0.sentence
    }

    /// Why it matters.
    pub const fn why(self) -> &'static str {
        self.0.why
    }

    /// What is to be done about it.
    pub const fn what_to_do(self) -> &'static str {
        self.0.what_to_do
    }

    /// Where its figures come from.
    pub const fn source(self) -> &'static str {
        self.0.source
    }
}

impl fmt::Debug for ObservationKind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.0.key)
    }
}

impl PartialEq for ObservationKind {
    fn eq(&self, other: &Self) -> bool {
        self.0.key == other.0.key
    }
}

impl Eq for ObservationKind {}

impl Hash for ObservationKind {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.key.hash(state);
    }
}

impl PartialOrd for ObservationKind {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for ObservationKind {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.rank.cmp(&other.0.rank).then(self.0.key.cmp(other.0.key))
    }
}

/// A place in a source file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SourcePosition {
    /// The name of the file as it was given.
    pub file: Arc<str>,
    /// The line, counted from 1.
    pub line: u64,
}

/// A quantity that an observation speaks of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A temperature.
    Temperature(Decimal, TemperatureUnit),
    /// A difference of two temperatures.
    TemperatureDifference(Decimal, TemperatureUnit),
    /// A pressure, or a difference of two.
    Pressure(Decimal, PressureUnit),
    /// A flow.
    Flow(Decimal, FlowUnit),
    /// A volume.
    Volume(Decimal, VolumeUnit),
    /// A length of time.
    Time(Duration),
    /// A point in time.
    At(Instant),
    /// How many.
    Count(u64),
    /// In hundredths of the whole.
    Percent(Decimal),
    /// A word of the record or of the plant file: a product, a column, a cell.
    Word(String),
    /// A place in a file.
    Place(SourcePosition),
}

/// What kind of quantity a figure is; says nothing of its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FigureKind {
    /// A temperature.
    Temperature,
    /// A difference of two temperatures.
    TemperatureDifference,
    /// A pressure, or a difference of two.
    Pressure,
    /// A flow.
    Flow,
    /// A volume.
    Volume,
    /// A length of time.
    Time,
    /// A point in time.
    At,
    /// How many.
    Count,
    /// In hundredths of the whole.
    Percent,
    /// A word.
    Word,
    /// A place in a file.
    Place,
}

/// The figure of what is summed up, of any kind of observation: how many more there are.
pub const MORE: (&str, FigureKind) = ("more", FigureKind::Count);

impl Value {
    /// What kind of quantity it is.
    pub const fn kind(&self) -> FigureKind {
        match self {
            Self::Temperature(..) => FigureKind::Temperature,
            Self::TemperatureDifference(..) => FigureKind::TemperatureDifference,
            Self::Pressure(..) => FigureKind::Pressure,
            Self::Flow(..) => FigureKind::Flow,
            Self::Volume(..) => FigureKind::Volume,
            Self::Time(_) => FigureKind::Time,
            Self::At(_) => FigureKind::At,
            Self::Count(_) => FigureKind::Count,
            Self::Percent(_) => FigureKind::Percent,
            Self::Word(_) => FigureKind::Word,
            Self::Place(_) => FigureKind::Place,
        }
    }
}

/// A quantity with the name by which the kind's sentence calls it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// The name, such as `limit`.
    pub name: &'static str,
    /// The quantity.
    pub value: Value,
}

/// One observation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observation {
    /// What was observed.
    pub kind: ObservationKind,
    /// When, where that is known.
    pub interval: Option<Interval>,
    /// The (first) line it was read from, for observations of files.
    pub position: Option<SourcePosition>,
    /// How many rows or samples it speaks of; at least 1.
    pub count: u64,
    /// What it speaks of; each name at most once.
    pub figures: Vec<Figure>,
}

impl Observation {
    /// An observation over an interval of the record.
    pub fn over(kind: ObservationKind, interval: Interval, count: usize) -> Self {
        let (interval, count) = (Some(interval), count as u64);
        Self { kind, interval, position: None, count, figures: Vec::new() }
    }

    /// The same with one figure more.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: Value) -> Self {
        self.figures.push(Figure { name, value });
        self
    }

    /// The same with a word more, where there is one.
    #[must_use]
    pub fn with_words(self, name: &'static str, words: Option<impl Into<String>>) -> Self {
        match words {
            Some(words) => self.with(name, Value::Word(words.into())),
            None => self,
        }
    }

    /// Whether its kind's definition names each of its figures.
    pub fn is_as_defined(&self) -> bool {
        self.figures.iter().all(|Figure { name, value }| {
            let figure = (*name, value.kind());
            figure == MORE || self.kind.figures().contains(&figure)
        })
    }

    /// The channels that it is about, the one that it names first.
    pub fn channels(&self) -> Vec<Role> {
        let named = match self.figure("channel") {
            Some(Value::Word(word)) => Role::ALL.into_iter().find(|role| role.name() == word),
            _ => None,
        };
        named.into_iter().chain(self.kind.0.about.iter().copied()).collect()
    }

    /// The figure of that name.
    pub fn figure(&self, name: &str) -> Option<&Value> {
        self.figures.iter().find(|figure| figure.name == name).map(|figure| &figure.value)
    }
}
