//! One opened record on the screen: which window of time is shown, what is chosen, what is
//! measured. Whatever is said of the milk comes from the audit and the report.

pub mod bands;
pub mod drawing;
pub mod overview;
pub mod plots;
pub mod ribbon;
pub mod series;
pub mod setting;
pub mod trace_line;
pub mod window;

use crate::loading::Loaded;
use crate::review::state::Review;
use crate::surroundings::Surroundings;
use crate::task::Task;
use analysis::{Exception, Rule};
use case::Case;
use chart::{Curves, Measured, PlotKind};
use daybook::{RecordTanks, TankSheet};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trace::{Duration, Instant, Interval, Observation, ObservationKind, Rank};
use window::TimeWindow;

/// One opened record.
pub struct Day {
    /// Its name on the screen.
    pub name: String,
    /// What it was read from, to read it again.
    pub task: Task,
    /// The audited record, shared with work off the thread that draws.
    pub case: Arc<Case>,
    /// What drawing needs.
    pub curves: Arc<Curves>,
    /// The verdict, from the report.
    pub verdict: String,
    /// The shifts that the record touches.
    pub shifts: Vec<(Interval, String)>,
    /// The time shown.
    pub window: TimeWindow,
    /// The instant under the pointer.
    pub hover: Option<Instant>,
    /// The instant that the crosshair holds while the pointer is elsewhere.
    pub held: Option<Instant>,
    /// Where a measured span began that has no end yet.
    pub measuring_from: Option<Instant>,
    /// The measured span.
    pub measured: Option<Measured>,
    /// The chosen exception, its explanation from the report.
    pub chosen: Option<Chosen>,
    /// The exceptions that are chosen together, by their places: none, or several.
    pub picked: BTreeSet<usize>,
    /// The one that was chosen first, from which on others are chosen with it.
    pub anchor: Option<usize>,
    /// Whether the plot of the holding time is unfolded for this day, whatever the settings say,
    /// because the day has an exception of that rule.
    pub unfolds_residence: bool,
    /// The plots that are unfolded for the chosen observation, whatever the settings say.
    pub unfolded: BTreeSet<PlotKind>,
    /// The chosen observation, by its place in the audit's list.
    pub noted: Option<usize>,
    /// For each observation its identifier in the review; `None` where it is acknowledged by kind.
    pub closing: Vec<Option<String>>,
    /// What was decided about the record, and what is being decided.
    pub review: Review,
    /// What the run sheets of the other records say of tanks, once that was looked at.
    others: Option<Arc<[TankSheet]>>,
    /// The tanks that took what passed in its exceptions, as far as that is known.
    tanks: RecordTanks,
}

/// The chosen exception.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chosen {
    /// Its place in the audit's list.
    pub index: usize,
    /// Two sentences.
    pub explanation: String,
}

impl Day {
    /// The whole of a record that was read.
    pub fn new(loaded: Loaded) -> Self {
        let Loaded { name, task, case, curves, review } = loaded;
        let interval = case.record().interval();
        Self {
            verdict: case.verdict(),
            others: None,
            tanks: RecordTanks::of(&case, None),
            closing: ::review::closing_ids(case.audit()),
            window: TimeWindow::whole(interval),
            shifts: case.plant().named_shifts_over(interval),
            unfolds_residence: case
                .audit()
                .exceptions
                .iter()
                .any(|one| one.rule == Rule::HOLDING_TIME),
            unfolded: BTreeSet::new(),
            hover: None,
            held: None,
            measuring_from: None,
            measured: None,
            chosen: None,
            picked: BTreeSet::new(),
            anchor: None,
            noted: None,
            review: Review::new(review),
            name,
            task,
            case,
            curves,
        }
    }

