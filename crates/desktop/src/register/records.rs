//! The records of one folder, which is gone through on another thread, again and again while they
//! are on the screen, so that a file that appears there appears here.

use crate::job::{Job, Progress};
use crate::problem::Problem;
use crate::review::state::Review;
use crate::surroundings::Surroundings;
use ::review::Stage;
use archive::{Scan, ScanProgress, scan};
use daybook::{Day, Entry, Figure};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};
use trace::{PressureUnit, TemperatureUnit, Unit as _};

/// How long the folder rests before it is looked into again.
const AGAIN: Duration = Duration::from_secs(10);

/// The records of one folder.
pub struct Records {
    folder: PathBuf,
    surroundings: Surroundings,
    entries: Vec<Entry>,
    /// The record that was asked for last, by its place.
    current: Option<usize>,
    /// What was said about books that are not those that this user has seen before.
    alarms: Vec<String>,
    /// How many lines the journal of the open record had when its review was taken in, and how far it was.
    noted: Option<(usize, Stage)>,
    job: Option<Looking>,
    scanned: Option<Instant>,
    /// Whether somebody stopped the first scan.
    stopped: bool,
}

/// The folder being gone through.
struct Looking {
    job: Job<Result<Scan, archive::Error>>,
    progress: Arc<ScanProgress>,
}

/// What became of the records since they were asked for last.
#[derive(Default)]
pub(super) struct News {
    /// What went wrong.
    pub problems: Vec<Problem>,
    /// Whether the folder was gone through for the first time.
    pub is_first: bool,
    /// Whether there are other records than before.
    pub changed: bool,
}

