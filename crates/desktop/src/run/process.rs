//! The process over the run: how long the tube held, the least lethality, and what drifts.

use crate::day::Day;
use crate::table;
use crate::theme::{GAP, Look, MARGIN, Type, explained, still_plot, widgets};
use crate::units::Units;
use analysis::{Followed, LETHALITY_CAUTION, Trend};
use chart::{Scale, time_ticks};
use egui::accesskit::Role as Access;
use egui::{Color32, Rect, RichText, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use egui_plot::{GridMark, HLine, Line, MarkerShape, PlotPoints, Points};
use trace::{Duration, Interval, Role, Unit as _};

/// The height of a trend with its words.
const TREND: f32 = 136.0;

/// What the times below a trend take.
const AXIS: f32 = 20.0;

/// Draws the page.
pub(super) fn show(ui: &mut Ui, look: Look, day: &Day, units: Units) {
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("process").show(ui, |ui| {
        ui.spacing_mut().item_spacing = vec2(GAP, 3.0);
        ui.add_space(4.0);
        trends(ui, look, day, units);
        ui.add_space(2.0);
        for (name, text) in facts(day) {
            fact(ui, look, name, &text);
        }
        if day.case.audit().lethality.is_some() {
            table::note(ui, look, LETHALITY_CAUTION);
        }
    });
}

fn fact(ui: &mut Ui, look: Look, name: &str, text: &str) {
    ui.horizontal_top(|ui| {
        ui.add_space(MARGIN);
        let (rect, response) = ui.allocate_exact_size(vec2(130.0, 17.0), Sense::hover());
        let at = rect.left_center();
        let ink = look.colors.ink_soft;
        widgets::text_left(ui.painter(), at, name, Type::Small, ink, 130.0);
        explained(response, look, name);
        let text = RichText::new(text).font(Type::Body.font()).color(look.colors.ink);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    });
}

/// What is said of the tube and of lethality, in the words of every report.
fn facts(day: &Day) -> Vec<(&'static str, String)> {
    let (audit, plant) = (day.case.audit(), day.case.plant());
    let mut facts = Vec::new();
    let held = match day.case.least_residence() {
        Some(case::LeastResidence { held, minimum, at }) => {
            let held = case::at_least(held);
            format!("{held} at {}; the minimum is {minimum}", day.case.clock(at))
        }
        None => "not available: it needs a recorded flow and a holding tube in the plant file"
            .to_owned(),
    };
    facts.push(("Shortest residence time", held));
    if let Some(certificate) = plant.tube.as_ref().and_then(plant::Tube::certificate) {
        let by = |text: &Option<String>| text.clone().unwrap_or_else(|| "not stated".to_owned());
        let text = format!(
            "{} at {} {}, tested on {}, by {}",
            certificate.test_time,
            certificate.test_flow.value,
            certificate.test_flow.unit.symbol(),
            by(&certificate.tested_on),
            by(&certificate.tested_by)
        );
        facts.push(("Holding tube, tested", text));
    }
    if let Some(measures) = plant.tube.as_ref().and_then(plant::Tube::geometry) {
        let text = format!(
            "{:.2} m long, {:.1} mm inner diameter, {:.1} L",
            measures.length_metres,
            1000.0 * measures.inner_diameter_metres,
            measures.litres()
        );
        facts.push(("Holding tube, dimensions", text));
    }
    if let Some(least) = &audit.lethality {
        let at = day.case.clock(least.at);
        facts.push(("Lowest lethality", format!("{} at {at}", case::lethality(least))));
    }
    facts
}

fn trends(ui: &mut Ui, look: Look, day: &Day, units: Units) {
    let trends = &day.case.audit().trends;
    if trends.is_empty() {
        table::note(ui, look, "There is no forward flow.");
        return;
    }
    let width = ui.available_width() - 2.0 * MARGIN;
    let (area, _) = ui.allocate_exact_size(vec2(width + 2.0 * MARGIN, TREND), Sense::hover());
    let step = (width + MARGIN) / trends.len() as f32;
    for (index, trend) in trends.iter().enumerate() {
        let left = area.left() + MARGIN + step * index as f32;
        let rect = Rect::from_min_size(pos2(left, area.top()), vec2(step - MARGIN, TREND));
        one(ui, look, day, units, trend, rect);
    }
}

/// How a difference or a share recorded in the trend's unit is shown: the factor and the symbol.
fn shown(day: &Day, units: Units, trend: &Trend) -> (f64, &'static str) {
    let role = match trend.followed {
        Followed::Regeneration => return (1.0, trend.unit),
        Followed::Approach => Role::HoldingTemperature,
        Followed::DifferentialMargin => Role::DifferentialPressure,
    };
    day.case.record().channel(role).map_or((1.0, trend.unit), |channel| {
        let shown = units.of(channel);
        (shown.value(1.0) - shown.value(0.0), shown.symbol())
    })
}

fn one(ui: &mut Ui, look: Look, day: &Day, units: Units, trend: &Trend, rect: Rect) {
    let colors = look.colors;
    let (factor, unit) = shown(day, units, trend);
    let name = match trend.followed {
        Followed::Regeneration => "Regeneration efficiency",
        Followed::Approach => "Heating-water approach",
        Followed::DifferentialMargin => "Differential margin",
    };
    let figure = |value: f64| case::decimal_places(value * factor, 2);
    let mean = format!("mean {} {unit}", figure(trend.mean));
    let range = format!("{} to {}", figure(trend.least), figure(trend.greatest));
    let drift = trend.line.map_or_else(
        || format!("{} min of steady forward flow: too short for a trend", trend.minutes.len()),
        |line| {
            let told = if line.is_significant() { "" } else { ": no significant drift" };
            let (change, about) = (line.per_hour * factor, line.uncertainty * factor);
            {
                let (change, about) = (case::signed(change, 3), case::decimal_places(about, 3));
                format!("{change} \u{b1} {about} {unit} per hour{told}")
            }
        },
    );
    let response = ui.interact(rect, ui.make_persistent_id(name), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(Access::Figure, true, format!("{name}: {mean}, {range}, {drift}"))
    });
    let painter = ui.painter().clone();
    let row = |y: f32| pos2(rect.left(), rect.top() + y);
    let room = rect.width();
    let used = widgets::text_left(&painter, row(9.0), name, Type::Strong, colors.ink, room);
    let named = Rect::from_min_size(rect.left_top(), vec2(used, 18.0));
    let id = ui.make_persistent_id(("named", name));
    explained(ui.interact(named, id, Sense::hover()), look, name);
    let text = format!("{mean}, minutes {range}");
    let at = row(26.0);
    widgets::text_left(&painter, at, &text, Type::Small, colors.ink_soft, room);
    let at = row(42.0);
    widgets::text_left(&painter, at, &drift, Type::Small, colors.ink, room);
    let place = Rect::from_min_max(row(52.0), rect.right_bottom());
    ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
        plot(ui, look, (day, trend), (factor, unit), place);
    });
    response.on_hover_text(format!(
        "{name}\nPoints: means of whole minutes of forward flow, the first five minutes after \
         a cut-in left out; arrowheads at the edge mark points beyond it. Line: least squares, 95 % \
         uncertainty of its slope. Dashes: the mean.\n{drift}"
    ));
}

