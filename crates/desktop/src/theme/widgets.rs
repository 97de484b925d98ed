//! The few controls of our own that screens share.

use super::{GAP, Look, MARGIN, Type};
use egui::accesskit::Role;
use egui::{
    Align2, Color32, ComboBox, Id, Pos2, Rect, Response, Sense, Stroke, StrokeKind, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};

/// A text button with its key beside it.
pub fn button(ui: &mut Ui, look: Look, text: &str, key: &str) -> Response {
    drawn_button(ui, look, text, (key, text), false)
}

/// The same with its full name in the accessibility tree.
pub fn named_button(ui: &mut Ui, look: Look, text: &str, name: &str) -> Response {
    drawn_button(ui, look, text, ("", name), false)
}

/// The same, filled: the one thing to do next.
pub fn primary_button(ui: &mut Ui, look: Look, text: &str, key: &str) -> Response {
    drawn_button(ui, look, text, (key, text), true)
}

/// One of several answers: a button that is filled while it is the one that was given.
pub fn choice(ui: &mut Ui, look: Look, on: bool, text: &str, name: &str) -> Response {
    let response = drawn_button(ui, look, text, ("", name), on);
    response.widget_info(|| WidgetInfo::selected(Role::Button, ui.is_enabled(), on, name));
    response
}

fn drawn_button(
    ui: &mut Ui,
    look: Look,
    text: &str,
    (key, name): (&str, &str),
    primary: bool,
) -> Response {
    let colors = look.colors;
    let (ink, soft) =
        if primary { (colors.on_accent, colors.on_accent) } else { (colors.ink, colors.ink_soft) };
    let words = ui.painter().layout_no_wrap(text.to_owned(), Type::Strong.font(), ink);
    let hint = ui.painter().layout_no_wrap(key.to_owned(), Type::Small.font(), soft);
    let between = if key.is_empty() { 0.0 } else { GAP + 2.0 };
    let size = vec2(words.size().x + between + hint.size().x + 20.0, 26.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    if ui.is_rect_visible(rect) {
        let fill = match (primary, response.hovered() && ui.is_enabled()) {
            (true, false) => colors.accent,
            (true, true) => colors.accent.gamma_multiply(0.88),
            (false, false) => colors.surface,
            (false, true) => colors.hovered,
        };
        let edge = if primary { colors.accent } else { colors.line_strong };
        ui.painter().rect(rect, 4.0, fill, Stroke::new(1.0, edge), StrokeKind::Inside);
        let y = rect.center().y;
        let left = pos2(rect.left() + 10.0, y - words.size().y / 2.0);
        let right = rect.right() - 10.0 - hint.size().x;
        ui.painter().galley(left, words, ink);
        ui.painter().galley(pos2(right, y - hint.size().y / 2.0), hint, soft);
        focus_ring(ui, look, &response, rect);
    }
    response
}

/// A field that unfolds what can be chosen.
pub fn choose(
    ui: &mut Ui,
    (field, id): (Rect, Id),
    name: &str,
    shown: &str,
    content: impl FnOnce(&mut Ui),
) {
    let mut inner = ui.new_child(UiBuilder::new().max_rect(field).id_salt(id));
    inner.spacing_mut().interact_size.y = field.height();
    inner.spacing_mut().button_padding = vec2(6.0, 1.0);
    let shown = Type::Body.text(shown, inner.visuals().text_color());
    let combo = ComboBox::from_id_salt(id).selected_text(shown).width(field.width()).height(420.0);
    let combo = combo.wrap_mode(egui::TextWrapMode::Truncate);
    combo.show_ui(&mut inner, content).response.accessible_name(name);
}

/// Something that comes and goes over the window, at an edge of it: nothing moves for it.
pub fn overlay(ui: &Ui, name: &str, edge: Align2, content: impl FnOnce(&mut Ui)) {
    let away = if edge.y() == egui::Align::Min { MARGIN } else { -MARGIN };
    let area = egui::Area::new(Id::unique(("overlay", name))).order(egui::Order::Foreground);
    area.anchor(edge, vec2(0.0, away)).fade_in(false).show(ui.ctx(), |ui| {
        egui::Frame::popup(ui.style()).show(ui, content);
    });
}

/// A button that is on or off, such as a filter.
pub fn toggle(ui: &mut Ui, look: Look, on: bool, text: &str) -> Response {
    toggle_named(ui, look, on, text, text)
}

/// The same with short words on it and its full name in the accessibility tree.
pub fn toggle_named(ui: &mut Ui, look: Look, on: bool, text: &str, name: &str) -> Response {
    let colors = look.colors;
    let words = ui.painter().layout_no_wrap(text.to_owned(), Type::Body.font(), colors.ink);
    let (rect, response) =
        ui.allocate_exact_size(vec2(words.size().x + 16.0, 24.0), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::Button, ui.is_enabled(), on, name));
    if ui.is_rect_visible(rect) {
        let fill = match (on, response.hovered()) {
            (true, _) => colors.selected,
            (false, true) => colors.hovered,
            (false, false) => Color32::TRANSPARENT,
        };
        ui.painter().rect_filled(rect, 4.0, fill);
        if on {
            let line =
                [rect.left_bottom() + vec2(6.0, -1.0), rect.right_bottom() + vec2(-6.0, -1.0)];
            ui.painter().line_segment(line, Stroke::new(2.0, colors.accent));
        }
        ui.painter().galley(rect.center() - words.size() / 2.0, words, colors.ink);
        focus_ring(ui, look, &response, rect);
    }
    response
}

