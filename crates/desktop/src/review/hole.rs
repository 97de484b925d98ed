//! The card of the hole before the open record: shown until somebody closes it.

use super::made::heading;
use super::state::{Focus, HOLE, Review};
use super::words;
use crate::action::Actions;
use crate::clock::minute;
use crate::theme::card::{card, figure, paragraph};
use crate::theme::{Look, widgets};
use ::review::Decision;
use egui::{Id, Ui};

/// Draws the hole before the record, where there is one.
pub fn show(ui: &mut Ui, look: Look, review: &mut Review, actions: &mut Actions) {
    let Some((hole, closed)) = review.seen().and_then(|seen| {
        let hole = seen.hole.as_ref()?;
        Some((hole.clone(), seen.state.hole_closed(hole).cloned()))
    }) else {
        return;
    };
    card(ui, look, |ui| {
        heading(ui, look, closed.is_some(), "Hole before this record");
        let text = format!("There is {}.", hole.in_words());
        paragraph(ui, look, &text);
        if let Some(made) = closed {
            let who = format!("{}, {}", review.name_of(&made.mark.by), minute(made.mark.at));
            figure(ui, look, "Closed", &who);
            figure(ui, look, "Reason", &made.value);
            return;
        }
        let mut reason = review.typed.reason(HOLE);
        let field = words::plain(ui, look, Id::unique(HOLE), "Reason", &mut reason);
        if review.focus == Some(Focus::Hole) {
            review.focus = None;
            field.request_focus();
        }
        if field.changed() {
            review.typed.set_reason(HOLE, reason.clone());
        }
        ui.add_space(2.0);
        if widgets::primary_button(ui, look, "Close the hole", "").clicked() {
            let (reason, note) = (reason.trim().to_owned(), String::new());
            actions.push(Decision::HoleClosed { hole, reason, note });
        }
    });
}
