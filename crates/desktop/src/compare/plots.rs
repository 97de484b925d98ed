//! The plots of two days over one axis of time, counted from the start of each one's forward flow. The first day has a
//! strong line without marks and its exceptions in the upper half of a plot; the other one a thin line with marks and
//! its exceptions in the lower half. At each line stands the day that it is of.

use super::{Comparison, Side, since_start};
use crate::day::plots::{arrowheads, limit_label};
use crate::day::series::Series;
use crate::day::setting::PlotSetting;
use crate::day::window::TimeWindow;
use crate::day::{bands, ribbon, trace_line};
use crate::theme::{GUTTER, Look, MARGIN, SCALE_WIDTH, Type, explained, trace_mark, widgets};
use crate::units::Units;
use chart::{ElapsedTick, LimitStep, PlotKind, Scale, elapsed, elapsed_ticks};
use egui::accesskit::Role as Access;
use egui::{
    Align2, Id, Painter, PointerButton, Pos2, Rangef, Rect, Response, Sense, Shape, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};
use trace::Instant;

const VALVE: f32 = 18.0;
const FLAGS: f32 = 19.0;
/// A line of the axis: the time since the start, and the clock of each day.
const AXIS: f32 = 15.0;
const LEAST: f32 = 52.0;
/// The height of a figure beside a plot.
const LINE: f32 = 12.0;

/// The line of a day, by its rank.
pub(super) fn stroke(look: Look, rank: usize) -> Stroke {
    let more = if look.high_contrast { 0.4 } else { 0.0 };
    Stroke::new(if rank == 0 { 2.2 } else { 1.2 } + more, look.trace(rank))
}

/// Where everything lies.
struct Places {
    x: Rangef,
    /// Of each day the positions of the device, and the letters of its exceptions.
    lanes: [(Rect, Rect); 2],
    plots: Vec<(PlotKind, Rect)>,
    axis: Rect,
}

impl Places {
    fn of(area: Rect, kinds: &[PlotSetting]) -> Self {
        let x = Rangef::new(area.left() + GUTTER, area.right() - SCALE_WIDTH);
        let mut top = area.top() + 2.0;
        let mut lane = |height: f32| {
            let rect = Rect::from_x_y_ranges(x, Rangef::new(top, top + height));
            top += height;
            rect
        };
        let lanes = [(); 2].map(|()| (lane(VALVE), lane(FLAGS)));
        let bottom = area.bottom() - 2.0;
        let axis = Rect::from_x_y_ranges(x, Rangef::new(bottom - 3.0 * AXIS - 4.0, bottom));
        // As many as find room, in the order of a day's plots.
        let room = (axis.top() - top).max(0.0);
        let fitting = kinds.len().min((room / LEAST) as usize);
        let kinds = &kinds[..fitting];
        let shares: f32 = kinds.iter().map(|plot| plot.share).sum();
        let spare = room - LEAST * fitting as f32;
        let mut plots = Vec::new();
        for plot in kinds {
            let height = LEAST + spare * plot.share / shares.max(0.01);
            plots.push((plot.plot, Rect::from_x_y_ranges(x, Rangef::new(top, top + height))));
            top += height;
        }
        Self { x, lanes, plots, axis }
    }

    /// From the first lane down to the axis.
    fn stack(&self) -> Rect {
        Rect::from_min_max(self.lanes[0].0.left_top(), self.axis.right_top())
    }
}

