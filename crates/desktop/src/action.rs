//! What the user, the system's dialogs and finished work ask for: one list that every view pushes into,
//! and that the program carries out in one place when all is drawn.

use crate::commands::Command;
use crate::dialogs::Purpose;
use crate::opener::What;
use crate::problem::Problem;
use crate::theme::{Look, widgets};
use ::review::{Decision, Meaning, Scope, SignerId};
use egui::Ui;
use signers::UnlockedKey;
use std::path::PathBuf;
use trace::Interval;

/// Something to be done.
pub enum Action {
    /// A command is carried out.
    Do(Command),
    /// The files of one day are opened, or a folder.
    Open(Vec<PathBuf>),
    /// A record of the folder is read, by its place.
    Read(usize),
    /// The same, and a part of it is shown.
    ReadAt(usize, Spot),
    /// The summary of a lot is shown.
    SummaryOf(String),
    /// The system is to ask for a file.
    Ask(Purpose),
    /// Files were chosen for a purpose.
    Chosen(Purpose, Vec<PathBuf>),
    /// What was saved is opened, or shown in its folder.
    Reveal(PathBuf, What),
    /// A message is shown.
    Tell(Problem),
    /// An exception is chosen, by its place in the audit.
    Choose(usize),
    /// Exceptions are chosen together.
    Pick(Pick),
    /// An observation is chosen, by its place in the audit.
    Note(usize),
    /// A part of the day is shown.
    Show(Interval),
    /// Nothing is chosen any more.
    Release,
    /// The next open exception is chosen, its form with the keyboard.
    NextOpen,
    /// The next observation to close is chosen.
    NextToClose,
    /// The next kind of observations to acknowledge is chosen, its note with the keyboard.
    NextKind,
    /// The dialog is closed.
    Close,
    /// The day that the dialog has read is set beside the open one.
    Compare,
    /// What is open is read again.
    ReadAgain,
    /// Somebody is at work from now on.
    Person(SignerId),
    /// Somebody is asked whether this machine's clock is right before something is entered.
    AskClock(String, Work, Then),
    /// Somebody says that this machine's clock is right, for as long as the record is open.
    TrustClock,
    /// A decision is made by who is at work.
    Decide(Box<Decision>),
    /// Something is entered in the journal, and then something else done.
    Enter(Work, Then),
}

/// What is shown of a record once it is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// The exception that is chosen, by its identifier.
    pub exception: Option<String>,
    /// What is in view where none is.
    pub interval: Interval,
}

/// Which exceptions are chosen together, by their places in the audit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pick {
    /// One more, or one less.
    Toggle(usize),
    /// All from the one that was chosen first to this one, as they are listed.
    To(usize),
    /// The same to the one that is listed so many places after one.
    Step(usize, isize),
    /// All that are listed.
    All,
}

/// What is done once something is entered, if anything is.
pub type Then = Option<Box<Action>>;

/// What is to be entered in the journal of the open record.
pub enum Work {
    /// Decisions for which a name is enough.
    Decide(SignerId, Vec<Decision>),
    /// Decisions that are signed.
    Prove(Box<UnlockedKey>, Vec<Decision>),
    /// A signature under the record.
    Sign(Box<UnlockedKey>, Meaning, Scope),
    /// The new audit of a record that has changed.
    ReAudit(SignerId),
    /// Nothing: journal and books are read again.
    Reload,
}

impl From<Command> for Action {
    fn from(command: Command) -> Self {
        Self::Do(command)
    }
}

impl From<Decision> for Action {
    fn from(decision: Decision) -> Self {
        Self::Decide(Box::new(decision))
    }
}

impl From<Problem> for Action {
    fn from(problem: Problem) -> Self {
        Self::Tell(problem)
    }
}

/// What is still to be done, in order.
#[derive(Default)]
pub struct Actions(Vec<Action>);

impl Actions {
    /// Adds something.
    pub fn push(&mut self, action: impl Into<Action>) {
        self.0.push(action.into());
    }

    /// Draws a button with the key of a command, which is to be carried out when it is pressed.
    pub fn button(&mut self, ui: &mut Ui, look: Look, command: Command, title: &str) {
        if widgets::button(ui, look, title, &command.key_text(ui.ctx())).clicked() {
            self.push(command);
        }
    }

    /// The same for what is done most.
    pub fn primary_button(&mut self, ui: &mut Ui, look: Look, command: Command, title: &str) {
        if widgets::primary_button(ui, look, title, &command.key_text(ui.ctx())).clicked() {
            self.push(command);
        }
    }

    /// Takes the first that need not wait.
    pub fn next(&mut self, waits: impl Fn(&Action) -> bool) -> Option<Action> {
        let place = self.0.iter().position(|action| !waits(action))?;
        Some(self.0.remove(place))
    }
}
