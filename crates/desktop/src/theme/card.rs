//! Cards and dialogs, and what stands in them: titles, running text, names with their figures.

use super::widgets;
use super::{GAP, Look, MARGIN, Type, explained};
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Id, Label, Layout, Margin, Modal, RichText, Sense, Ui, UiBuilder, vec2};

/// A card of the pane.
pub fn card(ui: &mut Ui, look: Look, content: impl FnOnce(&mut Ui)) {
    Frame::new().fill(look.colors.surface).inner_margin(Margin::symmetric(MARGIN as i8, 10)).show(
        ui,
        |ui| {
            ui.set_width(ui.available_width());
            content(ui);
        },
    );
    ui.add_space(GAP);
}

/// A title with a button to close what it heads; gives whether that was pressed.
pub fn title(ui: &mut Ui, look: Look, text: &str, close: Option<&str>) -> bool {
    let mut closed = false;
    ui.horizontal(|ui| {
        let text = Type::Title.text(text, look.colors.ink);
        if let Some(name) = close {
            // A long title goes on below instead of under the button.
            let room = ui.available_width() - 22.0 - ui.spacing().item_spacing.x;
            ui.scope(|ui| {
                ui.set_max_width(room);
                ui.add(Label::new(text).wrap());
            });
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(22.0, 22.0), Sense::hover());
                let glyph = widgets::Glyph::Close;
                closed = widgets::glyph_button(ui, look, rect, glyph, name).clicked();
            });
        } else {
            ui.label(text);
        }
    });
    closed
}

/// Running text.
pub fn paragraph(ui: &mut Ui, look: Look, text: &str) {
    let text = RichText::new(text).font(Type::Body.font()).color(look.colors.ink);
    let label = Label::new(text.line_height(Some(19.0))).wrap().selectable(true);
    ui.add(label);
}

/// What went wrong or is not there, in the colour of alarms; a screen reader says it at once.
pub fn alert(ui: &mut Ui, look: Look, text: &str) {
    let builder = UiBuilder::new().accessibility_role(Access::Alert).accessibility_label(text);
    ui.scope_builder(builder, |ui| {
        let text = Type::Strong.text(text, look.colors.alert);
        ui.add(Label::new(text).wrap().selectable(true));
    });
}

/// Running text below what it is about.
pub fn explanation(ui: &mut Ui, look: Look, about: &str, text: &str) {
    ui.add_space(2.0);
    ui.label(Type::Small.text(about, look.colors.ink_soft));
    paragraph(ui, look, text);
}

/// A name and a figure beside each other, each in its own column.
pub fn figure(ui: &mut Ui, look: Look, name: &str, value: &str) {
    ui.spacing_mut().interact_size.y = 17.0;
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = GAP;
        let width = 112.0;
        ui.allocate_ui_with_layout(vec2(width, 17.0), Layout::top_down(Align::Min), |ui| {
            ui.set_min_width(width);
            // The smaller letters stand on the line of the figure beside.
            ui.add_space(1.5);
            let name_of = Label::new(Type::Small.text(name, look.colors.ink_soft)).wrap();
            explained(ui.add(name_of), look, name);
        });
        let text = Type::Strong.text(value, look.colors.ink);
        ui.add(Label::new(text).wrap().selectable(true));
    });
}

/// Draws a dialog over everything else; gives whether it is to be closed.
pub fn dialog(ui: &Ui, look: Look, name: &str, width: f32, content: impl FnOnce(&mut Ui)) -> bool {
    let frame = Frame::popup(ui.style()).inner_margin(MARGIN);
    let modal = Modal::new(Id::unique(name)).frame(frame).backdrop_color(look.colors.veil);
    let shown = modal.show(ui.ctx(), |ui| {
        ui.set_width(width);
        content(ui);
    });
    shown.should_close()
}
