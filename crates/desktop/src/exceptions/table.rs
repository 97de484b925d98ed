//! Draws the list of exceptions.

use super::column::Column;
use super::list::{List, Row};
use super::row::{cells, sentence};
use crate::action::{Action, Actions};
use crate::day::Day;
use crate::review::standing::draw as draw_mark;
use crate::theme::widgets::{self, Glyph};
use crate::theme::{GAP, Look, MARGIN, ROW, Type, rule_pattern, swatch};
use crate::units::Units;
use analysis::{Exception, Rule};
use egui::accesskit::Role as Access;
use egui::{Align2, Rect, Response, Sense, Ui, WidgetInfo, pos2, vec2};

/// The filter line above the list.
pub fn filters(ui: &mut Ui, look: Look, list: &mut List, day: &Day) {
    let colors = look.colors;
    let counts = Rule::ALL.iter().map(|&rule| {
        (rule, day.case.audit().exceptions.iter().filter(|one| one.rule == rule).count())
    });
    let present = counts.filter(|(_, count)| *count > 0);
    let room = ui.available_width() - 78.0 * present.clone().count() as f32;
    let hint = Type::Body.text("Filter: rule, time, product, lot", colors.ink_soft);
    let field = egui::TextEdit::singleline(&mut list.filter)
        .hint_text(hint)
        .desired_width(room.clamp(90.0, 208.0))
        .id(egui::Id::unique("filter exceptions"));
    let response = ui.add(field).accessible_name("Filter exceptions");
    if std::mem::take(&mut list.focus_filter) {
        response.request_focus();
    }
    // Where there is no room for the names, the codes of the bands stand in for them.
    let in_words = ui.available_width() > 150.0 * present.clone().count() as f32;
    for (rule, count) in present {
        // What finds no room can still be typed into the filter.
        if ui.available_width() < 72.0 {
            break;
        }
        let (rect, _) = ui.allocate_exact_size(vec2(13.0, 13.0), Sense::hover());
        swatch(ui.painter(), rect, rule_pattern(rule), look.rule(rule));
        ui.add_space(-GAP);
        let on = !list.hidden.contains(&rule);
        let word = if in_words { rule.definition().short_name } else { rule.code() };
        let (text, name) = (format!("{word} {count}"), format!("{} {count}", rule.name()));
        let response = widgets::toggle_named(ui, look, on, &text, &name);
        if response.on_hover_text(format!("Show or hide: {name}")).clicked() {
            if on {
                list.hidden.insert(rule);
            } else {
                list.hidden.remove(&rule);
            }
        }
    }
}

/// A time of day without its milliseconds: `01:20:22.438 CST` becomes `01:20:22 CST`.
fn whole_seconds(clock: &str) -> String {
    let (time, zone) = clock.split_once(' ').unwrap_or((clock, ""));
    let time = time.split('.').next().unwrap_or(time);
    if zone.is_empty() { time.to_owned() } else { format!("{time} {zone}") }
}

/// The width of a column that holds a mark and no word.
const MARK: f32 = 30.0;

/// What the scroll bar beside the rows takes.
const SCROLL_BAR: f32 = 12.0;

/// The places of the columns in a window of this width, the same with and without a scroll bar.
fn places(left: f32, width: f32) -> Vec<(Column, f32, f32)> {
    let inner = width - 2.0 * MARGIN;
    let usual = |column: Column| match column {
        Column::Rule => (if inner > 640.0 { 222.0 } else { 150.0 }, 2.0),
        // Where there is no room for the word, the mark stands for it.
        Column::Review => (if inner > 1040.0 { 92.0 } else { MARK }, 0.0),
        Column::Start => (102.0, 0.4),
        Column::AtLeast | Column::Estimate | Column::AtMost => (80.0, 0.5),
        Column::Worst => (112.0, 0.6),
        Column::Volume => (94.0, 0.5),
        Column::Product => (94.0, 1.4),
        Column::Lot => (66.0, 1.0),
    };
    // A narrow window keeps what is needed to choose; the pane beside and every row's sentence
    // have all of it.
    let is_kept = |column: &Column| match column {
        Column::Product | Column::Lot => inner > 800.0,
        Column::AtLeast | Column::AtMost => inner > 640.0,
        _ => true,
    };
    let columns: Vec<Column> = Column::ALL.into_iter().filter(is_kept).collect();
    let least: f32 = columns.iter().map(|&column| usual(column).0).sum();
    let shares: f32 = columns.iter().map(|&column| usual(column).1).sum();
    let room = inner - least;
    // Where even that is too much every column gives up in proportion.
    let shrink = if room < 0.0 { inner / least } else { 1.0 };
    let mut x = left + MARGIN;
    columns
        .into_iter()
        .map(|column| {
            let (least, share) = usual(column);
            let width = least * shrink + room.max(0.0) * share / shares;
            let place = (column, x, width);
            x += width;
            place
        })
        .collect()
}

