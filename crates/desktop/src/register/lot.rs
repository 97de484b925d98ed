//! Everything that touches one lot.

use super::parts::{inner, note};
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Type};
use daybook::{Entry, lot};
use egui::{Frame, Id, TextEdit, Ui};

/// The page.
#[derive(Debug, Default)]
pub(super) struct Lot {
    typed: String,
    /// Whether the keyboard is to go to the field.
    pub(super) focus: bool,
}

impl Lot {
    /// Draws the page; gives the record that was chosen.
    pub(super) fn show(&mut self, ui: &mut Ui, look: Look, entries: &[Entry]) -> Option<usize> {
        let mut chosen = None;
        let frame = Frame::new().fill(look.colors.surface).inner_margin(inner());
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            ui.horizontal(|ui| {
                let label = ui.label(Type::Strong.text("Lot", look.colors.ink));
                // A message that appears above must not take the keyboard away.
                let id = Id::unique("lot");
                let field = TextEdit::singleline(&mut self.typed).id(id).desired_width(260.0);
                let field = ui.add(field).labelled_by(label.id);
                if std::mem::take(&mut self.focus) {
                    field.request_focus();
                }
            });
            if self.typed.trim().is_empty() {
                note(ui, look, "Type a lot to see every run and exception that touches it.");
                return;
            }
            let found = lot(entries, &self.typed);
            ui.add_space(GAP);
            ui.horizontal_wrapped(|ui| {
                for entry in &found.records {
                    let name = format!("Open {}", entry.name());
                    if widgets::button(ui, look, &name, "").clicked() {
                        chosen = entries.iter().position(|one| std::ptr::eq(one, *entry));
                    }
                }
            });
            ui.add_space(MARGIN);
            egui::ScrollArea::vertical().auto_shrink(false).id_salt("lot").show(ui, |ui| {
                let text = Type::Body.text(found.text(), look.colors.ink);
                ui.add(egui::Label::new(text).wrap().selectable(true));
            });
        });
        chosen
    }
}
