//! A plant file that is changed by a form: its text with everything that stands in it, comments and
//! order kept, and what of it is said in each field.
//!
//! The form decides nothing. Whatever is said becomes the text of a plant file, and
//! [`plant::Plant::parse`] says whether that can be used, as it will when the file is read.

mod difference;
mod fields;
mod place;

pub use difference::Line;
pub use fields::{Field, Group, Kind, SECTIONS, Section};
pub use place::Place;

use plant::{Error, Plant, line_and_column};
use std::collections::BTreeSet;
use toml_edit::{Array, Decor, Document, DocumentMut, Item, Value};

/// A plant file as it is changed.
#[derive(Debug, Clone)]
pub struct Edit {
    /// The name for messages.
    name: String,
    /// The text as it was read, each line ended by a line feed.
    before: String,
    /// Whether its lines ended with carriage return and line feed.
    is_windows: bool,
    document: DocumentMut,
    /// What was emptied: it stays in the document, so that a field that is filled again keeps its place
    /// and its comment, and is left out of the text.
    emptied: BTreeSet<Place>,
}

/// What is wrong with a plant file, and where in the form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The field, where it is one.
    pub place: Option<Place>,
    /// What is wrong, and what would be right.
    pub message: String,
}

impl Edit {
    /// A plant file of the given name and text.
    ///
    /// # Errors
    /// When the text is not TOML: line and column, and what is wrong there.
    pub fn of(name: &str, text: &str) -> Result<Self, Error> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let document = text.parse::<DocumentMut>().map_err(|cause| {
            let start = cause.span().map_or(0, |span| span.start);
            let (line, column) = line_and_column(text, start);
            let message = cause.message().trim_end().to_owned();
            Error::Syntax { file: name.to_owned(), line, column, message }
        })?;
        Ok(Self {
            name: name.to_owned(),
            before: document.to_string(),
            is_windows: text.contains("\r\n"),
            document,
            emptied: BTreeSet::new(),
        })
    }

    /// The text with what was said, its lines ended as they were.
    pub fn bytes(&self) -> Vec<u8> {
        let text = self.text();
        if self.is_windows { text.replace('\n', "\r\n") } else { text }.into_bytes()
    }

    /// The text with what was said, each line ended by a line feed.
    pub fn text(&self) -> String {
        let mut document = self.document.clone();
        for place in &self.emptied {
            let Some(table) = place.table_for(document.as_table_mut()) else { continue };
            table.remove(place.key);
        }
        // A heading under which nothing is said any more goes with it.
        let tables: BTreeSet<(&str, Option<usize>)> =
            self.emptied.iter().map(|place| (place.table, place.index)).collect();
        for (table, index) in tables.into_iter().rev() {
            let mut at = table;
            while !at.is_empty() {
                let (above, key) = at.rsplit_once('.').unwrap_or(("", at));
                let within = Place { table: above, index, key };
                let Some(parent) = within.table_for(document.as_table_mut()) else { break };
                let is_empty =
                    |item: &Item| item.as_table_like().is_some_and(|one| one.iter().count() == 0);
                if !parent.get(key).is_some_and(is_empty) {
                    break;
                }
                parent.remove(key);
                at = above;
            }
        }
        document.to_string()
    }

    /// What differs from what was read, line by line.
    pub fn difference(&self) -> Vec<Line> {
        difference::lines(&self.before, &self.text())
    }

    /// The plant that the text describes.
    ///
    /// # Errors
    /// What is wrong with it, at its field.
    pub fn plant(&self) -> Result<Plant, Fault> {
        let text = self.text();
        Plant::parse(&self.name, &text).map_err(|cause| {
            let (line, column, message) = match &cause {
                Error::Value { line, column, message, .. }
                | Error::Syntax { line, column, message, .. } => (*line, *column, message.clone()),
                Error::Read { .. } | Error::NotText { .. } => {
                    return Fault { place: None, message: cause.to_string() };
                }
            };
            match self.place_at(&text, line, column) {
                place @ Some(_) => Fault { place, message },
                None => Fault { place: None, message: format!("line {line}: {message}") },
            }
        })
    }

    /// What is said at a place, as a field shows it: a list with one entry a line. `None` where nothing
    /// is.
    pub fn said(&self, place: Place) -> Option<String> {
        if self.emptied.contains(&place) {
            return None;
        }
        let value = place.item_of(self.document.as_table())?.as_value()?;
        Some(match value {
            Value::Array(list) => list.iter().map(plain).collect::<Vec<_>>().join("\n"),
            value => plain(value),
        })
    }

    /// Says something at a place; an empty text is nothing. What can't stand there becomes a text, and
    /// [`Edit::plant`] says what is wrong with it.
    pub fn say(&mut self, place: Place, kind: Kind, text: &str) {
        let mut said = match kind {
            Kind::Words => Value::Array(
                text.lines().map(str::trim).filter(|line| !line.is_empty()).collect::<Array>(),
            ),
            Kind::Range => {
                let (least, greatest) = text.split_once(" to ").unwrap_or((text, ""));
                Value::Array([least.trim(), greatest.trim()].into_iter().collect::<Array>())
            }
            Kind::Whole => text.trim().parse::<i64>().map_or_else(|_| text.into(), Value::from),
            Kind::Switch => text.parse::<bool>().map_or_else(|_| text.into(), Value::from),
            Kind::Text | Kind::Column | Kind::Choice(_) => text.into(),
        };
        if text.trim().is_empty() {
            if place.item_of(self.document.as_table()).is_some() {
                self.emptied.insert(place);
            }
            return;
        }
        self.emptied.remove(&place);
        let Some(table) = place.table_for(self.document.as_table_mut()) else { return };
        match table.get_mut(place.key) {
            Some(Item::Value(was)) => {
                if plain(was) == plain(&said) && was.type_name() == said.type_name() {
                    return;
                }
                let decor: Decor = was.decor().clone();
                *said.decor_mut() = decor;
                *was = said;
            }
            _ => {
                table.insert(place.key, Item::Value(said));
            }
        }
    }

    /// How many tables of a name there are.
    pub fn count(&self, table: &str) -> usize {
        place::count(self.document.as_table(), table)
    }

    /// Adds an empty table of a name behind the others.
    pub fn add(&mut self, table: &str) -> usize {
        place::add(self.document.as_table_mut(), table)
    }

    /// Removes one of the tables of a name.
    pub fn remove(&mut self, table: &str, index: usize) {
        place::remove(self.document.as_table_mut(), table, index);
        let emptied = std::mem::take(&mut self.emptied);
        let is_in = |place: &Place| place.table.split('.').next() == Some(table);
        self.emptied = emptied
            .into_iter()
            .filter(|place| !is_in(place) || place.index != Some(index))
            .map(|place| match place.index {
                Some(at) if is_in(&place) && at > index => Place { index: Some(at - 1), ..place },
                _ => place,
            })
            .collect();
    }

    /// All places of the form for the tables that there are.
    pub fn places(&self) -> impl Iterator<Item = (Place, Kind)> + '_ {
        let groups = SECTIONS.iter().flat_map(|section| section.groups);
        groups.flat_map(|group| {
            let indices: Vec<Option<usize>> = match group.several {
                Some(_) => (0..self.count(group.list())).map(Some).collect(),
                None => vec![None],
            };
            indices.into_iter().flat_map(move |index| {
                let at = move |field: &Field| Place { table: group.table, index, key: field.key };
                group.fields.iter().map(move |field| (at(field), field.kind))
            })
        })
    }

    /// The field in whose value a line and column of the text are.
    fn place_at(&self, text: &str, line: usize, column: usize) -> Option<Place> {
        let document = Document::parse(text).ok()?;
        let is_in = |place: &Place| {
            let span = place::span(*place, document.as_table())?;
            let (start, end) = (line_and_column(text, span.start), line_and_column(text, span.end));
            (start <= (line, column) && (line, column) < end).then_some(span.len())
        };
        let found = self.places().filter_map(|(place, _)| Some((is_in(&place)?, place)));
        found.min_by_key(|(length, _)| *length).map(|(_, place)| place)
    }
}

/// A value as a field shows it: a text without its quotation marks.
fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.value().clone(),
        value => {
            let mut bare = value.clone();
            bare.decor_mut().clear();
            bare.to_string()
        }
    }
}

#[cfg(test)]
mod tests;
