//! Patterns that tell bands and states apart without colour.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, pos2};

/// What an area is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// A plain fill.
    Plain,
    /// Lines that rise to the right.
    Rising,
    /// Lines that fall to the right.
    Falling,
    /// Level lines.
    Level,
    /// Dots.
    Dots,
    /// Rising and falling lines.
    Cross,
}

/// Distance between the lines of a pattern in points.
const PITCH: f32 = 7.0;

/// Fills `rect` with a pattern. Patterns hang on the screen, not on the rectangle, so that two
/// areas side by side join without a seam.
pub fn fill_pattern(painter: &Painter, rect: Rect, pattern: Pattern, color: Color32) {
    let rect = rect.intersect(painter.clip_rect());
    if !rect.is_positive() {
        return;
    }
    let stroke = Stroke::new(1.0, color);
    let mut shapes = Vec::new();
    match pattern {
        Pattern::Plain => shapes.push(Shape::rect_filled(rect, 0.0, color)),
        Pattern::Rising => diagonals(&mut shapes, rect, true, stroke),
        Pattern::Falling => diagonals(&mut shapes, rect, false, stroke),
        Pattern::Cross => {
            diagonals(&mut shapes, rect, true, stroke);
            diagonals(&mut shapes, rect, false, stroke);
        }
        Pattern::Level => {
            let mut y = (rect.top() / 4.0).ceil() * 4.0 + 0.5;
            while y < rect.bottom() {
                shapes.push(Shape::line_segment(
                    [pos2(rect.left(), y), pos2(rect.right(), y)],
                    stroke,
                ));
                y += 4.0;
            }
        }
        Pattern::Dots => {
            let mut row = (rect.top() / PITCH).floor() as i32;
            while (row as f32) * PITCH < rect.bottom() {
                let shift = if row % 2 == 0 { 0.0 } else { PITCH / 2.0 };
                let y = row as f32 * PITCH + PITCH / 2.0;
                let mut x = (rect.left() / PITCH).floor() * PITCH + shift;
                while x < rect.right() {
                    let dot = Rect::from_center_size(pos2(x, y), egui::Vec2::splat(2.0));
                    let dot = dot.intersect(rect);
                    if dot.is_positive() {
                        shapes.push(Shape::rect_filled(dot, 0.0, color));
                    }
                    x += PITCH;
                }
                row += 1;
            }
        }
    }
    painter.extend(shapes);
}

/// The lines x + y = c (rising) or x − y = c (falling), cut at the rectangle.
fn diagonals(shapes: &mut Vec<Shape>, rect: Rect, rising: bool, stroke: Stroke) {
    let sign = if rising { 1.0 } else { -1.0 };
    let (near, far) =
        if rising { (rect.top(), rect.bottom()) } else { (rect.bottom(), rect.top()) };
    let least = rect.left() + sign * near;
    let greatest = rect.right() + sign * far;
    let mut c = (least / PITCH).floor() * PITCH;
    while c <= greatest {
        // On the line, y = sign · (c − x).
        let at = |x: f32| sign * (c - x);
        let (mut one, mut other): (Pos2, Pos2) =
            (pos2(rect.left(), at(rect.left())), pos2(rect.right(), at(rect.right())));
        for point in [&mut one, &mut other] {
            let y = point.y.clamp(rect.top(), rect.bottom());
            *point = pos2(c - sign * y, y);
        }
        if one.x >= rect.left() - 0.1 && other.x <= rect.right() + 0.1 && one.x < other.x {
            shapes.push(Shape::line_segment([one, other], stroke));
        }
        c += PITCH;
    }
}

/// A small sample of a pattern with an edge, as in a legend.
pub fn swatch(painter: &Painter, rect: Rect, pattern: Pattern, color: Color32) {
    painter.rect_filled(rect, 2.0, color.gamma_multiply(0.16));
    fill_pattern(painter, rect.shrink(1.0), pattern, color);
    painter.rect_stroke(rect, 2.0, Stroke::new(1.2, color), StrokeKind::Inside);
}
