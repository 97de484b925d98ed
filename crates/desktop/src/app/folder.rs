//! The folder that is open: its register, and which of its days are read.

use super::App;
use crate::commands::Command;
use crate::dialogs::Purpose;
use crate::header::Days;
use crate::register::{RangeFormat, Register, RegisterPage, Wanted};
use crate::theme::Look;
use daybook::Figure;
use egui::Ui;
use std::path::{Path, PathBuf};
use trace::{PressureUnit, TemperatureUnit, Unit as _};

impl App {
    /// Opens the register of a folder.
    pub(super) fn open_folder(&mut self, folder: &Path) {
        self.day = None;
        self.days = Days::default();
        self.register = Some(Register::open(folder, self.surroundings.clone()));
        self.on_register = true;
    }

    /// Takes in what was found in the folder.
    pub(super) fn poll_register(&mut self, context: &egui::Context) {
        let Some(register) = &mut self.register else { return };
        // A day that is on the screen is not held up by its folder.
        if self.on_register || register.is_busy() {
            for problem in register.poll(context) {
                self.problems.add(problem.title, problem.text);
            }
        }
        if let Some((format, path)) = self.to_save.take() {
            register.save(format, path, context);
        }
        if let Some(problem) = register.range().poll(context) {
            self.problems.add(problem.title, problem.text);
        }
        // Files come, go and change their names while the folder is open.
        let files = register.entries().iter().map(|entry| &entry.files);
        if !files.clone().eq(&self.days.files) {
            let shown = self.days.files.get(self.days.current).cloned();
            self.days.files = files.cloned().collect();
            let same = self.days.files.iter().position(|files| Some(files) == shown.as_ref());
            self.days.current = same.unwrap_or(0);
        }
    }

    /// Saves the summary of the range that is typed in the register, as the dialog would.
    pub fn save_range(&mut self, format: RangeFormat, path: PathBuf) {
        self.to_save = Some((format, path));
    }

    /// Stops what runs: reading a record, or going through the folder.
    pub(super) fn stop(&mut self) {
        self.loader.cancel();
        if let Some(register) = &self.register {
            register.stop();
        }
    }

    pub(super) fn act_on_register(&mut self, command: Command, context: &egui::Context) {
        let Some(register) = &mut self.register else {
            let text = "Open a folder with one logger file a day first.";
            self.problems.add("No folder is open", text);
            return;
        };
        match command {
            Command::OldestToReview => match register.oldest() {
                Some(index) => self.read_day(index),
                None => self.problems.add(
                    "No day is left to review",
                    "Every record of the folder that can be read is reviewed.",
                ),
            },
            Command::NextMonth | Command::MonthBefore => {
                if self.on_register {
                    register.turn_month(command == Command::NextMonth);
                }
            }
            command => {
                if let Some(page) =
                    RegisterPage::ALL.into_iter().find(|page| page.command() == command)
                {
                    register.turn_to(page);
                }
                self.show_register_again(context);
            }
        }
    }

    /// Changes the unit of temperatures or of pressures, seen from what the register shows.
    pub(super) fn change_units_of_register(&mut self, command: Command) {
        let Some(register) = &self.register else { return };
        let symbol = |of: fn(&daybook::Day) -> &Option<Figure>| {
            let days = register.entries().iter().filter_map(|entry| entry.day.as_ref().ok());
            days.filter_map(|day| of(day).as_ref()).map(|figure| figure.unit.as_str()).next()
        };
        let units = &mut self.settings.units;
        if command == Command::TemperatureUnit {
            let recorded =
                symbol(|day| &day.worst_temperature).and_then(TemperatureUnit::from_word);
            units.toggle_temperature(recorded.unwrap_or(TemperatureUnit::Fahrenheit));
        } else {
            let recorded = symbol(|day| &day.worst_differential).and_then(PressureUnit::from_word);
            units.toggle_pressure(recorded.unwrap_or(PressureUnit::Psi));
        }
    }

    /// Shows the register, and looks into the folder again: what was decided about the day that was
    /// open is to show.
    fn show_register_again(&mut self, context: &egui::Context) {
        if let Some(register) = &mut self.register
            && !self.on_register
        {
            self.on_register = true;
            register.look(context);
        }
    }

    /// Draws the register and acts on what was chosen in it.
    pub(super) fn show_register(&mut self, ui: &mut Ui, look: Look, commands: &mut Vec<Command>) {
        let units = self.settings.units.shown_in();
        let Some(register) = &mut self.register else { return };
        match register.show(ui, look, units, commands) {
            Some(Wanted::Record(index)) => self.read_day(index),
            Some(Wanted::Why(problem)) => self.problems.add(problem.title, problem.text),
            Some(Wanted::Save(format)) => self.dialogs.open(Purpose::Range(format), ui.ctx()),
            None => {}
        }
    }
}
