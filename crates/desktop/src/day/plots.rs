//! The stack of plots over one time axis, with one crosshair and one readout of all channels.
//!
//! To the left stand the names and the readings of the sample at the crosshair, raw and with
//! their validity; to the right the scales. A scale follows what is seen in forward flow, because
//! that is what the limits are about; diverted milk may run off its edge.

use crate::day::bands;
use crate::day::drawing::Drawing;
use crate::day::series::Series;
use crate::day::setting::PlotSetting;
use crate::day::{Day, ribbon, trace_line};
use crate::settings::Settings;
use crate::theme::widgets::{self, Glyph};
use crate::theme::{GUTTER, Look, MARGIN, SCALE_WIDTH, Type, explained, trace_mark};
use crate::units::{Shown, Units};
use chart::{Band, LimitStep, PlotKind, Scale, Tick, time_ticks};
use egui::accesskit::Role as Access;
use egui::{
    Align2, CursorIcon, EventFilter, Id, Key, PointerButton, Pos2, Rangef, Rect, Response, Sense,
    Stroke, Ui, WidgetInfo, pos2, vec2,
};
use trace::{Instant, Interval};

const PRODUCTS: f32 = 20.0;
const VALVE: f32 = 20.0;
const FLAGS: f32 = 19.0;
const AXIS: f32 = 24.0;
const FOLDED: f32 = 24.0;
const LEAST: f32 = 40.0;
/// The height of a figure beside a plot.
const LINE: f32 = 12.0;
/// The height of the sign where a trace leaves the range.
const ARROWHEAD: f32 = 6.0;
/// With this height two plots are shown under the ribbons.
pub const LEAST_HEIGHT: f32 = PRODUCTS + VALVE + FLAGS + 2.0 * LEAST + AXIS;

/// What a drag over the plots does.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Drag {
    Zoom(Instant),
    Measure(Instant),
    Pan(f32),
}

/// Where everything lies.
struct Frame {
    x: Rangef,
    products: Option<Rect>,
    valve: Rect,
    flags: Rect,
    plots: Vec<(usize, Rect)>,
    axis: Rect,
}

impl Frame {
    fn of(area: Rect, day: &Day, plots: &[PlotSetting]) -> Self {
        let x = Rangef::new(area.left() + GUTTER, area.right() - SCALE_WIDTH);
        let mut top = area.top();
        let mut lane = |height: f32| {
            let rect = Rect::from_x_y_ranges(x, Rangef::new(top, top + height));
            top += height;
            rect
        };
        let products = day.case.record().product().map(|_| lane(PRODUCTS));
        let valve = lane(VALVE);
        let flags = lane(FLAGS);
        let axis = Rect::from_x_y_ranges(x, Rangef::new(area.bottom() - AXIS, area.bottom()));

        let mut shown: Vec<(usize, &PlotSetting)> =
            plots.iter().enumerate().filter(|(_, plot)| plot.plot.is_in(&day.case)).collect();
        // Where there is too little room for all, those that the chosen observation is about stay.
        let least = |(_, plot): &(usize, &PlotSetting)| {
            if is_folded(day, **plot) { FOLDED } else { LEAST }
        };
        let is_other = |(_, plot): &(usize, &PlotSetting)| !day.unfolded.contains(&plot.plot);
        while !day.unfolded.is_empty()
            && shown.iter().map(least).sum::<f32>() > axis.top() - flags.bottom()
            && let Some(last) = shown.iter().rposition(is_other)
        {
            shown.remove(last);
        }
        let folded = shown.iter().filter(|(_, plot)| is_folded(day, **plot)).count() as f32;
        let shares: f32 = shown
            .iter()
            .filter(|(_, plot)| !is_folded(day, **plot))
            .map(|(_, plot)| plot.share)
            .sum();
        let room = (axis.top() - flags.bottom() - folded * FOLDED).max(0.0);
        let mut top = flags.bottom();
        let mut rects: Vec<(usize, Rect)> = Vec::new();
        for (index, plot) in shown {
            let height = if is_folded(day, *plot) {
                FOLDED
            } else {
                (room * plot.share / shares.max(0.01)).max(LEAST)
            };
            let bottom = (top + height).min(axis.top());
            // What finds no room in a low window is not drawn over the axis.
            if bottom - top < height.min(LEAST) - 8.0 {
                // The last one that did find room has what is left.
                if let Some((_, last)) = rects.last_mut() {
                    last.max.y = axis.top();
                }
                break;
            }
            rects.push((index, Rect::from_x_y_ranges(x, Rangef::new(top, bottom))));
            top = bottom;
        }
        Self { x, products, valve, flags, plots: rects, axis }
    }

    /// From the flags down to the axis.
    fn stack(&self) -> Rect {
        Rect::from_min_max(self.flags.left_top(), self.axis.right_top())
    }
}

