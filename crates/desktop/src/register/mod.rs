//! The register of days: what one sees first of a folder of records. A calendar of the month with
//! where each review stands, what changes over the days, the trace of a lot, the summary of a range.

mod calendar;
pub mod format;
mod held;
mod lot;
pub mod page;
mod parts;
mod range;
mod records;
mod trends;
pub mod work;

pub use calendar::stage_bar;

use crate::action::{Action, Actions};
use crate::clock::Clock;
use crate::commands::Command;
use crate::problem::Problem;
use crate::review::state::Review;
use crate::surroundings::Surroundings;
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Type};
use case::plural;
use chrono::{Datelike as _, Months, NaiveDate};
use daybook::{Entry, Fact, Series, ShownIn, Summary, WaitsFor};
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Layout, Ui, UiBuilder};
use format::RangeFormat;
use held::HeldPage;
use lot::Lot;
use page::RegisterPage;
use parts::note;
use range::RangePage;
use records::{News, Records};
use std::path::{Path, PathBuf};
use work::{Next, WorkPage};

/// The register of one folder.
pub struct Register {
    /// The records, in order of their dates.
    pub records: Records,
    clock: Clock,
    /// What follows from the records, worked out when they change: it takes too long for a frame.
    told: Told,
    month: NaiveDate,
    page: RegisterPage,
    lot: Lot,
    range: RangePage,
    held: HeldPage,
    work: WorkPage,
    /// The identifier of the person at work; blank for nobody.
    person: String,
}

#[derive(Default)]
struct Told {
    facts: Vec<Fact>,
    series: Vec<Series>,
    no_record: Vec<(String, NaiveDate)>,
}

impl Register {
    /// The register of a folder, which is gone through once the register is polled.
    pub fn open(folder: &Path, surroundings: Surroundings) -> Self {
        let (clock, paper) = (surroundings.clock, surroundings.paper);
        Self {
            records: Records::of(folder, surroundings),
            clock,
            told: Told::default(),
            month: clock.today(),
            page: RegisterPage::default(),
            lot: Lot::default(),
            range: RangePage::on(paper),
            held: HeldPage::default(),
            work: WorkPage::default(),
            person: String::new(),
        }
    }

    /// Shows a page.
    pub const fn turn_to(&mut self, page: RegisterPage) {
        self.page = page;
        match page {
            RegisterPage::Lot => self.lot.focus = true,
            RegisterPage::Range => self.range.focus = true,
            RegisterPage::Work => self.work.focus = true,
            RegisterPage::Calendar | RegisterPage::Trends | RegisterPage::Held => {}
        }
    }

    /// The page that is shown.
    pub const fn page(&self) -> RegisterPage {
        self.page
    }

    /// Whether anything is under way.
    pub const fn is_busy(&self) -> bool {
        self.records.is_busy() || self.range.is_busy()
    }

    /// Shows the summary of a lot.
    pub fn turn_to_summary_of(&mut self, lot: &str) {
        self.range.ask_for_lot(lot);
        self.turn_to(RegisterPage::Range);
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
        let News { mut problems, is_first, changed } = self.records.poll(context);
        if changed {
            self.list_work();
        }
        if is_first {
            self.month = self.first_month().unwrap_or(self.month);
        }
        if changed {
            self.tell();
        }
        problems.extend(self.range.poll(context));
        problems
    }

    /// The month that is shown first: of the oldest record to be reviewed, or else of the latest.
    fn first_month(&self) -> Option<NaiveDate> {
        let entries = self.records.entries();
        let first = self.next(None).and_then(|next| entries.get(next.place));
        first.or(entries.last())?.date()
    }

    fn tell(&mut self) {
        self.range.forget();
        let entries = self.records.entries();
        let today = self.clock.today();
        let first = self.month.with_day(1).unwrap_or(self.month);
        let last = first.checked_add_months(Months::new(1)).and_then(|next| next.pred_opt());
        let month = daybook::Range { from: Some(first), to: last, ..daybook::Range::default() };
        let facts =
            Summary::new(entries, month, today).map(|summary| summary.facts()).unwrap_or_default();
        let whole = Summary::new(entries, daybook::Range::default(), today);
        let (series, no_record) = whole
            .map(|whole| (whole.series().to_vec(), whole.no_record().to_vec()))
            .unwrap_or_default();
        self.held.tell(entries, today);
        self.lot.tell(entries);
        self.told = Told { facts, series, no_record };
        self.list_work();
    }

    fn list_work(&mut self) {
        self.work.tell(self.records.entries(), &self.person, self.clock.today());
    }

    /// Lists the work of whoever is at work from now on.
    pub fn works_for(&mut self, person: &str) {
        if self.person != person {
            person.clone_into(&mut self.person);
            self.list_work();
        }
    }

    /// Takes in how far the review of the open record is.
    pub fn note_review(&mut self, files: &[PathBuf], review: &Review) {
        if self.records.note_review(files, review) {
            self.list_work();
        }
    }

    /// The record to go on to after the one at a place: the next on the work list of the person at work,
    /// round, or the first. `None` where no other is left.
    pub fn next(&self, after: Option<usize>) -> Option<&Next> {
        let round = self.work.round();
        let place = round.iter().position(|next| Some(next.place) == after);
        let from = place.map_or(0, |place| place + 1);
        let mut next = round.iter().skip(from).chain(round.iter().take(from));
        next.find(|next| Some(next.place) != after)
    }

    /// How many records are left to go through but for the one at a place.
    pub fn left(&self, but: Option<usize>) -> usize {
        self.work.round().iter().filter(|next| Some(next.place) != but).count()
    }

    /// Whether the record at a place is still to be gone through.
    pub fn is_left(&self, place: usize) -> bool {
        self.work.round().iter().any(|next| next.place == place)
    }

