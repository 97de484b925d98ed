//! What the cards of what is decided have in common: whether it is done, beside its title, and the button that
//! takes it back while it is not signed.

use super::standing::{Mark, draw as draw_mark};
use crate::theme::{Look, Type, widgets};
use egui::{Response, Sense, Ui, vec2};

/// Draws a title behind the mark of whether it is done.
pub(super) fn heading(ui: &mut Ui, look: Look, is_done: bool, text: &str) {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
        let mark = if is_done { Mark::Done } else { Mark::Open };
        draw_mark(ui.painter(), look, rect, mark);
        ui.label(Type::Title.text(text, look.colors.ink));
    });
}

/// Draws the button that takes back what was made; where that is signed, says so and gives none.
pub(super) fn undo(ui: &mut Ui, look: Look, is_signed: bool) -> Option<Response> {
    if is_signed {
        let text = "It is signed: reopen it to change it.";
        ui.label(Type::Small.text(text, look.colors.ink_soft));
        return None;
    }
    Some(widgets::button(ui, look, "Undo", ""))
}
