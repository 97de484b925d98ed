//! A plant of two people on disk, and one record of it of which nothing is there but what a review is
//! about.

use crate::good;
use crate::people::{NOW, begin};
use journal::Stamp;
use review::{
    Books, Desk, Error, Evidence, ExceptionItem, Holder, HoleBefore, Meaning, Paths, Reviewed,
    Scope, Source, Subject,
};
use signers::{RegisterFile, UnlockedKey};
use std::path::PathBuf;

/// The record's file.
pub const RECORD: &str = "2026-03-14.csv";

/// A record in which nothing was found.
pub fn subject() -> Subject {
    Subject {
        plant: "Example Dairy (invented)".to_owned(),
        unit: "HTST-1".to_owned(),
        start: "2026-03-14T04:00:00.000-05:00".to_owned(),
        end: "2026-03-14T22:00:00.000-05:00".to_owned(),
        sources: vec![Source { name: RECORD.to_owned(), bytes: 7, sha256: "ab".repeat(32) }],
        run_sheet: None,
        operator_entries: None,
        plant_file: None,
        audit: "cd".repeat(32),
        program: "holdtrace 0".to_owned(),
        method: analysis::METHOD,
        shifts: Vec::new(),
        exceptions: Vec::new(),
        to_close: Vec::new(),
        diverts: Vec::new(),
        observations: Vec::new(),
        entries: Vec::new(),
        same_person_may_approve: false,
        tube: None,
        technician_ends_holds: false,
        release_after_approval: false,
        corrective_action_in_parts: false,
    }
}

/// An exception in a shift.
pub fn exception(id: &str, shift: &str) -> ExceptionItem {
    ExceptionItem {
        id: id.to_owned(),
        rule: "temperature".to_owned(),
        causes: Vec::new(),
        start: "2026-03-14T06:00:00.000-05:00".to_owned(),
        end: "2026-03-14T06:00:10.000-05:00".to_owned(),
        shifts: vec![shift.to_owned()],
        episode: 1,
        cleaning: None,
        quantity: Some("140 gal".to_owned()),
        lots: vec!["L-1".to_owned()],
        tanks: Vec::new(),
    }
}

/// A plant whose supervisor Ben has enrolled the technician Anna.
#[derive(Debug)]
pub struct Site {
    /// Where everything is.
    pub folder: tempfile::TempDir,
    /// The register.
    pub file: RegisterFile,
    /// The technician's key.
    pub anna: UnlockedKey,
    /// The supervisor's key.
    pub ben: UnlockedKey,
}

impl Site {
    /// A new plant; the register is begun and Anna enrolled at these dates.
    pub fn new(dates: [Stamp; 2]) -> Self {
        let folder = good(tempfile::tempdir());
        let (file, [anna, ben]) = begin(folder.path(), dates);
        Self { folder, file, anna, ben }
    }

    /// The record's paths.
    pub fn paths(&self) -> Paths {
        Paths::of(&self.folder.path().join(RECORD), None)
    }

    /// The review's journal.
    pub fn journal(&self) -> PathBuf {
        self.paths().journal
    }

    /// The register and the ledger.
    pub fn books(&self) -> Books {
        Books::read(&self.paths().register)
    }

    /// Opens the review for somebody's work.
    ///
    /// # Panics
    /// When the journal can't be opened, or its last line is torn.
    pub fn open(&self, subject: Subject, holder: &str) -> Desk {
        let register = self.paths().register;
        let books = move || Books::read(&register);
        let opened = Desk::open(self.paths(), books, subject, Holder(holder.to_owned()), NOW);
        let (desk, torn) = good(opened);
        assert_eq!(torn, None);
        desk
    }

    /// Signs as reviewed, and then as approved.
    ///
    /// # Errors
    /// When the rules refuse.
    pub fn sign(&self, desk: &mut Desk, [reviewed, approved]: [Stamp; 2]) -> Result<(), Error> {
        desk.sign(&self.anna, reviewed, Meaning::Reviewed, &Scope::DAY)?;
        desk.sign(&self.ben, approved, Meaning::Approved, &Scope::DAY)
    }

    /// What is found of the review.
    pub fn reviewed(&self, subject: &Subject, hole: Option<&HoleBefore>) -> Reviewed {
        let (journal, path) = (good(journal::read(&self.journal())), self.journal());
        let books = self.books();
        Reviewed::of(&Evidence::new((&journal, &path), &books, Ok(subject), hole, NOW))
    }
}
