//! The closing of a chosen observation: a reason while it is open, who closed it and why once it is.

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

/// Draws the closing of the observation with that identifier.
pub fn show(ui: &mut Ui, look: Look, (review, actions): (&mut Review, &mut Actions), id: &str) {
    card(ui, look, |ui| {
        if let Some(why) = review.closed() {
            title(ui, look, "To close", None);
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        }
        let Some(state) = review.state() else { return };
        if state.to_close(id).is_none() {
            title(ui, look, "To close", None);
            paragraph(ui, look, "The journal does not know this observation yet.");
            return;
        }
        let closed = state.closed(id).cloned();
        let text = if closed.is_some() { "Closed" } else { "To close" };
        heading(ui, look, closed.is_some(), text);
        match closed {
            Some(made) => done(ui, look, (review, actions), id, &made),
            None => form(ui, look, (review, actions), id),
        }
    });
}

fn done(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    id: &str,
    made: &Made,
) {
    figure(
        ui,
        look,
        "Closed",
        &format!("{}, {}", review.name_of(&made.mark.by), minute(made.mark.at)),
    );
    figure(ui, look, "Reason", &made.value);
    if !made.note.trim().is_empty() {
        figure(ui, look, "Note", &made.note);
    }
    ui.add_space(GAP);
    let undo = undo(ui, look, review.is_closing_signed(id));
    if undo.is_some_and(|undo| undo.clicked()) {
        let of = ItemKind::ClosedObservation;
        actions.push(Decision::Withdrawn { of, item: id.to_owned() });
    }
}

fn form(ui: &mut Ui, look: Look, (review, actions): (&mut Review, &mut Actions), id: &str) {
    let mut reason = review.typed.reason(id);
    let field = words::plain(ui, look, Id::unique(("close", id)), "Reason", &mut reason);
    if review.focus == Some(Focus::Reason) {
        review.focus = None;
        field.request_focus();
        field.scroll_to_me(None);
    }
    if field.changed() {
        review.typed.set_reason(id, reason.clone());
    }
    ui.add_space(2.0);
    actions.primary_button(ui, look, Command::Settle, "Close and next");
    if reason.trim().is_empty() {
        ui.label(Type::Small.text("Required: reason.", look.colors.ink_soft));
    }
}

/// What the form of an observation decides; `None` where it is closed already.
pub fn decision(review: &Review, id: &str) -> Option<Decision> {
    let state = review.state()?;
    if state.to_close(id).is_none() || state.closed(id).is_some() {
        return None;
    }
    let reason = review.typed.reason(id).trim().to_owned();
    Some(Decision::Closed { observation: id.to_owned(), reason, note: String::new() })
}
