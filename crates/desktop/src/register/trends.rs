//! What changes over the days: a plot for each figure, with its line where there is one.

use super::parts::{inner, note};
use crate::theme::{GAP, Look, MARGIN, Type, still_plot};
use chart::Scale;
use chrono::{Datelike as _, Days, NaiveDate};
use daybook::{Series, ShownIn};
use egui::accesskit::Role as Access;
use egui::{CursorIcon, Frame, Sense, Stroke, Ui, UiBuilder, vec2};
use egui_plot::{GridMark, HLine, Line, MarkerShape, PlotPoint, PlotPoints, Points};

/// The height of a plot.
const HEIGHT: f32 = 150.0;

/// A dot is under the pointer where it is no further than this.
const NEAR: f32 = 12.0;

/// Draws the page; gives the day that was chosen, and of which pasteurizer.
pub(super) fn show(
    ui: &mut Ui,
    look: Look,
    series: &[Series],
    units: ShownIn,
) -> Option<(NaiveDate, String)> {
    let drawn: Vec<&Series> = series.iter().filter(|one| one.points.len() > 1).collect();
    if drawn.is_empty() {
        note(ui, look, "There are too few records for trends.");
        return None;
    }
    let mut chosen = None;
    let frame = Frame::new().fill(look.colors.surface).inner_margin(inner());
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        egui::ScrollArea::vertical().auto_shrink(false).id_salt("trends page").show(ui, |ui| {
            let columns = if ui.available_width() > 900.0 { 2 } else { 1 };
            let room = ui.available_width() - MARGIN * (columns - 1) as f32;
            let width = room / columns as f32;
            for row in drawn.chunks(columns) {
                ui.horizontal_top(|ui| {
                    ui.spacing_mut().item_spacing.x = MARGIN;
                    for one in row {
                        ui.vertical(|ui| {
                            ui.set_width(width);
                            if let Some(date) = plot(ui, look, &one.shown_in(units), width) {
                                chosen = Some((date, one.unit.clone()));
                            }
                        });
                    }
                });
                ui.add_space(MARGIN);
            }
            let text = "Each dot is a record; click it to open the record. Line: the median of the slopes between all pairs of days, drawn where its 95 % interval excludes zero (Theil 1950, Sen 1968). A line is a reason to investigate, not a forecast.";
            ui.add(egui::Label::new(Type::Small.text(text, look.colors.ink_soft)).wrap());
        });
    });
    chosen
}

/// The room behind the last day, as a share of all days: half of its date, which would be cut otherwise.
const LAST: f64 = 0.035;

