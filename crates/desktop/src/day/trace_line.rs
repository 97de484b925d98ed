//! Draws the lines of one channel. Where a column of pixels holds several readings its least and
//! greatest are drawn as one upright stroke, which is what all readings would have drawn.

use chart::{Columns, Polylines};
use egui::{Color32, Mesh, Pos2, Rect, Shape, Stroke, pos2, vec2};
use trace::Instant;

/// How a line looks.
#[derive(Debug, Clone, Copy)]
pub struct Ink {
    /// The width of the line in points.
    pub width: f32,
    /// Its colour.
    pub color: Color32,
    /// Its colour where it is so dense that it fills an area.
    pub dense: Color32,
}

/// The shapes of `line` in `area`, whose width is that of `columns`; `x` and `y` say where an
/// instant and a mantissa lie.
pub fn shapes(
    area: Rect,
    (instants, columns): (&[Instant], &Columns),
    line: &Polylines,
    x: impl Fn(Instant) -> f32,
    y: impl Fn(i64) -> f32,
    ink: Ink,
) -> Vec<Shape> {
    // From about here on upright strokes look the same and are far cheaper.
    if line.samples().len() > columns.len() * 3 / 2 {
        return vec![Shape::mesh(uprights(area, columns, line, y, ink))];
    }
    let place = |&sample: &u32, &mantissa: &i64| {
        let instant = instants.get(sample as usize).copied().unwrap_or_default();
        pos2(x(instant), y(mantissa))
    };
    let stroke = Stroke::new(ink.width, ink.color);
    let mut shapes = Vec::new();
    let mut mantissas = line.mantissas().iter();
    for run in line.runs() {
        let points: Vec<Pos2> = run
            .iter()
            .zip(&mut mantissas)
            .map(|(sample, mantissa)| place(sample, mantissa))
            .collect();
        if let [one] = *points {
            let dot = Rect::from_center_size(one, vec2(ink.width + 1.5, ink.width + 1.5));
            shapes.push(Shape::rect_filled(dot, 0.0, ink.color));
        } else {
            shapes.push(Shape::line(points, stroke));
        }
    }
    shapes
}

/// One upright stroke for each column of pixels, each reaching half way to its neighbours. Which
/// column a sample falls into is known without looking up its instant.
fn uprights(
    area: Rect,
    columns: &Columns,
    line: &Polylines,
    y: impl Fn(i64) -> f32,
    ink: Ink,
) -> Mesh {
    let pixel = area.width() / columns.len().max(1) as f32;
    let half = ink.width / 2.0;
    let mut mesh = Mesh::default();
    mesh.reserve_vertices(4 * columns.len() + 8);
    mesh.reserve_triangles(2 * columns.len() + 4);
    let left = |column: i32| area.left() + column as f32 * pixel;
    let add = |mesh: &mut Mesh, column: i32, top: f32, bottom: f32| {
        let (left, right) = (left(column), left(column) + pixel);
        let rect = Rect::from_min_max(pos2(left, top - half), pos2(right, bottom + half));
        mesh.add_colored_rect(rect, ink.dense);
    };
    // The sample beyond the left edge is in column −1, that beyond the right one in the last + 1.
    let mut ends = columns.samples().map(|samples| samples.end);
    let first = columns.samples().next().map_or(0, |samples| samples.start);
    let (mut own, mut end) = (-1, first);
    let mut mantissas = line.mantissas().iter();
    for run in line.runs() {
        let mut last: Option<(i32, f32)> = None;
        let (mut top, mut bottom) = (0.0_f32, 0.0_f32);
        for (&sample, &mantissa) in run.iter().zip(&mut mantissas) {
            while sample as usize >= end {
                own += 1;
                end = ends.next().unwrap_or(usize::MAX);
            }
            let here = y(mantissa);
            match last {
                Some((column, _)) if column == own => {
                    top = top.min(here);
                    bottom = bottom.max(here);
                }
                Some((column, before)) if own - column == 1 => {
                    let middle = f32::midpoint(before, here);
                    add(&mut mesh, column, top.min(middle), bottom.max(middle));
                    (top, bottom) = (middle.min(here), middle.max(here));
                }
                Some((column, before)) => {
                    add(&mut mesh, column, top, bottom);
                    let middle = |column: i32| left(column) + pixel / 2.0;
                    let ends = [pos2(middle(column), before), pos2(middle(own), here)];
                    bridge(&mut mesh, half, ends, ink.dense);
                    (top, bottom) = (here, here);
                }
                None => (top, bottom) = (here, here),
            }
            last = Some((own, here));
        }
        if let Some((column, _)) = last {
            add(&mut mesh, column, top, bottom);
        }
    }
    mesh
}

/// The line between two readings with columns between them that hold none.
fn bridge(mesh: &mut Mesh, half: f32, [before, after]: [Pos2; 2], color: Color32) {
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