/// Whether only the title of a plot is shown.
fn is_folded(day: &Day, plot: PlotSetting) -> bool {
    let of_day = plot.plot == PlotKind::Residence && day.unfolds_residence;
    plot.folded && !of_day && !day.unfolded.contains(&plot.plot)
}

/// Folds a plot, or unfolds it.
pub fn fold(day: &mut Day, settings: &mut Settings, plot: PlotKind) {
    if let Some(setting) = settings.plots.iter_mut().find(|setting| setting.plot == plot) {
        setting.folded = !is_folded(day, *setting);
        day.unfolded.remove(&plot);
        if plot == PlotKind::Residence {
            day.unfolds_residence = false;
        }
    }
}

/// Draws the plots into the rest of `ui` and acts on the pointer.
pub fn show(
    ui: &mut Ui,
    look: Look,
    day: &mut Day,
    drawing: &mut Drawing,
    settings: &mut Settings,
) {
    let area = ui.available_rect_before_wrap();
    ui.advance_cursor_after_rect(area);
    let frame = Frame::of(area, day, &settings.plots);
    if frame.x.span() < 40.0 || frame.stack().height() < 20.0 {
        return;
    }
    ui.painter().rect_filled(area, 0.0, look.colors.surface);
    let sensed = Rect::from_min_max(
        frame.products.unwrap_or(frame.valve).left_top(),
        frame.axis.right_bottom(),
    );
    let response = ui.interact(sensed, Id::unique("plots"), Sense::click_and_drag());
    point(ui, &response, &frame, day);

    let shown = day.window.interval();
    let x = frame.x;
    let window = day.window;
    let at = |instant: Instant| window.x(instant, x);
    let chosen = day.chosen.as_ref().map(|chosen| chosen.index);
    let found = bands::visible(&day.case.audit().exceptions, shown, at, chosen);
    let ticks = time_ticks(shown, day.case.plant().zone, (x.span() / 86.0) as usize);

    lanes(ui, look, day, &frame, &ticks);
    bands::draw_flags(&ui.painter_at(frame.flags), look, frame.flags, &found, chosen);

    let mut tip = None;
    let columns = (x.span() * ui.pixels_per_point()).round() as usize;
    drawing.set(day.case.record().instants(), shown, columns);
    let mut moved = None;
    for &(index, rect) in &frame.plots {
        let Some(setting) = settings.plots.get(index).copied() else { continue };
        moved = moved.or(gutter(ui, look, day, settings, index, rect));
        if is_folded(day, setting) {
            ui.painter().rect_filled(rect, 0.0, look.colors.ground);
        } else {
            let plot = Plot { look, day, units: settings.units, kind: setting.plot, rect };
            plot.draw(ui, &found, &ticks, drawing, &mut tip);
        }
        let edge = [pos2(area.left(), rect.bottom()), pos2(area.right(), rect.bottom())];
        ui.painter().line_segment(edge, look.hairline());
    }
    if let Some((one, other)) = moved {
        // Only now: within the frame each plot has its place once.
        settings.plots.swap(one, other);
    }
    let stack = ui.painter_at(frame.stack());
    if let Some(band) = found.iter().find(|band| chosen == Some(band.index)) {
        bands::draw_chosen(&stack, look, frame.stack(), band);
    }
    if let Some(observation) = day.chosen_observation()
        && let Some(interval) = observation.interval
    {
        let ends = Rangef::new(at(interval.start()), at(interval.end()));
        let title = widgets::capital(observation.kind.title());
        bands::draw_observation(&stack, look, (frame.stack(), frame.flags), ends, &title);
    }
    spans(ui, look, day, &frame);
    crosshair(ui, look, day, &frame);
    resize(ui, look, day, &frame, settings);
    describe(&response, day, settings.units);
    widgets::focus_ring(ui, look, &response, sensed);
    if let Some(tip) = tip
        && !response.dragged()
    {
        response.on_hover_text_at_pointer(tip);
    } else if response.dragged_by(PointerButton::Primary) {
        ui.ctx().set_cursor_icon(CursorIcon::ResizeHorizontal);
    }
}