/// Draws one; gives the day that was chosen.
fn plot(ui: &mut Ui, look: Look, series: &Series, width: f32) -> Option<NaiveDate> {
    let colors = look.colors;
    let (first, _) = *series.points.first()?;
    let mut chosen = None;
    let day = |date: NaiveDate| (date - first).num_days() as f64;
    let (title, sentence) = (series.title(), series.sentence());
    let builder = UiBuilder::new()
        .accessibility_role(Access::Figure)
        .accessibility_label(format!("{title}: {sentence}"));
    ui.scope_builder(builder, |ui| {
        ui.spacing_mut().item_spacing.y = GAP / 2.0;
        ui.horizontal(|ui| {
            ui.label(Type::Strong.text(&title, colors.ink));
            ui.label(Type::Small.text(&series.symbol, colors.ink_soft));
        });
        let places = |is_short: bool| -> Vec<[f64; 2]> {
            let points =
                series.points.iter().filter(|(_, value)| series.is_short(*value) == is_short);
            points.map(|(date, value)| [day(*date), *value]).collect()
        };
        let (short, others) = (places(true), places(false));
        let span = series.points.last().map_or(1.0, |(last, _)| day(*last)).max(1.0);
        let (least, greatest) = series.extent();
        let scale = Scale::around(least, greatest, 4);
        // A label fades where its step takes up little room.
        let mark = |value: f64, step_size: f64| GridMark { value, step_size };
        let step = scale.ticks.windows(2).map(|pair| pair[1] - pair[0]).next().unwrap_or(1.0);
        let figures: Vec<GridMark> = scale.ticks.iter().map(|tick| mark(*tick, step)).collect();
        let every = (span / 5.0).ceil().max(1.0);
        let days: Vec<GridMark> =
            dated(span, every).into_iter().map(|day| mark(day, every)).collect();
        let ticks = scale.ticks.clone();
        // Room for the figures of the lowest and the highest line beside the dates.
        let room = 0.07 * (scale.greatest - scale.least);
        let (least, greatest) = (scale.least - room, scale.greatest + room);
        let dates = move |mark: GridMark, _: &std::ops::RangeInclusive<f64>| {
            let days = u64::try_from(mark.value.round() as i64).unwrap_or(0);
            let date = first.checked_add_days(Days::new(days));
            let is_whole = (mark.value - mark.value.round()).abs() < 1e-6 && mark.value >= 0.0;
            // The year stands once, and where it is another one.
            let dated = |date: NaiveDate| {
                let is_new = date == first || date.ordinal0() < every as u32;
                date.format(if is_new { "%-d %b %Y" } else { "%-d %b" }).to_string()
            };
            date.filter(|_| is_whole).map_or_else(String::new, dated)
        };
        let size = vec2(width, HEIGHT);
        let shown = still_plot((series.followed.key(), &series.unit, &series.symbol), size)
            .sense(Sense::click())
            .y_grid_spacer(move |_| figures.clone())
            .x_grid_spacer(move |_| days.clone())
            .y_axis_formatter(move |mark, _| scale.label(mark.value))
            .default_x_bounds(-0.02 * span, (1.0 + LAST) * span)
            .default_y_bounds(least, greatest)
            .x_axis_formatter(dates)
            .show(ui, |plot| {
                for tick in ticks {
                    plot.hline(HLine::new("figure", tick).stroke(look.hairline()));
                }
                if series.followed.is_margin() {
                    let limit = HLine::new("limit", 0.0)
                        .style(egui_plot::LineStyle::dashed_dense())
                        .stroke(Stroke::new(1.5, colors.ink));
                    plot.hline(limit);
                }
                if let Some(ends) = series.line() {
                    let ends: Vec<_> = ends.map(|(date, value)| [day(date), value]).into();
                    let stroke = Stroke::new(2.0, colors.ink_soft);
                    plot.line(Line::new("line", PlotPoints::from(ends)).stroke(stroke));
                }
                let dots = Points::new("records", others).radius(2.4).color(colors.forward);
                plot.points(dots);
                // Below its limit: a sign of its own, not only a place.
                let crosses = Points::new("below the limit", short).shape(MarkerShape::Cross);
                plot.points(crosses.radius(4.0).color(colors.alert));
            });
        let near = shown.response.hover_pos().and_then(|pointer| {
            let place = |&(date, value): &(NaiveDate, f64)| {
                let at = shown.transform.position_from_point(&PlotPoint::new(day(date), value));
                (at.distance(pointer), date, value)
            };
            let nearest =
                series.points.iter().map(place).min_by(|one, other| one.0.total_cmp(&other.0));
            nearest.filter(|(distance, ..)| *distance <= NEAR)
        });
        if let Some((_, date, value)) = near {
            ui.ctx().set_cursor_icon(CursorIcon::PointingHand);
            if shown.response.clicked() {
                chosen = Some(date);
            }
            let text = format!("{}: {} {}", date.format("%-d %B %Y"), figure(value), series.symbol);
            shown.response.on_hover_text_at_pointer(text);
        }
        ui.add(egui::Label::new(Type::Small.text(&sentence, colors.ink)).wrap().selectable(true));
    });
    chosen
}

/// The days that have a date on the axis, from 0: the last one too, in place of one close before it.
fn dated(span: f64, every: f64) -> Vec<f64> {
    let mut days: Vec<f64> = (0..=5).map(|index| f64::from(index) * every).collect();
    days.retain(|day| *day == 0.0 || *day <= span - 0.6 * every);
    days.push(span);
    days
}

/// A figure of a day, with as many digits as tell days apart.
fn figure(value: f64) -> String {
    case::decimal_places(value, 2)
}

#[cfg(test)]
mod tests {
    use super::dated;

    #[test]
    fn the_last_day_has_a_date() {
        assert_eq!(dated(10.0, 2.0), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(dated(11.0, 3.0), [0.0, 3.0, 6.0, 9.0, 11.0]);
        // The 9th is too close to the 10th.
        assert_eq!(dated(10.0, 3.0), [0.0, 3.0, 6.0, 10.0]);
        assert_eq!(dated(1.0, 1.0), [0.0, 1.0]);
    }
}