impl Records {
    /// The records of a folder, which is gone through once they are polled.
    pub(super) fn of(folder: &Path, surroundings: Surroundings) -> Self {
        Self {
            folder: folder.to_owned(),
            surroundings,
            entries: Vec::new(),
            current: None,
            alarms: Vec::new(),
            noted: None,
            job: None,
            scanned: None,
            stopped: false,
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What this machine knows beside the folder.
    pub(super) const fn surroundings(&self) -> &Surroundings {
        &self.surroundings
    }

    /// The records, in order of their dates.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The place of the record that was asked for last, or else of the first.
    pub fn current(&self) -> usize {
        self.current.unwrap_or_default()
    }

    /// What the record was read from that was asked for last.
    pub fn read_last(&self) -> Option<&[PathBuf]> {
        Some(&self.entries.get(self.current?)?.files)
    }

    /// What is to be read to open the record at a place, which is the current one from now on.
    pub fn read(&mut self, place: usize) -> Option<Vec<PathBuf>> {
        let files = self.entries.get(place)?.files.clone();
        (self.current, self.noted) = (Some(place), None);
        Some(files)
    }

    /// Whether the folder has not been gone through yet.
    pub const fn is_first_look(&self) -> bool {
        self.scanned.is_none() && !self.stopped
    }

    /// Whether the folder is being gone through, or is about to be.
    pub const fn is_busy(&self) -> bool {
        self.job.is_some() || self.is_first_look()
    }

    /// Whether somebody stopped before anything was found.
    pub(super) const fn was_stopped(&self) -> bool {
        self.stopped && self.entries.is_empty()
    }

    /// How many records were read, of how many; `None` while the folder rests.
    pub(super) fn progress(&self) -> Option<(usize, usize)> {
        Some(self.job.as_ref()?.progress.done())
    }

    /// Takes in how far the review of a record is that is open, so that it is known before the folder is
    /// gone through again; whether it was not known already.
    pub(super) fn note_review(&mut self, files: &[PathBuf], review: &Review) -> bool {
        let lines = review.seen().map_or(0, |seen| seen.lines);
        let noted = Some((lines, review.stage()));
        let current = self.current.and_then(|place| self.entries.get_mut(place));
        let Some(entry) = current.filter(|entry| entry.files == files && self.noted != noted)
        else {
            return false;
        };
        entry.review.stage = review.stage();
        if lines > 0 {
            entry.review.state = review.state().cloned();
        }
        self.noted = noted;
        true
    }

    /// Looks into the folder again, unless it is being done.
    pub fn look(&mut self, context: &egui::Context) {
        if self.job.is_some() {
            return;
        }
        let progress = Arc::new(ScanProgress::default());
        let (folder, told) = (self.folder.clone(), progress.clone());
        let (cache, trust) = (self.surroundings.cache.clone(), self.surroundings.trust());
        let job = Job::begin(context, move || scan(&folder, cache.as_deref(), &trust, &told));
        self.job = Some(Looking { job, progress });
    }

    /// Stops going through the folder.
    pub fn stop(&self) {
        if let Some(Looking { progress, .. }) = &self.job {
            progress.cancel();
        }
    }

    /// Takes in what was found, and looks again once the folder has rested.
    pub(super) fn poll(&mut self, context: &egui::Context) -> News {
        let finished = self.job.as_ref().and_then(|looking| match looking.job.poll(context) {
            Progress::Running => None,
            Progress::Done(result) => Some(Some(result)),
            Progress::Lost => Some(None),
        });
        let Some(finished) = finished else {
            let rested = self.scanned.is_some_and(|scanned| scanned.elapsed() >= AGAIN);
            if rested || self.is_first_look() {
                self.look(context);
            } else {
                context.request_repaint_after(AGAIN);
            }
            return News::default();
        };
        self.job = None;
        let is_first = self.scanned.is_none();
        self.scanned = Some(Instant::now());
        let mut changed = false;
        let found = match finished {
            Some(Ok(found)) => {
                let (found, is_new) = self.take(found, is_first);
                changed = is_new || is_first;
                found
            }
            Some(Err(archive::Error::Cancelled)) => {
                self.stopped = true;
                Vec::new()
            }
            Some(Err(cause)) => vec![cause.to_string()],
            None => vec!["The background task ended unexpectedly. Please report this.".to_owned()],
        };
        let title = format!("{} could not be scanned", self.folder.display());
        let problem = |text: String| Problem::new(title.clone(), text);
        News { problems: found.into_iter().map(problem).collect(), is_first, changed }
    }

    /// Takes what was found; gives what is to be told of it, and whether there are other records.
    fn take(&mut self, found: Scan, is_first: bool) -> (Vec<String>, bool) {
        let Scan { entries, mut problems, books } = found;
        // The folder is looked into again and again; an alarm is sounded once.
        let alarms = books.iter().flat_map(|books| &books.alarms);
        problems.extend(alarms.filter(|alarm| !self.alarms.contains(alarm)).cloned());
        self.alarms = books.iter().flat_map(|books| books.alarms.clone()).collect();
        let changed = self.entries != entries;
        // Files come, go and change their names while the folder is open.
        let current = self.read_last().map(<[PathBuf]>::to_vec);
        (self.entries, self.noted) = (entries, None);
        self.current = current.map(|files| {
            self.entries.iter().position(|one| one.files == files).unwrap_or_default()
        });
        if is_first && self.entries.is_empty() {
            problems.push("It has no logger file.".to_owned());
        }
        (problems, changed)
    }

    /// The units in which temperatures and pressures were recorded, seen from the first day that has
    /// such figures.
    pub fn recorded_units(&self) -> (TemperatureUnit, PressureUnit) {
        let symbol = |of: fn(&Day) -> &Option<Figure>| {
            let days = self.entries.iter().filter_map(|entry| entry.day.as_ref().ok());
            days.filter_map(|day| of(day).as_ref()).map(|figure| figure.unit.as_str()).next()
        };
        let temperature = symbol(|day| &day.worst_temperature).and_then(TemperatureUnit::from_word);
        let pressure = symbol(|day| &day.worst_differential).and_then(PressureUnit::from_word);
        (temperature.unwrap_or(TemperatureUnit::Fahrenheit), pressure.unwrap_or(PressureUnit::Psi))
    }
}