/// Draws the table into the rest of `ui`.
pub fn show(
    ui: &mut Ui,
    look: Look,
    list: &mut List,
    day: &Day,
    units: Units,
    actions: &mut Actions,
) {
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let width = ui.available_width() - SCROLL_BAR;
    header(ui, look, list, width);
    if day.case.audit().exceptions.is_empty() {
        let text = "No exception. Observations are listed beside.";
        ui.add_space(MARGIN);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            ui.label(Type::Body.text(text, look.colors.ink_soft));
        });
        return;
    }
    let rows = list.rows(day);
    if rows.is_empty() {
        ui.add_space(MARGIN);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let text = "No exception passes the filter.";
            ui.label(Type::Body.text(text, look.colors.ink_soft));
            ui.add_space(GAP);
            if widgets::button(ui, look, "Show all", "").clicked() {
                list.filter.clear();
                list.hidden.clear();
            }
        });
        return;
    }
    let mut area = egui::ScrollArea::vertical()
        .auto_shrink(false)
        .min_scrolled_height(ROW)
        .id_salt("exceptions");
    if let Some(target) = list.scroll_to.take()
        && let Some(place) =
            rows.iter().position(|row| matches!(row, Row::Exception(index, _) if *index == target))
    {
        let height = ui.available_height();
        let offset = (place as f32 * ROW - (height - ROW) / 2.0).max(0.0);
        let fits = rows.len() as f32 * ROW <= height;
        if !fits {
            area = area.vertical_scroll_offset(offset);
        }
    }
    let builder =
        egui::UiBuilder::new().accessibility_role(Access::Table).accessibility_label("Exceptions");
    ui.scope_builder(builder, |ui| {
        area.show_rows(ui, ROW, rows.len(), |ui, range| {
            for row in rows.get(range).unwrap_or(&[]) {
                match *row {
                    Row::Episode(place) => episode(ui, look, list, day, place),
                    Row::Cleaning(place) => cleaning(ui, look, list, day, place),
                    Row::Exception(index, inside) => {
                        if exception(ui, look, day, units, (index, inside), width) {
                            actions.push(Action::Choose(index));
                        }
                    }
                }
            }
        });
    });
}

/// What all rows of the list take with their headings.
pub fn height(day: &Day, list: &List) -> f32 {
    if day.case.audit().exceptions.len() > 40 {
        return f32::INFINITY;
    }
    // With a filter the rows change as one types; the list keeps its place.
    let rows = if list.filter.is_empty() && list.hidden.is_empty() {
        list.rows(day).len()
    } else {
        day.case.audit().exceptions.len()
    };
    // A clean day has a sentence in place of rows.
    HEADINGS + ROW * rows.max(1) as f32
}

/// The height of the headings.
const HEADINGS: f32 = 25.0;

