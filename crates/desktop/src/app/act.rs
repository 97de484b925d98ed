//! The one place that changes anything: every action and every command, whoever asked for it.

use super::comparing::leaves_two_days;
use super::dialog::Dialog;
use super::open_day::{Kept, OpenDay, Tab};
use super::{App, Screen};
use crate::action::{Action, Pick, Spot, Then, Work};
use crate::commands::{Command, Place};
use crate::day::setting::fold_command;
use crate::day::{Day, plots};
use crate::dialogs::Purpose;
use crate::header;
use crate::help::Help;
use crate::loading::{Loaded, Worker};
use crate::problem::Problem;
use crate::register::Register;
use crate::register::page::RegisterPage;
use crate::review::accept::Accept;
use crate::review::entries::Entries;
use crate::review::people::{Page as PeoplePage, People};
use crate::review::prove::Prove;
use crate::review::sign::Sign;
use crate::review::state::Focus;
use crate::review::work::Around;
use crate::review::{closing, form, held, many, noting};
use crate::run::Page;
use crate::settings::Brightness;
use crate::setup::{Setup, Unknown};
use crate::summary::Summary;
use crate::task::Task;
use ::review::{Decision, Role, SignerId};
use chart::PlotKind;
use std::path::{Path, PathBuf};

impl App {
    /// Carries out what was asked for, one after the other.
    pub(super) fn carry_out(&mut self) {
        let mut actions = std::mem::take(&mut self.actions);
        while let Some(action) = actions.next(|action| self.must_wait(action)) {
            self.act(action);
            self.context.request_repaint();
        }
        // Nothing that is carried out asks for more.
        self.actions = actions;
    }

    /// Whether something is done later: what is decided waits until what was decided before is
    /// entered, and so does what takes the record from the screen.
    fn must_wait(&self, action: &Action) -> bool {
        match action {
            Action::Do(command) if command.place() == Place::Review => self.is_deciding(),
            Action::Do(Command::Compare) | Action::Decide(_) => self.is_deciding(),
            Action::Compare => self.is_entering(),
            Action::Open(_) | Action::Chosen(Purpose::Files | Purpose::Folder, _) => {
                self.is_entering()
            }
            Action::Do(command) if command.place() == Place::Folder => self.is_entering(),
            _ => false,
        }
    }

    /// Whether something is being entered in the journal of the open record.
    pub(super) fn is_entering(&self) -> bool {
        self.day().is_some_and(|day| day.review.is_busy())
    }

    fn is_deciding(&self) -> bool {
        self.is_entering() || self.open_day().is_some_and(|open| open.dialog.is_open())
    }

    pub(super) fn tell(&mut self, title: &str, text: impl Into<String>) {
        self.problems.add(Problem::new(title, text));
    }

    fn ask(&mut self, purpose: Purpose) {
        self.dialogs.open(purpose, self.surroundings.chooser, &self.context);
    }

    fn act(&mut self, action: Action) {
        match action {
            Action::Do(command) => self.command(command),
            Action::Open(paths) => self.open(&paths),
            Action::Read(place) => self.read(place, None),
            Action::ReadAt(place, spot) => self.read(place, Some(spot)),
            Action::SummaryOf(lot) => {
                if let Some(register) = self.register_mut() {
                    register.turn_to_summary_of(&lot);
                }
            }
            Action::Ask(purpose) => self.ask(purpose),
            Action::Chosen(purpose, paths) => self.take_chosen(purpose, &paths),
            Action::Tell(problem) => self.problems.add(problem),
            Action::Reveal(path, what) => {
                if let Err(cause) = (self.surroundings.opener.0)(&path, what) {
                    let text = format!("{}: {cause}. Open it by hand.", path.display());
                    self.tell("No program could be started for the file", text);
                }
            }
            Action::Compare => self.show_comparison(),
            Action::Decide(decision) => {
                let is_entry = matches!(*decision, Decision::Entered { .. });
                let next = if is_entry { Some(Command::EnterNext.into()) } else { None };
                self.decide(vec![*decision], next);
            }
            Action::Enter(work, then) => self.enter(work, then),
            Action::ReadAgain => {
                self.read_again();
            }
            Action::Person(person) => {
                self.settings.person = person.into();
                self.tell_worker();
            }
            action => {
                if let Screen::Day(open, _) = &mut self.screen {
                    open.act(action, &mut self.settings);
                }
            }
        }
    }

