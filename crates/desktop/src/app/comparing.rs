//! Two days side by side come over the day that they were begun from, and go again.

use super::dialog::Dialog;
use super::{App, Screen};
use crate::commands::{Command, Place};
use crate::compare::choice::Choice;
use std::path::PathBuf;

/// Whether a command leaves two days side by side for what lies below them.
pub(super) const fn leaves_two_days(command: Command) -> bool {
    match command.place() {
        Place::Folder => true,
        Place::Day | Place::Comparison | Place::Review => false,
        Place::Anywhere => !matches!(
            command,
            Command::Help
                | Command::CommandList
                | Command::TemperatureUnit
                | Command::PressureUnit
                | Command::Appearance
                | Command::HighContrast
                | Command::SidePane
                | Command::CopyMessage
                | Command::DismissMessage
                | Command::Cancel
                | Command::Quit
        ),
    }
}

impl App {
    /// Asks which day the open one is set beside; from the day log that day is opened first.
    pub(super) fn compare(&mut self) {
        if let Screen::Register(register) = &self.screen {
            let Some(place) = register.to_compare(&self.context) else {
                let text = "The folder has no record that can be read.";
                return self.tell("There is no day to compare", text);
            };
            self.read(place, None);
            self.compares =
                self.register().and_then(|one| one.records.read_last().map(<[_]>::to_vec));
            return;
        }
        let context = self.context.clone();
        let Screen::Day(open, register) = &mut self.screen else {
            return self.tell("No day is open", "Open a day, or a folder of days, first.");
        };
        let choice = Choice::new(&open.day, register.as_deref(), &context);
        open.dialog = Dialog::Compare(Box::new(choice));
    }

    /// Goes on to compare a record that was opened for that.
    pub(super) fn compare_loaded(&mut self, files: &[PathBuf]) {
        if self.compares.take().is_some_and(|wanted| wanted == files) {
            self.compare();
        }
    }

    /// Shows both days once the other one is read.
    pub(super) fn show_comparison(&mut self) {
        let Screen::Day(open, _) = &mut self.screen else { return };
        let Dialog::Compare(choice) = &mut open.dialog else { return };
        let Some(comparison) = choice.take_made() else { return };
        open.dialog = Dialog::Nothing;
        if let Err(why) = open.day.review.typed.keep() {
            self.tell("What is typed can't be kept", why);
        }
        let under = std::mem::replace(&mut self.screen, Screen::Welcome);
        self.screen = Screen::Compared(Box::new(comparison), Box::new(under));
    }

    /// Leaves two days side by side for the day that they came over.
    pub(super) fn leave_comparison(&mut self) {
        self.screen = match std::mem::replace(&mut self.screen, Screen::Welcome) {
            Screen::Compared(_, under) => *under,
            screen => screen,
        };
    }
}
