//! What the pages of the register have in common.

use crate::theme::{Look, MARGIN, Type, explained, widgets};
use daybook::Fact;
use egui::{Margin, Sense, Ui, vec2};

/// A sentence in place of a page.
pub(super) fn note(ui: &mut Ui, look: Look, text: &str) {
    ui.add_space(MARGIN);
    ui.horizontal(|ui| {
        ui.add_space(MARGIN);
        ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap().selectable(true));
    });
}

/// Labels with what there is to say, below each other.
pub(super) fn facts(ui: &mut Ui, look: Look, facts: &[Fact], label: f32) {
    for Fact { label: name, text } in facts {
        ui.horizontal_top(|ui| {
            let (rect, response) = ui.allocate_exact_size(vec2(label, 17.0), Sense::hover());
            let (at, ink) = (rect.left_center(), look.colors.ink_soft);
            let anchor = egui::Align2::LEFT_CENTER;
            widgets::text_in(ui.painter(), at, anchor, name, Type::Small, ink, label);
            explained(response, look, name);
            let text = Type::Body.text(text, look.colors.ink);
            ui.add(egui::Label::new(text).wrap().selectable(true));
        });
    }
}

/// A panel's margin.
pub(super) const fn inner() -> Margin {
    Margin { left: MARGIN as i8, right: MARGIN as i8, top: 4, bottom: 8 }
}