    /// Opens the files of one day, or the register of a folder. Reading happens on another thread.
    pub fn open(&mut self, paths: &[PathBuf]) {
        let Some(first) = paths.first() else {
            return;
        };
        if self.keeps_plant_file() {
            return;
        }
        self.leave_plant_file();
        self.leave_comparison();
        self.settings.remember(first);
        if let [folder] = paths
            && folder.is_dir()
        {
            let register = Register::open(folder, self.surroundings.clone());
            self.screen = Screen::Register(Box::new(register));
            return;
        }
        match &mut self.screen {
            // What is open stays on the screen until the other one is read.
            Screen::Day(_, register) | Screen::Setup(_, register) => *register = None,
            screen => *screen = Screen::Welcome,
        }
        self.load(paths.to_vec());
    }

    pub(super) fn load(&mut self, files: Vec<PathBuf>) {
        self.loader.push(Task { files, plant: self.plant.clone(), is_set_up: false });
    }

    /// Reads a record of the folder.
    pub(super) fn read(&mut self, place: usize, spot: Option<Spot>) {
        if let Some(files) = self.register_mut().and_then(|register| register.records.read(place)) {
            self.spot = spot.map(|spot| (files.clone(), spot));
            self.load(files);
        }
    }

    /// Reads what was read last again.
    pub(super) fn read_again(&mut self) -> bool {
        let files = match (&self.screen, self.register()) {
            (Screen::Day(open, _), _) => Some(open.day.task.files.clone()),
            (_, Some(register)) => register.records.read_last().map(<[PathBuf]>::to_vec),
            _ => None,
        };
        let is_open = files.is_some();
        if let Some(files) = files {
            self.load(files);
        }
        is_open
    }

    /// Sets up the reading of the files that are open, which no plant file tells.
    fn set_up(&mut self) {
        let Some(day) = self.day() else {
            let text = "Open the files of one day first.";
            self.tell("There are no files to set up", text);
            return;
        };
        if let Some(file) = &day.case.plant().file {
            let text = format!("{} says how they are read.", file.name);
            self.tell("How these files are read is set up already", text);
            return;
        }
        let files = day.task.files.clone();
        self.loader.push(Task { files, plant: None, is_set_up: true });
    }

    fn take_chosen(&mut self, purpose: Purpose, paths: &[PathBuf]) {
        let context = self.context.clone();
        let first = paths.first().cloned();
        match (purpose, first) {
            (Purpose::Files | Purpose::Folder, _) => self.open(paths),
            (Purpose::Plant, first) => {
                self.plant = first;
                self.read_again();
            }
            (Purpose::Range(format, _), Some(path)) => {
                if let Some(register) = self.register_mut() {
                    register.save(format, path, &context);
                }
            }
            (Purpose::PublicKey, Some(path)) => {
                if let Some(OpenDay { dialog: Dialog::People(people), .. }) = self.open_day_mut() {
                    people.take_file(&path);
                }
            }
            (Purpose::Evidence(hold), Some(path)) => {
                if let Some(open) = self.open_day_mut() {
                    held::take_file(&mut open.day.review, &hold, &path);
                }
            }
            (Purpose::Summary(_), Some(path)) => self.save_summary(&path, &context),
            (_, None) => {}
        }
    }