/// Acts on the pointer over the plots.
fn point(ui: &Ui, response: &Response, frame: &Frame, day: &mut Day) {
    let x = frame.x;
    let record = day.case.record().interval();
    let memory = Id::unique("drag over the plots");
    day.hover = response
        .hover_pos()
        .filter(|pos| x.contains(pos.x))
        .map(|pos| day.window.instant_at(pos.x, x).clamp(record.start(), record.end()));

    if response.contains_pointer() {
        let about = day.hover.unwrap_or_else(|| day.window.middle());
        day.window.turn_wheel(ui, about, x);
    }

    if response.drag_started()
        && let Some(origin) = ui.input(|input| input.pointer.press_origin())
    {
        let from = day.window.instant_at(origin.x, x);
        let modifiers = ui.input(|input| input.modifiers);
        let drag = if !response.drag_started_by(PointerButton::Primary) || modifiers.command {
            Drag::Pan(origin.x)
        } else if modifiers.shift {
            Drag::Measure(from)
        } else {
            Drag::Zoom(from)
        };
        ui.data_mut(|data| data.insert_temp(memory, drag));
    }
    let drag: Option<Drag> = ui.data(|data| data.get_temp(memory));
    if let (Some(drag), Some(pos)) = (drag, response.interact_pointer_pos()) {
        let to = day.window.instant_at(pos.x, x).clamp(record.start(), record.end());
        match drag {
            Drag::Pan(last) if response.dragged() => {
                day.window.pan(f64::from((last - pos.x) / x.span()));
                ui.data_mut(|data| data.insert_temp(memory, Drag::Pan(pos.x)));
            }
            Drag::Measure(from) => {
                let from = from.clamp(record.start(), record.end());
                if from != to {
                    day.measure(Interval::between(from, to));
                }
            }
            Drag::Zoom(from) if response.drag_stopped() => {
                let width = (pos.x - day.window.x(from, x)).abs();
                if width > 4.0 {
                    day.window.show(Interval::between(from, to), 0.0, 0.0);
                }
            }
            Drag::Pan(_) | Drag::Zoom(_) => {}
        }
        if response.drag_stopped() {
            ui.data_mut(|data| data.remove::<Drag>(memory));
        }
    }

    if response.double_clicked() {
        day.window.show_whole();
    } else if response.clicked()
        && let Some(pos) = response.interact_pointer_pos()
    {
        let window = day.window;
        let near = |instant: Instant, by: f32| window.x(instant, x) + by;
        let hit = day
            .case
            .audit()
            .exceptions
            .iter()
            .position(|one| {
                (near(one.outer.start(), -3.0)..=near(one.outer.end(), 3.0)).contains(&pos.x)
            })
            .filter(|_| frame.stack().contains(pos));
        match hit {
            Some(index) if frame.flags.contains(pos) => day.choose(index),
            _ => day.held = day.hover,
        }
        response.request_focus();
    }
}

/// The ribbons above the plots and the axis below, with what stands beside them.
fn lanes(ui: &Ui, look: Look, day: &Day, frame: &Frame, ticks: &[Tick]) {
    let colors = look.colors;
    let shown = day.window.interval();
    let window = day.window;
    let x = frame.x;
    let at = |instant: Instant| window.x(instant, x);
    let sample = day.crosshair_sample();
    let beside = |lane: Rect, name: &str, value: &str| {
        let left = pos2(lane.left() - GUTTER + MARGIN, lane.center().y);
        let painter = ui.painter();
        let used = widgets::text_left(painter, left, name, Type::Small, colors.ink_soft, 90.0);
        let right = pos2(lane.left() - 10.0, lane.center().y);
        let room = GUTTER - used - MARGIN - 20.0;
        widgets::text_right(painter, right, value, Type::Strong, colors.ink, room);
    };
    if let Some(lane) = frame.products {
        let word = |text: Option<&trace::TextChannel>| {
            text.zip(sample).map_or_else(String::new, |(text, sample)| text.word(sample).to_owned())
        };
        // The product's name stands in the ribbon; its lot has no other place.
        match day.case.record().lot() {
            Some(lot) => beside(lane, "Lot", &word(Some(lot))),
            None => beside(lane, "Product", &word(day.case.record().product())),
        }
        ribbon::draw_products(&ui.painter_at(lane), look, day, shown, lane, at);
    }
    let valve = sample
        .and_then(|sample| day.case.record().valve().get(sample))
        .map_or("", |valve| valve.name());
    beside(frame.valve, "FDD", valve);
    let record = (&*day.case, &*day.curves);
    ribbon::draw_valve(&ui.painter_at(frame.valve), look, record, shown, frame.valve, at, true);

    let clock =
        match (day.crosshair(), sample.and_then(|sample| day.case.record().instants().get(sample)))
        {
            (_, Some(&instant)) => day.case.clock(instant),
            (Some(_), None) => "no sample".to_owned(),
            (None, None) => String::new(),
        };
    beside(frame.flags, "Sample at", &clock);

    shifts(ui, look, day, frame);
    let painter = ui.painter_at(frame.axis);
    for tick in ticks {
        let place = at(tick.at);
        let line = [pos2(place, frame.axis.top()), pos2(place, frame.axis.top() + 4.0)];
        painter.line_segment(line, Stroke::new(1.0, colors.line_strong));
        let ink = if tick.repeated { colors.accent } else { colors.ink_soft };
        let half = 4.0 * tick.label.chars().count() as f32;
        let place = place.clamp(x.min + half, (x.max - half).max(x.min + half));
        let center = pos2(place, frame.axis.top() + 13.0);
        widgets::text_in(
            &painter,
            center,
            Align2::CENTER_CENTER,
            &tick.label,
            Type::Small,
            ink,
            120.0,
        );
    }
    let zone = format!(
        "{} \u{b7} {}",
        day.case.plant().zone.date(shown.start()),
        day.case.plant().zone.name()
    );
    let left = pos2(frame.axis.left() - GUTTER + MARGIN, frame.axis.center().y);
    let room = GUTTER - MARGIN - 10.0;
    widgets::text_left(ui.painter(), left, &zone, Type::Small, colors.ink_soft, room);
}