    /// The files that it was read from, and those of its review.
    pub fn sources(&self) -> Vec<PathBuf> {
        let plant = self.case.plant().file.as_ref().map(|file| PathBuf::from(&*file.name));
        let sheet = self.task.files.first().and_then(|file| ingest::run_sheet_beside(file));
        let first = self.task.files.first().cloned().unwrap_or_default();
        let paths = ::review::Paths::of(&first, plant.as_deref());
        let entries =
            self.task.files.first().and_then(|file| ingest::operator_entries_beside(file));
        let files = self.task.files.iter().cloned().chain(plant).chain(sheet).chain(entries);
        let ledger = signers::LedgerFile::beside(&paths.register);
        files.chain([paths.journal, paths.register, ledger]).collect()
    }

    /// The instant of the crosshair: under the pointer, else where it was held.
    pub fn crosshair(&self) -> Option<Instant> {
        self.hover.or(self.held)
    }

    /// The sample that the crosshair reads, unless it lies beyond the gap limit.
    pub fn crosshair_sample(&self) -> Option<usize> {
        sample_near(&self.case, self.crosshair()?)
    }

    /// The chosen exception.
    pub fn chosen_exception(&self) -> Option<&Exception> {
        self.chosen.as_ref().and_then(|chosen| self.case.audit().exceptions.get(chosen.index))
    }

    /// Chooses an exception: zooms to it and explains it.
    pub fn choose(&mut self, index: usize) {
        let Some(exception) = self.case.audit().exceptions.get(index) else {
            return;
        };
        let explanation = self.case.explain(exception);
        let outer = exception.outer;
        self.held = Some(exception.worst.map_or(exception.observed.start(), |worst| worst.at));
        self.chosen = Some(Chosen { index, explanation });
        self.let_go_of_observation();
        self.anchor = Some(index);
        self.picked.clear();
        self.window.show(outer, 1.0, 60_000.0);
    }

    /// Looks for what lies around this record: in the folder that is open, or else in its own.
    pub fn look_around(
        &mut self,
        context: &egui::Context,
        folder: Option<&Path>,
        around: &Surroundings,
    ) {
        if let Some(sheets) = self.review.look_around(context, (&self.task, folder), around) {
            self.tanks = RecordTanks::of(&self.case, Some(&sheets));
            self.others = Some(sheets.into());
        }
    }

    /// The tanks that took what passed in its exceptions.
    pub const fn tanks(&self) -> &RecordTanks {
        &self.tanks
    }

    /// What the run sheets of the other records say of tanks, once that was looked at.
    pub fn others(&self) -> Option<Arc<[TankSheet]>> {
        self.others.clone()
    }

    /// The identifier of an observation that is closed one by one.
    pub fn closing_ids(&self) -> &[Option<String>] {
        &self.closing
    }

    /// The identifier of an observation to close; `None` for one to note.
    pub fn closing_id(&self, index: usize) -> Option<&str> {
        self.closing.get(index)?.as_deref()
    }

    /// Whether an observation to close is closed.
    pub fn is_closed(&self, index: usize) -> bool {
        let state = self.review.state();
        self.closing_id(index).is_some_and(|id| state.is_some_and(|one| one.closed(id).is_some()))
    }

    /// Chooses the next observation that is to be closed, from the chosen one on and round; whether
    /// there is one.
    pub fn note_next_to_close(&mut self) -> bool {
        let count = self.case.audit().observations.len();
        let from = self.noted.map_or(0, |index| index + 1);
        let next = (from..count)
            .chain(0..from.min(count))
            .find(|&index| self.closing_id(index).is_some() && !self.is_closed(index));
        if let Some(index) = next {
            self.note(index);
        }
        next.is_some()
    }

    /// Shows a part of the day, with as much around it.
    pub fn show(&mut self, interval: Interval) {
        self.window.show(interval, 1.0, 120_000.0);
        self.held = Some(interval.start());
    }

    /// Chooses an observation: zooms to it where it has a time, and unfolds the plots of its channels.
    pub fn note(&mut self, index: usize) {
        let Some(observation) = self.case.audit().observations.get(index) else {
            return;
        };
        let interval = observation.interval;
        let unfolded = self.plots_of(observation).into_iter().collect();
        if let Some(interval) = interval {
            self.show(interval);
        }
        self.release();
        (self.noted, self.unfolded) = (Some(index), unfolded);
    }

