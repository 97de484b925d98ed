//! What is changed: the plant file as it was opened, what was typed, and what is wrong with that.

use crate::job::Job;
use crate::problem::Problem;
use crate::setup::Unknown;
use crate::task::file_name;
use ::setup::edit::{Edit, Fault, Kind, Line, Place, SECTIONS, Section};
use chrono::NaiveDate;
use plant::{Certificate, Plant};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The page.
pub struct PlantPage {
    path: PathBuf,
    /// The bytes of the file when it was opened.
    was: Vec<u8>,
    pub(super) opened: Edit,
    pub(super) edit: Edit,
    /// What is typed in each field, as it is typed.
    typed: BTreeMap<Place, String>,
    pub(super) fault: Option<Fault>,
    pub(super) difference: Vec<Line>,
    /// How many fields of each section differ from the file.
    pub(super) changes: Vec<usize>,
    /// Which section is shown.
    pub(super) section: usize,
    /// The columns of the files that are open, which are offered.
    pub(super) columns: Vec<String>,
    looking: Option<Job<Result<Vec<String>, ()>>>,
    /// What is known of the approval of the file as it was opened, in a sentence.
    pub(super) approval: Option<String>,
    /// The holding time test in the register that the file does not have.
    pub(super) offered: Option<Certificate>,
}

impl PlantPage {
    /// The page of a plant file, with the files whose columns are offered, what is known of its approval, and
    /// the holding time test that it may take from the register.
    ///
    /// # Errors
    /// When the file can't be read, or is no TOML.
    pub fn open(
        path: &Path,
        files: Vec<PathBuf>,
        (approval, offered): (Option<String>, Option<Certificate>),
        context: &egui::Context,
    ) -> Result<Self, Problem> {
        let told = |why: String| Problem::new("The plant file can't be shown", why);
        let text = Plant::text_of(path).map_err(|cause| told(cause.to_string()))?;
        let name = path.display().to_string();
        let edit = Edit::of(&name, &text).map_err(|cause| told(cause.to_string()))?;
        let looking = (!files.is_empty()).then(|| {
            Job::begin(context, move || {
                let sheets = Unknown::look(&files, None).map_err(|_unreadable| ())?.sheets;
                Ok(sheets.columns.into_iter().map(|column| column.name).collect())
            })
        });
        let mut page = Self {
            path: path.to_owned(),
            was: text.into_bytes(),
            opened: edit.clone(),
            edit,
            typed: BTreeMap::new(),
            fault: None,
            difference: Vec::new(),
            changes: Vec::new(),
            section: 0,
            columns: Vec::new(),
            looking,
            approval,
            offered,
        };
        page.check();
        // What is wrong with the file is what it was opened for.
        if let Some(section) = page.fault_section() {
            page.section = section;
        }
        Ok(page)
    }

    /// Takes in the columns of the files once they are known; without them none are offered.
    pub fn poll(&mut self, context: &egui::Context) {
        if let Some(Ok(columns)) = Job::take(&mut self.looking, context, || ()) {
            self.columns = columns;
        }
    }

    /// Whether the columns of the files are being looked at.
    pub const fn is_busy(&self) -> bool {
        self.looking.is_some()
    }

    /// The name of the file.
    pub(super) fn name(&self) -> String {
        file_name(&self.path)
    }

    /// Whether anything is to be saved.
    pub const fn is_changed(&self) -> bool {
        !self.difference.is_empty()
    }

    /// Sees what is wrong with what is said, and what differs.
    fn check(&mut self) {
        self.fault = self.edit.plant().err();
        self.difference = self.edit.difference();
        self.changes = SECTIONS.iter().map(|section| self.changes_of(section)).collect();
    }

    fn changes_of(&self, section: &Section) -> usize {
        let tables: Vec<&str> = section.groups.iter().map(|group| group.table).collect();
        let places = self.edit.places().map(|(place, _)| place);
        let changed = places
            .filter(|place| tables.contains(&place.table))
            .filter(|&place| self.edit.said(place) != self.opened.said(place));
        let gone = tables
            .iter()
            .map(|table| self.opened.count(table).saturating_sub(self.edit.count(table)));
        changed.count() + gone.sum::<usize>()
    }

    /// The text of a field.
    pub(super) fn text(&self, place: Place, kind: Kind) -> String {
        self.typed.get(&place).cloned().unwrap_or_else(|| {
            let said = self.edit.said(place).unwrap_or_default();
            if kind == Kind::Range { said.replace('\n', " to ") } else { said }
        })
    }

    /// Takes in the changed text of a field.
    pub(super) fn say(&mut self, place: Place, kind: Kind, text: String) {
        self.edit.say(place, kind, &text);
        self.typed.insert(place, text);
        self.check();
    }

    /// What the holding time test of the register says, key by key; `None` where there is none, or all of it is
    /// said already.
    pub(super) fn to_take(&self) -> Option<Vec<(Place, String)>> {
        let one = self.offered.as_ref()?;
        let figure = one.figure();
        let (time, flow) = figure.split_once(" at ")?;
        let said = [
            ("test_flow", Some(flow)),
            ("test_time", Some(time)),
            ("tested_on", one.tested_on.as_deref()),
            ("tested_by", one.tested_by.as_deref()),
        ];
        let said = said.into_iter().filter_map(|(key, text)| {
            Some((Place { table: "tube", index: None, key }, text?.to_owned()))
        });
        let said: Vec<_> = said.collect();
        let is_there =
            |(place, text): &(Place, String)| self.edit.said(*place).as_ref() == Some(text);
        (!said.iter().all(is_there)).then_some(said)
    }

    /// Takes the test of the register into the fields of the tube, and shows them.
    pub(super) fn take_test(&mut self) {
        for (place, text) in self.to_take().unwrap_or_default() {
            self.say(place, Kind::Text, text);
        }
        let is_tubes = |one: &Section| one.groups.iter().any(|group| group.table == "tube");
        self.section = SECTIONS.iter().position(is_tubes).unwrap_or(self.section);
    }

    /// Adds a table of a name behind the others.
    pub(super) fn add(&mut self, table: &str) {
        self.edit.add(table);
        self.check();
    }

    /// Removes one of the tables of a name.
    pub(super) fn remove(&mut self, table: &str, index: usize) {
        self.edit.remove(table, index);
        // Each field shows what is said at its place now.
        self.typed.clear();
        self.check();
    }

    /// Takes back all that was said.
    pub(super) fn take_back(&mut self) {
        self.edit = self.opened.clone();
        self.typed.clear();
        self.check();
    }

    /// The section in which something is wrong.
    pub(super) fn fault_section(&self) -> Option<usize> {
        let table = self.fault.as_ref()?.place?.table;
        SECTIONS.iter().position(|section| section.groups.iter().any(|one| one.table == table))
    }

    /// Writes the file, and keeps the one that it replaces beside it.
    ///
    /// # Errors
    /// Why it is not written.
    pub fn save(&self, today: NaiveDate) -> Result<(), Problem> {
        let told = |why: String| Problem::new("The plant file is not saved", why);
        if let Some(fault) = &self.fault {
            return Err(told(fault.message.clone()));
        }
        if !self.is_changed() {
            return Err(told("Nothing was changed.".to_owned()));
        }
        let next = self.edit.bytes();
        let replaced = archive::replace_plant_file(&self.path, (&self.was, &next), today);
        replaced.map(|_kept| ()).map_err(|cause| told(cause.to_string()))
    }
}
