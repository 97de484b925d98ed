//! The screen of a day: verdict, overview, plots, the lists below them, the pane beside.

use super::dialog::Dialog;
use crate::action::{Action, Actions, Pick, Spot};
use crate::commands::Command;
use crate::day::drawing::Drawing;
use crate::day::{Day, overview, plots};
use crate::exceptions::list::List;
use crate::exceptions::table;
use crate::header;
use crate::observations::{self, ObservationList};
use crate::review::banners;
use crate::review::clock::AskClock;
use crate::review::state::Focus;
use crate::run::{self, Page};
use crate::settings::Settings;
use crate::side;
use crate::surroundings::Surroundings;
use crate::theme::widgets;
use crate::theme::{self, GAP, Look, MARGIN, Type};
use crate::units::Units;
use egui::{Frame, Margin, Ui, vec2};
use signers::Signer;
use std::path::PathBuf;
use trace::{Instant, Interval};

/// The height of the steps of time above the plots.
const STEPS: f32 = 42.0;
/// The height of the tabs above the list.
const TABS: f32 = 40.0;
/// The least height of the list: less than this and its rows would push the tabs out of the window.
const LEAST_LIST: f32 = 110.0;

/// Which list is shown below the plots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Tab {
    #[default]
    Exceptions,
    Observations,
    Run,
}

/// A day that is open, and what the user made of its lists.
pub(super) struct OpenDay {
    pub day: Day,
    /// What was drawn last.
    drawing: Drawing,
    pub tab: Tab,
    pub page: Page,
    pub list: List,
    pub observations: ObservationList,
    pub dialog: Dialog,
    /// Whether the list takes the room of the plots.
    pub is_tall: bool,
    /// Whether it has more rows than find room below them.
    is_long: bool,
}

/// What the user made of a day, for when it is read again.
pub(super) struct Kept {
    files: Vec<PathBuf>,
    tab: Tab,
    page: Page,
    list: List,
    /// The window of time, unless it was the whole record.
    shown: Option<Interval>,
    /// The identifier of the chosen exception.
    chosen: Option<String>,
    held: Option<Instant>,
}

impl OpenDay {
    /// The screen of a day. One that is read again is shown as it was, as far as what was shown is still
    /// there; of another one only the page of the run is kept.
    pub(super) fn new(mut day: Day, kept: Option<Kept>) -> Self {
        let audit = day.case.audit();
        let mut tab = if audit.exceptions.is_empty() && !audit.observations.is_empty() {
            Tab::Observations
        } else {
            Tab::Exceptions
        };
        let page = kept.as_ref().map_or_else(Page::default, |kept| kept.page);
        let mut list = List::default();
        if let Some(kept) = kept.filter(|kept| kept.files == day.task.files) {
            let is_chosen =
                |id: &String| day.case.audit().exceptions.iter().position(|one| one.id == *id);
            if let Some(index) = kept.chosen.as_ref().and_then(is_chosen) {
                day.choose(index);
            }
            match kept.shown {
                Some(shown) => day.window.show(shown, 0.0, 0.0),
                None => day.window.show_whole(),
            }
            day.held = kept.held;
            (tab, list) = (kept.tab, kept.list);
        }
        let (observations, drawing) = (ObservationList::default(), Drawing::default());
        let (dialog, is_tall, is_long) = (Dialog::Nothing, false, false);
        Self { day, drawing, tab, page, list, observations, dialog, is_tall, is_long }
    }

    /// Shows what somebody came for.
    pub(super) fn show_spot(&mut self, spot: &Spot, settings: &mut Settings) {
        let exceptions = &self.day.case.audit().exceptions;
        let is_it = |id: &String| exceptions.iter().position(|one| one.id == *id);
        match spot.exception.as_ref().and_then(is_it) {
            Some(index) => {
                self.day.choose(index);
                self.reveal_chosen(settings);
            }
            None => self.day.show(spot.interval),
        }
    }