    /// Saves the summary that the dialog shows, which is what its button does once a place is
    /// chosen.
    pub fn save_summary(&mut self, path: &Path, context: &egui::Context) {
        if let Some(OpenDay { dialog: Dialog::Summary(dialog), day, .. }) = self.open_day_mut() {
            dialog.save(context, day, path);
        }
    }

    /// What is on the screen is given back before something else takes its place; gives what of it
    /// goes on.
    fn give_back(&mut self) -> (Option<Kept>, Option<Box<Register>>) {
        self.leave_comparison();
        match std::mem::replace(&mut self.screen, Screen::Welcome) {
            Screen::Welcome => (None, None),
            Screen::Register(register) => (None, Some(register)),
            Screen::Day(open, register) => (Some(open.kept()), register),
            Screen::Setup(_, register) => (None, register),
            // Nothing that is read takes its place.
            screen @ (Screen::Plant(..) | Screen::Compared(..)) => {
                self.screen = screen;
                (None, None)
            }
        }
    }

    pub(super) fn show_setup(&mut self, unknown: Unknown) {
        self.leave_comparison();
        if let Some(open) = self.open_day_mut()
            && let Err(why) = open.day.review.typed.keep()
        {
            self.tell("What is typed can't be kept", why);
        }
        let (_, register) = self.give_back();
        self.screen = Screen::Setup(Box::new(Setup::new(unknown)), register);
    }

    pub(super) fn show_loaded(&mut self, loaded: Loaded) {
        // The record that was open is given back before the new one is taken.
        let (kept, register) = self.give_back();
        let day = Day::new(loaded);
        for problem in day.review.problems() {
            self.problems.add(problem);
        }
        let mut open = OpenDay::new(day, kept);
        if let Some((_, spot)) = self.spot.take().filter(|(files, _)| *files == open.day.task.files)
        {
            open.show_spot(&spot, &mut self.settings);
        }
        let files = open.day.task.files.clone();
        self.screen = Screen::Day(Box::new(open), register);
        self.compare_loaded(&files);
    }

    fn command(&mut self, command: Command) {
        if leaves_two_days(command) {
            self.leave_comparison();
        }
        match command {
            Command::OpenFiles => self.ask(Purpose::Files),
            Command::OpenFolder => self.ask(Purpose::Folder),
            Command::OpenPlant => self.ask(Purpose::Plant),
            Command::SetUp => self.set_up(),
            Command::PlantFile => self.show_plant_file(),
            Command::SaveSetup => self.save_plant_file(),
            Command::LeavePlantFile => self.leave_plant_file(),
            Command::OpenDemo => match self.surroundings.demo.clone() {
                Some(demo) => self.open(&[demo]),
                None => self.tell(
                    "There is no demo here",
                    "The folder sample-runs was not found beside the program.",
                ),
            },
            Command::OpenAgain => {
                if self.read_again() {
                } else if let Some(path) = self.settings.recent.first().cloned() {
                    self.open(&[path]);
                } else {
                    self.tell("Nothing was open before", "Open a file or the demo first.");
                }
            }
            Command::Cancel => {
                self.loader.cancel();
                if let Some(register) = self.register() {
                    register.records.stop();
                }
            }
            Command::NextDay | Command::PreviousDay => {
                let current = self.register().map_or(0, |register| register.records.current());
                let step = if command == Command::NextDay { 1 } else { -1 };
                if let Some(place) = current.checked_add_signed(step) {
                    self.read(place, None);
                }
            }
            Command::Compare => self.compare(),
            Command::CommandList => self.palette.toggle(),
            Command::Help => self.help = Some(Help::open(&self.context)),
            Command::TemperatureUnit | Command::PressureUnit => self.change_units(command),
            Command::Appearance => {
                self.settings.brightness = match self.settings.brightness {
                    Brightness::System => Brightness::Light,
                    Brightness::Light => Brightness::Dark,
                    Brightness::Dark => Brightness::System,
                };
            }
            Command::HighContrast => self.settings.high_contrast = !self.settings.high_contrast,
            Command::SidePane => self.settings.side_pane = !self.settings.side_pane,
            Command::CopyMessage => self.problems.copy(&self.context),
            // Takes away one thing: a message, a span that is being measured, a choice.
            Command::DismissMessage if !self.problems.messages().is_empty() => {
                self.problems.dismiss();
            }
            Command::DismissMessage if matches!(self.screen, Screen::Plant(..)) => {
                if !self.keeps_plant_file() {
                    self.leave_plant_file();
                }
            }
            Command::DismissMessage if matches!(self.screen, Screen::Compared(..)) => {
                self.leave_comparison();
            }
            Command::DismissMessage => {
                if let Some(open) = self.open_day_mut() {
                    open.day.let_go();
                }
            }
            Command::Quit if self.keeps_plant_file() => {}
            Command::Quit => self.context.send_viewport_cmd(egui::ViewportCommand::Close),
            command => match command.place() {
                Place::Folder => self.folder_command(command),
                Place::Review => self.review_command(command),
                Place::Day | Place::Comparison | Place::Anywhere => self.day_command(command),
            },
        }
    }