/// Where shifts begin: a dotted line through the plots, and the name beside it above them.
fn shifts(ui: &Ui, look: Look, day: &Day, frame: &Frame) {
    let (window, x) = (day.window, frame.x);
    let color = look.colors.accent;
    for (interval, name) in &day.shifts {
        let (from, to) = (window.x(interval.start(), x), window.x(interval.end(), x));
        if x.contains(from) && interval.start() > day.case.record().interval().start() {
            let line = [pos2(from, frame.flags.top()), pos2(from, frame.axis.top() + 6.0)];
            let dots = egui::Shape::dashed_line(&line, Stroke::new(1.4, color), 2.0, 3.0);
            ui.painter().extend(dots);
        }
        // Like a product's name, that of a shift stays in sight while any of it is.
        let left = from.max(x.min);
        let room = to.min(x.max) - left - 10.0;
        if room > 64.0 {
            let at = pos2(left + 5.0, frame.flags.center().y);
            let text = format!("{name} shift");
            let painter = ui.painter();
            widgets::text_left(painter, at, &text, Type::Small, color, room);
        }
    }
}

/// The names and readings beside a plot, and its controls. Gives the two plots that are to change
/// places.
fn gutter(
    ui: &mut Ui,
    look: Look,
    day: &mut Day,
    settings: &mut Settings,
    index: usize,
    rect: Rect,
) -> Option<(usize, usize)> {
    let setting = settings.plots.get(index).copied()?;
    let colors = look.colors;
    let title = setting.plot.title();
    let area = Rect::from_min_max(pos2(rect.left() - GUTTER, rect.top()), rect.left_bottom());
    let painter = ui.painter_at(area);
    let row = |y: f32| Rect::from_min_size(pos2(area.left() + 5.0, y), vec2(18.0, 18.0));
    let folded = is_folded(day, setting);
    let name = if folded { format!("Expand {title}") } else { format!("Collapse {title}") };
    let shape = if folded { Glyph::Folded } else { Glyph::Unfolded };
    if widgets::glyph_button(ui, look, row(area.top() + 3.0), shape, &name).clicked() {
        fold(day, settings, setting.plot);
    }
    let day: &Day = day;
    let left = area.left() + 26.0;
    let at = pos2(left, area.top() + 12.0);
    let used = widgets::text_left(&painter, at, title, Type::Strong, colors.ink, 100.0);
    let named = Rect::from_min_size(pos2(left, area.top() + 3.0), vec2(used, 18.0));
    let id = ui.make_persistent_id(("plot", title));
    explained(ui.interact(named, id, Sense::hover()), look, title);
    let series = Series::of(setting.plot, (&day.case, &day.curves), settings.units);
    if let Some(first) = series.first() {
        let at = pos2(left + used + 7.0, at.y);
        let symbol = first.symbol();
        widgets::text_left(&painter, at, symbol, Type::Small, colors.ink_soft, 60.0);
    }
    let mut moved = None;
    for (place, shape, verb, step) in
        [(46.0, Glyph::Up, "Move up", -1_isize), (26.0, Glyph::Down, "Move down", 1)]
    {
        let button =
            Rect::from_min_size(pos2(area.right() - place, area.top() + 3.0), vec2(18.0, 18.0));
        let name = format!("{verb}: {title}");
        if quiet_button(ui, look, area, button, shape, &name).clicked() {
            let shown: Vec<usize> = (0..settings.plots.len())
                .filter(|&other| settings.plots[other].plot.is_in(&day.case))
                .collect();
            let own = shown.iter().position(|&other| other == index).unwrap_or(0);
            let other = own.checked_add_signed(step).and_then(|other| shown.get(other));
            moved = other.map(|&other| (index, other)).or(moved);
        }
    }
    if folded {
        return moved;
    }
    let sample = day.crosshair_sample();
    // In a low plot the lines move closer together before any is left out.
    let step = ((area.height() - 23.0) / series.len().max(1) as f32).clamp(13.5, 18.0);
    // What was measured stands below each reading where there is room; the pane beside has it all.
    let roomy = area.height() >= 22.0 + series.len() as f32 * (13.5 + 15.0);
    let step = if roomy && day.measured.is_some() { 14.0 } else { step };
    let mut y = area.top() + 22.0 + step / 2.0;
    for (rank, series) in series.into_iter().enumerate() {
        if y > area.bottom() - 5.0 {
            break;
        }
        let line = [pos2(left, y), pos2(left + 14.0, y)];
        painter
            .line_segment(line, Stroke::new(if rank == 0 { 2.4 } else { 1.6 }, look.trace(rank)));
        trace_mark(&painter, pos2(left + 7.0, y), rank, look.trace(rank), colors.surface);
        let at = pos2(left + 20.0, y);
        widgets::text_left(&painter, at, series.name, Type::Small, colors.ink_soft, 76.0);
        let right = pos2(area.right() - 10.0, y);
        if let Some(sample) = sample {
            let (text, ink) = match series.reading(sample) {
                Ok(text) => (text, colors.ink),
                Err(text) => (text.into(), colors.alert),
            };
            widgets::text_right(&painter, right, &text, Type::Strong, ink, 92.0);
        } else {
            widgets::text_right(
                &painter,
                right,
                series.symbol(),
                Type::Small,
                colors.ink_soft,
                60.0,
            );
        }
        y += step;
        let Some((role, channel, shown)) = series.channel() else { continue };
        let measured = day
            .measured
            .as_ref()
            .filter(|_| roomy)
            .and_then(|measured| measured.channels.iter().find(|channel| channel.role == role));
        if let Some(span) = measured {
            let figure = |sample: usize| {
                channel
                    .reading(sample)
                    .valid()
                    .map_or_else(String::new, |value| shown.figure(value))
            };
            let text = format!(
                "{} \u{2026} {}  mean {}",
                figure(span.least),
                figure(span.greatest),
                shown.number(span.mean)
            );
            let at = pos2(area.right() - 10.0, y - 2.0);
            widgets::text_right(&painter, at, &text, Type::Small, colors.accent, GUTTER - 30.0);
            y += 15.0;
        }
    }
    moved
}

