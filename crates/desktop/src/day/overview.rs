//! The whole record in one strip, always visible: the holding temperature, the exceptions, the
//! valve, and the window of the plots, which can be dragged, resized and drawn anew.

use crate::day::drawing::Drawing;
use crate::day::series::Series;
use crate::day::trace_line::Ink;
use crate::day::window::TimeWindow;
use crate::day::{Day, bands, ribbon, trace_line};
use crate::settings::Settings;
use crate::theme::{GUTTER, Look, MARGIN, SCALE_WIDTH, Type, fill_pattern, rule_pattern, widgets};
use crate::units::Units;
use analysis::Rule;
use chart::{Columns, PlotKind, Polylines, Scale, time_ticks};
use egui::accesskit::Role as Access;
use egui::{
    Align2, Color32, CursorIcon, Id, Rangef, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};
use trace::{Instant, Interval};

/// The height of the strip.
pub const HEIGHT: f32 = 68.0;
const VALVE: f32 = 7.0;
const LANE: f32 = 12.0;
const LABELS: f32 = 15.0;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Drag {
    Move(f32),
    From,
    To,
    Draw(Instant),
}

/// Draws the strip.
pub fn show(ui: &mut Ui, look: Look, day: &mut Day, drawing: &mut Drawing, settings: &Settings) {
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let x = Rangef::new(area.left() + GUTTER, area.right() - SCALE_WIDTH);
    if x.span() < 40.0 {
        return;
    }
    let strip = Rect::from_x_y_ranges(x, Rangef::new(area.top() + 2.0, area.bottom() - LABELS));
    let lane = Rect::from_x_y_ranges(
        x,
        Rangef::new(strip.bottom() - VALVE - LANE, strip.bottom() - VALVE),
    );
    let valve = Rect::from_x_y_ranges(x, Rangef::new(strip.bottom() - VALVE, strip.bottom()));
    let plot = Rect::from_min_max(strip.left_top(), lane.right_top());
    let whole = TimeWindow::whole(day.case.record().interval());
    let at = |instant: Instant| whole.x(instant, x);
    drag(ui, day, whole, strip, x);

    let colors = look.colors;
    let painter = ui.painter_at(strip);
    painter.rect_filled(strip, 0.0, colors.surface);
    holding(ui, look, (day, drawing), settings.units, whole, plot);
    let found =
        bands::visible(&day.case.audit().exceptions, day.case.record().interval(), at, None);
    painter.rect_filled(lane, 0.0, colors.sunken);
    for &rule in Rule::ALL {
        for band in found.iter().filter(|band| band.rule == rule) {
            let range = Rangef::new(band.observed.0, band.observed.1.max(band.observed.0 + 2.5));
            let rect = Rect::from_x_y_ranges(range, lane.y_range());
            let color = look.rule(rule);
            painter.rect_filled(rect, 0.0, color.gamma_multiply(0.35));
            fill_pattern(&painter, rect, rule_pattern(rule), color);
            if range.span() < 8.0 {
                painter.rect_filled(rect, 0.0, color);
            }
            let up = Rect::from_x_y_ranges(range, plot.y_range());
            painter.rect_filled(up, 0.0, color.gamma_multiply(0.22));
        }
    }
    let record = day.case.record().interval();
    ribbon::draw_valve(&painter, look, (&day.case, &day.curves), record, valve, at, false);

    // What is outside the window is dimmed.
    let shown = day.window.interval();
    let window = Rangef::new(at(shown.start()), at(shown.end()).max(at(shown.start()) + 7.0));
    if !day.window.is_whole() {
        let veil = colors.ground.gamma_multiply(0.5);
        for range in [Rangef::new(x.min, window.min), Rangef::new(window.max, x.max)] {
            painter.rect_filled(Rect::from_x_y_ranges(range, strip.y_range()), 0.0, veil);
        }
    }
    let frame = Rect::from_x_y_ranges(window, strip.y_range()).intersect(strip);
    painter.rect_stroke(frame, 2.0, Stroke::new(1.8, colors.accent), egui::StrokeKind::Inside);
    labels(ui, look, day, area, strip, whole);
}

fn labels(ui: &Ui, look: Look, day: &Day, area: Rect, strip: Rect, whole: TimeWindow) {
    let colors = look.colors;
    let x = strip.x_range();
    let painter = ui.painter();
    let most = (x.span() / 76.0) as usize;
    for tick in time_ticks(day.case.record().interval(), day.case.plant().zone, most) {
        let place = whole.x(tick.at, x);
        let half = 4.0 * tick.label.chars().count() as f32;
        let place = place.clamp(x.min + half, (x.max - half).max(x.min + half));
        let at = pos2(place, strip.bottom() + LABELS / 2.0);
        let ink = if tick.repeated { colors.accent } else { colors.ink_soft };
        widgets::text_in(painter, at, Align2::CENTER_CENTER, &tick.label, Type::Small, ink, 120.0);
    }
    let left = area.left() + MARGIN;
    let room = GUTTER - MARGIN - 8.0;
    let record = day.case.record().interval();
    let zone = day.case.plant().zone;
    let lines = [
        (Type::Strong, colors.ink, zone.date(record.start())),
        (
            Type::Small,
            colors.ink_soft,
            format!("{} to {}", day.case.clock(record.start()), day.case.clock(record.end())),
        ),
        (Type::Small, colors.ink_soft, format!("{} of record", record.duration())),
    ];
    for (row, (step, ink, text)) in lines.into_iter().enumerate() {
        let at = pos2(left, strip.top() + 9.0 + 17.0 * row as f32);
        widgets::text_left(painter, at, &text, step, ink, room);
    }
}