    /// Changes the unit of temperatures or of pressures, seen from what is on the screen.
    fn change_units(&mut self, command: Command) {
        let (temperature, pressure) = match &self.screen {
            Screen::Welcome | Screen::Setup(..) | Screen::Plant(..) => return,
            Screen::Register(register) => register.records.recorded_units(),
            Screen::Compared(two, _) => two.recorded_units(),
            Screen::Day(open, _) => {
                let record = open.day.case.record();
                (record.holding_temperature().unit(), record.differential().unit())
            }
        };
        if command == Command::TemperatureUnit {
            self.settings.units.toggle_temperature(temperature);
        } else {
            self.settings.units.toggle_pressure(pressure);
        }
    }

    fn folder_command(&mut self, command: Command) {
        let is_shown = matches!(self.screen, Screen::Register(_));
        let Some(register) = self.register_mut() else {
            let text = "Open a folder with one logger file a day first.";
            self.tell("No folder is open", text);
            return;
        };
        match command {
            Command::NextOnList => {
                let after = Some(register.records.current()).filter(|_| !is_shown);
                match register.next(after).map(|next| next.place) {
                    Some(place) => self.read(place, None),
                    None => {
                        let title = header::nothing_left(register);
                        let key = Command::RegisterWork.key_text(&self.context);
                        let text = format!("The work list ({key}) shows what is waiting for whom.");
                        self.tell(title, text);
                    }
                }
            }
            Command::NextMonth | Command::PreviousMonth => {
                if is_shown {
                    register.turn_month(command == Command::NextMonth);
                }
            }
            command => {
                let page = RegisterPage::ALL.into_iter().find(|page| page.command() == command);
                if let Some(page) = page {
                    register.turn_to(page);
                }
                self.show_register();
            }
        }
    }

    /// Leaves the day for the register that it was opened from, and looks into the folder again: what
    /// was decided about the day is to show.
    fn show_register(&mut self) {
        match std::mem::replace(&mut self.screen, Screen::Welcome) {
            Screen::Day(mut open, Some(mut register)) => {
                if let Err(why) = open.day.review.typed.keep() {
                    self.tell("What is typed can't be kept", why);
                }
                register.records.look(&self.context);
                self.screen = Screen::Register(register);
            }
            Screen::Setup(_, Some(mut register)) => {
                register.records.look(&self.context);
                self.screen = Screen::Register(register);
            }
            screen => self.screen = screen,
        }
    }

