//! The program as a whole: what is open, what was asked for, and the layout of the window.

mod folder;
mod round;

use crate::commands::{Command, Place};
use crate::day::{self, Day, PlotKind};
use crate::dialogs::{Dialogs, Purpose};
use crate::exceptions::{self, List};
use crate::header::{self, Days, Picked};
use crate::loading::{Loaded, Loader, Task};
use crate::observations::{self, ObservationList};
use crate::palette::Palette;
use crate::problems::Problems;
use crate::register::{RangeFormat, Register};
use crate::review::{Clock, DiskClock};
use crate::run::{self, Page};
use crate::settings::{Brightness, Settings};
use crate::side::{self, Asked};
use crate::theme::widgets;
use crate::theme::{self, GAP, Look, MARGIN, Type};
use crate::{Error, Start, TITLE, empty};
use egui::{Frame, Margin, Theme, ThemePreference, Ui, vec2};
use round::Round;
use std::path::{Path, PathBuf};

/// What lies around the program.
#[derive(Debug, Clone, Default)]
pub struct Surroundings {
    /// The settings file; without one nothing is remembered.
    pub settings: Option<PathBuf>,
    /// The folder of the demo; without one it is not offered.
    pub demo: Option<PathBuf>,
    /// The folder of this user's keys and drafts; without one there are none.
    pub config: Option<PathBuf>,
    /// The clock on the wall.
    pub clock: Clock,
    /// Where rows of days are kept; without one every record of a folder is read each time.
    pub cache: Option<PathBuf>,
    /// How this machine's clock is compared with that of the disk.
    pub disk_clock: DiskClock,
}

impl Surroundings {
    /// What this user has seen of the plants' books before, and the time.
    pub fn trust(&self) -> archive::Trust {
        archive::Trust::new(self.config.clone(), self.clock.now())
    }

    /// The settings file of this user, and the demo in the current folder or above the program
    /// where it was built.
    pub fn usual() -> Self {
        let here = std::env::current_dir().ok();
        let program = std::env::current_exe().ok();
        let mut folders: Vec<&Path> = here.as_deref().into_iter().collect();
        folders.extend(program.iter().flat_map(|program| program.ancestors().skip(1)));
        let demo = folders
            .into_iter()
            .map(|folder| folder.join("sample-runs"))
            .find(|folder| folder.join("plant.toml").is_file());
        Self {
            settings: Settings::usual_path(),
            demo,
            config: Settings::usual_folder(),
            clock: Clock::default(),
            cache: archive::usual_cache(),
            disk_clock: DiskClock::default(),
        }
    }
}

/// The height of the steps of time above the plots.
const STEPS: f32 = 42.0;
/// The height of the tabs above the list.
const TABS: f32 = 40.0;
/// The least height of the list: less than this and its rows would push the tabs out of the window.
const LEAST_LIST: f32 = 110.0;

/// Which list is shown below the plots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Tab {
    #[default]
    Exceptions,
    Observations,
    Run,
}

/// The program.
pub struct App {
    context: egui::Context,
    surroundings: Surroundings,
    settings: Settings,
    saved: Settings,
    styled: (Brightness, bool),
    loader: Loader,
    dialogs: Dialogs,
    problems: Problems,
    palette: Palette,
    days: Days,
    register: Option<Register>,
    /// Whether the register is on the screen, and not a day.
    on_register: bool,
    /// The summary of a range that is to be saved.
    to_save: Option<(RangeFormat, PathBuf)>,
    plant: Option<PathBuf>,
    day: Option<Day>,
    tab: Tab,
    page: Page,
    list: List,
    observations: ObservationList,
    round: Round,
}

impl App {
    /// The program as it starts.
    pub fn new(context: &egui::Context, start: Start, surroundings: Surroundings) -> Self {
        let (settings, message) = surroundings
            .settings
            .as_deref()
            .map_or_else(|| (Settings::default(), None), Settings::read);
        let mut app = Self {
            context: context.clone(),
            styled: (settings.brightness, settings.high_contrast),
            saved: settings.clone(),
            settings,
            surroundings,
            loader: Loader::default(),
            dialogs: Dialogs::default(),
            problems: Problems::default(),
            palette: Palette::default(),
            days: Days::default(),
            register: None,
            on_register: false,
            to_save: None,
            plant: start.plant,
            day: None,
            tab: Tab::default(),
            page: Page::default(),
            list: List::default(),
            observations: ObservationList::default(),
            round: Round::default(),
        };
        app.tell_worker();
        context.options_mut(|options| options.fallback_theme = Theme::Light);
        theme::install(context, app.settings.high_contrast);
        context.set_theme(preference(app.settings.brightness));
        if let Some(message) = message {
            app.problems.add("The settings could not be used", message);
        }
        app.open(&start.paths);
        app
    }