/// What is drawn on a [`glyph_button`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glyph {
    /// A triangle that points down: unfolded.
    Unfolded,
    /// A triangle that points right: folded.
    Folded,
    /// An arrow up.
    Up,
    /// An arrow down.
    Down,
    /// A cross: close.
    Close,
}

/// Draws a glyph around `center`.
pub fn glyph(painter: &egui::Painter, center: Pos2, glyph: Glyph, color: Color32) {
    let at = |x: f32, y: f32| center + vec2(x, y);
    let line = Stroke::new(1.6, color);
    match glyph {
        Glyph::Unfolded => {
            let corners = vec![at(-4.5, -2.5), at(4.5, -2.5), at(0.0, 3.5)];
            painter.add(egui::Shape::convex_polygon(corners, color, Stroke::NONE));
        }
        Glyph::Folded => {
            let corners = vec![at(-2.5, -4.5), at(3.5, 0.0), at(-2.5, 4.5)];
            painter.add(egui::Shape::convex_polygon(corners, color, Stroke::NONE));
        }
        Glyph::Up | Glyph::Down => {
            let tip = if glyph == Glyph::Up { -4.0 } else { 4.0 };
            painter.line_segment([at(0.0, -tip), at(0.0, tip)], line);
            painter.line_segment([at(-3.5, tip * 0.2), at(0.0, tip)], line);
            painter.line_segment([at(3.5, tip * 0.2), at(0.0, tip)], line);
        }
        Glyph::Close => {
            painter.line_segment([at(-4.0, -4.0), at(4.0, 4.0)], line);
            painter.line_segment([at(4.0, -4.0), at(-4.0, 4.0)], line);
        }
    }
}

/// A small button that shows a glyph and is named in the accessibility tree.
pub fn glyph_button(ui: &mut Ui, look: Look, rect: Rect, shape: Glyph, name: &str) -> Response {
    let id = ui.make_persistent_id(name);
    let response = ui.interact(rect, id, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    let color = if response.hovered() { look.colors.ink } else { look.colors.ink_soft };
    if response.hovered() {
        ui.painter().rect_filled(rect, 3.0, look.colors.hovered);
    }
    glyph(ui.painter(), rect.center(), shape, color);
    focus_ring(ui, look, &response, rect);
    response.on_hover_text(name)
}

/// Shows that `response` has the keyboard focus.
pub fn focus_ring(ui: &Ui, look: Look, response: &Response, rect: Rect) {
    if response.has_focus() {
        ui.painter().rect_stroke(rect, 4.0, look.focus(), StrokeKind::Inside);
    }
}

/// How wide a text is on one line.
pub fn width(ui: &Ui, text: &str, step: Type) -> f32 {
    ui.painter().layout_no_wrap(text.to_owned(), step.font(), Color32::PLACEHOLDER).size().x
}

/// Draws text that is cut with an ellipsis when it is wider than `width`; returns its width.
pub fn text_in(
    painter: &egui::Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    step: Type,
    color: Color32,
    width: f32,
) -> f32 {
    let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), step.font(), color);
    job.wrap = egui::text::TextWrapping::truncate_at_width(width.max(0.0));
    let galley = painter.layout_job(job);
    let rect = anchor.anchor_size(at, galley.size());
    let drawn = galley.size().x;
    painter.galley(rect.min, galley, color);
    drawn
}

/// The same, which begins at `at`.
pub fn text_left(
    painter: &egui::Painter,
    at: Pos2,
    text: &str,
    step: Type,
    color: Color32,
    width: f32,
) -> f32 {
    text_in(painter, at, Align2::LEFT_CENTER, text, step, color, width)
}

/// The same, which ends at `at`.
pub fn text_right(
    painter: &egui::Painter,
    at: Pos2,
    text: &str,
    step: Type,
    color: Color32,
    width: f32,
) -> f32 {
    text_in(painter, at, Align2::RIGHT_CENTER, text, step, color, width)
}

/// The text with a capital letter first.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Draws how far something has come, 0 to 1.
pub fn progress_bar(ui: &mut Ui, look: Look, width: f32, fraction: f32, name: &str) {
    let (rect, response) = ui.allocate_exact_size(vec2(width, 8.0), Sense::hover());
    response.widget_info(|| WidgetInfo {
        value: Some(f64::from((fraction * 100.0).round())),
        ..WidgetInfo::labeled(Role::ProgressIndicator, true, name)
    });
    ui.painter().rect_filled(rect, 4.0, look.colors.sunken);
    let mut done = rect;
    done.set_width(rect.width() * fraction.clamp(0.0, 1.0));
    ui.painter().rect_filled(done, 4.0, look.colors.accent);
}