/// Draws the plots into the rest of `ui` and acts on the pointer.
pub(super) fn show(
    ui: &mut Ui,
    look: Look,
    two: &mut Comparison,
    (settings, units): (&[PlotSetting], Units),
) {
    let area = ui.available_rect_before_wrap();
    ui.advance_cursor_after_rect(area);
    ui.painter().rect_filled(area, 0.0, look.colors.surface);
    if two.sides.iter().all(|side| side.start().is_none()) {
        return;
    }
    let is_in = |plot: &&PlotSetting| {
        !plot.folded && two.sides.iter().any(|side| plot.plot.is_in(&side.record.case))
    };
    let kinds: Vec<PlotSetting> = settings.iter().filter(is_in).copied().collect();
    let places = Places::of(area, &kinds);
    if places.x.span() < 40.0 || places.stack().height() < 20.0 {
        return;
    }
    let sensed = Rect::from_min_max(places.stack().left_top(), places.axis.right_bottom());
    let response = ui.interact(sensed, Id::unique("plots of two days"), Sense::click_and_drag());
    point(ui, &response, places.x, two);

    let shown = two.window.interval();
    let most = (places.x.span() / 86.0) as usize;
    let ticks = elapsed_ticks(since_start(shown.start()), since_start(shown.end()), most);
    let columns = (places.x.span() * ui.pixels_per_point()).round() as usize;
    let window = two.window;
    for side in &mut two.sides {
        let Some(shown) = side.shown(window) else { continue };
        let mut drawing = std::mem::take(&mut side.drawing);
        drawing.set(side.record.case.record().instants(), shown, columns);
        for &(kind, _) in &places.plots {
            drawing.fill(series(side, kind, units).as_slice());
        }
        side.drawing = drawing;
    }
    let two = &*two;
    axis(ui, look, two, &places, &ticks);
    let mut tip = None;
    for rank in 0..two.sides.len() {
        lanes(ui, look, two, &places, rank, &mut tip);
    }
    for &(kind, rect) in &places.plots {
        let plot = Plot { look, two, units, kind, rect };
        plot.draw(ui, &ticks, &mut tip);
        plot.gutter(ui);
        let edge = [pos2(area.left(), rect.bottom()), pos2(area.right(), rect.bottom())];
        ui.painter().line_segment(edge, look.hairline());
    }
    uprights(ui, look, two, &places);
    describe(&response, two, units);
    widgets::focus_ring(ui, look, &response, sensed);
    if let Some(tip) = tip
        && !response.dragged()
    {
        response.on_hover_text_at_pointer(tip);
    }
}

/// Acts on the pointer over the plots: the wheel zooms, a drag moves, a click holds the crosshair.
fn point(ui: &Ui, response: &Response, x: Rangef, two: &mut Comparison) {
    two.hover = response
        .hover_pos()
        .filter(|pos| x.contains(pos.x))
        .map(|pos| two.window.instant_at(pos.x, x));
    if response.contains_pointer() {
        let about = two.hover.unwrap_or_else(|| two.window.middle());
        two.window.turn_wheel(ui, about, x);
    }
    if response.dragged_by(PointerButton::Primary) {
        two.window.pan(f64::from(-response.drag_delta().x / x.span()));
    }
    if response.double_clicked() {
        two.window.show_whole();
    } else if response.clicked() {
        two.held = two.hover;
        response.request_focus();
    }
}

/// Where an instant of a day lies on the screen.
fn across(
    window: TimeWindow,
    side: &Side,
    x: Rangef,
) -> Option<impl Fn(Instant) -> f32 + Copy + use<>> {
    let start = side.start()?;
    Some(move |at: Instant| window.x(super::axis(at, start), x))
}

/// A text beside a lane, with a value at its end.
fn beside(ui: &Ui, look: Look, lane: Rect, indent: f32, (name, value): (&str, &str)) {
    let left = pos2(lane.left() - GUTTER + MARGIN + indent, lane.center().y);
    let ink = look.colors.ink_soft;
    let painter = ui.painter();
    let room = GUTTER - MARGIN - indent - 12.0;
    let used = widgets::text_left(painter, left, name, Type::Small, ink, room);
    let right = pos2(lane.left() - 10.0, lane.center().y);
    let (step, ink) = (Type::Strong, look.colors.ink);
    widgets::text_right(painter, right, value, step, ink, room - used - 4.0);
}

