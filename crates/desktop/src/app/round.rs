//! The round of a review through the window: which decision a command makes, by whom and when,
//! and which dialog is open for it.

use super::{App, Tab};
use crate::commands::Command;
use crate::loading::Worker;
use crate::observations;
use crate::review::{Ask, Focus, People, Reopen, Sign, closing_decision, decisions, people, sign};
use crate::run::Page;
use crate::summary::{self, Summary};
use crate::theme::Look;
use ::review::{Decision, Role, SignerId};
use egui::Ui;
use journal::Stamp;
use signers::KeyFolder;
use std::path::Path;

/// The dialog that is open.
#[derive(Default)]
pub(super) enum Round {
    #[default]
    Nothing,
    People(Box<People>),
    Sign(Box<Sign>),
    Reopen(Reopen),
    Summary(Box<Summary>),
}

impl Round {
    pub(super) const fn is_open(&self) -> bool {
        !matches!(self, Self::Nothing)
    }

    pub(super) fn is_busy(&self) -> bool {
        match self {
            Self::People(people) => people.is_busy(),
            Self::Sign(sign) => sign.is_busy(),
            Self::Summary(summary) => summary.is_busy(),
            Self::Nothing | Self::Reopen(_) => false,
        }
    }

    pub(super) fn take_file(&mut self, path: &Path) {
        if let Self::People(people) = self {
            people.take_file(path);
        }
    }
}

impl App {
    /// Where the review of the open record stands, in a word or two.
    pub fn review(&self) -> Option<String> {
        self.day.as_ref().map(|day| day.review.word())
    }

    /// Who is at work, if the plant's register knows them.
    pub(super) fn person(&self) -> Option<(SignerId, Role)> {
        let signer = self.day.as_ref()?.review.signer(&self.settings.person)?;
        Some((signer.id().clone(), signer.role()))
    }

    /// Who is at work, for the screen.
    pub(super) fn person_name(&self) -> String {
        let signer = self.day.as_ref().and_then(|day| day.review.signer(&self.settings.person));
        signer.map_or_else(
            || "Who is at work?".to_owned(),
            |signer| format!("{}, {}", signer.name(), signer.role()),
        )
    }