    fn day_command(&mut self, command: Command) {
        if let Screen::Compared(two, _) = &mut self.screen {
            return two.command(command);
        }
        let Screen::Day(open, _) = &mut self.screen else { return };
        let settings = &mut self.settings;
        let (day, list) = (&mut open.day, &mut open.list);
        let about = day.crosshair().unwrap_or_else(|| day.window.middle());
        match command {
            Command::WorstMinute => day.choose_worst_minute(),
            Command::NextException => day.choose_next(1),
            Command::PreviousException => day.choose_next(-1),
            Command::WholeDay => day.window.show_whole(),
            Command::ShowShift => {
                if !day.show_shift() {
                    let text = "The plant file names no shift at this time of day.";
                    self.tell("There is no shift here", text);
                    return;
                }
            }
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
            Command::ClearMeasure => (day.measured, day.measuring_from) = (None, None),
            Command::FoldEpisodes => list.fold_all(day),
            Command::TallList => open.is_tall = !open.is_tall,
            Command::ShowExceptions => {
                open.tab = Tab::Exceptions;
                let chosen = day.chosen.as_ref().map(|chosen| chosen.index);
                list.focus = chosen.or_else(|| list.listed(day).first().copied());
            }
            Command::ShowObservations => open.tab = Tab::Observations,
            Command::ShowProcess => (open.tab, open.page) = (Tab::Run, Page::Process),
            Command::ShowRuns => (open.tab, open.page) = (Tab::Run, Page::Runs),
            Command::ShowInstruments => (open.tab, open.page) = (Tab::Run, Page::Instruments),
            Command::ShowCompleteness => (open.tab, open.page) = (Tab::Run, Page::Completeness),
            Command::ShowDiverts => (open.tab, open.page) = (Tab::Run, Page::Diverts),
            Command::ShowCleanings => (open.tab, open.page) = (Tab::Run, Page::Cleanings),
            Command::Filter => {
                open.tab = Tab::Exceptions;
                list.focus_filter = true;
            }
            command => {
                let plot = PlotKind::ALL.into_iter().find(|&plot| fold_command(plot) == command);
                if let Some(plot) = plot {
                    plots::fold(day, settings, plot);
                }
            }
        }
        let chooses = matches!(
            command,
            Command::WorstMinute
                | Command::NextException
                | Command::PreviousException
                | Command::ShowException
        );
        if chooses {
            open.reveal_chosen(settings);
        }
    }