    /// Opens the files of one day, or the register of a folder. Reading happens on another thread.
    pub fn open(&mut self, paths: &[PathBuf]) {
        let Some(first) = paths.first() else {
            return;
        };
        self.settings.remember(first);
        if let [folder] = paths
            && folder.is_dir()
        {
            self.open_folder(folder);
            return;
        }
        self.register = None;
        self.on_register = false;
        self.days = Days { files: vec![paths.to_vec()], current: 0 };
        self.loader.push(Task { files: paths.to_vec(), plant: self.plant.clone() });
    }

    fn open_again(&mut self) {
        match (&self.day, self.settings.recent.first().cloned()) {
            (Some(day), _) => self.loader.push(day.task.clone()),
            (None, Some(path)) => self.open(&[path]),
            (None, None) => {
                self.problems.add("Nothing was open before", "Open a file or the demo first.");
            }
        }
    }

    fn read_day(&mut self, index: usize) {
        if let Some(files) = self.days.files.get(index) {
            self.days.current = index;
            self.loader.push(Task { files: files.clone(), plant: self.plant.clone() });
        }
    }

    /// Whether a file is being read or waits to be.
    pub fn is_reading(&self) -> bool {
        self.loader.is_busy()
            || self.to_save.is_some()
            || self.register.as_ref().is_some_and(Register::is_busy)
    }

    /// Whether a key is being made or unlocked, or something is being entered.
    pub fn is_working(&self) -> bool {
        self.round.is_busy() || self.is_entering()
    }

    /// Whether something is being entered in the journal of the open record.
    fn is_entering(&self) -> bool {
        self.day.as_ref().is_some_and(|day| day.review.is_busy())
    }

    /// The verdict on what is open.
    pub fn verdict(&self) -> Option<&str> {
        self.day.as_ref().map(|day| day.verdict.as_str())
    }

    /// The settings in force.
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The interval of time that the plots show.
    pub fn shown(&self) -> Option<trace::Interval> {
        self.day.as_ref().map(|day| day.window.interval())
    }

    /// Draws the window and acts on what the user does.
    pub fn ui(&mut self, ui: &mut Ui) {
        let context = ui.ctx().clone();
        self.take_in(&context);
        self.restyle(&context);
        let look = Look::new(context.theme(), self.settings.high_contrast);
        let mut commands = if self.palette.is_open() || self.round.is_open() {
            Vec::new()
        } else {
            Command::pressed(&context)
        };

        let register = self.register.as_ref().map(|_| self.on_register);
        let (day, days) = (self.day.as_ref(), &self.days);
        let picked = header::bar(ui, look, day, days, register, &self.settings, &mut commands);
        header::progress(ui, look, &self.loader, &mut commands);
        self.problems.show(ui, look, &mut commands);
        if self.on_register {
            self.show_register(ui, look, &mut commands);
        } else if self.day.is_some() {
            self.show_day(ui, look, &mut commands);
        } else {
            self.show_empty(ui, look, &mut commands);
        }
        self.show_drop(ui, look);
        commands.extend(self.palette.show(ui, look));
        self.show_round(ui, look);
        match picked {
            Some(Picked::Day(index)) => self.read_day(index),
            Some(Picked::Recent(path)) => self.open(&[path]),
            None => {}
        }
        for command in commands {
            self.act(command, &context);
        }
        self.carry_out_asked(&context);
        self.keep_typed(&context);
        if let Some(day) = &mut self.day {
            day.find_before(&context, &self.surroundings);
        }
        self.remember(&context);
    }

