//! The register of days: what one sees first of a folder of records. A calendar of the month with
//! where each review stands, what changes over the days, the trace of a lot, the summary of a range.
//!
//! The folder is gone through on another thread, again and again while the register is on the screen,
//! so that a file that appears there appears here.

mod calendar;
pub mod format;
mod lot;
pub mod page;
mod parts;
mod range;
mod trends;

use crate::action::{Action, Actions};
use crate::clock::Clock;
use crate::commands::Command;
use crate::job::{Job, Progress};
use crate::problem::Problem;
use crate::surroundings::Surroundings;
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Type};
use archive::{Scan, ScanProgress, scan};
use case::plural;
use chrono::{Datelike as _, Months, NaiveDate};
use daybook::{Day, Entry, Fact, Figure, Series, ShownIn, Summary};
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Layout, Ui, UiBuilder};
use format::RangeFormat;
use lot::Lot;
use page::RegisterPage;
use parts::note;
use range::RangePage;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};
use trace::{PressureUnit, TemperatureUnit, Unit as _};

/// How long the register rests before it looks into the folder again.
const AGAIN: Duration = Duration::from_secs(10);

/// The register of one folder.
pub struct Register {
    folder: PathBuf,
    surroundings: Surroundings,
    clock: Clock,
    entries: Vec<Entry>,
    /// The record that was asked for last, by its place.
    current: Option<usize>,
    /// What follows from the entries, worked out when they change: it takes too long for a frame.
    told: Told,
    /// What was said about books that are not those that this user has seen before.
    alarms: Vec<String>,
    job: Option<Looking>,
    scanned: Option<Instant>,
    /// Whether somebody stopped the first scan.
    stopped: bool,
    month: NaiveDate,
    page: RegisterPage,
    lot: Lot,
    range: RangePage,
}

/// The folder being gone through.
struct Looking {
    job: Job<Result<Scan, archive::Error>>,
    progress: Arc<ScanProgress>,
}

#[derive(Default)]
struct Told {
    facts: Vec<Fact>,
    series: Vec<Series>,
    no_record: Vec<(String, NaiveDate)>,
    /// The oldest record that is still to be reviewed.
    oldest: Option<usize>,
}

impl Register {
    /// The register of a folder, which is gone through once the register is polled.
    pub fn open(folder: &Path, surroundings: Surroundings) -> Self {
        let clock = surroundings.clock;
        Self {
            folder: folder.to_owned(),
            surroundings,
            clock,
            entries: Vec::new(),
            current: None,
            told: Told::default(),
            alarms: Vec::new(),
            job: None,
            scanned: None,
            stopped: false,
            month: clock.today(),
            page: RegisterPage::default(),
            lot: Lot::default(),
            range: RangePage::default(),
        }
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
        self.current = Some(place);
        Some(files)
    }

    /// Shows a page.
    pub const fn turn_to(&mut self, page: RegisterPage) {
        self.page = page;
        match page {
            RegisterPage::Lot => self.lot.focus = true,
            RegisterPage::Range => self.range.focus = true,
            RegisterPage::Calendar | RegisterPage::Trends => {}
        }
    }

    /// The oldest record that is still to be reviewed.
    pub const fn oldest(&self) -> Option<usize> {
        self.told.oldest
    }

    /// Whether the folder has not been gone through yet.
    pub const fn is_first_look(&self) -> bool {
        self.scanned.is_none() && !self.stopped
    }

    /// Whether anything is under way.
    pub const fn is_busy(&self) -> bool {
        self.job.is_some() || self.is_first_look() || self.range.is_busy()
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

    /// A month later, or earlier.
    pub fn turn_month(&mut self, later: bool) {
        let one = Months::new(1);
        let turned = if later {
            self.month.checked_add_months(one)
        } else {
            self.month.checked_sub_months(one)
        };
        self.month = turned.unwrap_or(self.month);
        self.tell();
    }

    /// Takes in what was found and what was written; gives what went wrong.
    pub fn poll(&mut self, context: &egui::Context) -> Vec<Problem> {
        let mut problems = self.poll_folder(context);
        problems.extend(self.range.poll(context));
        problems
    }

    fn poll_folder(&mut self, context: &egui::Context) -> Vec<Problem> {
        let title = format!("{} could not be gone through", self.folder.display());
        let problem = |text: String| Problem::new(title.clone(), text);
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
            return Vec::new();
        };
        self.job = None;
        let is_first = self.scanned.is_none();
        self.scanned = Some(Instant::now());
        match finished {
            Some(Ok(Scan { entries, mut problems, books })) => {
                // The folder is looked into again and again; an alarm is sounded once.
                let alarms = books.iter().flat_map(|books| &books.alarms);
                problems.extend(alarms.filter(|alarm| !self.alarms.contains(alarm)).cloned());
                self.alarms = books.iter().flat_map(|books| books.alarms.clone()).collect();
                let changed = self.entries != entries;
                // Files come, go and change their names while the folder is open.
                let current = self.read_last().map(<[PathBuf]>::to_vec);
                self.entries = entries;
                self.current = current.map(|files| {
                    self.entries.iter().position(|one| one.files == files).unwrap_or_default()
                });
                if is_first && let Some(date) = self.first_month() {
                    self.month = date;
                }
                if changed || is_first {
                    self.tell();
                }
                let mut found: Vec<Problem> = problems.into_iter().map(problem).collect();
                if is_first && self.entries.is_empty() {
                    found.push(problem("No logger file lies in it.".to_owned()));
                }
                found
            }
            Some(Err(archive::Error::Cancelled)) => {
                self.stopped = true;
                Vec::new()
            }
            Some(Err(cause)) => vec![problem(cause.to_string())],
            None => vec![problem("It stopped without a word; please report it.".to_owned())],
        }
    }