fn header(ui: &mut Ui, look: Look, list: &mut List, width: f32) {
    let colors = look.colors;
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    for (column, x, width) in places(rect.left(), width) {
        let cell = Rect::from_min_size(pos2(x, rect.top()), vec2(width, rect.height()));
        let id = ui.make_persistent_id(("sort", column.title()));
        let response = ui.interact(cell, id, Sense::click());
        let (sorting, descending) = list.sort;
        let is_sorting = sorting == column;
        response.widget_info(|| {
            let order = match (is_sorting, descending) {
                (false, _) => "",
                (true, false) => ", least first",
                (true, true) => ", greatest first",
            };
            let text = format!("Sort by {}{order}", column.title().to_lowercase());
            WidgetInfo::selected(Access::Button, true, is_sorting, text)
        });
        if response.clicked() {
            // The figures that matter most are the greatest.
            let greatest_first = column.is_figure() && column != Column::Start;
            list.sort = if is_sorting { (column, !descending) } else { (column, greatest_first) };
        }
        if response.hovered() {
            ui.painter().rect_filled(cell.shrink(1.0), 3.0, colors.hovered);
        }
        let ink = if is_sorting { colors.ink } else { colors.ink_soft };
        let room = width - 18.0;
        let (at, anchor) = if column.is_figure() {
            (pos2(cell.right() - 8.0, cell.center().y), Align2::RIGHT_CENTER)
        } else {
            (pos2(cell.left() + 4.0, cell.center().y), Align2::LEFT_CENTER)
        };
        // A column of marks has no room for its name, which its button says.
        if column == Column::Review && width < 2.0 * MARK {
            widgets::focus_ring(ui, look, &response, cell.shrink(1.0));
            continue;
        }
        let used =
            widgets::text_in(ui.painter(), at, anchor, column.title(), Type::Small, ink, room);
        if is_sorting {
            let glyph = if descending { Glyph::Down } else { Glyph::Up };
            let x = if column.is_figure() { at.x - used - 8.0 } else { at.x + used + 8.0 };
            widgets::glyph(ui.painter(), pos2(x, at.y), glyph, ink);
        }
        widgets::focus_ring(ui, look, &response, cell.shrink(1.0));
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), look.hairline());
}

/// A row of the list; one that gets the keyboard comes into view.
fn row(ui: &mut Ui, look: Look, chosen: bool, said: impl Fn() -> WidgetInfo) -> (Rect, Response) {
    let (rect, response) = widgets::row(ui, look, (chosen, 4.0), said);
    widgets::row_end(ui, look, &response);
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    (rect, response)
}

fn episode(ui: &mut Ui, look: Look, list: &mut List, day: &Day, place: usize) {
    let Some(episode) = day.case.audit().episodes.get(place) else { return };
    let zone = day.case.plant().zone;
    // What lies in cleaning stands below its own heading.
    let inside: Vec<&Exception> = episode
        .exceptions
        .iter()
        .filter_map(|&index| day.case.audit().exceptions.get(index))
        .filter(|one| one.cleaning.is_none())
        .collect();
    let text = format!(
        "Episode {}: {} exceptions, {} to {}",
        episode.number,
        inside.len(),
        zone.clock(episode.interval.start()),
        zone.clock(episode.interval.end()),
    );
    let folded = list.folded.contains(&episode.number);
    if heading(ui, look, &text, folded, &inside) {
        if folded {
            list.folded.remove(&episode.number);
        } else {
            list.folded.insert(episode.number);
        }
    }
}

fn cleaning(ui: &mut Ui, look: Look, list: &mut List, day: &Day, place: usize) {
    let Some(cleaning) = day.case.audit().cleanings.get(place) else { return };
    let zone = day.case.plant().zone;
    let inside: Vec<&Exception> = cleaning
        .exceptions
        .iter()
        .filter_map(|&index| day.case.audit().exceptions.get(index))
        .collect();
    let text = format!(
        "Cleaning {}: {} outside production, {} to {}",
        cleaning.number,
        case::plural(inside.len(), "exception"),
        zone.clock(cleaning.interval.start()),
        zone.clock(cleaning.interval.end()),
    );
    let folded = !list.unfolded.contains(&cleaning.number);
    if heading(ui, look, &text, folded, &inside) {
        if folded {
            list.unfolded.insert(cleaning.number);
        } else {
            list.unfolded.remove(&cleaning.number);
        }
    }
}