/// The positions of the device on a day, and the letters of its exceptions.
fn lanes(
    ui: &Ui,
    look: Look,
    two: &Comparison,
    places: &Places,
    rank: usize,
    tip: &mut Option<String>,
) {
    let side = &two.sides[rank];
    let (valve, flags) = places.lanes[rank];
    let case = &side.record.case;
    let sample = two.crosshair().and_then(|at| side.sample(at));
    let position = sample.and_then(|sample| case.record().valve().get(sample));
    let clock = sample.and_then(|sample| case.record().instants().get(sample));
    let clock = clock.map_or_else(String::new, |&at| case.clock(at));
    super::page::sample(ui, look, pos2(valve.left() - GUTTER + MARGIN, valve.center().y), rank);
    beside(ui, look, valve, 26.0, (&side.short, position.map_or("", |valve| valve.name())));
    beside(ui, look, flags, 26.0, ("Sample at", &clock));
    let (Some(shown), Some(at)) = (side.shown(two.window), across(two.window, side, places.x))
    else {
        return;
    };
    let record = (&**case, &*side.record.curves);
    ribbon::draw_valve(&ui.painter_at(valve), look, record, shown, valve, at, true);
    let found = bands::visible(&case.audit().exceptions, shown, at, None);
    bands::draw_flags(&ui.painter_at(flags), look, flags, &found, None);
    let pointer = ui.input(|input| input.pointer.hover_pos());
    if let Some(pos) = pointer.filter(|pos| flags.contains(*pos)) {
        let near = |band: &&chart::Band| (band.outer.0 - 8.0..=band.outer.1 + 8.0).contains(&pos.x);
        let under =
            found.iter().find(near).and_then(|band| case.audit().exceptions.get(band.index));
        *tip = under.map(|one| {
            let span = one.observed;
            let (from, to) = (case.clock(span.start()), case.clock(span.end()));
            format!("{}: {}, {from} to {to}", side.name, one.rule.name())
        });
    }
}

/// The axis: the time since the start, and below it the clocks of both days.
fn axis(ui: &Ui, look: Look, two: &Comparison, places: &Places, ticks: &[ElapsedTick]) {
    let (colors, x) = (look.colors, places.x);
    let line = |index: usize| {
        let top = places.axis.top() + 4.0 + AXIS * index as f32;
        Rect::from_x_y_ranges(x, Rangef::new(top, top + AXIS))
    };
    let at_crosshair =
        two.crosshair().map_or_else(String::new, |at| elapsed(since_start(at), true));
    beside(ui, look, line(0), 0.0, ("Since the start, h:min", &at_crosshair));
    for (rank, side) in two.sides.iter().enumerate() {
        let left = pos2(places.axis.left() - GUTTER + MARGIN, line(rank + 1).center().y);
        super::page::sample(ui, look, left, rank);
        beside(ui, look, line(rank + 1), 26.0, (&format!("{}, clock", side.short), ""));
    }
    let painter = ui.painter_at(places.axis);
    for tick in ticks {
        let at = Instant::from_unix_milliseconds(tick.after.milliseconds());
        let place = two.window.x(at, x);
        let mark = [pos2(place, places.axis.top()), pos2(place, places.axis.top() + 4.0)];
        painter.line_segment(mark, Stroke::new(1.0, colors.line_strong));
        let write = |index: usize, text: &str, step: Type, ink| {
            let half = 3.6 * text.chars().count() as f32;
            let place = place.clamp(x.min + half, (x.max - half).max(x.min + half));
            let at = pos2(place, line(index).center().y);
            widgets::text_in(&painter, at, Align2::CENTER_CENTER, text, step, ink, 84.0);
        };
        write(0, &tick.label, Type::Strong, colors.ink);
        for (rank, side) in two.sides.iter().enumerate() {
            let Some(on_day) = side.on_day(at) else { continue };
            let clock = side.record.case.clock(on_day);
            write(rank + 1, &clock, Type::Small, colors.ink_soft);
        }
    }
}

/// One plot.
struct Plot<'a> {
    look: Look,
    two: &'a Comparison,
    units: Units,
    kind: PlotKind,
    rect: Rect,
}

/// A limit of a day.
struct Limit<'a> {
    rank: usize,
    step: LimitStep<'a>,
    /// In the unit shown.
    figure: f64,
    label: String,
}

/// The first line of a plot on a day; `None` where that day is not drawn or does not record it.
fn series(side: &Side, kind: PlotKind, units: Units) -> Option<Series<'_>> {
    side.start()?;
    Series::of(kind, (&side.record.case, &side.record.curves), units).into_iter().next()
}

/// The limits of a day that are in sight.
fn limits(two: &Comparison, rank: usize, kind: PlotKind, units: Units) -> Vec<Limit<'_>> {
    let side = &two.sides[rank];
    let Some(shown) = side.shown(two.window) else { return Vec::new() };
    let case = &side.record.case;
    let unit = kind.roles().first().and_then(|&role| case.record().channel(role));
    let unit = unit.map(|channel| units.of(channel));
    let steps = chart::merged(chart::limits(kind, case, shown)).into_iter();
    steps
        .map(|step| {
            let seconds = || format!("{} s", ::case::decimal_places(step.figure, 1));
            let figure = unit.map_or(step.figure, |unit| unit.value(step.figure));
            let label = unit.map_or_else(seconds, |unit| unit.limit(step.figure));
            Limit { rank, step, figure, label }
        })
        .collect()
}

