//! Draws the lines of one channel. Where a column of pixels holds several readings its least and
//! greatest are drawn as one upright stroke, which is what all readings would have drawn.

use egui::{Color32, Mesh, Pos2, Rect, Shape, Stroke, pos2, vec2};
use pyramid::Polylines;

/// How a line looks.
#[derive(Debug, Clone, Copy)]
pub struct Ink {
    /// The width of the line in points.
    pub width: f32,
    /// Its colour.
    pub color: Color32,
    /// Its colour where it is so dense that it fills an area.
    pub dense: Color32,
    /// How many pixels there are to a point.
    pub pixels_per_point: f32,
}

/// The shapes of `lines` in `area`; `place` says where a sample lies.
pub fn shapes(
    area: Rect,
    lines: &Polylines,
    place: impl Fn(usize) -> Pos2,
    ink: Ink,
) -> Vec<Shape> {
    let columns = (area.width() * ink.pixels_per_point).max(1.0) as usize;
    // From about here on upright strokes look the same and are far cheaper.
    if lines.samples().len() > columns * 3 / 2 {
        return vec![Shape::mesh(uprights(area, lines, place, ink))];
    }
    let stroke = Stroke::new(ink.width, ink.color);
    let mut shapes = Vec::new();
    for run in lines.runs() {
        match *run {
            [] => {}
            [one] => {
                let size = vec2(ink.width + 1.5, ink.width + 1.5);
                let dot = Rect::from_center_size(place(one as usize), size);
                shapes.push(Shape::rect_filled(dot, 0.0, ink.color));
            }
            _ => {
                let points = run.iter().map(|&sample| place(sample as usize)).collect();
                shapes.push(Shape::line(points, stroke));
            }
        }
    }
    shapes
}

/// One upright stroke for each column of pixels, each reaching half way to its neighbours.
fn uprights(area: Rect, lines: &Polylines, place: impl Fn(usize) -> Pos2, ink: Ink) -> Mesh {
    let pixel = 1.0 / ink.pixels_per_point;
    let half = ink.width / 2.0;
    let mut mesh = Mesh::default();
    let columns = (area.width() * ink.pixels_per_point) as usize + 2;
    mesh.reserve_vertices(4 * columns);
    mesh.reserve_triangles(2 * columns);
    let add = |mesh: &mut Mesh, column: i32, top: f32, bottom: f32| {
        let left = area.left() + column as f32 * pixel;
        let rect = Rect::from_min_max(pos2(left, top - half), pos2(left + pixel, bottom + half));
        mesh.add_colored_rect(rect, ink.dense);
    };
    for run in lines.runs() {
        let mut points = run.iter().map(|&sample| place(sample as usize));
        let Some(first) = points.next() else { continue };
        // Columns are counted in whole pixels; far beyond the edges it matters no more.
        let column_of = |x: f32| ((x - area.left()) * ink.pixels_per_point).floor() as i32;
        let mut column = column_of(first.x);
        let (mut top, mut bottom) = (first.y, first.y);
        let mut last = first;
        for point in points {
            let own = column_of(point.x);
            if own == column {
                top = top.min(point.y);
                bottom = bottom.max(point.y);
            } else if own - column == 1 {
                let middle = f32::midpoint(last.y, point.y);
                add(&mut mesh, column, top.min(middle), bottom.max(middle));
                (top, bottom) = (middle.min(point.y), middle.max(point.y));
                column = own;
            } else {
                add(&mut mesh, column, top, bottom);
                bridge(&mut mesh, half, last, point, ink.dense);
                (top, bottom) = (point.y, point.y);
                column = own;
            }
            last = point;
        }
        add(&mut mesh, column, top, bottom);
    }
    mesh
}

/// The line between two readings with columns between them that hold none.
fn bridge(mesh: &mut Mesh, half: f32, before: Pos2, after: Pos2, color: Color32) {
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
