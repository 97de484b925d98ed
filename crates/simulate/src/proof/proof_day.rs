//! A day as it is handed on: its files, and what must be said of it.

use super::expect::Must;

/// The names under which the files of a day are found beside each other.
const LOG: &str = "day.csv";
const SHEET: &str = "day.run-sheet.csv";
pub(super) const PLANT: &str = "plant.toml";

/// A file of a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProofFile {
    /// Its name, the same on every day, so that plant file and run sheet are found.
    pub name: &'static str,
    /// Its text, UTF-8.
    pub text: String,
}

/// A day that shows something.
#[derive(Debug, Clone, PartialEq)]
pub struct ProofDay {
    /// Its name, that of its test.
    pub name: &'static str,
    /// What happens, and the sections of the method that say what must be said of it.
    pub item: &'static str,
    /// The logger's file first, then the plant file and the run sheet where there are any.
    pub files: Vec<ProofFile>,
    /// What must be said.
    pub must: Must,
}

impl ProofDay {
    /// A day of plant file and logger file.
    pub(super) fn new(
        name: &'static str,
        item: &'static str,
        must: Must,
        plant: Option<String>,
        log: String,
    ) -> Self {
        let mut files = vec![ProofFile { name: LOG, text: log }];
        files.extend(plant.map(|text| ProofFile { name: PLANT, text }));
        Self { name, item, files, must }
    }

    /// The same with a run sheet beside the logger's file.
    pub(super) fn with_run_sheet(mut self, text: String) -> Self {
        self.files.push(ProofFile { name: SHEET, text });
        self
    }
}