    /// Whether a register knows the person at work.
    pub fn knows_person(&self) -> bool {
        self.work.person().is_some()
    }

    /// Makes the summary that was asked for and writes it to a path.
    pub fn save(&mut self, format: RangeFormat, path: PathBuf, context: &egui::Context) {
        let (folder, trust) = (self.records.folder(), self.records.surroundings().trust());
        self.range.save(folder, (format, path), trust, self.clock, context);
    }

    /// The place of the record that is set beside another one: that with the keyboard, else the one opened last, else
    /// the latest.
    pub fn to_compare(&self, context: &egui::Context) -> Option<usize> {
        let entries = self.records.entries();
        let focused = context.memory(egui::Memory::focused);
        let has_keyboard = |entry: &Entry| Some(calendar::record_id(entry)) == focused;
        let last = self.records.read_last();
        entries
            .iter()
            .position(has_keyboard)
            .or_else(|| entries.iter().position(|entry| last == Some(entry.files.as_slice())))
            .or_else(|| entries.iter().rposition(|entry| entry.day.is_ok()))
    }

    /// Draws the register.
    pub fn show(&mut self, ui: &mut Ui, look: Look, units: ShownIn, actions: &mut Actions) {
        let frame = Frame::new().fill(look.colors.ground);
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            self.head(ui, look, actions);
            if self.records.is_first_look() {
                self.progress(ui, look, actions);
                return;
            }
            if self.records.was_stopped() {
                note(ui, look, "Stopped. Open the folder again to scan it.");
                return;
            }
            let chosen = match self.page {
                RegisterPage::Calendar => {
                    let shown = calendar::Shown {
                        entries: self.records.entries(),
                        month: self.month,
                        facts: &self.told.facts,
                        no_record: &self.told.no_record,
                        first: self.next(None).map(|next| next.place),
                        today: self.clock.today(),
                        units,
                    };
                    calendar::show(ui, look, &shown, actions)
                }
                RegisterPage::Trends => trends::show(ui, look, &self.told.series, units)
                    .and_then(|(date, unit)| self.place_of(date, &unit)),
                RegisterPage::Lot => {
                    self.lot.show(ui, look, self.records.entries(), actions);
                    None
                }
                RegisterPage::Held => self.held.show(ui, look),
                RegisterPage::Work => self.work.show(ui, look),
                RegisterPage::Range => {
                    self.range.show(ui, look, self.records.entries(), self.clock, actions);
                    None
                }
            };
            if let Some(place) = chosen {
                actions.push(self.record(place));
            }
        });
    }

    /// The first record of a day and a pasteurizer.
    fn place_of(&self, date: NaiveDate, unit: &str) -> Option<usize> {
        self.records.entries().iter().position(|entry| {
            let day = entry.day.as_ref();
            day.is_ok_and(|day| day.date == date && day.subject.unit == unit)
        })
    }

    /// What is done with the record at a place. One that could not be read is read again, which tells
    /// why, or how it is set up; of one that is gone the folder tells.
    fn record(&self, place: usize) -> Action {
        match self.records.entries().get(place) {
            Some(Entry { day: Err(why), record, .. }) if !record.exists() => {
                Problem::new(format!("{} could not be read", record.display()), why).into()
            }
            _ => Action::Read(place),
        }
    }

    /// The folder, and the choice of pages.
    fn head(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let builder =
                UiBuilder::new().accessibility_role(Access::Banner).accessibility_label("Day log");
            ui.scope_builder(builder, |ui| {
                let title = Type::Verdict.text(self.sentence(), look.colors.ink);
                ui.add(egui::Label::new(title).wrap().selectable(true));
            });
        });
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let folder = self.records.folder().display().to_string();
            ui.label(Type::Small.text(case::CAUTION, look.colors.ink_soft)).on_hover_text(folder);
        });
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN - GAP);
            for page in RegisterPage::ALL {
                let command = page.command();
                let tip = format!("{}  {}", command.title(), command.key_text(ui.ctx()));
                let title = match (page, self.work.mine()) {
                    (RegisterPage::Work, 1..) => format!("{} ({})", page.title(), self.work.mine()),
                    _ => page.title().to_owned(),
                };
                let response = widgets::toggle(ui, look, self.page == page, &title);
                if response.on_hover_text(tip).clicked() {
                    actions.push(command);
                }
            }
            if let Some(next) = self.next(None) {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    ui.add_space(MARGIN);
                    let text = format!("Open {}, {}", next.name, next.waits_for.name());
                    actions.primary_button(ui, look, Command::NextOnList, &text);
                });
            }
        });
        ui.add_space(GAP);
    }

    /// The folder in one sentence.
    fn sentence(&self) -> String {
        let name = crate::task::file_name(self.records.folder());
        if self.records.is_first_look() {
            return format!("Scanning {name}");
        }
        let left =
            self.records.entries().iter().filter(|one| one.review.stage.is_to_review()).count();
        let today = self.clock.today();
        let late =
            self.records.entries().iter().filter(|one| one.due().is_some_and(|due| due < today));
        let late = match late.count() {
            0 => String::new(),
            count => format!(", {count} overdue"),
        };
        let approve = match self.work.count(WaitsFor::Approval) {
            0 => String::new(),
            count => format!(", {count} to approve"),
        };
        let held = match self.held.open() {
            0 => String::new(),
            count => format!(", {count} on hold"),
        };
        match left {
            0 => format!(
                "Nothing left to review in {}{approve}{held}",
                plural(self.records.entries().len(), "record")
            ),
            left => format!(
                "{left} of {} to review{late}{approve}{held}",
                plural(self.records.entries().len(), "record")
            ),
        }
    }

    fn progress(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        let Some((done, all)) = self.records.progress() else { return };
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
