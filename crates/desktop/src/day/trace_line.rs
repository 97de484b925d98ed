//! Draws the lines of one channel. Where a column of pixels holds several readings its least and
//! greatest are drawn as one upright stroke, which is what all readings would have drawn.

use egui::{Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};
use pyramid::Polylines;

/// Draws `lines`; `place` says where a sample lies. The second ink is for lines so dense that they
/// fill an area.
pub fn draw(
    painter: &Painter,
    area: Rect,
    lines: &Polylines,
    place: impl Fn(usize) -> Pos2,
    width: f32,
    (color, dense): (Color32, Color32),
) {
    let columns = (area.width() * painter.pixels_per_point()).max(1.0) as usize;
    // From about here on upright strokes look the same and are far cheaper.
    if lines.samples().len() > columns * 3 / 2 {
        columns_of(painter, area, lines, place, width, dense);
        return;
    }
    let stroke = Stroke::new(width, color);
    for run in lines.runs() {
        let points: Vec<Pos2> = run.iter().map(|&sample| place(sample as usize)).collect();
        match points.as_slice() {
            [] => {}
            [one] => {
                let dot = Rect::from_center_size(*one, vec2(width + 1.5, width + 1.5));
                painter.rect_filled(dot, 0.0, color);
            }
            _ => {
                painter.add(Shape::line(points, stroke));
            }
        }
    }
}

fn columns_of(
    painter: &Painter,
    area: Rect,
    lines: &Polylines,
    place: impl Fn(usize) -> Pos2,
    width: f32,
    color: Color32,
) {
    let pixel = 1.0 / painter.pixels_per_point();
    let half = width / 2.0;
    let column_of = |x: f32| ((x - area.left()) / pixel).floor();
    let mut mesh = Mesh::default();
    for run in lines.runs() {
        let mut column = f32::NEG_INFINITY;
        let (mut top, mut bottom) = (0.0_f32, 0.0_f32);
        let mut last: Option<Pos2> = None;
        for &sample in run {
            let point = place(sample as usize);
            let own = column_of(point.x);
            if (own - column).abs() < 0.5 {
                top = top.min(point.y);
                bottom = bottom.max(point.y);
            } else {
                if let Some(before) = last {
                    upright(&mut mesh, area, column, pixel, top - half, bottom + half, color);
                    // The line from the last reading of that column to the first of this one.
                    bridge(&mut mesh, area, (column, own), pixel, half, before, point, color);
                }
                column = own;
                (top, bottom) = (point.y, point.y);
            }
            last = Some(point);
        }
        if last.is_some() {
            upright(&mut mesh, area, column, pixel, top - half, bottom + half, color);
        }
    }
    painter.add(Shape::mesh(mesh));
}

fn upright(
    mesh: &mut Mesh,
    area: Rect,
    column: f32,
    pixel: f32,
    top: f32,
    bottom: f32,
    color: Color32,
) {
    let left = area.left() + column * pixel;
    let rect = Rect::from_min_max(pos2(left, top), pos2(left + pixel, bottom));
    let rect = rect.intersect(area);
    if rect.is_positive() {
        mesh.add_colored_rect(rect, color);
    }
}

#[expect(clippy::too_many_arguments, reason = "two ends, their columns and how to draw")]
fn bridge(
    mesh: &mut Mesh,
    area: Rect,
    (from, to): (f32, f32),
    pixel: f32,
    half: f32,
    before: Pos2,
    after: Pos2,
    color: Color32,
) {
    let columns = to - from;
    if columns <= 1.5 {
        // Neighbours: each side reaches to the middle.
        let middle = f32::midpoint(before.y, after.y);
        for (column, y) in [(from, before.y), (to, after.y)] {
            let (top, bottom) = (y.min(middle) - half, y.max(middle) + half);
            upright(mesh, area, column, pixel, top, bottom, color);
        }
        return;
    }
    let corner = |point: Pos2, side: f32| pos2(point.x, point.y + side * half);
    let base = mesh.vertices.len() as u32;
    for point in
        [corner(before, -1.0), corner(before, 1.0), corner(after, 1.0), corner(after, -1.0)]
    {
        mesh.colored_vertex(point, color);
    }
    mesh.add_triangle(base, base + 1, base + 2);
    mesh.add_triangle(base, base + 2, base + 3);
}
