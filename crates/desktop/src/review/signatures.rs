//! The card of what is signed, scope by scope, while nothing is chosen.

use super::{Ask, Mark, Review, draw_mark, minute};
use crate::commands::Command;
use crate::side::{capital, card, figure, paragraph, title};
use crate::theme::{GAP, Look, Type, widgets};
use ::review::{Meaning, Scope, State};
use egui::{Sense, Ui, vec2};

/// A scope as a title.
pub fn scope_name(scope: &Scope) -> String {
    scope.shift_name().map_or_else(|| "Whole day".to_owned(), |name| format!("Shift {name}"))
}

/// Draws the card.
pub fn show(ui: &mut Ui, look: Look, review: &mut Review) {
    let mut asked = Vec::new();
    card(ui, look, |ui| {
        title(ui, look, "Review", None);
        let Some(state) = review.state() else {
            let why = review.closed().unwrap_or_default();
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        };
        for scope in review.scopes() {
            ui.horizontal(|ui| {
                let done = state.can_be_reviewed(&scope).is_ok()
                    || state.is_signed(Meaning::Reviewed, &scope);
                let mark = if done { Mark::Done } else { Mark::Open };
                let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
                draw_mark(ui.painter(), look, rect, mark);
                figure(ui, look, &scope_name(&scope), &stand(state, &scope));
            });
        }
        if !state.signatures().is_empty() {
            ui.add_space(GAP);
            title(ui, look, "Signatures", None);
        }
        for signed in state.signatures() {
            let meaning = capital(&signed.meaning.to_string());
            let mut first =
                Type::Strong.text(format!("{meaning}: {}", signed.scope), look.colors.ink);
            let name = format!("{} ({}), {}", signed.name, signed.role, minute(signed.mark.at));
            let mut second = Type::Body.text(name, look.colors.ink);
            if let Some(line) = signed.superseded_by {
                first = first.strikethrough();
                second = second.strikethrough();
                ui.add(egui::Label::new(first).wrap());
                ui.add(egui::Label::new(second).wrap());
                let text = format!("superseded by line {line} of the journal");
                ui.label(Type::Small.text(text, look.colors.ink_soft));
            } else {
                ui.add(egui::Label::new(first).wrap());
                ui.add(egui::Label::new(second).wrap());
                let text = format!("line {} of the journal", signed.mark.line);
                ui.label(Type::Small.text(text, look.colors.ink_soft));
            }
        }
        ui.add_space(GAP);
        ui.horizontal_wrapped(|ui| {
            let stands = state.signatures().iter().any(::review::Signed::stands);
            let all = [(Command::Sign, true), (Command::Reopen, stands)];
            for (command, _) in all.into_iter().filter(|(_, shown)| *shown) {
                let key = command.key_text(ui.ctx());
                if widgets::button(ui, look, command.title(), &key).clicked() {
                    asked.push(Ask::Do(command));
                }
            }
        });
    });
    review.asked.extend(asked);
}

/// Where a scope stands, in words.
pub fn stand(state: &State, scope: &Scope) -> String {
    let (done, all) = state.settled(scope);
    let settled = format!("{done} of {all} resolved");
    if state.is_signed(Meaning::Approved, scope) {
        format!("{settled}, approved")
    } else if state.is_signed(Meaning::Reviewed, scope) {
        format!("{settled}, reviewed")
    } else {
        settled
    }
}