    /// What the user made of it.
    pub(super) fn kept(self) -> Kept {
        let Self { day, tab, page, list, .. } = self;
        let chosen = day.chosen_exception().map(|exception| exception.id.clone());
        let shown = Some(day.window.interval()).filter(|_| !day.window.is_whole());
        Kept { files: day.task.files.clone(), tab, page, list, shown, chosen, held: day.held }
    }

    /// Whether a dialog works on something, or something is being entered.
    pub(super) fn is_working(&self) -> bool {
        self.dialog.is_busy() || self.day.review.is_busy()
    }

    /// Carries out what changes nothing but this screen.
    pub(super) fn act(&mut self, action: Action, settings: &mut Settings) {
        let day = &mut self.day;
        match action {
            Action::Choose(index) => day.choose(index),
            Action::Note(index) => {
                day.note(index);
                settings.side_pane = true;
            }
            Action::Show(interval) => day.show(interval),
            Action::Pick(pick) => self.pick(pick),
            Action::Release => day.release(),
            Action::NextOpen if day.choose_next_open() => {
                day.review.focus = Some(Focus::Settlement);
                self.reveal_chosen(settings);
            }
            // Once all exceptions are resolved, to what is left to close.
            Action::NextOpen | Action::NextToClose => self.next_to_close(settings),
            Action::NextKind => self.next_to_acknowledge(settings),
            Action::Close => self.dialog = Dialog::Nothing,
            Action::AskClock(told, work, then) => {
                self.dialog = Dialog::Clock(Box::new(AskClock::new(told, work, then)));
            }
            // Whoever says so once is not asked again about this record.
            Action::TrustClock => day.review.clock_is_right = true,
            _ => {}
        }
    }

    /// Chooses exceptions together.
    fn pick(&mut self, pick: Pick) {
        let (day, list) = (&mut self.day, &mut self.list);
        match pick {
            Pick::Toggle(index) => day.toggle(index),
            Pick::To(index) => {
                let between = list.between(day, day.anchor.unwrap_or(index), index);
                day.pick(between);
            }
            Pick::Step(from, step) => {
                let anchor = day.anchor.unwrap_or(from);
                if let Some(to) = list.step(day, from, step) {
                    let between = list.between(day, anchor, to);
                    (list.focus, list.scroll_to) = (Some(to), Some(to));
                    day.pick(between);
                    day.anchor = Some(anchor);
                }
            }
            Pick::All => {
                let all = list.listed(day).into_iter().collect();
                day.pick(all);
            }
        }
    }

    /// Leads to the next observation that is to be closed.
    pub(super) fn next_to_close(&mut self, settings: &mut Settings) {
        if self.day.note_next_to_close() {
            self.day.review.focus = Some(Focus::Reason);
            self.observations.reveal();
            self.tab = Tab::Observations;
            settings.side_pane = true;
        }
    }

    /// Leads to the next kind of observations that is to be acknowledged.
    fn next_to_acknowledge(&mut self, settings: &mut Settings) {
        self.tab = Tab::Observations;
        if self.day.note_next_to_acknowledge() {
            self.day.review.focus = Some(Focus::Note);
            self.observations.reveal();
            settings.side_pane = true;
        } else {
            // The pane says what is left to do.
            self.day.release();
        }
    }

    /// Shows the chosen exception in list and pane.
    pub(super) fn reveal_chosen(&mut self, settings: &mut Settings) {
        if let Some(index) = self.day.chosen.as_ref().map(|chosen| chosen.index) {
            self.list.reveal(&self.day, index);
            self.tab = Tab::Exceptions;
            settings.side_pane = true;
        }
    }

    /// Draws the dialog that is open.
    pub(super) fn show_dialog(
        &mut self,
        ui: &Ui,
        look: Look,
        around: (&Settings, &Surroundings),
        actions: &mut Actions,
    ) {
        self.dialog.show(ui, look, &mut self.day, around, actions);
    }