    /// The plots of the channels that an observation is about.
    pub fn plots_of(&self, observation: &Observation) -> Vec<PlotKind> {
        let channels = observation.channels();
        let shows = |plot: &PlotKind| {
            plot.is_in(&self.case) && channels.iter().any(|role| plot.roles().contains(role))
        };
        PlotKind::ALL.into_iter().filter(shows).collect()
    }

    /// The chosen observation.
    pub fn chosen_observation(&self) -> Option<&Observation> {
        self.noted.and_then(|index| self.case.audit().observations.get(index))
    }

    /// Whether a kind of observations is acknowledged.
    pub fn is_acknowledged(&self, kind: ObservationKind) -> bool {
        self.review.state().is_some_and(|state| state.acknowledged(kind.key()).is_some())
    }

    /// The kind of the chosen observation, where it is to be acknowledged and is not yet.
    pub fn kind_to_acknowledge(&self) -> Option<ObservationKind> {
        let kind = self.chosen_observation()?.kind;
        (kind.rank() == Rank::Note && !self.is_acknowledged(kind)).then_some(kind)
    }

    /// Chooses the first observation of the next kind that nobody acknowledged; whether there is one.
    pub fn note_next_to_acknowledge(&mut self) -> bool {
        let observations = &self.case.audit().observations;
        let is_open =
            |one: &Observation| one.kind.rank() == Rank::Note && !self.is_acknowledged(one.kind);
        let next = observations.iter().position(is_open);
        if let Some(index) = next {
            self.note(index);
        }
        next.is_some()
    }

    /// The exceptions that are chosen together, in order of time.
    pub fn picked_exceptions(&self) -> impl Iterator<Item = &Exception> {
        let exceptions = &self.case.audit().exceptions;
        self.picked.iter().filter_map(|&index| exceptions.get(index))
    }

    /// Whether an exception is chosen, by itself or together with others.
    pub fn is_chosen(&self, index: usize) -> bool {
        if self.picked.is_empty() {
            self.chosen.as_ref().is_some_and(|chosen| chosen.index == index)
        } else {
            self.picked.contains(&index)
        }
    }

    /// Chooses exceptions together; a single one is chosen by itself.
    pub fn pick(&mut self, picked: BTreeSet<usize>) {
        match (picked.first(), picked.len()) {
            (None, _) => self.release(),
            (Some(&only), 1) => self.choose(only),
            (Some(_), _) => {
                self.let_go_of_observation();
                self.picked = picked;
            }
        }
    }

    /// Chooses one more exception together with those that are chosen, or one less.
    pub fn toggle(&mut self, index: usize) {
        let mut picked = self.picked.clone();
        if picked.is_empty() {
            picked.extend(self.chosen.as_ref().map(|chosen| chosen.index));
        }
        if !picked.remove(&index) {
            picked.insert(index);
        }
        self.pick(picked);
        self.anchor = Some(index);
    }

    /// Chooses the exception `step` places after the chosen one, in order of time, going round.
    pub fn choose_next(&mut self, step: isize) {
        let count = self.case.audit().exceptions.len() as isize;
        if count == 0 {
            return;
        }
        let next = match &self.chosen {
            Some(chosen) => (chosen.index as isize + step).rem_euclid(count),
            None if step < 0 => count - 1,
            None => 0,
        };
        self.choose(next as usize);
    }

    /// Chooses the next exception in order of time that is not settled, going round; `false` when
    /// there is none.
    pub fn choose_next_open(&mut self) -> bool {
        let count = self.case.audit().exceptions.len();
        let first = self.chosen.as_ref().map_or(0, |chosen| chosen.index + 1);
        let open = (0..count).map(|place| (first + place) % count).find(|&place| {
            let exception = self.case.audit().exceptions.get(place);
            exception.is_some_and(|exception| !self.review.is_settled(&exception.id))
        });
        if let Some(open) = open {
            self.choose(open);
        }
        open.is_some()
    }

