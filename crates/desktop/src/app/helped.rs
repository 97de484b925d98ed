//! What the help says of the screen that is open.

use super::dialog::Dialog;
use super::open_day::{OpenDay, Tab};
use super::{App, Screen};
use crate::commands::{Command, Place};
use crate::help::{Chosen, Screen as Told, Sign, Step};
use crate::register::Register;
use crate::register::page::RegisterPage;
use crate::run::Page;
use crate::theme::widgets::capital;
use ::review::{Progress, Stage};

impl App {
    /// What the help says of what is on the screen.
    pub(super) fn told_by_help(&self) -> Told {
        match &self.screen {
            Screen::Welcome => welcome(),
            Screen::Register(register) => of_register(register),
            Screen::Day(open, register) => self.of_day(open, register.is_some()),
            Screen::Setup(..) => of_setup(),
            Screen::Compared(..) => of_two_days(),
            Screen::Plant(..) => of_plant_file(),
        }
    }

    fn of_day(&self, open: &OpenDay, has_folder: bool) -> Told {
        if let Some(told) = of_dialog(&open.dialog) {
            return told;
        }
        let (name, answers) = match open.tab {
            Tab::Exceptions => ("exceptions", ""),
            Tab::Observations => (
                "observations",
                "Selecting an observation shows it in the plots. Each observation to close needs a reason; those to note are acknowledged by type.",
            ),
            Tab::Run => of_page(open.page),
        };
        let mut next = Vec::new();
        if !answers.is_empty() {
            next.push(Step::new(answers, None));
        }
        next.extend(self.round(open));
        let day = Some(Place::Folder).filter(|_| has_folder);
        let places = [Place::Review, Place::Day].into_iter().chain(day).chain([Place::Anywhere]);
        Told { name, next, signs: Sign::of_day(), places: places.collect(), chosen: chosen(open) }
    }

    /// The round of a review, with what of it is done.
    fn round(&self, open: &OpenDay) -> Vec<Step> {
        let review = &open.day.review;
        if let Some(why) = review.closed() {
            return vec![Step::new(&format!("The review is not open: {why}"), None)];
        }
        let Some(state) = review.state() else { return Vec::new() };
        let Progress { exceptions, closed, observations, entries } = state.progress();
        let part = |(done, all): (usize, usize), text: &str, command| {
            (all > 0).then(|| Step {
                is_done: Some(done == all),
                text: format!("{text}: {done} of {all} done."),
                command: Some(command),
            })
        };
        let is_known = review.signer(&self.settings.person).is_some();
        let who = Step {
            is_done: Some(is_known),
            text: "Say who is at work.".to_owned(),
            command: Some(Command::People),
        };
        let sign = Step {
            is_done: Some(!review.stage().is_to_review()),
            text: "Sign once nothing is left to do; a supervisor approves.".to_owned(),
            command: Some(Command::Sign),
        };
        let round = [
            Some(who),
            part(exceptions, "Resolve each exception in the form on the right", Command::NextOpen),
            part(closed, "Close observations, each with a reason", Command::NextOpen),
            part(observations, "Acknowledge types of observations", Command::Acknowledge),
            part(entries, "Make the required entries", Command::EnterNext),
            Some(sign),
        ];
        round.into_iter().flatten().collect()
    }
}

/// What is chosen on the screen of a day.
fn chosen(open: &OpenDay) -> Option<Chosen> {
    if let Some(exception) = open.day.chosen_exception() {
        let of = exception.rule.definition();
        let parts = vec![
            ("What it requires", of.asks),
            ("Why it matters", of.why),
            ("What to do", of.what_to_do),
            ("Source", of.source),
        ];
        return Some(Chosen { name: capital(of.name), parts });
    }
    let kind = open.day.chosen_observation()?.kind;
    let parts = vec![
        ("Why it matters", kind.why()),
        ("What to do", kind.what_to_do()),
        ("Source", kind.source()),
    ];
    Some(Chosen { name: capital(kind.title()), parts })
}

fn welcome() -> Told {
    let next = vec![
        Step::new(
            "Open the folder that has one file a day. The day log shows which days are left to review.",
            Some(Command::OpenFolder),
        ),
        Step::new("Or open the files of one day.", Some(Command::OpenFiles)),
        Step::new("To try it out, open the demo. All of it is invented.", Some(Command::OpenDemo)),
    ];
    Told { name: "start", next, signs: Vec::new(), places: vec![Place::Anywhere], chosen: None }
}

fn of_register(register: &Register) -> Told {
    let stages = || Stage::ALL.into_iter().map(Sign::Stage).collect();
    let (name, next, signs): (_, _, Vec<Sign>) = match register.page() {
        RegisterPage::Calendar => (
            "day log",
            vec![
                Step::new("Open what is next on your work list.", Some(Command::NextOnList)),
                Step::new(
                    "Click a day to open it; the bar at its left shows the state of its review.",
                    None,
                ),
                Step::new(
                    "A crossed bar is a day that has changed since it was signed. Open it to read what differs.",
                    None,
                ),
            ],
            stages(),
        ),
        RegisterPage::Trends => (
            "trends",
            vec![
                Step::new("Click a point to open its day.", None),
                Step::new("Have anything that drifts checked before it reaches its limit.", None),
            ],
            vec![Sign::Cross],
        ),
        RegisterPage::Lot => (
            "trace a lot",
            vec![Step::new(
                "Type a lot. Its runs and exceptions are listed, with the tanks that it went into.",
                None,
            )],
            Vec::new(),
        ),
        RegisterPage::Range => (
            "range summary",
            vec![Step::new("Enter two dates or choose a range, then save the summary.", None)],
            Vec::new(),
        ),
        RegisterPage::Work => (
            "work list",
            vec![
                Step::new("Open what is next; yours comes first.", Some(Command::NextOnList)),
                Step::new("Click a line to open its day.", None),
            ],
            stages(),
        ),
        RegisterPage::Held => (
            "product on hold",
            vec![Step::new(
                "Open the day of a hold. A supervisor ends it there, with a reason and evidence.",
                None,
            )],
            Vec::new(),
        ),
    };
    Told { name, next, signs, places: vec![Place::Folder, Place::Anywhere], chosen: None }
}

