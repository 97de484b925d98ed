//! The round of a review through the window: which decision a command makes, by whom and when,
//! and which dialog is open for it.

use super::{App, Tab};
use crate::commands::Command;
use crate::loading::Worker;
use crate::observations;
use crate::problems::Problem;
use crate::review::{
    Accept, Accepted, Around, Ask, AskClock, Focus, Outcome, People, PeoplePage, Prove, Sign, Then,
    Work, closing_decision, decisions, people, problem, prove, sign,
};
use crate::run::Page;
use crate::summary::{self, Summary};
use crate::theme::Look;
use ::review::{Decision, Role, SignerId};
use egui::Ui;
use signers::KeyFolder;
use std::path::{Path, PathBuf};

/// The dialog that is open.
#[derive(Default)]
pub(super) enum Round {
    #[default]
    Nothing,
    People(Box<People>),
    Sign(Box<Sign>),
    Prove(Box<Prove>),
    Accept(Box<Accept>),
    Clock(Box<AskClock>),
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
            Self::Prove(prove) => prove.is_busy(),
            Self::Accept(accept) => accept.is_busy(),
            Self::Summary(summary) => summary.is_busy(),
            Self::Nothing | Self::Clock(_) => false,
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

    /// Who decides; opens the dialog of people where nobody is at work.
    fn author(&mut self) -> Option<SignerId> {
        let day = self.day.as_ref()?;
        let Some((person, _)) = self.person() else {
            let message = Some("say first who is at work");
            let dialog = People::new(&day.review, PeoplePage::Choose, message);
            self.round = Round::People(Box::new(dialog));
            return None;
        };
        Some(person)
    }

    /// Makes decisions, and goes on when they are made. What must be signed asks for the passphrase
    /// first.
    fn decide(&mut self, decisions: Vec<Decision>, then: Then) {
        if decisions.is_empty() {
            return;
        }
        let Some(by) = self.author() else { return };
        let Some(day) = &self.day else { return };
        if day.review.needs_key(&decisions) {
            self.round = Round::Prove(Box::new(Prove::given(decisions, then)));
        } else {
            self.work(Work::Decide(by, decisions), then);
        }
    }

    /// Begins to enter something, and goes on where it is done at once.
    fn work(&mut self, work: Work, then: Then) {
        let around = self.around();
        let Some(day) = &mut self.day else { return };
        let begun = around.and_then(|around| day.review.begin(&self.context, (work, then), around));
        match begun {
            Ok(()) => self.take_in_work(true),
            Err(problem) => self.problems.add(problem.title, problem.text),
        }
    }

    fn around(&self) -> Result<Around, Problem> {
        let zone = self.day.as_ref().map(|day| day.case.plant().zone);
        let at = zone.and_then(|zone| self.surroundings.clock.stamp(zone)).ok_or_else(|| {
            let text = "The clock of this machine shows a time that can't be written down. Set it.";
            problem("Nothing was entered", text)
        })?;
        Ok(Around { at, disk: self.surroundings.disk_clock })
    }

    /// The plant file of the open record.
    fn plant_file(&self) -> Option<PathBuf> {
        let file = self.day.as_ref()?.case.plant().file.as_ref()?;
        Some(PathBuf::from(&*file.name))
    }

    /// Takes in what became of what was entered, and goes on.
    pub(super) fn take_in_work(&mut self, waits: bool) {
        let Some(day) = &mut self.day else { return };
        let Some((outcome, then)) = day.review.take_in(&self.context, waits) else { return };
        match outcome {
            Outcome::Entered => self.go_on(then),
            Outcome::Refused(problem) => self.problems.add(problem.title, problem.text),
            Outcome::Clock(told, work) => {
                self.round = Round::Clock(Box::new(AskClock::new(told, work, then)));
            }
        }
        self.context.request_repaint();
    }

    fn go_on(&mut self, then: Then) {
        match then {
            Then::Stay => {}
            Then::NextOpen => self.next_open(),
            Then::NextToClose => self.next_to_close(),
            Then::NextKind => {
                if let Some(day) = &self.day {
                    self.observations.mark_next(day);
                }
            }
            Then::NextEntry => self.enter_next(),
            Then::Signatures => {
                // The card with the signatures comes into view.
                if let Some(day) = &mut self.day {
                    (day.chosen, day.noted) = (None, None);
                }
            }
        }
    }

