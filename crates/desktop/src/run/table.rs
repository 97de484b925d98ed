//! A plain table: a heading, rows that say all of themselves in words, and cells that are cut with
//! an ellipsis rather than run into each other.

use crate::theme::{Look, MARGIN, Type, widgets};
use egui::accesskit::Role as Access;
use egui::{Align2, Sense, Ui, WidgetInfo, pos2, vec2};

/// A column: its heading, its least width in points, and whether its cells stand to the right.
pub(super) type Column = (&'static str, f32, bool);

/// Draws rows of cells below their headings. Columns share what room is left in proportion to
/// their widths; where there is none, all give up in proportion.
pub(super) fn show(ui: &mut Ui, look: Look, name: &str, columns: &[Column], rows: &[Vec<String>]) {
    let colors = look.colors;
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let least: f32 = columns.iter().map(|column| column.1).sum();
    let stretch = (ui.available_width() - 2.0 * MARGIN - 12.0).max(40.0) / least.max(1.0);
    let line = |ui: &Ui, left: f32, y: f32, cells: &[&str], heading: bool| {
        let mut x = left + MARGIN;
        for (index, (&(_, width, figure), cell)) in columns.iter().zip(cells).enumerate() {
            let width = width * stretch;
            let (at, anchor) = if figure {
                (pos2(x + width - 8.0, y), Align2::RIGHT_CENTER)
            } else {
                (pos2(x + 4.0, y), Align2::LEFT_CENTER)
            };
            let (step, ink) = match (heading, index) {
                (true, _) => (Type::Small, colors.ink_soft),
                (false, 0) => (Type::Strong, colors.ink),
                (false, _) => (Type::Body, colors.ink),
            };
            widgets::text_in(ui.painter(), at, anchor, cell, step, ink, width - 10.0);
            x += width;
        }
    };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 22.0), Sense::hover());
    let headings: Vec<&str> = columns.iter().map(|column| column.0).collect();
    line(ui, rect.left(), rect.center().y, &headings, true);
    ui.painter().hline(rect.x_range(), rect.bottom(), look.hairline());
    let builder =
        egui::UiBuilder::new().accessibility_role(Access::Table).accessibility_label(name);
    ui.scope_builder(builder, |ui| {
        for row in rows {
            let said = || {
                let cells = columns.iter().zip(row).filter(|(_, cell)| !cell.is_empty());
                let cells: Vec<String> = cells
                    .map(|((heading, ..), cell)| {
                        if heading.is_empty() { cell.clone() } else { format!("{heading} {cell}") }
                    })
                    .collect();
                cells.join(", ")
            };
            let (rect, response) = widgets::row(ui, look, (false, 0.0), || {
                WidgetInfo::labeled(Access::Row, true, said())
            });
            let cells: Vec<&str> = row.iter().map(String::as_str).collect();
            line(ui, rect.left(), rect.center().y, &cells, false);
            widgets::row_end(ui, look, &response);
            response.on_hover_text(said());
        }
    });
}

/// A sentence in place of a table, or above one.
pub(super) fn note(ui: &mut Ui, look: Look, text: &str) {
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        ui.add_space(MARGIN);
        ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap().selectable(true));
    });
    ui.add_space(6.0);
}
