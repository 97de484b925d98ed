//! What is shown while nothing is open: the demo, opening a file, dropping a file.

use crate::action::{Action, Actions};
use crate::commands::Command;
use crate::header::draw_mark;
use crate::settings::Settings;
use crate::task::file_name;
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Type};
use egui::{Sense, Ui, vec2};

/// Draws the screen.
pub fn show(ui: &mut Ui, look: Look, settings: &Settings, has_demo: bool, actions: &mut Actions) {
    let colors = look.colors;
    let left = ((ui.available_width() - 620.0) / 2.0).max(MARGIN);
    let top = (ui.available_height() * 0.16).max(MARGIN);
    ui.add_space(top);
    ui.horizontal(|ui| {
        ui.add_space(left);
        ui.vertical(|ui| {
            ui.set_width(620.0_f32.min(ui.available_width() - MARGIN));
            ui.spacing_mut().item_spacing.y = 10.0;
            let (rect, _) = ui.allocate_exact_size(vec2(78.0, 60.0), Sense::hover());
            draw_mark(ui.painter(), look, rect);
            ui.add_space(GAP);
            ui.label(Type::Verdict.text("Open a pasteurizer's day", colors.ink));
            let text = "Holdtrace lists where the record does not show that forward flow was safe, \
                        and which lots and tanks to hold.";
            ui.label(Type::Body.text(text, colors.ink_soft));
            ui.add_space(MARGIN);
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = 8.0;
                if has_demo {
                    actions.primary_button(ui, look, Command::OpenDemo, "Open the demo");
                }
                for command in [Command::OpenFiles, Command::OpenFolder] {
                    actions.button(ui, look, command, command.title());
                }
            });
            let text = "Or drop a logger's CSV files here, or a folder with one file a day.";
            ui.label(Type::Body.text(text, colors.ink_soft));
            if has_demo {
                let text = "The demo is invented: plant, people, lots and readings.";
                ui.label(Type::Small.text(text, colors.ink_soft));
            }
            if !settings.recent.is_empty() {
                ui.add_space(MARGIN);
                ui.label(Type::Title.text("Recent", colors.ink));
                ui.spacing_mut().item_spacing.y = 4.0;
                for path in settings.recent.iter().take(5) {
                    let folder = path
                        .parent()
                        .map_or_else(String::new, |folder| folder.display().to_string());
                    ui.horizontal(|ui| {
                        if widgets::button(ui, look, &file_name(path), "").clicked() {
                            actions.push(Action::Open(vec![path.clone()]));
                        }
                        let text = Type::Small.text(folder, colors.ink_soft);
                        ui.add(egui::Label::new(text).truncate());
                    });
                }
            }
            ui.add_space(MARGIN);
            ui.label(Type::Small.text(case::CAUTION, colors.ink_soft));
        });
    });
}
