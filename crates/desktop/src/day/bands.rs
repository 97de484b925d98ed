//! Paints the exceptions as bands through all plots: the outer bound light, what was observed in the
//! pattern of its rule.

use crate::theme::Type;
use crate::theme::{Look, Pattern, fill_pattern, rule_pattern, widgets};
use analysis::{Exception, Rule};
use chart::{Band, Grain};
use egui::{Align2, Painter, Rangef, Rect, Stroke, StrokeKind, pos2};
use trace::{Instant, Interval};

/// What is shorter than two points is drawn as wide, and bands less than a point apart as one.
const GRAIN: Grain = Grain { least: 2.0, apart: 1.0 };

/// The bands that touch `shown`, see [`chart::bands`].
pub fn visible(
    exceptions: &[Exception],
    shown: Interval,
    x: impl Fn(Instant) -> f32,
    keep: Option<usize>,
) -> Vec<Band> {
    chart::bands(exceptions, shown, x, GRAIN, keep)
}

/// A range of the screen.
pub fn range((from, to): (f32, f32)) -> Rangef {
    Rangef::new(from, to)
}

/// Draws the bands over `area`; `own` says whether the plot is about the rule.
pub fn draw(painter: &Painter, look: Look, area: Rect, bands: &[Band], own: impl Fn(Rule) -> bool) {
    let upright = |range: Rangef| Rect::from_x_y_ranges(range, area.y_range()).intersect(area);
    for band in bands {
        let color = look.rule(band.rule);
        let own = own(band.rule);
        let (outer, observed) = (upright(range(band.outer)), upright(range(band.observed)));
        if outer.is_positive() {
            painter.rect_filled(outer, 0.0, color.gamma_multiply(if own { 0.11 } else { 0.06 }));
        }
        if observed.is_positive() {
            painter.rect_filled(observed, 0.0, color.gamma_multiply(if own { 0.16 } else { 0.06 }));
            if own && observed.width() > 4.0 {
                fill_pattern(
                    painter,
                    observed,
                    rule_pattern(band.rule),
                    color.gamma_multiply(0.55),
                );
            } else if own {
                fill_pattern(painter, observed, Pattern::Plain, color.gamma_multiply(0.75));
            }
        }
    }
}

/// Draws the edges of the chosen exception through the whole stack.
pub fn draw_chosen(painter: &Painter, look: Look, area: Rect, band: &Band) {
    let stroke = Stroke::new(1.5, look.rule(band.rule));
    for x in [band.outer.0, band.outer.1] {
        if area.x_range().contains(x) {
            let line = [pos2(x, area.top()), pos2(x, area.bottom())];
            painter.extend(egui::Shape::dashed_line(&line, stroke, 5.0, 4.0));
        }
    }
}

/// Draws the span of the chosen observation through the whole stack, and above it what it is called.
pub fn draw_observation(
    painter: &Painter,
    look: Look,
    (area, flags): (Rect, Rect),
    ends: Rangef,
    title: &str,
) {
    let colors = look.colors;
    let span = Rect::from_x_y_ranges(ends, area.y_range()).intersect(area);
    if span.is_positive() {
        painter.rect_filled(span, 0.0, colors.ink.gamma_multiply(0.06));
    }
    let mut edges = vec![ends.min];
    if ends.span() > 2.0 {
        edges.push(ends.max);
    }
    let stroke = Stroke::new(1.5, colors.ink);
    for x in edges.into_iter().filter(|&x| area.x_range().contains(x)) {
        let line = [pos2(x, area.top()), pos2(x, area.bottom())];
        painter.extend(egui::Shape::dashed_line(&line, stroke, 2.0, 3.0));
    }
    if !area.x_range().intersects(ends) {
        return;
    }
    let galley = painter.layout_no_wrap(title.to_owned(), Type::Small.font(), colors.surface);
    let width = (galley.size().x + 12.0).min(area.width());
    let half = width / 2.0;
    let seen = ends.center().clamp(area.left(), area.right());
    let middle = seen.clamp(area.left() + half, area.right() - half);
    let place = Rangef::new(middle - half, middle + half);
    let flag = Rect::from_x_y_ranges(place, flags.y_range()).shrink2(egui::vec2(0.0, 1.0));
    painter.rect_filled(flag, 3.0, colors.ink);
    painter.galley(flag.center() - galley.size() / 2.0, galley, colors.surface);
}

/// Draws the flags with the short names of the rules above the bands, as many as find room.
pub fn draw_flags(
    painter: &Painter,
    look: Look,
    area: Rect,
    bands: &[Band],
    chosen: Option<usize>,
) {
    let chosen_first = bands
        .iter()
        .filter(|band| chosen == Some(band.index))
        .chain(bands.iter().filter(|band| chosen != Some(band.index)));
    let mut placed: Vec<Rangef> = Vec::new();
    for band in chosen_first {
        let is_chosen = chosen == Some(band.index);
        let text = band.rule.code();
        let width = 12.0 + 8.0 * text.chars().count() as f32;
        let center = range(band.observed).center();
        let middle = center.clamp(area.left() + width / 2.0, area.right() - width / 2.0);
        if !area.x_range().contains(center) && !is_chosen {
            continue;
        }
        let flag = Rangef::new(middle - width / 2.0, middle + width / 2.0);
        if placed.iter().any(|other| other.min < flag.max + 2.0 && flag.min < other.max + 2.0) {
            continue;
        }
        placed.push(flag);
        let rect = Rect::from_x_y_ranges(flag, area.y_range()).shrink2(egui::vec2(0.0, 1.0));
        let color = look.rule(band.rule);
        let (fill, ink) =
            if is_chosen { (color, look.colors.surface) } else { (look.colors.surface, color) };
        painter.rect(rect, 3.0, fill, Stroke::new(1.2, color), StrokeKind::Inside);
        let center = rect.center();
        widgets::text_in(painter, center, Align2::CENTER_CENTER, text, Type::Small, ink, width);
    }
}