/// A glyph button that is drawn only while the pointer is near or it has the focus.
fn quiet_button(ui: &Ui, look: Look, near: Rect, rect: Rect, shape: Glyph, name: &str) -> Response {
    let response = ui.interact(rect, ui.make_persistent_id(name), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Access::Button, ui.is_enabled(), name));
    if ui.rect_contains_pointer(near) || response.has_focus() {
        if response.hovered() {
            ui.painter().rect_filled(rect, 3.0, look.colors.hovered);
        }
        widgets::glyph(ui.painter(), rect.center(), shape, look.colors.ink_soft);
        widgets::focus_ring(ui, look, &response, rect);
    }
    response.on_hover_text(name)
}

/// One plot.
struct Plot<'a> {
    look: Look,
    day: &'a Day,
    units: Units,
    kind: PlotKind,
    rect: Rect,
}

impl Plot<'_> {
    fn draw(
        &self,
        ui: &Ui,
        found: &[Band],
        ticks: &[Tick],
        drawing: &mut Drawing,
        tip: &mut Option<String>,
    ) {
        let Self { look, day, kind, rect, .. } = *self;
        let window = day.window;
        let x = rect.x_range();
        let painter = ui.painter_at(rect);
        let series = Series::of(kind, (&day.case, &day.curves), self.units);
        drawing.fill(&series);
        let limits = self.limits();
        let Some(mut scale) = self.scale(&series, drawing, &limits) else { return };
        let taken: Vec<f64> = limits.iter().map(|limit| limit.shown_value).collect();
        let figures = scale.labelled(rect.height(), LINE, &taken);
        let scale = scale;
        let y = |value: f64| scale.y(value, rect.bottom(), rect.top());

        for tick in ticks {
            let place = window.x(tick.at, x);
            painter.line_segment(
                [pos2(place, rect.top()), pos2(place, rect.bottom())],
                look.hairline(),
            );
        }
        bands::draw(&painter, look, rect, found, |rule| kind.is_about(rule));

        let mut labelled: Vec<f32> = Vec::new();
        for limit in &limits {
            let range = Rangef::new(
                window.x(limit.step.interval.start(), x).max(x.min),
                window.x(limit.step.interval.end(), x).min(x.max),
            );
            if range.max < x.min || range.min > x.max {
                continue;
            }
            let place = y(limit.shown_value);
            let color = look.rule(limit.step.rule);
            let line = [pos2(range.min, place), pos2(range.max, place)];
            painter.extend(egui::Shape::dashed_line(&line, Stroke::new(1.4, color), 7.0, 4.0));
            if labelled.iter().all(|other| (other - place).abs() > LINE) {
                limit_label(ui, look, pos2(x.max + 6.0, place), &limit.label(), color);
                labelled.push(place);
            }
            let near = ui
                .input(|input| input.pointer.hover_pos())
                .is_some_and(|pos| (pos.y - place).abs() < 4.0 && range.contains(pos.x));
            if near {
                *tip = Some(limit.source());
            }
        }
        for &tick in &scale.ticks {
            let place = y(tick);
            if place < rect.top() + 6.0 || place > rect.bottom() - 6.0 {
                continue;
            }
            // A hairline on a limit would hide its dashes.
            let limited = limits.iter().any(|limit| (y(limit.shown_value) - place).abs() < 2.0);
            if !limited {
                painter.line_segment([pos2(x.min, place), pos2(x.max, place)], look.hairline());
            }
            if figures.contains(&tick) {
                let at = pos2(x.max + 6.0, place);
                let text = scale.label(tick);
                widgets::text_left(
                    ui.painter(),
                    at,
                    &text,
                    Type::Small,
                    look.colors.ink_soft,
                    SCALE_WIDTH - 6.0,
                );
            }
        }

        // The first channel is drawn last, on top.
        for (rank, series) in series.iter().enumerate().rev() {
            let Some(line) = drawing.line(series) else { continue };
            let (factor, offset) = series.line();
            let up = f64::from(rect.top() - rect.bottom()) / (scale.greatest - scale.least);
            let height = |mantissa: i64| {
                let value = mantissa as f64 * factor + offset;
                (f64::from(rect.bottom()) + (value - scale.least) * up) as f32
            };
            let width =
                if rank == 0 { 1.7 } else { 1.2 } + if look.high_contrast { 0.4 } else { 0.0 };
            let ink = trace_line::Ink { width, color: look.trace(rank), dense: look.dense(rank) };
            let time = (day.case.record().instants(), drawing.columns());
            let across = window.places(x);
            painter.extend(trace_line::shapes(rect, time, line, across, height, ink));
            let value = |mantissa: i64| mantissa as f64 * factor + offset;
            let beyond = chart::leaving(line, value, (scale.least, scale.greatest));
            let at = |sample: u32| {
                let instants = day.case.record().instants();
                window.x(instants.get(sample as usize).copied().unwrap_or_default(), x)
            };
            arrowheads(&painter, (look, look.trace(rank)), rect, &beyond, at);
            if rank > 0 {
                self.marks(&painter, ticks, drawing.columns(), (rank, series), height);
            }
            if let Some(sample) = day.crosshair_sample()
                && series.is_known(sample)
                && let Some(&instant) = day.case.record().instants().get(sample)
                && let Some(&mantissa) = series.series.mantissas().get(sample)
            {
                let dot = pos2(window.x(instant, x), height(mantissa));
                painter.circle(dot, 3.0, look.trace(rank), Stroke::new(1.5, look.colors.surface));
            }
        }
    }

    /// The marks of a trace, which hang on the round times and so move with it. Those of the
    /// traces of a plot stand beside one another, not on one another.
    fn marks(
        &self,
        painter: &egui::Painter,
        ticks: &[Tick],
        columns: &chart::Columns,
        (rank, series): (usize, &Series<'_>),
        height: impl Fn(i64) -> f32,
    ) {
        let (day, look) = (self.day, self.look);
        let step = match ticks {
            [first, second, ..] => second.at.since(first.at),
            _ => day.window.interval().duration(),
        };
        let aside = trace::Duration::from_milliseconds(step.milliseconds() * rank as i64 / 4);
        // The first one may belong to the tick before the left edge.
        let before = ticks.first().map(|tick| tick.at - step);
        for at in before.into_iter().chain(ticks.iter().map(|tick| tick.at)) {
            let x = self.rect.x_range();
            let share = (day.window.x(at + aside, x) - x.min) / x.span();
            if !(0.0..1.0).contains(&share) {
                continue;
            }
            // The columns of pixels know their samples; the record need not be searched.
            let column = (share * columns.len() as f32) as usize;
            let Some(sample) = columns.first_of(column) else {
                continue;
            };
            let mantissa =
                series.series.mantissas().get(sample).filter(|_| series.is_known(sample));
            let instant = day.case.record().instants().get(sample);
            if let (Some(&mantissa), Some(&instant)) = (mantissa, instant) {
                let center = pos2(day.window.x(instant, self.rect.x_range()), height(mantissa));
                if self.rect.contains(center) {
                    let color = look.trace(rank);
                    trace_mark(painter, center, rank, color, look.colors.surface);
                }
            }
        }
    }

    /// The scale around what is seen in forward flow and the limits.
    fn scale(
        &self,
        series: &[Series<'_>],
        drawing: &Drawing,
        limits: &[Limit<'_>],
    ) -> Option<Scale> {
        let hull = |forward: bool| {
            let seen = self.day.window.interval();
            let ranges =
                series.iter().filter_map(|one| one.range(drawing.line(one)?, seen, forward));
            ranges.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))
        };
        let most = ((self.rect.height() / 26.0) as usize).clamp(2, 6);
        let figures = limits.iter().map(|limit| limit.shown_value);
        Scale::of(self.kind, hull, figures, most)
    }

    /// The limits that are in sight.
    fn limits(&self) -> Vec<Limit<'_>> {
        let channel =
            self.kind.roles().first().and_then(|&role| self.day.case.record().channel(role));
        let unit = channel.map(|channel| self.units.of(channel));
        let steps = chart::limits(self.kind, &self.day.case, self.day.window.interval());
        steps
            .into_iter()
            .map(|step| Limit {
                shown_value: unit.map_or(step.figure, |unit| unit.value(step.figure)),
                step,
                unit,
                day: self.day,
            })
            .collect()
    }
}

