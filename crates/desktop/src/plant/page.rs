//! The page as it is drawn: its sections on the left, the fields, what differs on the right.

use super::form;
use super::state::PlantPage;
use crate::action::Actions;
use crate::commands::Command;
use crate::theme::card::{card, paragraph, title};
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use ::setup::edit::{Line, Place, SECTIONS, Section};
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Label, Layout, Margin, ScrollArea, Ui, UiBuilder};

impl PlantPage {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        let plain = Frame::new().fill(look.colors.ground);
        egui::Panel::top("plant file").frame(plain).resizable(false).show(ui, |ui| {
            self.head(ui, look, actions);
        });
        let margin = Margin { left: MARGIN as i8, right: 6, top: 4, bottom: 0 };
        let frame = plain.inner_margin(margin);
        let width = self.sections_width(ui) + f32::from(margin.left + margin.right);
        egui::Panel::left("sections").frame(frame).exact_size(width).resizable(false).show(
            ui,
            |ui| {
                self.sections(ui, look);
            },
        );
        let margin = Margin { left: 6, right: 0, top: 0, bottom: 0 };
        let frame = plain.inner_margin(margin);
        // In a narrow window the form comes first.
        let beside = if ui.available_width() < 900.0 { 240.0 } else { 338.0 };
        egui::Panel::right("difference").frame(frame).exact_size(beside).show(ui, |ui| {
            self.beside(ui, look);
        });
        egui::CentralPanel::default().frame(plain).show(ui, |ui| form::show(ui, look, self));
    }

    fn head(&self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        ui.add_space(GAP);
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add_space(MARGIN);
                let can_be_saved = self.is_changed() && self.fault.is_none();
                ui.add_enabled_ui(can_be_saved, |ui| {
                    actions.primary_button(ui, look, Command::SaveSetup, "Save the plant file");
                });
                let leave = if self.is_changed() { "Close without saving" } else { "Close" };
                actions.button(ui, look, Command::LeavePlantFile, leave);
                let builder = UiBuilder::new()
                    .accessibility_role(Access::Banner)
                    .accessibility_label("Plant file")
                    .layout(Layout::left_to_right(Align::Center));
                ui.scope_builder(builder, |ui| {
                    ui.add_space(MARGIN);
                    let text = Type::Verdict.text(self.sentence(), look.colors.ink);
                    ui.add(Label::new(text).truncate());
                });
            });
        });
        ui.spacing_mut().interact_size.y = 15.0;
        ui.spacing_mut().item_spacing.y = 2.0;
        for text in self.approval.iter().map(String::as_str).chain([case::CAUTION]) {
            ui.horizontal(|ui| {
                ui.add_space(MARGIN);
                ui.add(Label::new(Type::Small.text(text, look.colors.ink_soft)).truncate());
            });
        }
        ui.add_space(GAP);
    }

    fn sentence(&self) -> String {
        let name = self.name();
        match (&self.fault, self.is_changed()) {
            (Some(_), false) => format!("{name} can't be used"),
            (Some(_), true) => format!("{name}: unsaved changes, with an error"),
            (None, true) => format!("{name}: unsaved changes"),
            (None, false) => format!("{name}: no changes"),
        }
    }

    /// What a section is called, and whether it has an error or changes.
    fn section_name(&self, index: usize, section: &Section) -> String {
        let changes = self.changes.get(index).copied().unwrap_or_default();
        let state = match (self.fault_section() == Some(index), changes) {
            (true, _) => " \u{b7} error".to_owned(),
            (false, 0) => String::new(),
            (false, many) => format!(" \u{b7} {many} changed"),
        };
        format!("{}{state}", section.title)
    }

    /// The width that the longest name needs: the panel grows with what is changed rather than cut it.
    fn sections_width(&self, ui: &Ui) -> f32 {
        let names = SECTIONS.iter().enumerate().map(|(index, one)| self.section_name(index, one));
        let widths = names.map(|name| widgets::width(ui, &name, Type::Body) + 16.0);
        widths.fold(154.0, f32::max).ceil()
    }

    fn sections(&mut self, ui: &mut Ui, look: Look) {
        ui.spacing_mut().item_spacing.y = 2.0;
        for (index, section) in SECTIONS.iter().enumerate() {
            let text = self.section_name(index, section);
            if widgets::toggle(ui, look, self.section == index, &text).clicked() {
                self.section = index;
            }
        }
    }

    /// What is wrong, and what differs.
    fn beside(&mut self, ui: &mut Ui, look: Look) {
        let mut go_to = None;
        let mut is_taken_back = false;
        let mut is_taken_over = false;
        ScrollArea::vertical().auto_shrink(false).id_salt("difference").show(ui, |ui| {
            if let Some(fault) = &self.fault {
                card(ui, look, |ui| {
                    title(ui, look, "Error", None);
                    let section = self.fault_section();
                    let Some(at) = section.and_then(|index| SECTIONS.get(index)) else {
                        paragraph(ui, look, &fault.message);
                        return;
                    };
                    let name = fault.place.and_then(|place| name_of(at, place)).unwrap_or_default();
                    paragraph(ui, look, &format!("{}: {name}; the message is beside the field.", at.title));
                    let go = format!("Go to {}", at.title);
                    if section != Some(self.section) && widgets::button(ui, look, &go, "").clicked() {
                        go_to = section;
                    }
                });
            }
            if self.to_take().is_some()
                && let Some(test) = &self.offered
            {
                card(ui, look, |ui| {
                    title(ui, look, "Holding time test", None);
                    let [on, by] = [&test.tested_on, &test.tested_by]
                        .map(|text| text.as_deref().unwrap_or_default());
                    let text = format!(
                        "In the register: {}, tested {on} by {by}. The plant file says something else, and records are \
                         audited by the plant file.",
                        test.figure()
                    );
                    paragraph(ui, look, &text);
                    is_taken_over = widgets::button(ui, look, "Take over this test", "").clicked();
                });
            }
            card(ui, look, |ui| {
                title(ui, look, "Changes to the file", None);
                if self.difference.is_empty() {
                    let text = "None. Changes are listed here before they are saved; the rest of the file and its comments are kept.";
                    paragraph(ui, look, text);
                    return;
                }
                lines(ui, look, &self.difference);
                ui.add_space(GAP);
                let text = "The previous file is kept beside the new one under a dated name, for the records \
                            that were signed with it. A supervisor must approve the new file.";
                ui.add(Label::new(Type::Small.text(text, look.colors.ink_soft)).wrap());
                ui.add_space(GAP);
                is_taken_back = widgets::button(ui, look, "Discard all changes", "").clicked();
            });
        });
        if let Some(section) = go_to {
            self.section = section;
        }
        if is_taken_over {
            self.take_test();
        }
        if is_taken_back {
            self.take_back();
        }
    }
}

/// The name of a field.
fn name_of(section: &Section, place: Place) -> Option<&'static str> {
    let group = section.groups.iter().find(|group| group.table == place.table)?;
    let field = group.fields.iter().find(|field| field.key == place.key)?;
    Some(if group.is_column() { group.title } else { field.name })
}

/// The lines that differ, each with its sign.
fn lines(ui: &mut Ui, look: Look, lines: &[Line]) {
    ui.spacing_mut().item_spacing.y = 1.0;
    for line in lines {
        let (sign, text, ink) = match line {
            Line::Gone(text) => ("\u{2212}", text.as_str(), look.colors.alert),
            Line::New(text) => ("+", text.as_str(), look.colors.ink),
            Line::Same(text) => (" ", text.as_str(), look.colors.ink_soft),
            Line::Apart => ("", "\u{2026}", look.colors.ink_soft),
        };
        let text = format!("{sign} {}", trace::visible(text));
        let text = egui::RichText::new(text).font(egui::FontId::monospace(12.0)).color(ink);
        ui.add(Label::new(text).wrap().selectable(true));
    }
}