fn plot(
    ui: &mut Ui,
    look: Look,
    (day, trend): (&Day, &Trend),
    (factor, unit): (f64, &'static str),
    place: Rect,
) {
    let colors = look.colors;
    let points: Vec<[f64; 2]> =
        trend.minutes.iter().map(|minute| [minute.hours, minute.mean * factor]).collect();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return };
    let (from, to) = (first[0], last[0]);
    let middle = points.iter().map(|point| point[0]).sum::<f64>() / points.len() as f64;
    let line = trend.line.map(|line| {
        let at = |x: f64| (trend.mean + line.per_hour * (x - middle)) * factor;
        (vec![[from, at(from)], [to, at(to)]], line.is_significant())
    });
    // A few minutes of starting or stopping must not flatten the rest: they are drawn as
    // arrowheads at the edge.
    let mut ordered: Vec<f64> = points.iter().map(|point| point[1]).collect();
    ordered.sort_by(f64::total_cmp);
    let rank = |share: f64| {
        let place = share * (ordered.len() - 1) as f64;
        ordered.get(place.round() as usize).copied().unwrap_or_default()
    };
    let ends = line.iter().flat_map(|(ends, _)| ends).map(|end| end[1]);
    let (least, greatest) = ends.fold((rank(0.03), rank(0.97)), |(least, greatest), end| {
        (least.min(end), greatest.max(end))
    });
    let margin = (0.2 * (greatest - least)).max(1e-6);
    let (bottom, top) = (least - margin, greatest + margin);
    let beyond = |below: bool| -> Vec<[f64; 2]> {
        let edge = if below { bottom } else { top };
        let out =
            points.iter().filter(|point| if below { point[1] < bottom } else { point[1] > top });
        out.map(|point| [point[0], edge]).collect()
    };
    let (below, above) = (beyond(true), beyond(false));
    let points: Vec<[f64; 2]> =
        points.into_iter().filter(|point| (bottom..=top).contains(&point[1])).collect();
    ui.painter().rect_filled(place, 2.0, colors.sunken);
    let (low, high) = (bottom - margin / 2.0, top + margin / 2.0);
    let mut scale = Scale { least: low, greatest: high, ..Scale::around(bottom, top, 3) };
    let figures = scale.labelled(place.height() - AXIS, 14.0, &[]);
    // Room was made for these, so none may fade for being close to another.
    let step = high - low;
    let mark = |value: f64, step_size: f64| GridMark { value, step_size };
    let figures: Vec<GridMark> = figures.into_iter().map(|value| mark(value, step)).collect();
    let begin = day.case.record().interval().start();
    let at = |hours: f64| begin + Duration::from_milliseconds((hours * 3_600_000.0).round() as i64);
    let zone = day.case.plant().zone;
    let most = ((place.width() / 110.0) as usize).clamp(1, 6);
    let times: Vec<(f64, String)> = time_ticks(Interval::between(at(from), at(to)), zone, most)
        .into_iter()
        .map(|tick| (tick.at.since(begin).milliseconds() as f64 / 3_600_000.0, tick.label))
        .collect();
    let every = times.windows(2).map(|pair| pair[1].0 - pair[0].0).next().unwrap_or(to - from);
    let grid: Vec<GridMark> = times.iter().map(|(hours, _)| mark(*hours, every)).collect();
    still_plot(("trend", trend.followed.key()), place.size())
        .y_grid_spacer(move |_| figures.clone())
        .x_grid_spacer(move |_| grid.clone())
        .y_axis_formatter(move |mark, _| format!("{} {unit}", scale.label(mark.value)))
        .x_axis_formatter(move |mark, _| {
            let time = times.iter().find(|(hours, _)| (hours - mark.value).abs() < 1e-9);
            time.map_or_else(String::new, |(_, label)| label.clone())
        })
        .set_margin_fraction(vec2(0.02, 0.12))
        .cursor_color(Color32::TRANSPARENT)
        .sense(Sense::hover())
        .default_y_bounds(low, high)
        .default_x_bounds(from - 0.02, to + 0.02)
        .show(ui, |plot| {
            for (points, shape) in [(below, MarkerShape::Down), (above, MarkerShape::Up)] {
                let edge = Points::new("beyond the edge", points).shape(shape).radius(3.0);
                plot.points(edge.color(colors.second));
            }
            plot.points(Points::new("minutes", points).radius(1.3).color(colors.third));
            plot.hline(
                HLine::new("mean", trend.mean * factor)
                    .style(egui_plot::LineStyle::dashed_dense())
                    .stroke(Stroke::new(1.0, colors.line_strong)),
            );
            if let Some((ends, significant)) = line {
                let width = if significant { 2.4 } else { 1.2 };
                let stroke = Stroke::new(width, colors.ink);
                plot.line(Line::new("line", PlotPoints::from(ends)).stroke(stroke));
            }
        });
}
