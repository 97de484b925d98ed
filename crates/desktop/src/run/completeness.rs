//! What the record of a day must hold by the plant's list, and whether it does: told apart by
//! shape and word.

use super::table;
use crate::day::Day;
use crate::theme::{Look, MARGIN, ROW, Type, widgets};
use analysis::Presence;
use egui::accesskit::Role as Access;
use egui::{Align2, Rect, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

/// Draws the list; what is missing stands first.
pub(super) fn show(ui: &mut Ui, look: Look, day: &Day) {
    let colors = look.colors;
    let items = &day.audit.completeness;
    if items.is_empty() {
        let text = "The plant file has no list of what a record must hold.";
        table::note(ui, look, text);
        return;
    }
    let of = |presence: Presence| items.iter().filter(move |item| item.presence == presence);
    let order = [Presence::Missing, Presence::NeedsEntry, Presence::Present];
    let builder = egui::UiBuilder::new()
        .accessibility_role(Access::Table)
        .accessibility_label("What the record must hold");
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    ui.scope_builder(builder, |ui| {
        egui::ScrollArea::vertical().auto_shrink(false).id_salt("must hold").show(ui, |ui| {
            for item in order.into_iter().flat_map(of) {
                let size = vec2(ui.available_width(), ROW);
                let (rect, response) = ui.allocate_exact_size(size, Sense::click());
                let said = || {
                    format!(
                        "{}: {}. {}. Asked for by {}",
                        item.presence.name(),
                        item.item,
                        item.detail,
                        item.source
                    )
                };
                response.widget_info(|| WidgetInfo::labeled(Access::Row, true, said()));
                if response.hovered() {
                    ui.painter().rect_filled(rect, 0.0, colors.hovered);
                }
                let (y, left) = (rect.center().y, rect.left() + MARGIN);
                let mark = Rect::from_center_size(pos2(left + 6.0, y), vec2(11.0, 11.0));
                sign(ui, look, mark, item.presence);
                let ink =
                    if item.presence == Presence::Missing { colors.alert } else { colors.ink };
                // Item, detail and source share what the word leaves.
                let room = rect.width() - 2.0 * MARGIN - 128.0;
                let (first, second, third) = (0.48 * room, 0.35 * room, 0.17 * room);
                for (x, text, step, ink, width) in [
                    (left + 20.0, item.presence.name(), Type::Strong, ink, 104.0),
                    (left + 128.0, item.item.as_str(), Type::Body, colors.ink, first - 12.0),
                    (left + 128.0 + first, &item.detail, Type::Body, colors.ink, second - 12.0),
                    (
                        left + 128.0 + first + second,
                        &item.source,
                        Type::Small,
                        colors.ink_soft,
                        third - 12.0,
                    ),
                ] {
                    let at = pos2(x, y);
                    widgets::text_in(ui.painter(), at, Align2::LEFT_CENTER, text, step, ink, width);
                }
                ui.painter().hline(rect.x_range(), rect.bottom() - 0.5, look.hairline());
                widgets::focus_ring(ui, look, &response, rect);
                response.on_hover_text(said());
            }
        });
    });
}

/// Filled: present. Crossed out: missing. Empty with a line to write on: needs an entry.
fn sign(ui: &Ui, look: Look, rect: Rect, presence: Presence) {
    let (colors, painter) = (look.colors, ui.painter());
    let (ink, line) = match presence {
        Presence::Missing => (colors.alert, Stroke::new(1.8, colors.alert)),
        _ => (colors.ink, Stroke::new(1.4, colors.ink)),
    };
    match presence {
        Presence::Present => {
            painter.rect_filled(rect, 2.0, ink);
        }
        Presence::Missing => {
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            painter.line_segment([rect.left_top(), rect.right_bottom()], line);
            painter.line_segment([rect.right_top(), rect.left_bottom()], line);
        }
        Presence::NeedsEntry => {
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            let y = rect.bottom() - 3.5;
            let dash = [pos2(rect.left() + 2.5, y), pos2(rect.right() - 2.5, y)];
            painter.line_segment(dash, line);
        }
    }
}