/// An arrowhead at the edge of a plot where a trace leaves the range; those that would lie on one another are one.
pub fn arrowheads(
    painter: &egui::Painter,
    (look, color): (Look, egui::Color32),
    rect: Rect,
    beyond: &[chart::Leaving],
    place: impl Fn(u32) -> f32,
) {
    let mut drawn = [f32::NEG_INFINITY; 2];
    for &chart::Leaving { samples: (first, last), above } in beyond {
        let middle = f32::midpoint(place(first).max(rect.left()), place(last).min(rect.right()));
        let before = &mut drawn[usize::from(above)];
        if middle - *before < 2.0 * ARROWHEAD {
            continue;
        }
        *before = middle;
        let (edge, inward) =
            if above { (rect.top() + 1.0, 1.0) } else { (rect.bottom() - 1.0, -1.0) };
        let foot = edge + inward * ARROWHEAD;
        let corners = vec![
            pos2(middle, edge),
            pos2(middle - 0.7 * ARROWHEAD, foot),
            pos2(middle + 0.7 * ARROWHEAD, foot),
        ];
        let outline = Stroke::new(1.0, look.colors.surface);
        painter.add(egui::Shape::convex_polygon(corners, color, outline));
    }
}

/// A limit's figure beside the plot. One that is wider than the room there begins within the plot: it is never
/// shortened.
pub fn limit_label(ui: &Ui, look: Look, at: Pos2, text: &str, color: egui::Color32) {
    let galley = ui.painter().layout_no_wrap(text.to_owned(), Type::Strong.font(), color);
    let room = SCALE_WIDTH - 8.0;
    let left = at.x.min(at.x + room - galley.size().x);
    let place = Rect::from_min_size(pos2(left, at.y - galley.size().y / 2.0), galley.size());
    if left < at.x {
        ui.painter().rect_filled(place.expand2(vec2(2.0, 0.0)), 2.0, look.colors.surface);
    }
    ui.painter().galley(place.min, galley, color);
}