    /// Draws the screen.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        settings: &mut Settings,
        actions: &mut Actions,
    ) {
        let (day, drawing) = (&mut self.day, &mut self.drawing);
        let signer = day.review.signer(&settings.person);
        let person = signer.map_or_else(
            || "Who is at work?".to_owned(),
            |signer| format!("{}, {}", signer.name(), signer.role()),
        );
        day.review.role = signer.map(Signer::role);
        let colors = look.colors;
        header::verdict(ui, look, day, &person, actions);
        banners::show(ui, look, &day.review, actions);
        let plain = Frame::new().fill(colors.ground);
        egui::Panel::top("overview")
            .frame(plain)
            .resizable(false)
            .show(ui, |ui| overview::show(ui, look, day, drawing, settings));

        if settings.side_pane {
            let margin = Margin { left: 6, right: 0, top: 6, bottom: 0 };
            let panel = egui::Panel::right("side")
                .frame(plain.inner_margin(margin))
                .default_size(settings.side_pane_width)
                .size_range(240.0..=(0.36 * ui.available_width()).clamp(240.0, 520.0));
            let shown = panel.show(ui, |ui| {
                if day.review.is_slow() {
                    ui.disable();
                }
                side::show(ui, look, day, settings.units, actions);
            });
            settings.side_pane_width = shown.response.rect.width();
        }

        if self.is_tall {
            egui::CentralPanel::default().frame(plain).show(ui, |ui| {
                if self.day.review.is_slow() {
                    ui.disable();
                }
                self.lists(ui, look, settings.units, actions);
            });
            return;
        }

        // The plots keep more than half of what is left.
        let left = ui.available_height();
        let greatest = (left - 180.0).min(0.42 * left).max(LEAST_LIST);
        // A few rows leave their room to the plots; the height set for long lists is kept.
        let rows = match self.tab {
            Tab::Exceptions => table::height(day, &self.list),
            Tab::Observations => observations::height(day, &self.observations),
            Tab::Run => f32::INFINITY,
        };
        let needed = (TABS + rows + GAP).max(LEAST_LIST);
        let short = needed < settings.list_height.min(greatest);
        self.is_long = !short;
        let greatest = if short { needed } else { greatest };
        let panel = egui::Panel::bottom(if short { "short list" } else { "list" })
            .frame(plain)
            .resizable(!short)
            .default_size(settings.list_height.min(greatest))
            .size_range(if short { greatest } else { LEAST_LIST }..=greatest);
        let shown = panel.show(ui, |ui| {
            ui.set_min_height(ui.available_height());
            if self.day.review.is_slow() {
                ui.disable();
            }
            self.lists(ui, look, settings.units, actions);
        });
        if !short {
            settings.list_height = shown.response.rect.height();
        }

        let (day, drawing) = (&mut self.day, &mut self.drawing);
        egui::CentralPanel::default().frame(plain).show(ui, |ui| {
            // Two plots are worth more than buttons for what has a key and stands in the menu.
            if ui.available_height() >= STEPS + plots::LEAST_HEIGHT {
                steps(ui, look, day, actions);
            }
            plots::show(ui, look, day, drawing, settings);
        });
    }

    /// The list below the plots.
    fn lists(&mut self, ui: &mut Ui, look: Look, units: Units, actions: &mut Actions) {
        let (day, tab, page, list) = (&mut self.day, &mut self.tab, self.page, &mut self.list);
        let colors = look.colors;
        ui.add_space(5.0);
        // What finds no room in the line of tabs is cut off there, and widens nothing.
        let size = vec2(ui.available_width(), 26.0);
        let (place, _) = ui.allocate_exact_size(size, egui::Sense::hover());
        let line = egui::Layout::left_to_right(egui::Align::Center);
        let mut place = place;
        if *tab == Tab::Exceptions && self.is_long {
            let title = if self.is_tall { "Show plots" } else { "Hide plots" };
            let right = egui::Layout::right_to_left(egui::Align::Center);
            let mut end = ui.new_child(egui::UiBuilder::new().max_rect(place).layout(right));
            end.add_space(MARGIN);
            actions.button(&mut end, look, Command::TallList, title);
            place.max.x = end.min_rect().left() - GAP;
        }
        let mut line = ui.new_child(egui::UiBuilder::new().max_rect(place).layout(line));
        line.set_clip_rect(place.intersect(ui.clip_rect()));
        // In a narrow window the pages of the run take the place of the tab that opens them, and of
        // the counts.
        let narrow = *tab == Tab::Run && size.x < 720.0;
        line.scope(|ui| {
            ui.add_space(MARGIN - GAP);
            for (choice, name, count) in [
                (Tab::Exceptions, "Exceptions", day.case.audit().exceptions.len()),
                (Tab::Observations, "Observations", day.case.audit().observations.len()),
            ] {
                let text = format!("{name} {count}");
                let words = if narrow { name } else { text.as_str() };
                if widgets::toggle_named(ui, look, *tab == choice, words, &text).clicked() {
                    *tab = choice;
                }
            }
            if !narrow && widgets::toggle(ui, look, *tab == Tab::Run, "Whole run").clicked() {
                *tab = Tab::Run;
            }
            if *tab == Tab::Run {
                ui.add_space(MARGIN);
                run::pages(ui, look, page, narrow, actions);
            }
            if *tab == Tab::Exceptions && !day.case.audit().exceptions.is_empty() {
                ui.add_space(MARGIN);
                table::filters(ui, look, list, day);
            }
        });
        ui.add_space(4.0);
        let rest = ui.available_rect_before_wrap();
        ui.painter().rect_filled(rest, 0.0, colors.surface);
        ui.scope_builder(egui::UiBuilder::new().max_rect(rest), |ui| match tab {
            Tab::Exceptions => table::show(ui, look, list, day, units, actions),
            Tab::Observations => {
                observations::show(ui, look, &mut self.observations, day, units, actions);
            }
            Tab::Run => run::show(ui, look, day, (page, units), actions),
        });
    }
}