    /// Takes in what was read, chosen in a dialog or dropped.
    fn take_in(&mut self, context: &egui::Context) {
        self.poll_register(context);
        self.take_in_work(false);
        // What is being entered is finished before another record takes the place of this one.
        let read = if self.is_entering() { None } else { self.loader.poll(context) };
        match read {
            Some(Ok(loaded)) => self.show_loaded(*loaded),
            Some(Err(problem)) => self.problems.add(problem.title, problem.text),
            None => {}
        }
        match self.dialogs.poll(context) {
            Some((Purpose::Files | Purpose::Folder, paths)) => self.open(&paths),
            Some((Purpose::Range(format), paths)) => {
                self.to_save = paths.into_iter().next().map(|path| (format, path));
            }
            Some((Purpose::Plant, paths)) => {
                self.plant = paths.into_iter().next();
                if let Some(day) = &self.day {
                    let task = Task { plant: self.plant.clone(), ..day.task.clone() };
                    self.loader.push(task);
                }
            }
            Some((Purpose::PublicKey, paths)) => {
                if let Some(path) = paths.first() {
                    self.round.take_file(path);
                }
            }
            Some((Purpose::Summary, paths)) => {
                if let Some(path) = paths.first() {
                    self.save_summary(path, context);
                }
            }
            None => {}
        }
        let dropped: Vec<PathBuf> = context.input(|input| {
            input.raw.dropped_files.iter().map(|file| file.path().to_owned()).collect()
        });
        if !dropped.is_empty() {
            self.open(&dropped);
        }
    }

    fn show_loaded(&mut self, loaded: Loaded) {
        // The record that was open is given back before the new one is taken.
        self.day = None;
        self.on_register = false;
        let day = Day::new(loaded);
        for problem in day.review.problems() {
            self.problems.add(problem.title, problem.text);
        }
        self.day = Some(day);
        self.round = Round::default();
        self.list = List::default();
        self.observations = ObservationList::default();
        let day = self.day.as_ref();
        self.tab = match day {
            Some(day)
                if day.case.audit().exceptions.is_empty()
                    && !day.case.audit().observations.is_empty() =>
            {
                Tab::Observations
            }
            _ => Tab::Exceptions,
        };
    }

    fn restyle(&mut self, context: &egui::Context) {
        let wanted = (self.settings.brightness, self.settings.high_contrast);
        if wanted != self.styled {
            self.styled = wanted;
            theme::restyle(context, wanted.1);
            context.set_theme(preference(wanted.0));
        }
    }

    fn show_empty(&mut self, ui: &mut Ui, look: Look, commands: &mut Vec<Command>) {
        let frame = Frame::new().fill(look.colors.ground);
        let has_demo = self.surroundings.demo.is_some();
        let settings = &self.settings;
        let recent = egui::CentralPanel::default()
            .frame(frame)
            .show(ui, |ui| empty::show(ui, look, settings, has_demo, commands))
            .inner;
        if let Some(path) = recent {
            self.open(&[path]);
        }
    }