/// A limit in a plot. Its words are put together only where they are shown.
struct Limit<'a> {
    step: LimitStep<'a>,
    shown_value: f64,
    /// The unit shown; `None` for seconds.
    unit: Option<Shown>,
    day: &'a Day,
}

impl Limit<'_> {
    /// The figure with its unit.
    fn label(&self) -> String {
        let seconds = || {
            let text = format!("{:.2}", self.shown_value);
            format!("{} s", text.trim_end_matches('0').trim_end_matches('.'))
        };
        self.unit.map_or_else(seconds, |unit| unit.limit(self.step.figure))
    }

    /// What it is, and where it comes from.
    fn source(&self) -> String {
        let label = self.label();
        match self.step.span {
            Some(span) => {
                let what = if self.unit.is_some() { "Limit" } else { "Minimum holding time" };
                format!("{what} for {}: {label}\n{}", span.product, span.source)
            }
            None => format!(
                "Minimum differential, pasteurized over raw: {label}\n{}",
                self.day.case.plant().limits.differential_source.citation
            ),
        }
    }
}

/// The measured span, the span that is being measured, and the box that is being drawn.
fn spans(ui: &Ui, look: Look, day: &Day, frame: &Frame) {
    let stack = frame.stack();
    let painter = ui.painter_at(stack);
    let accent = look.colors.accent;
    let x = |instant: Instant| day.window.x(instant, frame.x);
    let drag: Option<Drag> = ui.data(|data| data.get_temp(Id::unique("drag over the plots")));
    let boxed = match drag {
        Some(Drag::Zoom(from)) => day.hover.map(|to| (from, to)),
        _ => None,
    };
    let open = day.measuring_from.zip(day.crosshair());
    let closed =
        day.measured.as_ref().map(|measured| (measured.interval.start(), measured.interval.end()));
    for (from, to) in [boxed, open, closed].into_iter().flatten() {
        let range = Rangef::new(x(from.min(to)), x(from.max(to)));
        let rect = Rect::from_x_y_ranges(range, stack.y_range());
        painter.rect_filled(rect.intersect(stack), 0.0, accent.gamma_multiply(0.10));
        for place in [range.min, range.max] {
            let line = [pos2(place, stack.top()), pos2(place, stack.bottom())];
            painter.line_segment(line, Stroke::new(1.5, accent));
        }
    }
}

