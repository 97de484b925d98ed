//! The banner over a record that is not what was reviewed.

use super::Review;
use crate::commands::Command;
use crate::theme::{Look, MARGIN, Type, widgets};
use egui::accesskit::Role as Access;
use egui::{Frame, Margin, Ui};

/// Draws the banner where something has changed.
pub fn banner(ui: &mut Ui, look: Look, review: &Review, commands: &mut Vec<Command>) {
    let Some(desk) = review.desk() else { return };
    let changes = desk.changes();
    if changes.is_empty() {
        return;
    }
    let colors = look.colors;
    let frame = Frame::new().fill(colors.surface).inner_margin(Margin::symmetric(MARGIN as i8, 8));
    egui::Panel::top("changed").frame(frame).resizable(false).show(ui, |ui| {
        let title = "This record is not what was reviewed";
        let builder = egui::UiBuilder::new()
            .accessibility_role(Access::Alert)
            .accessibility_label(format!("{title}: {}", changes.join("; ")));
        ui.scope_builder(builder, |ui| {
            ui.label(Type::Strong.text(title, colors.alert));
            for change in changes {
                let text = Type::Body.text(change, colors.ink);
                ui.add(egui::Label::new(text).wrap().selectable(true));
            }
            let text = "Nothing can be decided until the new audit is entered. Signatures are \
                        superseded then; resolutions of exceptions that are the same stay.";
            ui.add(egui::Label::new(Type::Small.text(text, colors.ink_soft)).wrap());
            let key = Command::ReAudit.key_text(ui.ctx());
            if widgets::primary_button(ui, look, Command::ReAudit.title(), &key).clicked() {
                commands.push(Command::ReAudit);
            }
        });
    });
}