    fn show_day(&mut self, ui: &mut Ui, look: Look, commands: &mut Vec<Command>) {
        let person = self.person_name();
        let role = self.person().map(|(_, role)| role);
        let Some(day) = &mut self.day else { return };
        day.review.role = role;
        let colors = look.colors;
        header::verdict(ui, look, day, &person, commands);
        crate::review::show_banners(ui, look, &day.review, commands);
        let plain = Frame::new().fill(colors.ground);
        let settings = &mut self.settings;
        egui::Panel::top("overview")
            .frame(plain)
            .resizable(false)
            .show(ui, |ui| day::show_overview(ui, look, day, settings));

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
                side::show(ui, look, day, settings.units)
            });
            settings.side_pane_width = shown.response.rect.width();
            match shown.inner {
                Asked::Nothing => {}
                Asked::Release => {
                    day.chosen = None;
                    day.noted = None;
                }
                Asked::ClearMeasure => commands.push(Command::ClearMeasure),
            }
        }

        // The plots keep more than half of what is left.
        let left = ui.available_height();
        let greatest = (left - 180.0).min(0.42 * left).max(LEAST_LIST);
        // A few rows leave their room to the plots; the height set for long lists is kept.
        let rows = match self.tab {
            Tab::Exceptions => exceptions::height(day, &self.list),
            Tab::Observations => observations::height(day, &self.observations),
            Tab::Run => f32::INFINITY,
        };
        let needed = (TABS + rows + GAP).max(LEAST_LIST);
        let short = needed < settings.list_height.min(greatest);
        let greatest = if short { needed } else { greatest };
        let panel = egui::Panel::bottom(if short { "short list" } else { "list" })
            .frame(plain)
            .resizable(!short)
            .default_size(settings.list_height.min(greatest))
            .size_range(if short { greatest } else { LEAST_LIST }..=greatest);
        let list = &mut self.list;
        let (tab, observations) = ((&mut self.tab, &mut self.page), &mut self.observations);
        let units = settings.units;
        let shown = panel.show(ui, |ui| {
            ui.set_min_height(ui.available_height());
            if day.review.is_slow() {
                ui.disable();
            }
            lists(ui, look, day, list, observations, tab, units);
        });
        if !short {
            settings.list_height = shown.response.rect.height();
        }

        egui::CentralPanel::default().frame(plain).show(ui, |ui| {
            // Two plots are worth more than buttons for what has a key and stands in the menu.
            if ui.available_height() >= STEPS + day::LEAST_HEIGHT {
                steps(ui, look, day, commands);
            }
            day::show_plots(ui, look, day, settings);
        });
    }

    fn show_drop(&self, ui: &Ui, look: Look) {
        let hovering = ui.input(|input| !input.raw.hovered_files.is_empty());
        if !hovering {
            return;
        }
        let screen = ui.ctx().content_rect();
        let layer = egui::LayerId::new(egui::Order::Foreground, egui::Id::unique("drop"));
        let painter = ui.ctx().layer_painter(layer);
        painter.rect_filled(screen, 0.0, look.colors.veil);
        let card = egui::Rect::from_center_size(screen.center(), vec2(460.0, 120.0));
        painter.rect_filled(card, 8.0, look.colors.surface);
        painter.rect_stroke(card, 8.0, look.focus(), egui::StrokeKind::Inside);
        let text =
            if self.day.is_some() { "Drop to open instead of this day" } else { "Drop to open" };
        let center = egui::Align2::CENTER_CENTER;
        widgets::text_in(
            &painter,
            card.center(),
            center,
            text,
            Type::Title,
            look.colors.ink,
            440.0,
        );
    }

    fn act(&mut self, command: Command, context: &egui::Context) {
        match command {
            Command::OpenFiles => self.dialogs.open(Purpose::Files, context),
            Command::OpenFolder => self.dialogs.open(Purpose::Folder, context),
            Command::OpenPlant => self.dialogs.open(Purpose::Plant, context),
            Command::OpenDemo => match self.surroundings.demo.clone() {
                Some(demo) => self.open(&[demo]),
                None => self.problems.add(
                    "There is no demo here",
                    "The folder sample-runs was not found beside the program.",
                ),
            },
            Command::OpenAgain => self.open_again(),
            Command::Cancel => self.stop(),
            Command::NextDay => self.read_day(self.days.current + 1),
            Command::PreviousDay => {
                if let Some(before) = self.days.current.checked_sub(1) {
                    self.read_day(before);
                }
            }
            Command::CommandList => self.palette.toggle(),
            Command::TemperatureUnit | Command::PressureUnit if self.on_register => {
                self.change_units_of_register(command);
            }
            Command::Appearance => {
                self.settings.brightness = match self.settings.brightness {
                    Brightness::System => Brightness::Light,
                    Brightness::Light => Brightness::Dark,
                    Brightness::Dark => Brightness::System,
                };
            }
            Command::HighContrast => self.settings.high_contrast = !self.settings.high_contrast,
            Command::SidePane => self.settings.side_pane = !self.settings.side_pane,
            Command::CopyMessage => self.problems.copy(context),
            Command::DismissMessage => self.dismiss(),
            Command::Quit => context.send_viewport_cmd(egui::ViewportCommand::Close),
            command => match command.place() {
                Place::Folder => self.act_on_register(command, context),
                Place::Day | Place::Review if self.on_register => {}
                Place::Review => self.act_on_review(command),
                Place::Day | Place::Anywhere => self.act_on_day(command),
            },
        }
        context.request_repaint();
    }

    fn show_page(&mut self, page: Page) {
        self.tab = Tab::Run;
        self.page = page;
    }

    fn act_on_day(&mut self, command: Command) {
        let Some(day) = &mut self.day else { return };
        let about = day.crosshair().unwrap_or_else(|| day.window.middle());
        let mut no_shift = false;
        match command {
            Command::WorstMinute => day.choose_worst_minute(),
            Command::NextException => day.choose_next(1),
            Command::PreviousException => day.choose_next(-1),
            Command::WholeDay => day.window.show_whole(),
            Command::ShowShift => no_shift = !day.show_shift(),
            Command::ShowException => match day.chosen.as_ref().map(|chosen| chosen.index) {
                Some(index) => day.choose(index),
                None => day.choose_next(1),
            },
            Command::FiveMinutes => day.window.show_around(about, 600_000.0),
            Command::ZoomIn => day.window.zoom(0.5, about),
            Command::ZoomOut => day.window.zoom(2.0, about),
            Command::PanEarlier => day.window.pan(-0.25),
            Command::PanLater => day.window.pan(0.25),
            Command::SampleEarlier => day.step_crosshair(-1),
            Command::SampleLater => day.step_crosshair(1),
            Command::Measure => day.mark(),
            Command::ClearMeasure => {
                day.measured = None;
                day.measuring_from = None;
            }
            Command::FoldEpisodes => self.list.fold_all(day),
            Command::ShowExceptions => self.tab = Tab::Exceptions,
            Command::ShowObservations => self.tab = Tab::Observations,
            Command::ShowProcess => (self.tab, self.page) = (Tab::Run, Page::Process),
            Command::ShowRuns => (self.tab, self.page) = (Tab::Run, Page::Runs),
            Command::ShowInstruments => (self.tab, self.page) = (Tab::Run, Page::Instruments),
            Command::ShowCompleteness => (self.tab, self.page) = (Tab::Run, Page::Completeness),
            Command::Filter => {
                self.tab = Tab::Exceptions;
                self.list.focus_filter = true;
            }
            Command::TemperatureUnit => {
                let recorded = day.case.record().holding_temperature().unit();
                self.settings.units.toggle_temperature(recorded);
            }
            Command::PressureUnit => {
                let recorded = day.case.record().differential().unit();
                self.settings.units.toggle_pressure(recorded);
            }
            command => {
                let plot =
                    PlotKind::ALL.into_iter().find(|&plot| day::fold_command(plot) == command);
                if let Some(plot) = plot {
                    day::fold_plot(day, &mut self.settings, plot);
                }
            }
        }
        if no_shift {
            let text = "The plant file names no shift at this time of day.";
            self.problems.add("There is no shift here", text);
        }
        let chooses = matches!(
            command,
            Command::WorstMinute
                | Command::NextException
                | Command::PreviousException
                | Command::ShowException
        );
        if chooses && let Some(index) = day.chosen.as_ref().map(|chosen| chosen.index) {
            self.list.reveal(day, index);
            self.tab = Tab::Exceptions;
            self.settings.side_pane = true;
        }
    }

    /// Takes away one thing: a message, a span that is being measured, a choice.
    fn dismiss(&mut self) {
        if !self.problems.messages().is_empty() {
            self.problems.dismiss();
        } else if let Some(day) = &mut self.day {
            if day.measuring_from.take().is_some() {
                return;
            }
            if day.chosen.take().is_none() && day.noted.take().is_none() {
                day.held = None;
            }
        }
    }

    /// Writes the settings when they have changed and the user rests.
    fn remember(&mut self, context: &egui::Context) {
        let size = context.content_rect().size();
        let free = context.input(|input| {
            let viewport = input.viewport();
            !viewport.maximized.unwrap_or(false) && !viewport.fullscreen.unwrap_or(false)
        });
        if free && size.x >= 640.0 && size.y >= 480.0 {
            self.settings.window.width = size.x;
            self.settings.window.height = size.y;
        }
        let resting = context.input(|input| !input.pointer.any_down());
        if self.settings != self.saved && resting {
            self.saved = self.settings.clone();
            if let Some(path) = &self.surroundings.settings
                && let Err(cause) = self.settings.write(path)
            {
                let text = format!(
                    "{}: {cause}. What you set up now will be forgotten; check the folder's \
                     permissions.",
                    path.display()
                );
                self.problems.add("The settings could not be saved", text);
            }
        }
    }
}

