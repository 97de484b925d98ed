//! The acknowledgement of a kind of observations: a note and a button while nobody made it, who made it
//! and with which note once it is.

use super::made::{heading, undo};
use super::state::{Focus, Review};
use super::words;
use crate::action::Actions;
use crate::clock::minute;
use crate::commands::Command;
use crate::theme::card::{card, figure, paragraph, title};
use crate::theme::{GAP, Look, Type};
use ::review::{Decision, ItemKind, Made};
use egui::{Id, Ui};
use trace::ObservationKind;

/// Draws the acknowledgement of a kind, of which there are `count` observations.
pub fn show(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    (kind, count): (ObservationKind, usize),
) {
    card(ui, look, |ui| {
        if let Some(why) = review.closed() {
            title(ui, look, "To acknowledge", None);
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        }
        let Some(state) = review.state() else { return };
        if state.subject().observations.iter().all(|item| item.kind != kind.key()) {
            title(ui, look, "To acknowledge", None);
            paragraph(ui, look, "The journal does not know this observation yet.");
            return;
        }
        let made = state.acknowledged(kind.key()).cloned();
        let text = if made.is_some() { "Acknowledged" } else { "To acknowledge" };
        heading(ui, look, made.is_some(), text);
        if count > 1 {
            let text = format!("All {count} of this kind are acknowledged together.");
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
        match made {
            Some(made) => done(ui, look, (review, actions), kind, &made),
            None => form(ui, look, (review, actions), kind),
        }
    });
}

fn done(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    kind: ObservationKind,
    made: &Made,
) {
    let who = format!("{}, {}", review.name_of(&made.mark.by), minute(made.mark.at));
    figure(ui, look, "Acknowledged", &who);
    if !made.note.trim().is_empty() {
        figure(ui, look, "Note", &made.note);
    }
    ui.add_space(GAP);
    let undo = undo(ui, look, review.is_day_signed());
    if undo.is_some_and(|undo| undo.clicked()) {
        let of = ItemKind::Observation;
        actions.push(Decision::Withdrawn { of, item: kind.key().to_owned() });
    }
}

fn form(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    kind: ObservationKind,
) {
    let mut note = review.typed.note(kind.key());
    let id = Id::unique(("note of a kind", kind.key()));
    let field = words::plain(ui, look, id, "Note, if there is something to say", &mut note);
    if review.focus == Some(Focus::Note) {
        review.focus = None;
        field.request_focus();
    }
    if field.changed() {
        review.typed.set_note(kind.key(), note);
    }
    ui.add_space(2.0);
    actions.primary_button(ui, look, Command::Acknowledge, "Acknowledge and next");
}

/// The decision that acknowledges a kind, with the note that is typed.
pub fn decision(review: &Review, kind: ObservationKind) -> Decision {
    let note = review.typed.note(kind.key()).trim().to_owned();
    Decision::Acknowledged { observation: kind.key().to_owned(), note }
}
