//! The program as a whole: what is on the screen, and what was asked for. Views push actions; they are
//! carried out in one place, in `act.rs`.

mod act;
mod comparing;
mod dialog;
mod helped;
mod native;
mod open_day;
mod plant_file;

use crate::action::{Action, Actions, Spot};
use crate::commands::Command;
use crate::compare::Comparison;
use crate::day::Day;
use crate::dialogs::{Answer, Dialogs};
use crate::help::Help;
use crate::keyboard::Keyboard;
use crate::loading::{Loader, Ready};
use crate::palette::Palette;
use crate::path_field::PathField;
use crate::plant::PlantPage;
use crate::problem::Problem;
use crate::problems::Problems;
use crate::register::Register;
use crate::register::format::RangeFormat;
use crate::review::state::Review;
use crate::settings::{Brightness, Settings};
use crate::setup::Setup;
use crate::surroundings::{Start, Surroundings};
use crate::theme::{self, Look, Type, widgets};
use crate::{empty, header};
use dialog::Dialog;
use egui::{Frame, Id, Key, Modifiers, Theme, ThemePreference, Ui, vec2};
pub use native::run;
use open_day::OpenDay;
use std::mem::Discriminant;
use std::path::{Path, PathBuf};

/// For how many frames a field that is to get the keyboard may take to be drawn (ours: one to scroll to
/// it, one to lay it out, and one more).
const MOST_AWAITED: u8 = 3;

/// For how many frames what was below the help is given the keyboard back.
const FRAMES_BACK: u8 = 2;

/// What is on the screen.
enum Screen {
    /// Nothing is open.
    Welcome,
    /// The register of a folder.
    Register(Box<Register>),
    /// A day, with the register that it was opened from.
    Day(Box<OpenDay>, Option<Box<Register>>),
    /// Files whose reading is set up, with the register that they were opened from.
    Setup(Box<Setup>, Option<Box<Register>>),
    /// Two days side by side, over the day that they were begun from.
    Compared(Box<Comparison>, Box<Self>),
    /// The plant file, with what it came over.
    Plant(Box<PlantPage>, Box<Self>),
}

/// The program.
pub struct App {
    context: egui::Context,
    surroundings: Surroundings,
    settings: Settings,
    saved: Settings,
    styled: (Brightness, bool),
    /// The plant file that was chosen, if one was.
    plant: Option<PathBuf>,
    loader: Loader,
    dialogs: Dialogs,
    /// Where the system has no file dialog.
    path_field: Option<PathField>,
    problems: Problems,
    palette: Palette,
    /// The help of the screen, while it is open.
    help: Option<Help>,
    /// What gets the keyboard back from it, in so many frames: the first still has it below.
    back_to: Option<(Id, u8)>,
    screen: Screen,
    actions: Actions,
    /// What is shown of the record that is being read.
    spot: Option<(Vec<PathBuf>, Spot)>,
    /// The record that is being read to set another one beside it.
    compares: Option<Vec<PathBuf>>,
    /// For how many frames a field was to get the keyboard and was not drawn.
    awaited: u8,
    /// What was over the screen at the end of the last frame.
    over: Over,
}

