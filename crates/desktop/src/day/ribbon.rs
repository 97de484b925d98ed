//! The valve's positions and the products as ribbons over the time axis. Each position has its
//! own pattern and, where there is room, its name.

use crate::day::Day;
use crate::theme::{Look, Pattern, Type, fill_pattern, valve_pattern, widgets};
use analysis::Rule;
use case::Case;
use chart::Curves;
use egui::{Align2, Painter, Rangef, Rect, Stroke, pos2};
use trace::{Instant, Interval, ValveState};

/// What is narrower has no word, not even the beginning of one.
const LEAST_WORDED: f32 = 28.0;

/// Draws the valve's positions. In the overview they have no names.
pub fn draw_valve(
    painter: &Painter,
    look: Look,
    (case, curves): (&Case, &Curves),
    shown: Interval,
    area: Rect,
    x: impl Fn(Instant) -> f32,
    names: bool,
) {
    let colors = look.colors;
    painter.rect_filled(area, 0.0, colors.sunken);
    let mut reach = f32::NEG_INFINITY;
    for (state, interval) in chart::positions(case, curves, shown) {
        let mut range = Rangef::new(x(interval.start()), x(interval.end()));
        // What is short of a pixel must not vanish; what lies on a pixel already drawn may.
        if range.max <= reach + 0.3 {
            continue;
        }
        range.max = range.max.max(range.min + 1.0);
        reach = range.max;
        draw_run(painter, look, state, area, range, names);
    }
}

fn draw_run(
    painter: &Painter,
    look: Look,
    state: ValveState,
    area: Rect,
    range: Rangef,
    names: bool,
) {
    let colors = look.colors;
    let rect = Rect::from_x_y_ranges(range, area.y_range()).intersect(area);
    let ink = match state {
        ValveState::Forward => {
            painter.rect_filled(rect, 0.0, colors.forward);
            colors.on_forward
        }
        ValveState::Divert | ValveState::Travel | ValveState::Unknown => {
            painter.rect_filled(rect, 0.0, colors.surface);
            let lines = match state {
                ValveState::Unknown => look.rule(Rule::UNVERIFIABLE),
                _ => colors.line_strong,
            };
            let pattern = if rect.width() < 3.0 { Pattern::Plain } else { valve_pattern(state) };
            fill_pattern(painter, rect, pattern, lines.gamma_multiply(0.8));
            colors.ink
        }
    };
    let width = 14.0 + 6.6 * state.name().len() as f32;
    if names && rect.width() > width.max(LEAST_WORDED) {
        let at = if rect.width() > 260.0 {
            pos2(rect.left() + width / 2.0 + 4.0, rect.center().y)
        } else {
            rect.center()
        };
        if state != ValveState::Forward {
            let plate = Rect::from_center_size(at, egui::vec2(width - 4.0, rect.height() - 2.0));
            painter.rect_filled(plate, 2.0, colors.surface);
        }
        widgets::text_in(painter, at, Align2::CENTER_CENTER, state.name(), Type::Small, ink, width);
    }
}

/// Draws where the product changes, with the products' names.
pub fn draw_products(
    painter: &Painter,
    look: Look,
    day: &Day,
    shown: Interval,
    area: Rect,
    x: impl Fn(Instant) -> f32,
) {
    let (Some(runs), Some(text)) = (day.curves.products(), day.case.record().product()) else {
        return;
    };
    let colors = look.colors;
    for run in runs.visible(chart::samples(&day.case, shown)) {
        let interval = chart::lasting(&day.case, run.first, run.last);
        let range = Rangef::new(x(interval.start()), x(interval.end()));
        let rect = Rect::from_x_y_ranges(range, area.y_range()).intersect(area);
        if rect.width() < 1.0 {
            continue;
        }
        if range.min > area.left() {
            let edge = [rect.left_top(), rect.left_bottom()];
            painter.line_segment(edge, Stroke::new(1.5, colors.ink_soft));
        }
        let name = text.words().get(run.state as usize).map_or("", String::as_str);
        let (name, color) =
            if name.is_empty() { ("no product", colors.ink_soft) } else { (name, colors.ink) };
        if rect.width() > LEAST_WORDED {
            let at = pos2(rect.left() + 5.0, rect.center().y);
            let room = rect.width() - 9.0;
            widgets::text_left(painter, at, name, Type::Small, color, room);
        }
    }
}
