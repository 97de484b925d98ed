//! Messages that something failed. They lie over the bottom of the window, so that nothing moves when one comes
//! or goes, stay until they are dismissed, and can be copied.

use crate::action::Actions;
use crate::commands::Command;
use crate::problem::Problem;
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use egui::accesskit::Role;
use egui::{Align2, Ui};

/// The messages that are shown, the oldest first.
#[derive(Debug, Default)]
pub struct Problems {
    messages: Vec<Problem>,
}

impl Problems {
    /// Shows a message until it is dismissed.
    pub fn add(&mut self, problem: Problem) {
        if !self.messages.contains(&problem) {
            self.messages.push(problem);
        }
    }

    /// The messages that are shown.
    pub fn messages(&self) -> &[Problem] {
        &self.messages
    }

    /// Dismisses the oldest message.
    pub fn dismiss(&mut self) {
        if !self.messages.is_empty() {
            self.messages.remove(0);
        }
    }

    /// Copies the oldest message.
    pub fn copy(&self, context: &egui::Context) {
        if let Some(problem) = self.messages.first() {
            context.copy_text(problem.whole());
        }
    }

    /// Draws the oldest message and says how many wait behind it.
    pub fn show(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        let Some(problem) = self.messages.first() else {
            return;
        };
        let colors = look.colors;
        let width = ui.ctx().content_rect().width() - 4.0 * MARGIN;
        widgets::overlay(ui, "problem", Align2::CENTER_BOTTOM, |ui| {
            ui.set_width(width);
            let builder = egui::UiBuilder::new()
                .accessibility_role(Role::Alert)
                .accessibility_label(problem.whole());
            ui.scope_builder(builder, |ui| {
                ui.horizontal_top(|ui| {
                    ui.add_space(GAP + 4.0);
                    ui.vertical(|ui| {
                        ui.set_width(ui.available_width() - 250.0);
                        // In a low window the title stands in the first line of the text.
                        let low = ui.ctx().content_rect().height() < 640.0;
                        let mut job = egui::text::LayoutJob::default();
                        let mut append = |text: &str, step: Type, color| {
                            let format = egui::TextFormat::simple(step.font(), color);
                            job.append(text, 0.0, format);
                        };
                        if low {
                            append(&problem.title, Type::Strong, colors.alert);
                            append(":  ", Type::Strong, colors.alert);
                        } else {
                            ui.label(Type::Strong.text(&problem.title, colors.alert));
                        }
                        append(&problem.text, Type::Body, colors.ink);
                        ui.add(egui::Label::new(job).wrap().selectable(true));
                    });
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                        actions.button(ui, look, Command::DismissMessage, "Dismiss");
                        if widgets::button(ui, look, "Copy", "").clicked() {
                            actions.push(Command::CopyMessage);
                        }
                        let waiting = self.messages.len() - 1;
                        if waiting > 0 {
                            let text = format!("{waiting} more");
                            ui.label(Type::Small.text(text, colors.ink_soft));
                        }
                    });
                });
                let used = ui.min_rect();
                let bar = egui::Rect::from_min_max(
                    used.left_top(),
                    egui::pos2(used.left() + 4.0, used.bottom()),
                );
                ui.painter().rect_filled(bar, 2.0, colors.alert);
            });
        });
    }
}