const fn preference(brightness: Brightness) -> ThemePreference {
    match brightness {
        Brightness::System => ThemePreference::System,
        Brightness::Light => ThemePreference::Light,
        Brightness::Dark => ThemePreference::Dark,
    }
}

/// The list below the plots.
fn lists(
    ui: &mut Ui,
    look: Look,
    day: &mut Day,
    list: &mut List,
    observations: &mut ObservationList,
    (tab, page): (&mut Tab, &mut Page),
    units: crate::units::Units,
) {
    let colors = look.colors;
    ui.add_space(5.0);
    // What finds no room in the line of tabs is cut off there, and widens nothing.
    let size = vec2(ui.available_width(), 26.0);
    let (place, _) = ui.allocate_exact_size(size, egui::Sense::hover());
    let line = egui::Layout::left_to_right(egui::Align::Center);
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
            if let Some(chosen) = run::pages(ui, look, *page, narrow) {
                *page = chosen;
            }
        }
        if *tab == Tab::Exceptions && !day.case.audit().exceptions.is_empty() {
            ui.add_space(MARGIN);
            exceptions::filters(ui, look, list, day);
        }
    });
    ui.add_space(4.0);
    let rest = ui.available_rect_before_wrap();
    ui.painter().rect_filled(rest, 0.0, colors.surface);
    ui.scope_builder(egui::UiBuilder::new().max_rect(rest), |ui| match tab {
        Tab::Exceptions => {
            let choice = exceptions::show(ui, look, list, day, units);
            if let Some(exceptions::Choice::Exception(index)) = choice {
                day.choose(index);
            }
        }
        Tab::Observations => {
            let mut asked = Vec::new();
            let noted = observations::show(ui, look, observations, day, units, &mut asked);
            day.review.asked.extend(asked);
            if let Some(index) = noted {
                day.note(index);
            }
        }
        Tab::Run => run::show(ui, look, day, *page, units),
    });
}