/// The steps of time above the plots.
fn steps(ui: &mut Ui, look: Look, day: &Day, actions: &mut Actions) {
    let colors = look.colors;
    ui.add_space(5.0);
    ui.horizontal(|ui| {
        ui.add_space(MARGIN - GAP);
        let shown = day.window.interval();
        let text = if day.window.is_whole() {
            "Whole record".to_owned()
        } else {
            format!("{} shown", shown.duration())
        };
        // In a narrow window the actions go first, then their keys.
        let (narrow, narrower) = (ui.available_width() < 790.0, ui.available_width() < 690.0);
        if !narrower {
            let width = theme::GUTTER - MARGIN;
            let (rect, _) = ui.allocate_exact_size(vec2(width, 24.0), egui::Sense::hover());
            let left = egui::pos2(rect.left() + 6.0, rect.center().y);
            widgets::text_left(ui.painter(), left, &text, Type::Title, colors.ink, width);
        }
        for command in [
            Command::WholeDay,
            Command::ShowShift,
            Command::ShowException,
            Command::FiveMinutes,
            Command::WorstMinute,
            Command::Measure,
        ] {
            let title = match command {
                Command::Measure if day.measuring_from.is_some() => "Measure to here",
                Command::Measure => "Measure",
                other => other.title(),
            };
            let key = if narrow { String::new() } else { command.key_text(ui.ctx()) };
            let enabled = match command {
                Command::ShowException | Command::WorstMinute => {
                    !day.case.audit().exceptions.is_empty()
                }
                Command::ShowShift => !day.shifts.is_empty(),
                _ => true,
            };
            ui.add_enabled_ui(enabled, |ui| {
                if widgets::button(ui, look, title, &key).clicked() {
                    actions.push(command);
                }
            });
        }
    });
    ui.add_space(5.0);
}