    /// The month that is shown first: of the oldest record to be reviewed, or else of the latest.
    fn first_month(&self) -> Option<NaiveDate> {
        let oldest = oldest(&self.entries).and_then(|index| self.entries.get(index));
        oldest.or(self.entries.last())?.date()
    }

    fn tell(&mut self) {
        self.range.forget();
        let today = self.clock.today();
        let first = self.month.with_day(1).unwrap_or(self.month);
        let last = first.checked_add_months(Months::new(1)).and_then(|next| next.pred_opt());
        let month = daybook::Range { from: Some(first), to: last, ..daybook::Range::default() };
        let facts = Summary::new(&self.entries, month, today)
            .map(|summary| summary.facts())
            .unwrap_or_default();
        let whole = Summary::new(&self.entries, daybook::Range::default(), today);
        let (series, no_record) = whole
            .map(|whole| (whole.series().to_vec(), whole.no_record().to_vec()))
            .unwrap_or_default();
        self.told = Told { facts, series, no_record, oldest: oldest(&self.entries) };
    }

    /// Makes the summary that was asked for and writes it to a path.
    pub fn save(&mut self, format: RangeFormat, path: PathBuf, context: &egui::Context) {
        let trust = self.surroundings.trust();
        self.range.save(&self.folder, (format, path), trust, self.clock, context);
    }

    /// Draws the register.
    pub fn show(&mut self, ui: &mut Ui, look: Look, units: ShownIn, actions: &mut Actions) {
        let frame = Frame::new().fill(look.colors.ground);
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            self.head(ui, look, actions);
            if self.is_first_look() {
                self.progress(ui, look, actions);
                return;
            }
            if self.stopped && self.entries.is_empty() {
                note(ui, look, "Stopped. Open the folder again to go through it.");
                return;
            }
            let chosen = match self.page {
                RegisterPage::Calendar => {
                    let shown = calendar::Shown {
                        entries: &self.entries,
                        month: self.month,
                        facts: &self.told.facts,
                        no_record: &self.told.no_record,
                        oldest: self.told.oldest,
                        today: self.clock.today(),
                        units,
                    };
                    calendar::show(ui, look, &shown, actions)
                }
                RegisterPage::Trends => {
                    trends::show(ui, look, &self.told.series, units);
                    None
                }
                RegisterPage::Lot => self.lot.show(ui, look, &self.entries),
                RegisterPage::Range => {
                    self.range.show(ui, look, &self.entries, self.clock, actions);
                    None
                }
            };
            if let Some(place) = chosen {
                actions.push(self.record(place));
            }
        });
    }

    fn record(&self, place: usize) -> Action {
        match self.entries.get(place) {
            Some(Entry { day: Err(why), record, .. }) => {
                Problem::new(format!("{} could not be read", record.display()), why).into()
            }
            _ => Action::Read(place),
        }
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

    /// The folder, and the choice of pages.
    fn head(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let builder =
                UiBuilder::new().accessibility_role(Access::Banner).accessibility_label("Register");
            ui.scope_builder(builder, |ui| {
                let title = Type::Verdict.text(self.sentence(), look.colors.ink);
                ui.add(egui::Label::new(title).wrap().selectable(true));
            });
        });
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let folder = self.folder.display().to_string();
            ui.label(Type::Small.text(case::CAUTION, look.colors.ink_soft)).on_hover_text(folder);
        });
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN - GAP);
            for page in RegisterPage::ALL {
                let command = page.command();
                let tip = format!("{}  {}", command.title(), command.key_text(ui.ctx()));
                let response = widgets::toggle(ui, look, self.page == page, page.title());
                if response.on_hover_text(tip).clicked() {
                    actions.push(command);
                }
            }
            if let Some(oldest) = self.told.oldest.and_then(|index| self.entries.get(index)) {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    ui.add_space(MARGIN);
                    let date = oldest.date().map_or(oldest.name(), |date| date.to_string());
                    let text = format!("Open the oldest to review: {date}");
                    actions.primary_button(ui, look, Command::OldestToReview, &text);
                });
            }
        });
        ui.add_space(GAP);
    }

    /// The folder in one sentence.
    fn sentence(&self) -> String {
        let name = crate::task::file_name(&self.folder);
        if self.is_first_look() {
            return format!("Going through {name}");
        }
        let left = self.entries.iter().filter(|one| one.review.stage.is_to_review()).count();
        let today = self.clock.today();
        let late = self.entries.iter().filter(|one| one.due().is_some_and(|due| due < today));
        let late = match late.count() {
            0 => String::new(),
            count => format!(", {count} overdue"),
        };
        match left {
            0 => format!("Nothing left to review in {}", plural(self.entries.len(), "record")),
            left => format!("{left} of {} to review{late}", plural(self.entries.len(), "record")),
        }
    }

    fn progress(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        let Some(Looking { progress, .. }) = &self.job else { return };
        let (done, all) = progress.done();
        let fraction = if all == 0 { 0.0 } else { done as f32 / all as f32 };
        ui.add_space(MARGIN);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            ui.label(Type::Body.text(format!("{done} of {all} records"), look.colors.ink));
            widgets::progress_bar(ui, look, 260.0, fraction, "Progress of the folder");
            actions.button(ui, look, Command::Cancel, Command::Cancel.title());
        });
    }
}

/// The oldest record that is still to be reviewed; one without a date comes first.
fn oldest(entries: &[Entry]) -> Option<usize> {
    entries.iter().position(|entry| entry.review.stage.is_to_review() && entry.day.is_ok())
}