    /// Chooses the exception with the worst reading relative to its limit, of equals the one with
    /// more shortfall, and measures the minute around that reading.
    pub fn choose_worst_minute(&mut self) {
        let depth = |exception: &Exception| {
            let short = exception.worst.map_or(0.0, |worst| {
                (worst.limit - worst.value.to_f64()) / worst.limit.abs().max(1.0)
            });
            (short, exception.shortfall.map_or(0.0, |shortfall| shortfall.value))
        };
        let worst =
            self.case.audit().exceptions.iter().enumerate().max_by(|(_, one), (_, other)| {
                let (one, other) = (depth(one), depth(other));
                one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1))
            });
        let Some((index, exception)) = worst else {
            return;
        };
        let middle = exception.worst.map_or_else(
            || exception.estimate.start().midpoint(exception.estimate.end()),
            |worst| worst.at,
        );
        self.choose(index);
        let record = self.case.record().interval();
        let half = Duration::from_seconds(30);
        let from = (middle - half).max(record.start());
        let to = (middle + half).min(record.end());
        self.measure(Interval::between(from, to));
    }

    /// Measures a span.
    pub fn measure(&mut self, interval: Interval) {
        self.measuring_from = None;
        if self.measured.as_ref().is_some_and(|measured| measured.interval == interval) {
            return;
        }
        self.measured = Some(chart::measure(&self.case, &self.curves, interval));
    }

    /// Begins a measured span at the crosshair, or ends the one that was begun.
    pub fn mark(&mut self) {
        let Some(at) = self.crosshair() else {
            return;
        };
        match self.measuring_from.take() {
            Some(from) if from != at => self.measure(Interval::between(from, at)),
            _ => {
                self.measured = None;
                self.measuring_from = Some(at);
            }
        }
    }

    /// Lets go of one thing: a span that is being measured, a choice, the crosshair.
    pub fn let_go(&mut self) {
        if self.measuring_from.take().is_some() {
            return;
        }
        if self.chosen.is_none() && self.noted.is_none() && self.picked.is_empty() {
            self.held = None;
        }
        self.release();
    }

    /// Lets go of what is chosen.
    pub fn release(&mut self) {
        (self.chosen, self.anchor) = (None, None);
        self.picked.clear();
        self.let_go_of_observation();
    }

    fn let_go_of_observation(&mut self) {
        self.noted = None;
        self.unfolded.clear();
    }

    /// Moves the held crosshair by one sample.
    pub fn step_crosshair(&mut self, step: isize) {
        let sample = match self.crosshair() {
            Some(at) => self.case.record().nearest_sample(at).saturating_add_signed(step),
            None => self.case.record().nearest_sample(self.window.middle()),
        };
        let instants = self.case.record().instants();
        if let Some(&at) = instants.get(sample.min(instants.len() - 1)) {
            self.held = Some(at);
            self.hover = None;
            self.window.reveal(at);
        }
    }

    /// Shows the shift around the crosshair, or around the middle of the window; `false` where
    /// there is none.
    pub fn show_shift(&mut self) -> bool {
        let at = self.crosshair().unwrap_or_else(|| self.window.middle());
        let found = self.shifts.iter().find(|(interval, _)| interval.contains(at));
        if let Some(&(interval, _)) = found {
            self.window.show(interval, 0.0, 0.0);
        }
        found.is_some()
    }
}

/// The sample of a record that is nearest to an instant, unless it lies beyond the gap limit.
pub fn sample_near(case: &Case, at: Instant) -> Option<usize> {
    let sample = case.record().nearest_sample(at);
    let instant = *case.record().instants().get(sample)?;
    let away = instant.since(at).milliseconds().abs();
    (away <= case.audit().gap_limit.milliseconds().max(1000)).then_some(sample)
}