fn of_setup() -> Told {
    let next = vec![
        Step::new("Answer the questions on the right; nothing is guessed.", None),
        Step::new(
            "Check each column: what it is used as, its unit, and its curve over the file.",
            None,
        ),
        Step::new("Save your answers as a plant file beside the record.", Some(Command::SaveSetup)),
    ];
    let places = vec![Place::Anywhere];
    Told { name: "set up how files are read", next, signs: Vec::new(), places, chosen: None }
}

fn of_two_days() -> Told {
    let next = vec![
        Step::new(
            "Follow both traces from the start of forward flow; where they part, one of the days ran differently.",
            None,
        ),
        Step::new("Zoom in, or show only the forward flow.", Some(Command::ZoomIn)),
        Step::new("Align by another product that went forward.", Some(Command::NextProduct)),
        Step::new("Choose another day to compare with.", Some(Command::Compare)),
        Step::new("Go back to the day to resolve what you found; nothing is entered here.", None),
    ];
    let places = vec![Place::Comparison, Place::Anywhere];
    Told { name: "two days side by side", next, signs: Sign::of_two_days(), places, chosen: None }
}

fn of_plant_file() -> Told {
    let next = vec![
        Step::new("Change what differs at your plant. Grey text is the default.", None),
        Step::new("The changes to the file are shown on the right.", None),
        Step::new(
            "Save it. A supervisor then approves the new limits, in the register of signers.",
            Some(Command::SaveSetup),
        ),
        Step::new("Close the page to go back.", Some(Command::LeavePlantFile)),
    ];
    let places = vec![Place::Anywhere];
    Told { name: "the plant file", next, signs: Vec::new(), places, chosen: None }
}

/// What a page about the whole run is called, and what it answers.
const fn of_page(page: Page) -> (&'static str, &'static str) {
    match page {
        Page::Process => (
            "process over the run",
            "Did the tube hold long enough, and what drifts? Points are minutes of forward flow, the \
             line is their trend.",
        ),
        Page::Runs => (
            "runs and lots",
            "How much of each product and lot went forward, was diverted, or is to be held?",
        ),
        Page::Instruments => (
            "instruments",
            "How far was the recorder from the indicating thermometer, and at which reading did the \
             device go forward and leave forward flow?",
        ),
        Page::Completeness => {
            ("required entries", "Which required entries are missing? Type each and press Enter.")
        }
        Page::Diverts => (
            "diverts",
            "When did the device leave forward flow, for how long, and why? Selecting one shows it in the plots.",
        ),
        Page::Cleanings => (
            "cleanings",
            "When was the line cleaned, how hot and for how long? Selecting one shows it in the plots.",
        ),
    }
}

/// What the help says of a dialog.
fn of_dialog(dialog: &Dialog) -> Option<Told> {
    let (name, texts): (_, &[&str]) = match dialog {
        Dialog::Nothing => return None,
        Dialog::People(_) => (
            "people and keys",
            &[
                "Choose who is at work.",
                "A new person creates a key and gives the public key to a supervisor, who enrols them.",
                "A passphrase unlocks a key; nobody else knows it, and it can't be recovered.",
            ],
        ),
        Dialog::Sign(_) => (
            "sign",
            &[
                "Read what is signed: each exception with what was decided, closings and entries.",
                "Choose what your signature means. What can't be signed yet says why.",
                "Your identifier and passphrase make the signature. A signed record is changed only by reopening it, with a reason.",
            ],
        ),
        Dialog::Prove(_) => (
            "sign a decision",
            &["This decision needs its own signature: read it, and enter your passphrase."],
        ),
        Dialog::Accept(_) => (
            "accept a register of signers",
            &[
                "Compare the fingerprint with that on the paper of the plant. Accept it only if they \
                 are the same.",
            ],
        ),
        Dialog::Clock(_) => (
            "the clock of this machine",
            &[
                "The clocks differ: check another clock. Continue only if the clock of this machine is right.",
            ],
        ),
        Dialog::Entries(_) => (
            "operators\u{2019} entries",
            &[
                "Enter what was read, tested or happened, with its time; each is compared with the record.",
                "Whoever made the entries signs them with their own key.",
            ],
        ),
        Dialog::Links(_) => (
            "verification",
            &[
                "Read what each link says. One that fails names what was changed or is missing.",
                "Compare fingerprint and last lines with a page that was printed before.",
            ],
        ),
        Dialog::Compare(_) => (
            "compare with another day",
            &[
                "The last day before with the same product comes first, as far as the day log tells.",
                "Type a part of a date or product, mark a day with the arrows, and press Enter.",
                "The other record is only read; nothing is written.",
            ],
        ),
        Dialog::Summary(_) => (
            "exception summary",
            &[
                "Choose PDF for paper, CSV for a spreadsheet or JSON for a program.",
                "Look at the first page, then save it. The file names record and review.",
            ],
        ),
    };
    let next = texts.iter().map(|text| Step::new(text, None)).collect();
    Some(Told { name, next, signs: Vec::new(), places: Vec::new(), chosen: None })
}
