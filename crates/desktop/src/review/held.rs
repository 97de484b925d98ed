//! Product on hold: where the hold of an exception stands, and the form that ends it with a reason and
//! evidence. What is enough for that is said by the crate `review`.

use super::state::Review;
use super::words;
use crate::action::{Action, Actions};
use crate::clock::minute;
use crate::dialogs::Purpose;
use crate::theme::card::figure;
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use ::review::{Decision, Ended, Ending, ItemKind, LaboratoryResult, Outcome, ProductHold, Shown};
use egui::{Id, Ui};
use std::path::Path;

/// Draws where a hold stands, and how it is ended.
pub fn show(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    hold: &ProductHold,
) {
    ui.add_space(GAP);
    match &hold.ended {
        Some(Ended { ending, mark, verdict }) if verdict.holds() => {
            let how = capital(&format!("{}, tag {}", ending.outcome, hold.name));
            figure(ui, look, "Hold ended", &how);
            let who = format!("{}, {}", review.name_of(&mark.by), minute(mark.at));
            figure(ui, look, "By", &who);
            figure(ui, look, "Reason", ending.reason.trim());
            figure(ui, look, "Evidence", &capital(&ending.evidence.in_words()));
            ui.add_space(GAP);
            if widgets::button(ui, look, "Put on hold again", "").clicked() {
                let (of, item) = (ItemKind::HoldEnd, hold.name.clone());
                actions.push(Decision::Withdrawn { of, item });
            }
        }
        ended => {
            figure(ui, look, "On hold", &format!("{}, tag {}", hold.what(), hold.name));
            let who = format!("{}, {}", review.name_of(&hold.since.by), minute(hold.since.at));
            figure(ui, look, "Since", &who);
            if let Some(Ended { verdict, .. }) = ended {
                figure(ui, look, "Not ended", &format!("the signature fails: {verdict}"));
            }
            ui.add_space(GAP);
            if widgets::toggle(ui, look, is_begun(review, hold), "End the hold").clicked() {
                let begun = !is_begun(review, hold);
                set(review, hold, Field::Begun, if begun { "yes" } else { "" }.to_owned());
            }
            if is_begun(review, hold) {
                form(ui, look, (review, actions), hold);
            }
        }
    }
}

/// What is typed to end a hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Field {
    /// Whether somebody began.
    Begun,
    Outcome,
    Reason,
    /// Whether a file is the evidence.
    IsFile,
    File,
    Test,
    Method,
    Value,
    Limit,
    Unit,
    Laboratory,
    Date,
}

impl Field {
    const fn key(self) -> &'static str {
        match self {
            Self::Begun => "begun",
            Self::Outcome => "outcome",
            Self::Reason => "reason",
            Self::IsFile => "is file",
            Self::File => FILE,
            Self::Test => "test",
            Self::Method => "method",
            Self::Value => "value",
            Self::Limit => "limit",
            Self::Unit => "unit",
            Self::Laboratory => "laboratory",
            Self::Date => "date",
        }
    }
}

/// The key of the file that is evidence.
const FILE: &str = "file";

fn get(review: &Review, hold: &ProductHold, field: Field) -> String {
    review.typed.hold(&hold.name, field.key())
}

fn set(review: &mut Review, hold: &ProductHold, field: Field, text: String) {
    review.typed.set_hold(&hold.name, field.key(), text);
}

fn is_begun(review: &Review, hold: &ProductHold) -> bool {
    !get(review, hold, Field::Begun).is_empty()
}

/// Takes in the file that was chosen as evidence for a hold.
pub fn take_file(review: &mut Review, hold: &str, file: &Path) {
    review.typed.set_hold(hold, FILE, file.display().to_string());
}