    fn review_command(&mut self, command: Command) {
        let person = self.person();
        let plant_file = self.plant_file();
        let Screen::Day(open, _) = &mut self.screen else { return };
        let settings = &mut self.settings;
        match command {
            Command::NextOpen if open.day.choose_next_open() => open.reveal_chosen(settings),
            Command::NextOpen => open.next_to_close(settings),
            Command::Settlement | Command::SendBack => {
                let is_chosen = open.day.chosen.is_some() || !open.day.picked.is_empty();
                if !is_chosen && !open.day.choose_next_open() {
                    open.day.choose_next(1);
                }
                open.day.review.focus = Some(match command {
                    Command::SendBack => Focus::Remark,
                    _ => Focus::Settlement,
                });
                open.reveal_chosen(settings);
            }
            Command::Settle => self.settle(),
            Command::SettleAsBefore => self.settle_as_before(),
            Command::PickAll => {
                open.tab = Tab::Exceptions;
                open.act(Action::Pick(Pick::All), settings);
                settings.side_pane = true;
            }
            Command::Acknowledge => {
                // What is acknowledged is on the screen.
                match open.day.kind_to_acknowledge().filter(|_| settings.side_pane) {
                    Some(kind) => {
                        let made = noting::decision(&open.day.review, kind);
                        self.decide(vec![made], Some(Action::NextKind));
                    }
                    None => open.act(Action::NextKind, settings),
                }
            }
            Command::EnterNext => {
                let Some(state) = open.day.review.state() else { return };
                let mut entries = state.subject().entries.iter();
                let next = entries.find(|entry| state.entered(entry).is_none()).cloned();
                open.day.review.focus = next.map(Focus::Entry);
                (open.tab, open.page) = (Tab::Run, Page::Completeness);
            }
            Command::TakeBack => {
                let back = open.day.review.undo();
                if back.is_empty() {
                    let text =
                        "Nothing that was entered since the record was opened is left to undo.";
                    self.tell("There is nothing to undo", text);
                } else {
                    self.decide(back, None);
                }
            }
            Command::NextScope => open.day.review.next_scope(),
            Command::People | Command::Books => {
                let page = match command {
                    Command::Books => PeoplePage::Books,
                    _ => PeoplePage::Choose,
                };
                open.dialog = Dialog::People(Box::new(People::new(&open.day.review, page, None)));
            }
            Command::AcceptRegister => {
                if let Some(seen) = open.day.review.seen() {
                    let dialog = Accept::new(&seen.register_path, plant_file.as_deref());
                    open.dialog = Dialog::Accept(Box::new(dialog));
                }
            }
            Command::OperatorEntry => {
                let files = &open.day.task.files;
                let (logger, plant) = (files.clone(), open.day.task.plant.clone());
                let files = archive::Files { logger, plant, ..archive::Files::default() };
                // Whoever reviews may enter what somebody else wrote down.
                let operator = person.as_ref().filter(|(_, role)| *role == Role::Operator);
                let by = operator.map(|(id, _)| open.day.review.name_of(id.as_str()));
                let dialog = Entries::new(files.operator_entries_place(), &by.unwrap_or_default());
                open.dialog = Dialog::Entries(Box::new(dialog));
            }
            Command::Summary => {
                let dialog = Summary::on(self.surroundings.paper);
                open.dialog = Dialog::Summary(Box::new(dialog));
            }
            Command::Verify => open.dialog = Dialog::Links(Box::default()),
            command => {
                let Some((by, role)) = person else { return self.ask_who() };
                open.dialog = match command {
                    Command::Sign => {
                        Dialog::Sign(Box::new(Sign::new(&mut open.day.review, role, &by)))
                    }
                    Command::Reopen => {
                        Dialog::Prove(Box::new(Prove::reopen(open.day.review.scope.clone())))
                    }
                    Command::CorrectClock => Dialog::Prove(Box::new(Prove::clock())),
                    _ => return self.enter(Work::ReAudit(by), None),
                };
            }
        }
    }

    /// Makes what the form of the chosen exception or observation says, and goes on to the next.
    fn settle(&mut self) {
        let Some(OpenDay { day, .. }) = self.open_day() else { return };
        let noted = day.noted.and_then(|index| day.closing_id(index));
        let picked: Vec<String> = day.picked_exceptions().map(|one| one.id.clone()).collect();
        let (made, next) = match (day.chosen_exception(), noted) {
            _ if !picked.is_empty() => (many::decisions(&day.review, &picked), Action::NextOpen),
            (Some(chosen), _) => (form::decisions(&day.review, &chosen.id), Action::NextOpen),
            (None, Some(id)) => {
                let decision = closing::decision(&day.review, id);
                (decision.into_iter().collect(), Action::NextToClose)
            }
            (None, None) => return self.review_command(Command::Settlement),
        };
        if made.is_empty() {
            self.act(next);
        } else {
            self.decide(made, Some(next));
        }
    }

    /// Resolves what is chosen as the one before was, and goes on to the next.
    fn settle_as_before(&mut self) {
        let Some(OpenDay { day, .. }) = self.open_day() else { return };
        let mut chosen: Vec<String> = day.picked_exceptions().map(|one| one.id.clone()).collect();
        if chosen.is_empty() {
            chosen.extend(day.chosen_exception().map(|one| one.id.clone()));
        }
        let made = many::decisions_as_before(&day.review, &chosen);
        if chosen.is_empty() {
            self.act(Action::NextOpen);
        } else if made.is_empty() {
            let text =
                "No exception of this record is resolved yet, or all selected ones already are.";
            self.tell("There is no earlier resolution to repeat", text);
        } else {
            self.decide(made, Some(Action::NextOpen));
        }
    }