    /// Carries out what was asked for in cards and lists, one after the other: each waits until the
    /// one before is entered.
    pub(super) fn carry_out_asked(&mut self, context: &egui::Context) {
        loop {
            if self.is_entering() || self.round.is_open() {
                return;
            }
            let Some(day) = &mut self.day else { return };
            if day.review.asked.is_empty() {
                return;
            }
            match day.review.asked.remove(0) {
                Ask::Do(command) => self.act(command, context),
                Ask::Decide(decision) => {
                    let is_entry = matches!(*decision, Decision::Entered { .. });
                    let then = if is_entry { Then::NextEntry } else { Then::Stay };
                    self.decide(vec![*decision], then);
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
        if day.review.is_busy() {
            day.review.asked.push(Ask::Do(command));
            return;
        }
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
                    self.decide(back, Then::Stay);
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
            Command::Reopen => {
                let scope = day.review.scope.clone();
                if self.author().is_some() {
                    self.round = Round::Prove(Box::new(Prove::reopen(scope)));
                }
            }
            Command::CorrectClock => self.correct_clock(),
            Command::ReAudit => {
                if let Some(by) = self.author() {
                    self.work(Work::ReAudit(by), Then::Stay);
                }
            }
            Command::People | Command::Books => {
                let page = match command {
                    Command::Books => PeoplePage::Books,
                    _ => PeoplePage::Choose,
                };
                self.round = Round::People(Box::new(People::new(&day.review, page, None)));
            }
            Command::AcceptRegister => {
                let register = day.review.seen().map(|seen| seen.register_path.clone());
                if let Some(register) = register {
                    let dialog = Accept::new(&register, self.plant_file().as_deref());
                    self.round = Round::Accept(Box::new(dialog));
                }
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
        match id.and_then(|id| closing_decision(&day.review, id)) {
            Some(decision) => self.decide(vec![decision], Then::NextToClose),
            None => self.next_to_close(),
        }
    }

    /// Asks for what a correction of the clock needs, where somebody is at work.
    fn correct_clock(&mut self) {
        if self.author().is_some() {
            self.round = Round::Prove(Box::new(Prove::clock()));
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
        if decisions.is_empty() {
            self.next_open();
        } else {
            self.decide(decisions, Then::NextOpen);
        }
    }

    /// Leads to the next exception that is open; once all are resolved, to what is left to close.
    fn next_open(&mut self) {
        let Some(day) = &mut self.day else { return };
        if day.choose_next_open() {
            day.review.focus = Some(Focus::Settlement);
            self.show_chosen();
        } else {
            self.next_to_close();
        }
    }

    /// Acknowledges the kind that is marked, and marks the next one: what is acknowledged has been
    /// on the screen.
    fn acknowledge(&mut self) {
        let Some(day) = &self.day else { return };
        let is_shown = self.tab == Tab::Observations;
        self.tab = Tab::Observations;
        match self.observations.marked(day).filter(|_| is_shown) {
            Some(kind) => self.decide(vec![observations::acknowledge(kind)], Then::NextKind),
            None => {
                self.observations.mark_next(day);
            }
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
        let (trust, disk) = (self.surroundings.trust(), self.surroundings.disk_clock);
        let Some(day) = &mut self.day else { return };
        let zone = day.case.plant().zone;
        match &mut self.round {
            Round::Nothing => {}
            Round::People(dialog) => {
                let person = Some(self.settings.person.as_str());
                let person = person.filter(|id| day.review.signer(id).is_some());
                let review = &day.review;
                let about = people::About { review, person, keys, clock, zone, trust, disk };
                let told = dialog.show(ui, look, &about);
                self.act_on_people(told, ui);
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
                        let scope = day.review.scope.clone();
                        self.work(Work::Sign(key, meaning, scope), Then::Signatures);
                    }
                }
            }
            Round::Prove(dialog) => {
                let Some(signer) = day.review.signer(&self.settings.person).cloned() else {
                    self.round = Round::Nothing;
                    return;
                };
                let review = &mut day.review;
                let mut about = sign::About { review, signer: &signer, keys, clock, zone };
                match dialog.show(ui, look, &mut about) {
                    prove::Told::Nothing => {}
                    prove::Told::Closed => self.round = Round::Nothing,
                    prove::Told::Unlocked(key, decisions, then) => {
                        self.round = Round::Nothing;
                        self.work(Work::Prove(key, decisions), then);
                    }
                }
            }
            Round::Accept(dialog) => match dialog.show(ui, look, &trust) {
                Accepted::Nothing => {}
                Accepted::Closed => self.round = Round::Nothing,
                Accepted::Accepted => {
                    self.round = Round::Nothing;
                    self.loader.push(day.task.clone());
                }
            },
            Round::Clock(dialog) => {
                let (stays, entered) = dialog.show(ui, look);
                if !stays {
                    self.round = Round::Nothing;
                }
                if let Some((work, then)) = entered {
                    // Whoever says so once is not asked again about this record.
                    day.review.clock_is_right = true;
                    self.work(work, then);
                }
            }
            Round::Summary(dialog) => match dialog.show(ui, look, day, &self.surroundings) {
                summary::Told::Nothing => {}
                summary::Told::Closed => self.round = Round::Nothing,
                summary::Told::Choose(suggestion) => self.dialogs.save(suggestion, ui.ctx()),
            },
        }
    }

    fn act_on_people(&mut self, told: people::Told, ui: &Ui) {
        match told {
            people::Told::Nothing => {}
            people::Told::Closed => self.round = Round::Nothing,
            people::Told::Choose(purpose) => self.dialogs.open(purpose, ui.ctx()),
            people::Told::Chosen(signer) => {
                self.settings.person = signer.into();
                self.round = Round::Nothing;
                self.tell_worker();
            }
            people::Told::Changed(person) => {
                if let Some(person) = person {
                    self.settings.person = person.into();
                }
                self.tell_worker();
                self.work(Work::Reload, Then::Stay);
            }
        }
    }
}