/// What is over the screen: a dialog, the list of commands, the help, the field for a path.
type Over = (Option<Discriminant<Dialog>>, [bool; 3]);

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
            plant: start.plant,
            loader: Loader::default(),
            dialogs: Dialogs::default(),
            path_field: None,
            problems: Problems::default(),
            palette: Palette::default(),
            help: None,
            back_to: None,
            screen: Screen::Welcome,
            actions: Actions::default(),
            spot: None,
            compares: None,
            awaited: 0,
            over: Over::default(),
        };
        app.tell_worker();
        context.options_mut(|options| options.fallback_theme = Theme::Light);
        theme::install(context, app.settings.high_contrast);
        context.set_theme(preference(app.settings.brightness));
        if let Some(message) = message {
            app.problems.add(Problem::new("The settings could not be used", message));
        }
        // Where nothing is named, what was open last, if it is still there.
        let last = || app.settings.recent.iter().find(|path| path.exists()).cloned();
        let paths = if start.paths.is_empty() { last().into_iter().collect() } else { start.paths };
        app.open(&paths);
        app
    }

    const fn register(&self) -> Option<&Register> {
        match &self.screen {
            Screen::Register(register)
            | Screen::Day(_, Some(register))
            | Screen::Setup(_, Some(register)) => Some(register),
            Screen::Welcome
            | Screen::Day(_, None)
            | Screen::Setup(_, None)
            | Screen::Compared(..)
            | Screen::Plant(..) => None,
        }
    }

    const fn register_mut(&mut self) -> Option<&mut Register> {
        match &mut self.screen {
            Screen::Register(register)
            | Screen::Day(_, Some(register))
            | Screen::Setup(_, Some(register)) => Some(register),
            Screen::Welcome
            | Screen::Day(_, None)
            | Screen::Setup(_, None)
            | Screen::Compared(..)
            | Screen::Plant(..) => None,
        }
    }

    const fn open_day(&self) -> Option<&OpenDay> {
        match &self.screen {
            Screen::Day(open, _) => Some(open),
            _ => None,
        }
    }

    const fn open_day_mut(&mut self) -> Option<&mut OpenDay> {
        match &mut self.screen {
            Screen::Day(open, _) => Some(open),
            _ => None,
        }
    }

    fn day(&self) -> Option<&Day> {
        self.open_day().map(|open| &open.day)
    }

    /// Whether what is open belongs to the demo.
    fn is_demo(&self) -> bool {
        let file = match &self.screen {
            Screen::Day(open, _) => open.day.task.files.first(),
            Screen::Compared(comparison, _) => comparison.files().first(),
            _ => None,
        };
        let folder = || self.register().map(|register| register.records.folder());
        let demo = self.surroundings.demo.as_deref();
        let of_demo = |path: &Path| demo.is_some_and(|demo| path.starts_with(demo));
        file.map(PathBuf::as_path).or_else(folder).is_some_and(of_demo)
    }

    /// Whether a file is being read or waits to be.
    pub fn is_reading(&self) -> bool {
        self.loader.is_busy()
            || self.register().is_some_and(Register::is_busy)
            || match &self.screen {
                Screen::Setup(setup, _) => setup.is_busy(),
                Screen::Plant(page, _) => page.is_busy(),
                _ => false,
            }
    }

    /// Whether a key is being made or unlocked, or something is being entered.
    pub fn is_working(&self) -> bool {
        self.open_day().is_some_and(OpenDay::is_working)
    }

    /// The verdict on what is open.
    pub fn verdict(&self) -> Option<&str> {
        self.day().map(|day| day.verdict.as_str())
    }

    /// Where the review of the open record stands, in a word or two.
    pub fn review(&self) -> Option<String> {
        self.day().map(|day| day.review.word())
    }

    /// The settings in force.
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The interval of time that the plots show.
    pub fn shown(&self) -> Option<trace::Interval> {
        self.day().map(|day| day.window.interval())
    }

    /// Saves the summary of the range that is typed in the register, as the dialog would.
    pub fn save_range(&mut self, format: RangeFormat, path: PathBuf) {
        let context = self.context.clone();
        if let Some(register) = self.register_mut() {
            register.save(format, path, &context);
        }
    }

    /// Draws the window and acts on what the user does.
    pub fn ui(&mut self, ui: &mut Ui) {
        let context = ui.ctx().clone();
        self.guard_closing();
        self.take_in(&context);
        self.carry_out();
        self.restyle(&context);
        let look = Look::new(context.theme(), self.settings.high_contrast);
        let mut actions = std::mem::take(&mut self.actions);
        let is_asking = self.open_day().is_some_and(|open| open.dialog.is_open());
        if self.palette.is_open() || self.help.is_some() || self.path_field.is_some() {
            // What is over the screen has the keyboard.
        } else if is_asking {
            if context.input_mut(|input| input.consume_key(Modifiers::NONE, Key::F1)) {
                actions.push(Command::Help);
            }
        } else {
            for command in Command::pressed(&context) {
                actions.push(command);
            }
        }
        let shown = header::Shown {
            day: self.day(),
            register: self.register(),
            settings: &self.settings,
            is_demo: self.is_demo(),
        };
        header::bar(ui, look, &shown, &mut actions);
        header::progress(ui, look, &self.loader, &mut actions);
        self.problems.show(ui, look, &mut actions);
        match &mut self.screen {
            Screen::Welcome => {
                let frame = Frame::new().fill(look.colors.ground);
                let has_demo = self.surroundings.demo.is_some();
                egui::CentralPanel::default().frame(frame).show(ui, |ui| {
                    empty::show(ui, look, &self.settings, has_demo, &mut actions);
                });
            }
            Screen::Register(register) => {
                register.show(ui, look, self.settings.units.shown_in(), &mut actions);
            }
            Screen::Day(open, _) => open.show(ui, look, &mut self.settings, &mut actions),
            Screen::Setup(setup, _) => setup.show(ui, look, &mut self.settings, &mut actions),
            Screen::Compared(two, _) => two.show(ui, look, &self.settings, &mut actions),
            Screen::Plant(page, _) => page.show(ui, look, &mut actions),
        }
        self.show_drop(ui, look);
        self.palette.show(ui, look, &mut actions);
        if let Screen::Day(open, _) = &mut self.screen {
            open.show_dialog(ui, look, (&self.settings, &self.surroundings), &mut actions);
        }
        if let Some(mut field) = self.path_field.take()
            && field.show(ui, look, &mut actions)
        {
            self.path_field = Some(field);
        }
        if let Some(help) = self.help.take() {
            let told = self.told_by_help();
            if help.show(ui, look, &told, &mut actions) {
                self.help = Some(help);
            } else {
                self.back_to = help.focused().map(|id| (id, FRAMES_BACK));
            }
        }
        self.give_keyboard_back(&context);
        self.actions = actions;
        self.carry_out();
        self.hold_keyboard();
        self.keep_typed(&context);
        if let Screen::Day(open, register) = &mut self.screen {
            let folder = register.as_ref().map(|register| register.records.folder());
            open.day.look_around(&context, folder, &self.surroundings);
        }
        self.remember(&context);
    }

    /// Takes in what was read, entered, chosen in a dialog or dropped.
    fn take_in(&mut self, context: &egui::Context) {
        self.poll_register(context);
        match &mut self.screen {
            Screen::Setup(setup, _) => setup.poll(context),
            Screen::Plant(page, _) => page.poll(context),
            _ => {}
        }
        self.take_in_work(false);
        // What is being entered is finished before another record takes the place of this one, and so is
        // what is changed in the plant file.
        let is_kept = self.is_entering() || matches!(self.screen, Screen::Plant(..));
        let read = if is_kept { None } else { self.loader.poll(context) };
        match read {
            Some(Ok(Ready::Day(loaded))) => self.show_loaded(*loaded),
            Some(Ok(Ready::Unknown(unknown))) => self.show_setup(*unknown),
            Some(Err(problem)) => self.problems.add(problem),
            None => {}
        }
        match self.dialogs.poll(context) {
            Some(Answer::Chosen(purpose, paths)) => {
                self.actions.push(Action::Chosen(purpose, paths));
            }
            Some(Answer::Unseen(purpose)) => self.path_field = Some(PathField::new(purpose)),
            None => {}
        }
        let dropped: Vec<PathBuf> = context.input(|input| {
            input.raw.dropped_files.iter().map(|file| file.path().to_owned()).collect()
        });
        if !dropped.is_empty() {
            self.actions.push(Action::Open(dropped));
        }
    }

    fn poll_register(&mut self, context: &egui::Context) {
        let is_shown = matches!(self.screen, Screen::Register(_));
        let person = self.settings.person.clone();
        let Some(register) = self.register_mut() else { return };
        register.works_for(&person);
        // A day that is on the screen is not held up by its folder.
        let problems =
            if is_shown || register.is_busy() { register.poll(context) } else { Vec::new() };
        for problem in problems {
            self.problems.add(problem);
        }
    }

    /// Gives the keyboard back to what had it before the help was open.
    fn give_keyboard_back(&mut self, context: &egui::Context) {
        if let Some((id, frames)) = self.back_to.take() {
            context.memory_mut(|memory| memory.request_focus(id));
            context.request_repaint();
            self.back_to = frames.checked_sub(1).map(|left| (id, left));
        }
    }

    fn over(&self) -> Over {
        let dialog = self.open_day().map(|open| std::mem::discriminant(&open.dialog));
        (dialog, [self.palette.is_open(), self.help.is_some(), self.path_field.is_some()])
    }

    /// Holds what is typed while something is entered that leads to the next field, until that field is
    /// drawn, and until what has just been opened has taken the keyboard.
    fn hold_keyboard(&mut self) {
        let over = self.over();
        let is_new = std::mem::replace(&mut self.over, over) != over;
        let asks_soon = self.open_day().is_some_and(|open| open.dialog.asks_soon(&open.day.review));
        let review = self.open_day().map(|open| &open.day.review);
        let is_awaited = review.is_some_and(|review| review.focus.is_some());
        let leads_on = review.is_some_and(Review::leads_on);
        self.awaited = if is_awaited { self.awaited.saturating_add(1) } else { 0 };
        let is_awaited = (1..=MOST_AWAITED).contains(&self.awaited);
        let is_held = leads_on || is_awaited || is_new || asks_soon;
        Keyboard::hold(&self.context, is_held);
    }

    /// Keeps what is typed when it is time, or when the keyboard is elsewhere.
    fn keep_typed(&mut self, context: &egui::Context) {
        let Some(open) = self.open_day_mut() else { return };
        let Some(wait) = open.day.review.typed.due() else { return };
        if !wait.is_zero() && context.text_edit_focused() {
            context.request_repaint_after(wait);
        } else if let Err(why) = open.day.review.typed.keep() {
            self.problems.add(Problem::new("What is typed can't be kept", why));
        }
    }

    fn restyle(&mut self, context: &egui::Context) {
        let wanted = (self.settings.brightness, self.settings.high_contrast);
        if wanted != self.styled {
            self.styled = wanted;
            theme::restyle(context, wanted.1);
            context.set_theme(preference(wanted.0));
        }
    }

    fn show_drop(&self, ui: &Ui, look: Look) {
        let hovering = ui.input(|input| !input.raw.hovered_files.is_empty());
        if !hovering {
            return;
        }
        let screen = ui.ctx().content_rect();
        let layer = egui::LayerId::new(egui::Order::Foreground, Id::unique("drop"));
        let painter = ui.ctx().layer_painter(layer);
        painter.rect_filled(screen, 0.0, look.colors.veil);
        let card = egui::Rect::from_center_size(screen.center(), vec2(460.0, 120.0));
        painter.rect_filled(card, 8.0, look.colors.surface);
        painter.rect_stroke(card, 8.0, look.focus(), egui::StrokeKind::Inside);
        let text =
            if self.day().is_some() { "Drop to open instead of this day" } else { "Drop to open" };
        let (at, anchor, ink) = (card.center(), egui::Align2::CENTER_CENTER, look.colors.ink);
        widgets::text_in(&painter, at, anchor, text, Type::Title, ink, 440.0);
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
                    "{}: {cause}. Your settings will not be kept; check the folder's permissions.",
                    path.display()
                );
                self.problems.add(Problem::new("The settings could not be saved", text));
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