/// The steps of time above the plots.
fn steps(ui: &mut Ui, look: Look, day: &Day, commands: &mut Vec<Command>) {
    let colors = look.colors;
    ui.add_space(5.0);
    ui.horizontal(|ui| {
        ui.add_space(MARGIN - GAP);
        let shown = day.window.interval();
        let text = if day.window.is_whole() {
            "Whole day".to_owned()
        } else {
            format!("{} shown", shown.duration())
        };
        // In a narrow window the actions go first, then their keys.
        let (narrow, narrower) = (ui.available_width() < 790.0, ui.available_width() < 690.0);
        if !narrower {
            let width = theme::GUTTER - MARGIN;
            let (rect, _) = ui.allocate_exact_size(vec2(width, 24.0), egui::Sense::hover());
            let left = egui::pos2(rect.left() + 6.0, rect.center().y);
            widgets::text_in(
                ui.painter(),
                left,
                egui::Align2::LEFT_CENTER,
                &text,
                Type::Title,
                colors.ink,
                width,
            );
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
                    commands.push(command);
                }
            });
        }
    });
    ui.add_space(5.0);
}

impl eframe::App for App {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        Self::ui(self, ui);
    }
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// See [`crate::run`].
pub fn run(start: Start, surroundings: Surroundings) -> Result<(), Error> {
    // The settings are read once more by the program itself; a broken file is left for it.
    let size = surroundings
        .settings
        .as_deref()
        .and_then(|path| std::fs::read_to_string(path).ok())
        .and_then(|text| toml::from_str::<Settings>(&text).ok())
        .map_or_else(crate::settings::Window::default, |settings| settings.window);
    let viewport = egui::ViewportBuilder::default()
        .with_title(TITLE)
        .with_app_id("holdtrace")
        .with_icon(icon())
        .with_inner_size(vec2(size.width.clamp(640.0, 8192.0), size.height.clamp(480.0, 8192.0)))
        .with_min_inner_size(vec2(820.0, 560.0));
    let options = eframe::NativeOptions { viewport, ..eframe::NativeOptions::default() };
    let create: eframe::AppCreator<'_> =
        Box::new(move |creation| Ok(Box::new(App::new(&creation.egui_ctx, start, surroundings))));
    eframe::run_native(TITLE, options, create).map_err(|cause| match cause {
        // A display without anything to draw with is as good as none.
        eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_) | eframe::Error::Wgpu(_) => {
            Error::NoDisplay(without_place(&cause.to_string()))
        }
        eframe::Error::AppCreation(_) => Error::Window(cause.to_string()),
    })
}

/// A message without the place in a library's source that it may begin with.
fn without_place(message: &str) -> String {
    let after = message.find(".rs:").and_then(|place| {
        let rest = message.get(place + 4..)?;
        rest.find(": ").and_then(|end| rest.get(end + 2..))
    });
    after.unwrap_or(message).trim_end_matches('.').to_owned()
}

/// The icon of the window: `assets/icon.rgba`, 64 pixels square.
fn icon() -> egui::IconData {
    let rgba = include_bytes!("../../../assets/icon-64.rgba").to_vec();
    egui::IconData { rgba, width: 64, height: 64 }
}