/// What of a range is not in another one.
fn without(range: Rangef, taken: Rangef) -> impl Iterator<Item = Rangef> {
    let before = Rangef::new(range.min, range.max.min(taken.min));
    let after = Rangef::new(range.min.max(taken.max), range.max);
    [before, after].into_iter().filter(|rest| rest.max > rest.min)
}

impl Plot<'_> {
    fn draw(&self, ui: &Ui, ticks: &[ElapsedTick], tip: &mut Option<String>) {
        let (kind, units, rect) = (self.kind, self.units, self.rect);
        let two = self.two;
        let lines = two.sides.each_ref().map(|side| line(side, kind, units));
        let symbol = lines.iter().flatten().map(|(series, _)| series.symbol()).next();
        // What is recorded in another unit that can't be converted has no place on this scale.
        let fits = |(series, _): &&(Series<'_>, &chart::Polylines)| Some(series.symbol()) == symbol;
        let lines = lines.each_ref().map(|line| line.as_ref().filter(fits));
        let limits: Vec<Limit<'_>> = (0..2)
            .filter(|&rank| lines[rank].is_some())
            .flat_map(|rank| limits(two, rank, kind, units))
            .collect();
        let seen = |forward: bool| {
            let each = two.sides.iter().zip(&lines).filter_map(|(side, line)| {
                let (series, line) = line.as_ref()?;
                series.range(line, side.shown(two.window)?, forward)
            });
            each.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))
        };
        let most = ((rect.height() / 26.0) as usize).clamp(2, 6);
        let figures = limits.iter().map(|limit| limit.figure);
        let Some(mut scale) = Scale::of(kind, seen, figures, most) else { return };
        let taken: Vec<f64> = limits.iter().map(|limit| limit.figure).collect();
        let labelled = scale.labelled(rect.height(), LINE, &taken);
        let painter = ui.painter_at(rect);
        self.ground(ui, &painter, (&scale, &labelled), ticks);
        self.bands(ui, &painter, tip);
        self.draw_limits(ui, &painter, &scale, &limits);
        // The first day is drawn last, on top.
        for rank in [1, 0] {
            if let Some((series, line)) = lines[rank] {
                self.trace(&painter, &scale, ticks, (rank, series, line));
            }
        }
        self.names(&painter, &scale, &lines);
    }

    /// The grid and the figures of the scale.
    fn ground(
        &self,
        ui: &Ui,
        painter: &Painter,
        (scale, labelled): (&Scale, &[f64]),
        ticks: &[ElapsedTick],
    ) {
        let (rect, look) = (self.rect, self.look);
        for tick in ticks {
            let at = Instant::from_unix_milliseconds(tick.after.milliseconds());
            painter.vline(self.two.window.x(at, rect.x_range()), rect.y_range(), look.hairline());
        }
        for &tick in &scale.ticks {
            let place = scale.y(tick, rect.bottom(), rect.top());
            if place < rect.top() + 6.0 || place > rect.bottom() - 6.0 {
                continue;
            }
            painter.hline(rect.x_range(), place, look.hairline());
            if labelled.contains(&tick) {
                let (at, text) = (pos2(rect.right() + 6.0, place), scale.label(tick));
                let ink = look.colors.ink_soft;
                widgets::text_left(ui.painter(), at, &text, Type::Small, ink, SCALE_WIDTH - 6.0);
            }
        }
    }

    /// The half of the plot that the exceptions of a day stand in.
    fn half(&self, rank: usize) -> Rect {
        let middle = self.rect.center().y;
        if rank == 0 { self.rect.with_max_y(middle) } else { self.rect.with_min_y(middle) }
    }

    /// The exceptions of both days.
    fn bands(&self, ui: &Ui, painter: &Painter, tip: &mut Option<String>) {
        let pointer = ui.input(|input| input.pointer.hover_pos());
        for (rank, side) in self.two.sides.iter().enumerate() {
            let (Some(shown), Some(at)) =
                (side.shown(self.two.window), across(self.two.window, side, self.rect.x_range()))
            else {
                continue;
            };
            let (case, half) = (&side.record.case, self.half(rank));
            let found = bands::visible(&case.audit().exceptions, shown, at, None);
            bands::draw(painter, self.look, half, &found, |rule| self.kind.is_about(rule));
            let under = |band: &&chart::Band| {
                pointer.is_some_and(|pos| {
                    half.contains(pos) && (band.outer.0..=band.outer.1).contains(&pos.x)
                })
            };
            let under = found.iter().find(under);
            if let Some(one) = under.and_then(|band| case.audit().exceptions.get(band.index)) {
                let (from, to) = (case.clock(one.observed.start()), case.clock(one.observed.end()));
                *tip = Some(format!("{}: {}, {from} to {to}", side.name, one.rule.name()));
            }
        }
    }

    /// The limits of both days; where they are the same only that of the first.
    fn draw_limits(&self, ui: &Ui, painter: &Painter, scale: &Scale, limits: &[Limit<'_>]) {
        let (rect, x) = (self.rect, self.rect.x_range());
        let mut labelled: Vec<f32> = Vec::new();
        let mut drawn: Vec<(f64, Rangef)> = Vec::new();
        for limit in limits {
            let side = &self.two.sides[limit.rank];
            let Some(at) = across(self.two.window, side, x) else { continue };
            let interval = limit.step.interval;
            let range = Rangef::new(at(interval.start()).max(x.min), at(interval.end()).min(x.max));
            if range.span() <= 0.0 {
                continue;
            }
            let place = scale.y(limit.figure, rect.bottom(), rect.top());
            let color = self.look.rule(limit.step.rule);
            let mut ranges = vec![range];
            if limit.rank == 0 {
                drawn.push((limit.figure, range));
            } else {
                let same = drawn.iter().filter(|(figure, _)| (figure - limit.figure).abs() < 1e-9);
                for (_, taken) in same {
                    ranges = ranges.into_iter().flat_map(|one| without(one, *taken)).collect();
                }
            }
            let (dash, gap) = if limit.rank == 0 { (7.0, 4.0) } else { (2.0, 4.0) };
            for range in ranges {
                let line = [pos2(range.min, place), pos2(range.max, place)];
                painter.extend(Shape::dashed_line(&line, Stroke::new(1.4, color), dash, gap));
            }
            if labelled.iter().all(|other| (other - place).abs() > LINE) {
                limit_label(ui, self.look, pos2(x.max + 6.0, place), &limit.label, color);
                labelled.push(place);
            }
        }
    }

    /// The trace of a day.
    fn trace(
        &self,
        painter: &Painter,
        scale: &Scale,
        ticks: &[ElapsedTick],
        (rank, series, line): (usize, &Series<'_>, &chart::Polylines),
    ) {
        let (rect, look, side) = (self.rect, self.look, &self.two.sides[rank]);
        let Some(at) = across(self.two.window, side, rect.x_range()) else { return };
        let (factor, offset) = series.line();
        let value = |mantissa: i64| mantissa as f64 * factor + offset;
        let height = |mantissa: i64| scale.y(value(mantissa), rect.bottom(), rect.top());
        let Stroke { width, color } = stroke(look, rank);
        let ink = trace_line::Ink { width, color, dense: look.dense(rank) };
        let instants = side.record.case.record().instants();
        let time = (instants, side.drawing.columns());
        painter.extend(trace_line::shapes(rect, time, line, at, height, ink));
        let beyond = chart::leaving(line, value, (scale.least, scale.greatest));
        let place = |sample: u32| at(instants.get(sample as usize).copied().unwrap_or_default());
        arrowheads(painter, (look, color), rect, &beyond, place);
        if rank == 0 {
            return;
        }
        // Marks half way between the round times, where neither grid nor crosshair is.
        for pair in ticks.windows(2) {
            let [one, next] = [&pair[0], &pair[1]].map(|tick| tick.after.milliseconds());
            let middle = Instant::from_unix_milliseconds(i64::midpoint(one, next));
            let Some(point) = self.point_at(scale, (rank, series), middle) else { continue };
            trace_mark(painter, point, rank, color, look.colors.surface);
        }
    }

    /// Where the trace of a day lies at an instant of the common axis.
    fn point_at(
        &self,
        scale: &Scale,
        (rank, series): (usize, &Series<'_>),
        at: Instant,
    ) -> Option<Pos2> {
        let side = &self.two.sides[rank];
        let sample = side.sample(at).filter(|&sample| series.is_known(sample))?;
        let (factor, offset) = series.line();
        let mantissa = *series.series.mantissas().get(sample)?;
        let instant = *side.record.case.record().instants().get(sample)?;
        let x = across(self.two.window, side, self.rect.x_range())?(instant);
        let value = mantissa as f64 * factor + offset;
        let point = pos2(x, scale.y(value, self.rect.bottom(), self.rect.top()));
        self.rect.contains(point).then_some(point)
    }

    /// The days at their traces, and a dot on each at the crosshair.
    fn names(
        &self,
        painter: &Painter,
        scale: &Scale,
        lines: &[Option<&(Series<'_>, &chart::Polylines)>; 2],
    ) {
        let look = self.look;
        for (rank, line) in lines.iter().enumerate() {
            let Some((series, _)) = line else { continue };
            if let Some(at) = self.two.crosshair()
                && let Some(point) = self.point_at(scale, (rank, series), at)
            {
                let edge = Stroke::new(1.5, look.colors.surface);
                painter.circle(point, 3.0, look.trace(rank), edge);
            }
            // From the middle outwards, each to its own side, where there is something to name.
            let shown = self.two.window.interval();
            let span = shown.duration().milliseconds();
            let tried = [30, 24, 18, 12, 36, 42, 6].into_iter().find_map(|share| {
                let share = if rank == 0 { share } else { 100 - share };
                let at = shown.start() + trace::Duration::from_milliseconds(span * share / 100);
                self.point_at(scale, (rank, series), at)
            });
            let Some(point) = tried else { continue };
            let name = &self.two.sides[rank].short;
            let color = look.trace(rank);
            let galley = painter.layout_no_wrap(name.clone(), Type::Small.font(), color);
            let size = galley.size() + vec2(8.0, 2.0);
            // The first day's name stands above its line, the other's below.
            let away = if rank == 0 { -size.y / 2.0 - 5.0 } else { size.y / 2.0 + 5.0 };
            let inside = self.rect.shrink2(vec2(size.x / 2.0, size.y / 2.0 + 1.0));
            let center = inside.clamp(point + vec2(0.0, away));
            let plate = Rect::from_center_size(center, size);
            painter.rect_filled(plate, 2.0, look.colors.surface);
            painter.rect_stroke(plate, 2.0, Stroke::new(1.0, color), egui::StrokeKind::Inside);
            painter.galley(center - galley.size() / 2.0, galley, color);
        }
    }

    /// What the plot is of, and the reading of each day at the crosshair.
    fn gutter(&self, ui: &mut Ui) {
        let (look, rect, two) = (self.look, self.rect, self.two);
        let area = Rect::from_min_max(pos2(rect.left() - GUTTER, rect.top()), rect.left_bottom());
        let painter = ui.painter_at(area);
        let (left, title) = (area.left() + MARGIN, self.kind.title());
        let all = two.sides.each_ref().map(|side| series(side, self.kind, self.units));
        let at = pos2(left, area.top() + 11.0);
        let ink = look.colors.ink;
        let used = widgets::text_left(&painter, at, title, Type::Strong, ink, 100.0);
        let named = Rect::from_min_size(pos2(left, area.top() + 3.0), vec2(used, 17.0));
        let id = Id::unique(("plot of two days", title));
        explained(ui.interact(named, id, Sense::hover()), look, title);
        let first = all.iter().flatten().next();
        if let Some(first) = first {
            let names: Vec<&str> = all.iter().flatten().map(|one| one.name).collect();
            let same = names.windows(2).all(|pair| pair[0] == pair[1]) && first.name != title;
            let text = if same {
                format!("{}, {}", first.name, first.symbol())
            } else {
                first.symbol().to_owned()
            };
            let at = pos2(left + used + 7.0, at.y);
            let room = area.right() - 8.0 - at.x;
            widgets::text_left(&painter, at, &text, Type::Small, look.colors.ink_soft, room);
        }
        for (rank, one) in all.iter().enumerate() {
            let y = area.top() + 27.0 + 15.0 * rank as f32;
            let side = &two.sides[rank];
            let value = match (one, first) {
                (None, _) => "not recorded".to_owned(),
                (Some(one), Some(first)) if one.symbol() != first.symbol() => {
                    format!("in {}, not drawn", one.symbol())
                }
                (Some(one), _) => {
                    let sample = two.crosshair().and_then(|at| side.sample(at));
                    sample.map_or_else(String::new, |sample| match one.reading(sample) {
                        Ok(text) => text,
                        Err(why) => why.into(),
                    })
                }
            };
            super::page::sample(ui, look, pos2(left, y), rank);
            let row = Rect::from_x_y_ranges(rect.x_range(), Rangef::new(y - 7.0, y + 7.0));
            beside(ui, look, row, 26.0, (&side.short, &value));
        }
    }
}

/// The line of a plot on a day.
fn line(side: &Side, kind: PlotKind, units: Units) -> Option<(Series<'_>, &chart::Polylines)> {
    let series = series(side, kind, units)?;
    let line = side.drawing.line(&series)?;
    Some((series, line))
}

/// The start of forward flow through all plots, and the crosshair.
fn uprights(ui: &Ui, look: Look, two: &Comparison, places: &Places) {
    let stack = places.stack();
    let painter = ui.painter_at(stack);
    let start = two.window.x(Instant::default(), places.x);
    let color = look.colors.accent;
    painter.vline(start, stack.y_range(), Stroke::new(1.6, color));
    if places.x.contains(start) {
        let at = pos2(start + 5.0, places.lanes[1].1.center().y);
        let room = places.x.max - at.x;
        widgets::text_left(&painter, at, "Start of forward flow", Type::Small, color, room);
    }
    if let Some(at) = two.crosshair() {
        let place = two.window.x(at, places.x);
        painter.vline(place, stack.y_range(), Stroke::new(1.0, look.colors.ink_soft));
    }
}

/// The plots in words, for a screen reader.
fn describe(response: &Response, two: &Comparison, units: Units) {
    response.widget_info(|| {
        let shown = two.window.interval();
        let [from, to] = [shown.start(), shown.end()].map(|at| elapsed(since_start(at), true));
        let mut text =
            format!("Plots of two days from {from} to {to} after the start of forward flow");
        for side in &two.sides {
            let clock = |at: Instant| side.record.case.clock(at);
            let Some(shown) = side.shown(two.window) else { continue };
            let span = format!("{} to {}", clock(shown.start()), clock(shown.end()));
            text = format!("{text}. {}: {span}", side.name);
            let Some(sample) = two.crosshair().and_then(|at| side.sample(at)) else { continue };
            let record = side.record.case.record();
            let at = record.instants().get(sample).copied().unwrap_or_default();
            text = format!("{text}, sample at {}", clock(at));
            if let Some(valve) = record.valve().get(sample) {
                text = format!("{text}: FDD {}", valve.name());
            }
            for (role, channel) in record.channels() {
                let reading = units.of(channel).reading(channel.reading(sample));
                text = format!("{text}, {} {reading}", role.name());
            }
            let product = side.record.case.product_at(sample);
            if !product.is_blank() {
                text = format!("{text}, product {product}");
            }
        }
        WidgetInfo::labeled(Access::Figure, true, text)
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where both days have the same limit only that of the first is drawn.
    #[test]
    fn what_is_drawn_already_is_left_out() {
        let rest = |range: (f32, f32), taken: (f32, f32)| -> Vec<(f32, f32)> {
            let [range, taken] = [range, taken].map(|(min, max)| Rangef::new(min, max));
            without(range, taken).map(|rest| (rest.min, rest.max)).collect()
        };
        assert_eq!(rest((0.0, 10.0), (4.0, 6.0)), [(0.0, 4.0), (6.0, 10.0)]);
        assert_eq!(rest((0.0, 10.0), (0.0, 6.0)), [(6.0, 10.0)]);
        assert_eq!(rest((0.0, 10.0), (4.0, 12.0)), [(0.0, 4.0)]);
        assert_eq!(rest((0.0, 10.0), (-1.0, 12.0)), []);
        assert_eq!(rest((0.0, 10.0), (20.0, 30.0)), [(0.0, 10.0)]);
        assert_eq!(rest((20.0, 30.0), (0.0, 10.0)), [(20.0, 30.0)]);
    }
}