/// The trace of the strip and what it depends on. It stays the same while one pans and zooms.
#[derive(Debug)]
pub(super) struct Kept {
    plot: Rect,
    pixels_per_point: f32,
    units: Units,
    color: Color32,
    shapes: Vec<Shape>,
}

fn holding(
    ui: &Ui,
    look: Look,
    (day, drawing): (&Day, &mut Drawing),
    units: Units,
    whole: TimeWindow,
    plot: Rect,
) {
    let (pixels_per_point, color) = (ui.pixels_per_point(), look.colors.ink_soft);
    let kept = drawing.overview.take().filter(|kept| {
        kept.plot == plot
            && (kept.pixels_per_point - pixels_per_point).abs() < f32::EPSILON
            && kept.units == units
            && kept.color == color
    });
    let kept = kept.unwrap_or_else(|| Kept {
        plot,
        pixels_per_point,
        units,
        color,
        shapes: trace(day, units, whole, plot, color, pixels_per_point).unwrap_or_default(),
    });
    ui.painter_at(plot).extend(kept.shapes.iter().cloned());
    drawing.overview = Some(kept);
}

fn trace(
    day: &Day,
    units: Units,
    whole: TimeWindow,
    plot: Rect,
    color: Color32,
    pixels_per_point: f32,
) -> Option<Vec<Shape>> {
    let series =
        Series::of(PlotKind::Holding, (&day.case, &day.curves), units).into_iter().next()?;
    let instants = day.case.record().instants();
    let mut columns = Columns::new();
    let count = (plot.width() * pixels_per_point).round() as usize;
    let record = day.case.record().interval();
    columns.set(instants, record, count);
    let mut line = Polylines::new();
    series.series.curve().visible(&columns, &mut line);
    let seen = |forward| series.range(&line, record, forward);
    let scale = Scale::of(PlotKind::Holding, seen, std::iter::empty(), 2)?;
    let (factor, offset) = series.line();
    let height =
        |mantissa: i64| scale.y(mantissa as f64 * factor + offset, plot.bottom(), plot.top());
    let ink = Ink { width: 1.3, color, dense: color };
    let across = whole.places(plot.x_range());
    Some(trace_line::shapes(plot, (instants, &columns), &line, across, height, ink))
}

fn drag(ui: &Ui, day: &mut Day, whole: TimeWindow, strip: Rect, x: Rangef) {
    let response = ui.interact(strip, Id::unique("overview"), Sense::click_and_drag());
    let memory = Id::unique("drag over the overview");
    let shown = day.window.interval();
    let (from, to) = (whole.x(shown.start(), x), whole.x(shown.end(), x));
    response.widget_info(|| {
        let text = format!(
            "Overview of the whole record, window from {} to {}",
            day.case.clock(shown.start()),
            day.case.clock(shown.end())
        );
        WidgetInfo::labeled(Access::Figure, true, text)
    });
    let near = |place: f32, edge: f32| (place - edge).abs() < 6.0;
    if let Some(pos) = response.hover_pos() {
        let icon = if !day.window.is_whole() && (near(pos.x, from) || near(pos.x, to)) {
            CursorIcon::ResizeHorizontal
        } else if !day.window.is_whole() && (from..to).contains(&pos.x) {
            CursorIcon::Grab
        } else {
            CursorIcon::Crosshair
        };
        ui.ctx().set_cursor_icon(icon);
        let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
        let factor = f64::from(-scroll.y / 240.0).exp() / f64::from(pinch);
        if (factor - 1.0).abs() > 1e-6 {
            day.window.zoom(factor, whole.instant_at(pos.x, x));
        }
    }
    if response.drag_started()
        && let Some(origin) = ui.input(|input| input.pointer.press_origin())
    {
        let drag = if day.window.is_whole() {
            Drag::Draw(whole.instant_at(origin.x, x))
        } else if near(origin.x, from) {
            Drag::From
        } else if near(origin.x, to) {
            Drag::To
        } else if (from..to).contains(&origin.x) {
            Drag::Move(origin.x)
        } else {
            Drag::Draw(whole.instant_at(origin.x, x))
        };
        ui.data_mut(|data| data.insert_temp(memory, drag));
    }
    let Some(pos) = response.interact_pointer_pos() else { return };
    let at = whole.instant_at(pos.x.clamp(x.min, x.max), x);
    let drag: Option<Drag> = ui.data(|data| data.get_temp(memory));
    match drag {
        Some(Drag::Move(last)) => {
            let share = f64::from(pos.x - last) / f64::from(to - from).max(1.0);
            day.window.pan(share);
            ui.data_mut(|data| data.insert_temp(memory, Drag::Move(pos.x)));
        }
        Some(Drag::From) => day.window.show(Interval::between(at, shown.end()), 0.0, 0.0),
        Some(Drag::To) => day.window.show(Interval::between(shown.start(), at), 0.0, 0.0),
        Some(Drag::Draw(start)) if start != at => {
            day.window.show(Interval::between(start, at), 0.0, 0.0);
        }
        None if response.clicked() => {
            let span = day.window.span();
            day.window.show_around(at, span);
        }
        Some(Drag::Draw(_)) | None => {}
    }
    if response.drag_stopped() {
        ui.data_mut(|data| data.remove::<Drag>(memory));
    }
}
