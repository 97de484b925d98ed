//! The plant page comes over what is on the screen, and goes again.

use super::{App, Screen};
use crate::plant::PlantPage;
use crate::review::seen::Limits;
use ::review::{TubeOnDay, TubeUsed};
use plant::Certificate;
use std::path::PathBuf;

impl App {
    /// Shows the plant file of what is open: the one that was chosen, or else that beside the files.
    pub(super) fn show_plant_file(&mut self) {
        if matches!(self.screen, Screen::Plant(..)) {
            return;
        }
        let files = match (&self.screen, self.register()) {
            (Screen::Day(open, _), _) => open.day.task.files.clone(),
            (_, Some(register)) => {
                let first = register.records.entries().first();
                first.map_or_else(Vec::new, |entry| entry.files.clone())
            }
            // A plant file that can't be used keeps a record from being opened.
            _ => self.settings.recent.first().cloned().into_iter().collect(),
        };
        let beside = || files.first().and_then(|file| ingest::plant_file_beside(file));
        let Some(path) = self.plant.clone().or_else(beside) else {
            let text = "There is none beside what is open. Ctrl+Shift+P sets up how a day's files are read, and makes one.";
            self.tell("There is no plant file", text);
            return;
        };
        let approval = self.day().and_then(|day| {
            let of = |limits: &Limits| match limits {
                Limits::Approved => "The saved file is approved by a supervisor.".to_owned(),
                Limits::NoSigners => {
                    "Nobody has set up signers: no supervisor has approved the file.".to_owned()
                }
                Limits::NotApproved { found, .. } => format!("{found}."),
            };
            day.review.seen().map(|seen| of(&seen.limits))
        });
        let offered = self.holding_time_test();
        match PlantPage::open(&path, files, (approval, offered), &self.context) {
            Ok(page) => {
                let under = std::mem::replace(&mut self.screen, Screen::Welcome);
                self.screen = Screen::Plant(Box::new(page), Box::new(under));
            }
            Err(problem) => self.problems.add(problem),
        }
    }

    /// The holding time test in the plant's register that the plant file of what is open does not have.
    fn holding_time_test(&self) -> Option<Certificate> {
        if let Some(day) = self.day() {
            let (case, register) = (&day.case, day.review.seen()?.register()?);
            let used = TubeUsed::of(case.plant());
            return TubeOnDay::to_take(register.equipment(), case.record().unit(), used.as_ref());
        }
        let entry = self.register()?.records.entries().first()?;
        let subject = &entry.day.as_ref().ok()?.subject;
        TubeOnDay::to_take(&entry.review.equipment, &subject.unit, subject.tube.as_ref())
    }

    /// Whether the plant page has changes that are not saved; says so where it has.
    pub(super) fn keeps_plant_file(&mut self) -> bool {
        let Screen::Plant(page, _) = &self.screen else { return false };
        let is_changed = page.is_changed();
        if is_changed {
            let text =
                "Save them (Ctrl+Shift+S), or close the page without saving (Ctrl+W), first.";
            self.tell("The plant file has unsaved changes", text);
        }
        is_changed
    }

    /// Leaves the plant page for what it came over; what was changed and not saved is gone.
    pub(super) fn leave_plant_file(&mut self) {
        self.screen = match std::mem::replace(&mut self.screen, Screen::Welcome) {
            Screen::Plant(_, under) => *under,
            screen => screen,
        };
    }

    /// Saves what is set up or changed, and opens what it tells to read.
    pub(super) fn save_plant_file(&mut self) {
        let saved = match &self.screen {
            Screen::Setup(setup, _) => setup.save().map(Some),
            Screen::Plant(page, _) => page.save(self.surroundings.clock.today()).map(|()| None),
            _ => return,
        };
        match saved {
            Ok(Some(files)) => self.load(files),
            Ok(None) => {
                self.leave_plant_file();
                self.read_by_new_plant_file();
            }
            Err(problem) => self.problems.add(problem),
        }
    }

    /// Reads what is on the screen again, now that its plant file is another.
    fn read_by_new_plant_file(&mut self) {
        let context = self.context.clone();
        match &mut self.screen {
            Screen::Register(register) => register.records.look(&context),
            Screen::Day(..) => {
                self.read_again();
            }
            Screen::Welcome | Screen::Setup(..) | Screen::Compared(..) | Screen::Plant(..) => {
                let recent = self.settings.recent.first().cloned();
                self.open(&recent.into_iter().collect::<Vec<PathBuf>>());
            }
        }
    }

    /// Keeps the window open where something would be lost.
    pub(super) fn guard_closing(&mut self) {
        let is_closing = self.context.input(|input| input.viewport().close_requested());
        if is_closing && self.keeps_plant_file() {
            self.context.send_viewport_cmd(egui::ViewportCommand::CancelClose);
        }
    }
}
