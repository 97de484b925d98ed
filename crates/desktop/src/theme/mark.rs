//! Marks that tell the traces of a plot apart without colour: the first has none, every other one
//! has a shape of its own, on the trace and beside its name.

use egui::{Color32, Painter, Pos2, Shape, Stroke, vec2};

/// The corners of the mark of the trace with this rank, around the origin; none for the first.
fn corners(rank: usize) -> &'static [(f32, f32)] {
    match rank {
        0 => &[],
        1 => &[(-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0)],
        2 => &[(0.0, -4.0), (3.8, 3.0), (-3.8, 3.0)],
        _ => &[(0.0, -4.4), (4.4, 0.0), (0.0, 4.4), (-4.4, 0.0)],
    }
}

/// Draws the mark of the trace with this rank around `center`.
pub fn trace_mark(painter: &Painter, center: Pos2, rank: usize, color: Color32, ground: Color32) {
    let corners = corners(rank);
    if corners.is_empty() {
        return;
    }
    let points = corners.iter().map(|&(x, y)| center + vec2(x, y)).collect();
    painter.add(Shape::convex_polygon(points, ground, Stroke::new(1.5, color)));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_traces_have_four_shapes() {
        for one in 0..4 {
            for other in one + 1..4 {
                assert_ne!(corners(one), corners(other), "{one} and {other}");
            }
        }
    }
}