    fn keys(&self) -> Option<KeyFolder> {
        self.surroundings.config.as_deref().map(KeyFolder::under)
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

    /// The person and the time of a decision; opens the dialog of people where nobody is at work.
    fn author(&mut self) -> Option<(SignerId, Stamp)> {
        let day = self.day.as_ref()?;
        let Some((person, _)) = self.person() else {
            let message = "say first who is at work";
            self.round = Round::People(Box::new(People::new(&day.review, Some(message))));
            return None;
        };
        let Some(stamp) = self.surroundings.clock.stamp(day.plant.zone) else {
            let text = "The clock of this machine shows a time that can't be written down. Set it.";
            self.problems.add("Nothing was entered", text);
            return None;
        };
        Some((person, stamp))
    }

    /// Makes decisions; whether all were made.
    fn decide(&mut self, decisions: Vec<Decision>) -> bool {
        if decisions.is_empty() {
            return false;
        }
        let Some((by, at)) = self.author() else { return false };
        let Some(day) = &mut self.day else { return false };
        match day.review.decide(&by, at, decisions) {
            Ok(()) => true,
            Err(problem) => {
                self.problems.add(problem.title, problem.text);
                false
            }
        }
    }

    /// Carries out what was asked for in cards and lists.
    pub(super) fn carry_out_asked(&mut self, context: &egui::Context) {
        let asked = self.day.as_mut().map(|day| std::mem::take(&mut day.review.asked));
        for ask in asked.unwrap_or_default() {
            match ask {
                Ask::Do(command) => self.act(command, context),
                Ask::Decide(decision) => {
                    let is_entry = matches!(*decision, Decision::Entered { .. });
                    if self.decide(vec![*decision]) && is_entry {
                        self.enter_next();
                    }
                }
            }
            context.request_repaint();
        }
    }

    /// Keeps what is typed when it is time, or when the keyboard is elsewhere.
    pub(super) fn keep_typed(&mut self, context: &egui::Context) {
        let Some(day) = &mut self.day else { return };
        let Some(wait) = day.review.typed.due() else { return };
        if !wait.is_zero() && context.text_edit_focused() {
            context.request_repaint_after(wait);
        } else if let Err(why) = day.review.typed.keep() {
            self.problems.add("What is typed can't be kept", why);
        }
    }

    pub(super) fn act_on_review(&mut self, command: Command) {
        let Some(day) = &mut self.day else { return };
        match command {
            Command::NextOpen if day.choose_next_open() => self.show_chosen(),
            Command::NextOpen => self.next_to_close(),
            Command::Settlement | Command::SendBack => {
                if day.chosen.is_none() && !day.choose_next_open() {
                    day.choose_next(1);
                }
                day.review.focus = Some(match command {
                    Command::SendBack => Focus::Remark,
                    _ => Focus::Settlement,
                });
                self.show_chosen();
            }
            Command::Settle => self.settle(),
            Command::Acknowledge => self.acknowledge(),
            Command::EnterNext => self.enter_next(),
            Command::TakeBack => {
                let back = day.review.undo();
                if back.is_empty() {
                    let text = "Nothing that was decided since the record was opened is left to \
                                take back.";
                    self.problems.add("There is nothing to take back", text);
                } else {
                    self.decide(back);
                }
            }
            Command::NextScope => day.review.next_scope(),
            Command::Sign => {
                if self.author().is_some()
                    && let Some((_, role)) = self.person()
                    && let Some(day) = &self.day
                {
                    self.round = Round::Sign(Box::new(Sign::new(&day.review, role)));
                }
            }
            Command::Reopen => self.round = Round::Reopen(Reopen::new(day.review.scope.clone())),
            Command::ReAudit => {
                if let Some((by, at)) = self.author()
                    && let Some(day) = &mut self.day
                    && let Err(problem) = day.review.re_audit(&by, at)
                {
                    self.problems.add(problem.title, problem.text);
                }
            }
            Command::People => {
                self.round = Round::People(Box::new(People::new(&day.review, None)));
            }
            Command::Summary => self.round = Round::Summary(Box::default()),
            _ => {}
        }
    }

    /// Saves the summary that the dialog shows, which is what its button does once a place is
    /// chosen.
    pub fn save_summary(&mut self, path: &Path, context: &egui::Context) {
        if let (Round::Summary(dialog), Some(day)) = (&mut self.round, &self.day) {
            dialog.save(context, day, path);
        }
    }

    /// Shows the chosen exception in list and pane.
    fn show_chosen(&mut self) {
        if let Some(day) = &self.day
            && let Some(index) = day.chosen.as_ref().map(|chosen| chosen.index)
        {
            self.list.reveal(day, index);
            self.tab = Tab::Exceptions;
            self.settings.side_pane = true;
        }
    }

    /// Leads to the next observation that is to be closed.
    fn next_to_close(&mut self) {
        if let Some(day) = &mut self.day
            && day.note_next_to_close()
        {
            day.chosen = None;
            day.review.focus = Some(Focus::Reason);
            self.tab = Tab::Observations;
            self.settings.side_pane = true;
        }
    }

    /// Closes the chosen observation, and goes on to the next.
    fn close_noted(&mut self) {
        let Some(day) = &self.day else { return };
        let id = day.noted.and_then(|index| day.closing_id(index));
        let decision = id.and_then(|id| closing_decision(&day.review, id));
        if decision.is_none_or(|decision| self.decide(vec![decision])) {
            self.next_to_close();
        }
    }

    fn settle(&mut self) {
        let Some(day) = &self.day else { return };
        if day.chosen.is_none() && day.noted.is_some_and(|index| day.closing_id(index).is_some()) {
            self.close_noted();
            return;
        }
        let Some(id) = day.chosen_exception().map(|chosen| chosen.id.clone()) else {
            self.act_on_review(Command::Settlement);
            return;
        };
        let decisions = decisions(&day.review, &id);
        let is_settled = decisions.is_empty();
        if !is_settled && !self.decide(decisions) {
            return;
        }
        if let Some(day) = &mut self.day {
            if day.choose_next_open() {
                day.review.focus = Some(Focus::Settlement);
                self.show_chosen();
            } else {
                // All exceptions are resolved: what is left is closed next.
                self.next_to_close();
            }
        }
    }

    /// Acknowledges the kind that is marked, and marks the next one: what is acknowledged has been
    /// on the screen.
    fn acknowledge(&mut self) {
        let Some(day) = &self.day else { return };
        let is_shown = self.tab == Tab::Observations;
        self.tab = Tab::Observations;
        if let Some(kind) = self.observations.marked(day).filter(|_| is_shown)
            && !self.decide(vec![observations::acknowledge(kind)])
        {
            return;
        }
        if let Some(day) = &self.day {
            self.observations.mark_next(day);
        }
    }

    /// Leads to the next entry that the record lacks.
    fn enter_next(&mut self) {
        let Some(day) = &mut self.day else { return };
        let Some(state) = day.review.state() else { return };
        let mut entries = state.subject().entries.iter();
        let next = entries.find(|entry| state.entered(entry).is_none()).cloned();
        day.review.focus = next.map(Focus::Entry);
        self.show_page(Page::Completeness);
    }

    /// Draws the dialog that is open.
    pub(super) fn show_round(&mut self, ui: &Ui, look: Look) {
        let (keys, clock) = (self.keys(), self.surroundings.clock);
        let Some(day) = &mut self.day else { return };
        let zone = day.plant.zone;
        match &mut self.round {
            Round::Nothing => {}
            Round::People(dialog) => {
                let person = Some(self.settings.person.as_str());
                let person = person.filter(|id| day.review.signer(id).is_some());
                let review = &day.review;
                let about = people::About { review, person, keys, clock, zone };
                match dialog.show(ui, look, &about) {
                    people::Told::Nothing => {}
                    people::Told::Closed => self.round = Round::Nothing,
                    people::Told::Choose(purpose) => self.dialogs.open(purpose, ui.ctx()),
                    people::Told::Chosen(signer) => {
                        self.settings.person = signer.into();
                        self.round = Round::Nothing;
                        self.tell_worker();
                    }
                    people::Told::Changed(person) => {
                        if let Err(problem) = day.review.reload(clock.now()) {
                            self.problems.add(problem.title, problem.text);
                        }
                        if let Some(person) = person {
                            self.settings.person = person.into();
                        }
                        self.tell_worker();
                    }
                }
            }
            Round::Sign(dialog) => {
                let Some(signer) = day.review.signer(&self.settings.person).cloned() else {
                    self.round = Round::Nothing;
                    return;
                };
                let review = &mut day.review;
                let mut about = sign::About { review, signer: &signer, keys, clock, zone };
                match dialog.show(ui, look, &mut about) {
                    sign::Told::Nothing => {}
                    sign::Told::Closed => self.round = Round::Nothing,
                    sign::Told::Unlocked(key, meaning) => {
                        self.round = Round::Nothing;
                        let Some(stamp) = clock.stamp(zone) else { return };
                        let scope = day.review.scope.clone();
                        match day.review.sign(&key, stamp, meaning, &scope) {
                            // The card with the signature comes into view.
                            Ok(()) => (day.chosen, day.noted) = (None, None),
                            Err(problem) => self.problems.add(problem.title, problem.text),
                        }
                    }
                }
            }
            Round::Summary(dialog) => match dialog.show(ui, look, day, &self.surroundings) {
                summary::Told::Nothing => {}
                summary::Told::Closed => self.round = Round::Nothing,
                summary::Told::Choose(suggestion) => self.dialogs.save(suggestion, ui.ctx()),
            },
            Round::Reopen(dialog) => {
                let (stays, decision) = dialog.show(ui, look, &day.review);
                if !stays {
                    self.round = Round::Nothing;
                }
                if let Some(decision) = decision {
                    self.decide(vec![decision]);
                }
            }
        }
    }
}