fn crosshair(ui: &Ui, look: Look, day: &Day, frame: &Frame) {
    let Some(at) = day.crosshair() else { return };
    let sample = day.crosshair_sample().and_then(|sample| day.case.record().instants().get(sample));
    let place = day.window.x(sample.copied().unwrap_or(at), frame.x);
    if frame.x.contains(place) {
        let top = frame.products.unwrap_or(frame.valve).top();
        let painter =
            ui.painter_at(Rect::from_min_max(pos2(frame.x.min, top), frame.axis.right_bottom()));
        let line: [Pos2; 2] = [pos2(place, top), pos2(place, frame.axis.top())];
        painter.line_segment(line, Stroke::new(1.0, look.colors.ink_soft));
    }
}

/// The edges between plots can be dragged, and moved with the arrows while they have the focus.
fn resize(ui: &Ui, look: Look, day: &Day, frame: &Frame, settings: &mut Settings) {
    let open: Vec<(usize, Rect)> = frame
        .plots
        .iter()
        .copied()
        .filter(|&(index, _)| settings.plots.get(index).is_some_and(|plot| !is_folded(day, *plot)))
        .collect();
    let heights: f32 = open.iter().map(|(_, rect)| rect.height()).sum();
    let shares: f32 = open
        .iter()
        .filter_map(|&(index, _)| settings.plots.get(index))
        .map(|plot| plot.share)
        .sum();
    for pair in open.windows(2) {
        let [(upper, above), (lower, below)] = [pair[0], pair[1]];
        let y = Rangef::new(above.bottom() - 3.0, below.top().min(above.bottom()) + 3.0);
        let edge = Rect::from_x_y_ranges(Rangef::new(frame.x.min - GUTTER, frame.x.max), y);
        let title = settings.plots.get(upper).map_or("", |plot| plot.plot.title());
        let response = ui.interact(edge, Id::unique(("edge below", title)), Sense::drag());
        response.widget_info(|| {
            WidgetInfo::labeled(Access::Splitter, true, format!("Height of {title}"))
        });
        if response.hovered() || response.dragged() {
            ui.ctx().set_cursor_icon(CursorIcon::ResizeVertical);
        }
        let mut points = response.drag_delta().y;
        if response.has_focus() {
            let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
            let pressed = |key| ui.input(|input| f32::from(input.num_presses(key) as u8));
            points += 10.0 * (pressed(Key::ArrowDown) - pressed(Key::ArrowUp));
            widgets::focus_ring(ui, look, &response, edge);
        }
        let by = points / heights.max(1.0) * shares;
        let share = |index: usize| settings.plots.get(index).map_or(1.0, |plot| plot.share);
        let (grown, shrunk) = (share(upper) + by, share(lower) - by);
        if points != 0.0 && grown > 0.2 && shrunk > 0.2 {
            for (index, share) in [(upper, grown), (lower, shrunk)] {
                if let Some(plot) = settings.plots.get_mut(index) {
                    plot.share = share;
                }
            }
        }
    }
}

/// The plots in words, for a screen reader.
fn describe(response: &Response, day: &Day, units: Units) {
    response.widget_info(|| {
        let shown = day.window.interval();
        let mut text = format!(
            "Plots from {} to {}",
            day.case.clock(shown.start()),
            day.case.clock(shown.end())
        );
        if let Some(sample) = day.crosshair_sample() {
            let at = day.case.record().instants().get(sample).copied().unwrap_or_default();
            text = format!("{text}. Sample at {}", day.case.clock(at));
            if let Some(valve) = day.case.record().valve().get(sample) {
                text = format!("{text}: FDD {}", valve.name());
            }
            for (role, channel) in day.case.record().channels() {
                let reading = units.of(channel).reading(channel.reading(sample));
                text = format!("{text}, {} {reading}", role.name());
            }
            if let Some(held) = day.case.audit().residence.as_ref().and_then(|one| one.at(sample)) {
                text = format!("{text}, residence time {}", case::at_least(held));
            }
            for (name, words) in
                [("product", day.case.record().product()), ("lot", day.case.record().lot())]
            {
                match words.map(|words| words.word(sample)) {
                    Some(word) if !word.is_empty() => text = format!("{text}, {name} {word}"),
                    _ => {}
                }
            }
            if let Some((_, shift)) = day.shifts.iter().find(|(shift, _)| shift.contains(at)) {
                text = format!("{text}, {shift} shift");
            }
        }
        WidgetInfo::labeled(Access::Figure, true, text)
    });
}
