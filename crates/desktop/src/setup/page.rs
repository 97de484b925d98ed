//! The page as it is drawn: the columns, what is asked beside them, the day below.

use super::state::Setup;
use super::{asked, columns, seen};
use crate::action::Actions;
use crate::commands::Command;
use crate::settings::Settings;
use crate::task::record_name;
use crate::theme::{GAP, Look, MARGIN, Type};
use ::setup::SeenLogger;
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Layout, Margin, Ui, UiBuilder};

impl Setup {
    /// Draws the page.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        settings: &mut Settings,
        actions: &mut Actions,
    ) {
        let plain = Frame::new().fill(look.colors.ground);
        egui::Panel::top("set up").frame(plain).resizable(false).show(ui, |ui| {
            self.head(ui, look, actions);
        });
        let margin = Margin { left: 6, right: 0, top: 0, bottom: 0 };
        egui::Panel::right("said").frame(plain.inner_margin(margin)).exact_size(338.0).show(
            ui,
            |ui| {
                if asked::show(ui, look, self) {
                    self.changed();
                    ui.ctx().request_repaint();
                }
            },
        );
        let most = (ui.available_height() * 0.62).max(120.0);
        let rows = columns::height(&self.sheets).min(most);
        egui::Panel::top("columns").frame(plain).exact_size(rows).resizable(false).show(ui, |ui| {
            if columns::show(ui, look, (&self.sheets, &mut self.draft)) {
                self.changed();
                ui.ctx().request_repaint();
            }
        });
        egui::CentralPanel::default().frame(plain).show(ui, |ui| {
            seen::show(ui, look, self, settings);
        });
    }

    fn head(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add_space(MARGIN);
                ui.add_enabled_ui(self.is_complete(), |ui| {
                    let text = "Save the plant file, open the day";
                    actions.primary_button(ui, look, Command::SaveSetup, text);
                });
                let builder = UiBuilder::new()
                    .accessibility_role(Access::Banner)
                    .accessibility_label("Set up")
                    .layout(Layout::left_to_right(Align::Center));
                ui.scope_builder(builder, |ui| {
                    ui.add_space(MARGIN);
                    let text = Type::Verdict.text(self.sentence(), look.colors.ink);
                    ui.add(egui::Label::new(text).truncate());
                });
            });
        });
        ui.spacing_mut().interact_size.y = 15.0;
        ui.spacing_mut().item_spacing.y = 2.0;
        for text in [self.facts(), case::CAUTION.to_owned()] {
            ui.horizontal(|ui| {
                ui.add_space(MARGIN);
                let text = Type::Small.text(text, look.colors.ink_soft);
                let label = ui.add(egui::Label::new(text).truncate());
                if let Some(why) = &self.why {
                    label.on_hover_text(why);
                }
            });
        }
        ui.add_space(GAP);
    }

    fn sentence(&self) -> String {
        let (first, name) = if self.sheets.are_several() {
            ("The files".to_owned(), "the files".to_owned())
        } else {
            (record_name(&self.files), record_name(&self.files))
        };
        match (self.asked.len() + usize::from(self.asked_by_reading.is_some()), &self.seen) {
            (0, Some(Err(_))) => format!("{first} can't be read like this"),
            (0, _) => format!("{first} can be read"),
            (1, _) => format!("One question before {name} can be read"),
            (many, _) => format!("{many} questions before {name} can be read"),
        }
    }

    fn facts(&self) -> String {
        let of = |seen: &SeenLogger| {
            let apart = match seen.sheet.delimiter {
                ',' => "commas",
                ';' => "semicolons",
                '\t' => "tabs",
                _ => "bars",
            };
            format!(
                "eader on line {}, {} below it, cells separated by {apart}.",
                seen.sheet.header_line,
                case::plural(usize::try_from(seen.sheet.rows).unwrap_or(usize::MAX), "row"),
            )
        };
        if let [only] = self.sheets.loggers.as_slice() {
            return format!("There is no plant file beside it. H{}", of(only));
        }
        let loggers = self.draft.loggers.iter().zip(&self.sheets.loggers);
        let each = loggers.map(|(logger, seen)| format!("{}: h{}", logger.name, of(seen)));
        let each: Vec<String> = each.collect();
        format!("There is no plant file beside them. {}", each.join(" "))
    }
}