/// The heading of several exceptions; whether it was clicked.
fn heading(ui: &mut Ui, look: Look, text: &str, folded: bool, inside: &[&Exception]) -> bool {
    let (rect, response) = row(ui, look, false, || {
        let state = if folded { "folded" } else { "unfolded" };
        WidgetInfo::labeled(Access::DisclosureTriangle, true, format!("{text}, {state}"))
    });
    let colors = look.colors;
    let glyph = if folded { Glyph::Folded } else { Glyph::Unfolded };
    let y = rect.center().y;
    widgets::glyph(ui.painter(), pos2(rect.left() + MARGIN + 7.0, y), glyph, colors.ink_soft);
    let mut x = rect.left() + MARGIN + 22.0;
    x += widgets::text_left(ui.painter(), pos2(x, y), text, Type::Strong, colors.ink, 520.0);
    if folded {
        // What is folded away still shows its rules.
        x += 14.0;
        for &rule in Rule::ALL {
            let count = inside.iter().filter(|one| one.rule == rule).count();
            if count > 0 {
                let mark = Rect::from_center_size(pos2(x + 6.0, y), vec2(12.0, 12.0));
                swatch(ui.painter(), mark, rule_pattern(rule), look.rule(rule));
                let text = format!("{} {count}", rule.name());
                let at = pos2(x + 18.0, y);
                x += 30.0
                    + widgets::text_left(ui.painter(), at, &text, Type::Body, colors.ink, 200.0);
            }
        }
    }
    response.clicked()
}

fn exception(
    ui: &mut Ui,
    look: Look,
    day: &Day,
    units: Units,
    (index, inside): (usize, bool),
    table: f32,
) -> bool {
    let Some(exception) = day.case.audit().exceptions.get(index) else { return false };
    let chosen = day.chosen.as_ref().is_some_and(|chosen| chosen.index == index);
    let (rect, response) = row(ui, look, chosen, || {
        WidgetInfo::selected(Access::Row, true, chosen, sentence(day, units, exception))
    });
    let colors = look.colors;
    let y = rect.center().y;
    for (column, x, width) in places(rect.left(), table) {
        let mut text = cells(day, units, exception, column);
        if column == Column::Start {
            // To the second; the zone of an hour that comes twice must not be cut off.
            text = whole_seconds(&text);
        }
        let figure = column.is_figure();
        let (mut at, anchor, step) = if figure {
            (pos2(x + width - 8.0, y), Align2::RIGHT_CENTER, Type::Body)
        } else {
            (pos2(x + 4.0, y), Align2::LEFT_CENTER, Type::Body)
        };
        let mut room = width - 12.0;
        let mut step = step;
        let mut ink = colors.ink;
        if column == Column::Rule {
            let indent = if inside { 18.0 } else { 0.0 };
            let mark = Rect::from_center_size(pos2(x + indent + 7.0, y), vec2(14.0, 14.0));
            swatch(ui.painter(), mark, rule_pattern(exception.rule), look.rule(exception.rule));
            at.x += indent + 18.0;
            room -= indent + 18.0;
            step = Type::Strong;
        } else if column == Column::Review {
            let standing = day.review.mark(&exception.id);
            let mark = Rect::from_center_size(pos2(x + 11.0, y), vec2(13.0, 13.0));
            draw_mark(ui.painter(), look, mark, standing);
            at.x += 18.0;
            room -= 18.0;
            if width < 2.0 * MARK {
                continue;
            }
        } else if column == Column::AtLeast || column == Column::AtMost {
            ink = colors.ink_soft;
        } else if column == Column::Estimate || column == Column::Worst {
            step = Type::Strong;
        }
        widgets::text_in(ui.painter(), at, anchor, &text, step, ink, room);
    }
    let hovered = response.on_hover_ui(|ui| {
        ui.label(Type::Body.text(sentence(day, units, exception), colors.ink));
    });
    hovered.clicked()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_zone_outlives_the_milliseconds() {
        for (clock, short) in [
            ("07:10:22.625", "07:10:22"),
            ("07:10:22", "07:10:22"),
            ("01:20:22.438 CST", "01:20:22 CST"),
        ] {
            assert_eq!(whole_seconds(clock), short);
        }
    }
}