fn form(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    hold: &ProductHold,
) {
    let entered = std::cell::Cell::new(false);
    let plain = |ui: &mut Ui, review: &mut Review, field: Field, name: &str| {
        let mut text = get(review, hold, field);
        let id = Id::unique(("hold", &hold.name, field.key()));
        let response = words::plain(ui, look, id, name, &mut text);
        entered.set(entered.get() | words::is_entered(ui, &response));
        if response.changed() {
            set(review, hold, field, text);
        }
    };
    words::label(ui, look, "What became of the product");
    let outcome = outcome(review, hold);
    ui.horizontal_wrapped(|ui| {
        for one in Outcome::ALL {
            if widgets::toggle(ui, look, outcome == one, &capital(one.name())).clicked() {
                set(review, hold, Field::Outcome, one.key().to_owned());
            }
        }
    });
    plain(ui, review, Field::Reason, "Reason for ending the hold");
    words::label(ui, look, "Evidence");
    let is_file = !get(review, hold, Field::IsFile).is_empty();
    ui.horizontal(|ui| {
        for (is_it, name) in [(false, "Laboratory result"), (true, "File")] {
            if widgets::toggle(ui, look, is_file == is_it, name).clicked() {
                set(review, hold, Field::IsFile, if is_it { "yes" } else { "" }.to_owned());
            }
        }
    });
    if is_file {
        plain(ui, review, Field::File, "File, kept in the folder of the record");
        if widgets::button(ui, look, "Choose the file", "").clicked() {
            actions.push(Action::Ask(Purpose::Evidence(hold.name.clone())));
        }
    } else {
        let rows = [
            [(Field::Test, "Test"), (Field::Method, "Method")],
            [(Field::Value, "Result"), (Field::Unit, "Unit")],
            [(Field::Limit, "At most, or required"), (Field::Date, "Date, YYYY-MM-DD")],
        ];
        for row in rows {
            ui.columns(2, |columns| {
                for (ui, (field, name)) in columns.iter_mut().zip(row) {
                    plain(ui, review, field, name);
                }
            });
        }
        plain(ui, review, Field::Laboratory, "Laboratory");
    }
    ui.add_space(2.0);
    let clicked = widgets::primary_button(ui, look, "Sign the end of the hold", "Enter").clicked()
        || entered.get();
    let missing = missing(review, hold);
    if let Some(missing) = &missing {
        ui.label(Type::Small.text(capital(missing), look.colors.ink_soft));
    }
    if clicked && missing.is_none() {
        match ending(review, hold) {
            Ok(ending) => actions.push(Decision::HoldEnded(ending)),
            Err(why) => actions.push(crate::problem::Problem::new("The hold was not ended", &*why)),
        }
    }
}

fn outcome(review: &Review, hold: &ProductHold) -> Outcome {
    let typed = get(review, hold, Field::Outcome);
    Outcome::ALL.into_iter().find(|one| one.key() == typed).unwrap_or(Outcome::Released)
}

/// What is not filled in yet, as far as it can be told without reading a file.
fn missing(review: &Review, hold: &ProductHold) -> Option<String> {
    let is_file = !get(review, hold, Field::IsFile).is_empty();
    if is_file && get(review, hold, Field::File).trim().is_empty() {
        return Some("required: the file that shows it".to_owned());
    }
    let shown = if is_file { None } else { Some(laboratory(review, hold)) };
    let ending = Ending {
        hold: hold.name.clone(),
        outcome: outcome(review, hold),
        reason: get(review, hold, Field::Reason),
        evidence: match shown {
            Some(result) => Shown::Laboratory(result),
            None => {
                return get(review, hold, Field::Reason)
                    .trim()
                    .is_empty()
                    .then(|| "required: the reason why the hold is ended".to_owned());
            }
        },
    };
    ending.allows().err().map(|why| why.to_string())
}

fn laboratory(review: &Review, hold: &ProductHold) -> LaboratoryResult {
    let text = |field| get(review, hold, field).trim().to_owned();
    LaboratoryResult {
        test: text(Field::Test),
        method: text(Field::Method),
        value: text(Field::Value),
        limit: text(Field::Limit),
        unit: text(Field::Unit),
        laboratory: text(Field::Laboratory),
        date: text(Field::Date),
    }
}

/// What the form says.
fn ending(review: &Review, hold: &ProductHold) -> Result<Ending, Why> {
    let evidence = if get(review, hold, Field::IsFile).is_empty() {
        Shown::Laboratory(laboratory(review, hold))
    } else {
        Shown::File(review.evidence(Path::new(get(review, hold, Field::File).trim()))?)
    };
    Ok(Ending {
        hold: hold.name.clone(),
        outcome: outcome(review, hold),
        reason: get(review, hold, Field::Reason).trim().to_owned(),
        evidence,
    })
}