    /// Who is at work, if the plant's register knows them.
    fn person(&self) -> Option<(SignerId, Role)> {
        let signer = self.day()?.review.signer(&self.settings.person)?;
        Some((signer.id().clone(), signer.role()))
    }

    /// Opens the dialog of people where nobody is at work.
    fn ask_who(&mut self) {
        if let Some(open) = self.open_day_mut() {
            let message = Some("choose who is at work first");
            let dialog = People::new(&open.day.review, PeoplePage::Choose, message);
            open.dialog = Dialog::People(Box::new(dialog));
        }
    }

    /// Tells the loader who will hold the next record.
    pub(super) fn tell_worker(&mut self) {
        let variable = |names: [&str; 2]| {
            let values = names.into_iter().filter_map(|name| std::env::var(name).ok());
            values.into_iter().find(|value| !value.is_empty())
        };
        let person = Some(self.settings.person.clone()).filter(|person| !person.is_empty());
        let user = person.or_else(|| variable(["USER", "USERNAME"]));
        let user = user.unwrap_or_else(|| "somebody".to_owned());
        let machine = variable(["HOSTNAME", "COMPUTERNAME"])
            .or_else(|| std::fs::read_to_string("/etc/hostname").ok())
            .map_or_else(String::new, |name| format!(" on {}", name.trim()));
        self.loader.worker = Worker {
            config: self.surroundings.config.clone(),
            holder: format!("{user}{machine}, in the window"),
            clock: self.surroundings.clock,
        };
    }

    /// Makes decisions. What must be signed asks for the passphrase first.
    fn decide(&mut self, decisions: Vec<Decision>, then: Option<Action>) {
        let then = then.map(Box::new);
        let person = self.person();
        let Some(open) = self.open_day_mut() else { return };
        let Some((by, _)) = person else { return self.ask_who() };
        if open.day.review.needs_key(&decisions) {
            open.dialog = Dialog::Prove(Box::new(Prove::given(decisions, then)));
        } else {
            self.enter(Work::Decide(by, decisions), then);
        }
    }

    /// Begins to enter something, and goes on where it is done at once.
    fn enter(&mut self, work: Work, then: Then) {
        let (clock, disk) = (self.surroundings.clock, self.surroundings.disk_clock);
        let context = self.context.clone();
        let Some(OpenDay { day, .. }) = self.open_day_mut() else { return };
        let begun = match clock.stamp(day.case.plant().zone) {
            Some(at) => day.review.begin(&context, (work, then), Around { at, disk }),
            None => Err(Problem::new(
                "Nothing was entered",
                "The clock of this machine shows a time that can't be written down. Set it.",
            )),
        };
        match begun {
            Ok(()) => self.take_in_work(true),
            Err(problem) => self.problems.add(problem),
        }
    }

    /// Takes in what became of what was entered, and goes on.
    pub(super) fn take_in_work(&mut self, waits: bool) {
        let context = self.context.clone();
        let review = self.open_day_mut().map(|open| &mut open.day.review);
        let was_signed = review.as_ref().is_some_and(|review| review.was_just_signed());
        let action = review.and_then(|review| review.take_in(&context, waits));
        if let Screen::Day(open, Some(register)) = &mut self.screen {
            let review = &open.day.review;
            register.note_review(&open.day.task.files, review);
            if review.was_just_signed() && !was_signed {
                // Others sign as well.
                register.records.look(&context);
            }
        }
        if let Some(action) = action {
            self.act(*action);
        }
    }

    /// The plant file of the open record.
    fn plant_file(&self) -> Option<PathBuf> {
        let file = self.day()?.case.plant().file.as_ref()?;
        Some(PathBuf::from(&*file.name))
    }
}
