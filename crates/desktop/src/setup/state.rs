//! What is set up: the files as they were found, the draft, what is still to be said, and the day as it
//! is read with that, on another thread.

use super::unknown::Unknown;
use crate::day::Day;
use crate::day::drawing::Drawing;
use crate::job::Job;
use crate::loading::Loaded;
use crate::problem::Problem;
use crate::review::open::Opened;
use crate::task::Task;
use crate::why::Why;
use ::review::Stage;
use ::setup::{Draft, Question, Sheets};
use archive::Files;
use chart::Curves;
use ingest::Progress;
use plant::Plant;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The page.
pub struct Setup {
    pub(super) files: Vec<PathBuf>,
    pub(super) sheets: Sheets,
    pub(super) why: Option<String>,
    pub(super) draft: Draft,
    /// What is still to be said.
    pub(super) asked: Vec<Question>,
    /// What the reading asked.
    pub(super) asked_by_reading: Option<Question>,
    /// Whether it is still to be seen whether the files can be read by what is said.
    is_stale: bool,
    /// The text of the plant file by which the files were read last.
    tried: Option<String>,
    pub(super) job: Option<Job<Result<Box<Loaded>, Failed>>>,
    /// The day as it is read, or why it can't be.
    pub(super) seen: Option<Result<Box<Day>, Why>>,
    pub(super) drawing: Drawing,
}

/// Why the files could not be read by the draft.
pub(super) struct Failed {
    why: String,
    question: Option<Question>,
}

impl Setup {
    /// The page of files that nobody has told how to read.
    pub fn new(unknown: Unknown) -> Self {
        let Unknown { files, sheets, why } = unknown;
        let draft = Draft::of(&sheets);
        let asked = draft.questions(&sheets);
        Self {
            files,
            sheets,
            why,
            draft,
            asked,
            asked_by_reading: None,
            is_stale: true,
            tried: None,
            job: None,
            seen: None,
            drawing: Drawing::default(),
        }
    }

    /// Whether the files are being read.
    pub const fn is_busy(&self) -> bool {
        self.job.is_some() || self.is_stale
    }

    /// Takes in what was read, and reads again when something else is said.
    pub fn poll(&mut self, context: &egui::Context) {
        let lost = || Failed {
            why: "The reader ended unexpectedly. Please report this, with the file.".to_owned(),
            question: None,
        };
        match Job::take(&mut self.job, context, lost) {
            Some(Ok(loaded)) => {
                // What was being looked at stays in view.
                let window = match &self.seen {
                    Some(Ok(day)) if !day.window.is_whole() => Some(day.window.interval()),
                    _ => None,
                };
                let mut day = Box::new(Day::new(*loaded));
                if let Some(window) = window {
                    day.window.show(window, 0.0, 0.0);
                }
                self.seen = Some(Ok(day));
                self.asked_by_reading = None;
                self.drawing = Drawing::default();
            }
            Some(Err(Failed { why, question })) => {
                self.seen = Some(Err(why.into()));
                self.asked_by_reading = question;
            }
            None => {}
        }
        if self.job.is_none() && self.is_stale {
            self.try_to_read(context);
        }
    }

    /// Reads the files by what is said so far, if that is enough and not what was tried last.
    fn try_to_read(&mut self, context: &egui::Context) {
        self.is_stale = false;
        if self.asked.iter().any(Question::is_of_reading) {
            (self.seen, self.tried) = (None, None);
            return;
        }
        // Names do not change what is read, and are being typed.
        let mut draft = self.draft.clone();
        "not named yet".clone_into(&mut draft.plant);
        "not named yet".clone_into(&mut draft.unit);
        if self.asked.contains(&Question::Zone) {
            "UTC".clone_into(&mut draft.zone);
        }
        let text = draft.text(&self.sheets);
        if self.tried.as_ref() == Some(&text) {
            return;
        }
        self.tried = Some(text.clone());
        let (files, sheets) = (self.files.clone(), self.sheets.clone());
        self.job = Some(Job::begin(context, move || read(files, &sheets, &text)));
    }

    /// Takes in that something was said.
    pub(super) fn changed(&mut self) {
        self.asked = self.draft.questions(&self.sheets);
        self.is_stale = true;
    }

    /// Whether the plant file can be saved: nothing is left to be said, and the files can be read.
    pub(super) fn is_complete(&self) -> bool {
        self.asked.is_empty() && !self.is_busy() && matches!(self.seen, Some(Ok(_)))
    }

    /// Writes the plant file beside the files; gives the files, which can be opened then.
    ///
    /// # Errors
    /// Why it is not written.
    pub fn save(&self) -> Result<Vec<PathBuf>, Problem> {
        let told = |why: String| Problem::new("The plant file is not saved", why);
        if !self.is_complete() {
            return Err(told(match &self.seen {
                Some(Err(why)) => why.to_string(),
                _ => "Answer the questions on the right first.".to_owned(),
            }));
        }
        let folder = self.files.first().and_then(|file| file.parent()).unwrap_or(Path::new(""));
        let path = folder.join(ingest::PLANT_FILE);
        let text = self.draft.text(&self.sheets);
        let written = disk::write_new(&path, text.as_bytes(), disk::Access::Everybody);
        written.map_err(|cause| told(disk::not_written(&path, &cause)))?;
        Ok(self.files.clone())
    }
}

/// Reads and audits the files by the text of a plant file that is not saved.
fn read(files: Vec<PathBuf>, sheets: &Sheets, text: &str) -> Result<Box<Loaded>, Failed> {
    let failed = |why: String| Failed { why, question: None };
    let plant = Plant::parse("the plant file", text).map_err(|cause| failed(cause.to_string()))?;
    let task = Task { files, plant: None, is_set_up: false };
    let of = Files { logger: task.files.clone(), ..Files::default() };
    let read = archive::read_with((&of, None), (plant, Vec::new()), &Progress::default());
    let case = read.map_err(|cause| match &cause {
        archive::Error::Ingest(reading) => {
            Failed { question: Draft::question_of(reading, sheets), why: cause.to_string() }
        }
        _ => failed(cause.to_string()),
    })?;
    let curves = Arc::new(Curves::build(&case));
    let not_saved = "The plant file is not saved.".to_owned();
    let review = Opened {
        desk: Err((not_saved, Stage::Unread)),
        torn: Vec::new(),
        config: None,
        journal: PathBuf::new(),
    };
    let name = task.name();
    Ok(Box::new(Loaded { name, task, case: Arc::new(case), curves, review }))
}
