//! Draws the list of exceptions.

use super::column::Column;
use super::list::{List, Row};
use super::row::{cells, sentence};
use crate::action::{Action, Actions, Pick};
use crate::day::Day;
use crate::review::standing::draw as draw_mark;
use crate::table::{self, MARK};
use crate::theme::widgets::{self, Glyph};
use crate::theme::{GAP, Look, MARGIN, ROW, Type, rule_pattern, swatch};
use crate::units::Units;
use analysis::{Exception, Rule};
use egui::accesskit::Role as Access;
use egui::{Event, Key, Modifiers, Rect, Sense, Ui, WidgetInfo, pos2, vec2};

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

/// The columns of a list of this width.
fn columns(room: f32) -> Vec<table::Column<Column>> {
    let rule = if room > 640.0 { 222.0 } else { 150.0 };
    // Where there is no room for the word, the mark stands for it.
    let review = if room > 1040.0 { 92.0 } else { MARK };
    // A narrow window keeps what is needed to choose; the pane beside and every row's sentence
    // have all of it.
    [
        (0.0, Column::Rule, "Rule", rule, 2.0, false),
        (0.0, Column::Review, "Review", review, 0.0, false),
        (0.0, Column::Start, "Start", 102.0, 0.4, true),
        (640.0, Column::AtLeast, "At least", 80.0, 0.5, true),
        (0.0, Column::Estimate, "Estimate", 80.0, 0.5, true),
        (640.0, Column::AtMost, "At most", 80.0, 0.5, true),
        (0.0, Column::Worst, "Worst / limit", 112.0, 0.6, true),
        (0.0, Column::Volume, "Passed", 94.0, 0.5, true),
        (800.0, Column::Product, "Product", 94.0, 1.4, false),
        (800.0, Column::Lot, "Lot", 66.0, 1.0, false),
    ]
    .into_iter()
    .filter(|one| room > one.0)
    .map(|(_, key, title, least, share, is_figure)| table::Column {
        key,
        title,
        least,
        share,
        is_figure,
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
    let room = table::room(ui);
    let columns = columns(room);
    // The figures that matter most are the greatest.
    let greatest_first = |column| {
        columns.iter().any(|one| one.key == column && one.is_figure && column != Column::Start)
    };
    table::headings(ui, look, (&columns, room), &mut list.sort, greatest_first);
    if day.case.audit().exceptions.is_empty() {
        let text = "No exception. See the observations.";
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
    area.show(ui, |ui| {
        table::rows(ui, "Exceptions", rows.len(), |ui, place| match rows.get(place) {
            Some(&Row::Episode(place)) => episode(ui, look, list, day, place),
            Some(&Row::Cleaning(place)) => cleaning(ui, look, list, day, place),
            Some(&Row::Exception(index, inside)) => {
                let row = (index, inside);
                let focus = list.focus.take_if(|focus| *focus == index).is_some();
                let asked = exception(ui, look, (day, units), row, (&columns, room), focus);
                if let Some(action) = asked {
                    actions.push(action);
                }
            }
            None => {}
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
    table::HEADINGS + ROW * rows.max(1) as f32
}

fn episode(ui: &mut Ui, look: Look, list: &mut List, day: &Day, place: usize) {
    let Some(episode) = day.case.audit().episodes.get(place) else { return };
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
        day.case.clock(episode.interval.start()),
        day.case.clock(episode.interval.end()),
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
    let inside: Vec<&Exception> = cleaning
        .exceptions
        .iter()
        .filter_map(|&index| day.case.audit().exceptions.get(index))
        .collect();
    let text = format!(
        "Cleaning {}: {} outside production, {} to {}",
        cleaning.number,
        case::plural(inside.len(), "exception"),
        day.case.clock(cleaning.interval.start()),
        day.case.clock(cleaning.interval.end()),
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
    let said = || {
        let state = if folded { "collapsed" } else { "expanded" };
        WidgetInfo::labeled(Access::DisclosureTriangle, true, format!("{text}, {state}"))
    };
    let response = table::row(ui, look, (false, 4.0), said, |ui, rect| {
        let colors = look.colors;
        let glyph = if folded { Glyph::Folded } else { Glyph::Unfolded };
        let y = rect.center().y;
        widgets::glyph(ui.painter(), pos2(rect.left() + MARGIN + 7.0, y), glyph, colors.ink_soft);
        let mut x = rect.left() + MARGIN + 22.0;
        x += widgets::text_left(ui.painter(), pos2(x, y), text, Type::Strong, colors.ink, 520.0);
        if !folded {
            return;
        }
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
    });
    response.clicked()
}

fn exception(
    ui: &mut Ui,
    look: Look,
    (day, units): (&Day, Units),
    (index, inside): (usize, bool),
    (columns, room): (&[table::Column<Column>], f32),
    focus: bool,
) -> Option<Action> {
    let exception = day.case.audit().exceptions.get(index)?;
    let colors = look.colors;
    let chosen = day.is_chosen(index);
    let said = || WidgetInfo::selected(Access::Row, true, chosen, sentence(day, units, exception));
    let response = table::row(ui, look, (chosen, 4.0), said, |ui, rect| {
        let y = rect.center().y;
        for place in table::places(columns, rect.left(), room) {
            let column = place.column.key;
            let mut text = cells(day, units, exception, column);
            let (step, ink) = match column {
                Column::Rule | Column::Estimate | Column::Worst => (Type::Strong, colors.ink),
                Column::AtLeast | Column::AtMost => (Type::Body, colors.ink_soft),
                _ => (Type::Body, colors.ink),
            };
            let mark = |indent, size| {
                Rect::from_center_size(pos2(place.left + indent, y), vec2(size, size))
            };
            let mut indent = 0.0;
            match column {
                Column::Rule => {
                    indent = if inside { 36.0 } else { 18.0 };
                    let (rule, mark) = (exception.rule, mark(indent - 11.0, 14.0));
                    swatch(ui.painter(), mark, rule_pattern(rule), look.rule(rule));
                }
                Column::Review => {
                    indent = 18.0;
                    let standing = day.review.mark(&exception.id);
                    draw_mark(ui.painter(), look, mark(11.0, 13.0), standing);
                    if place.width < 2.0 * MARK {
                        continue;
                    }
                }
                // To the second; the zone of an hour that comes twice must not be cut off.
                Column::Start => text = whole_seconds(&text),
                _ => {}
            }
            place.text(ui.painter(), (y, indent), &text, (step, ink), 12.0);
        }
    });
    if focus {
        response.request_focus();
    }
    let extends = |key| ui.input_mut(|input| input.consume_key(Modifiers::SHIFT, key));
    if response.has_focus() {
        for (key, step) in [(Key::ArrowDown, 1), (Key::ArrowUp, -1)] {
            if extends(key) {
                return Some(Action::Pick(Pick::Step(index, step)));
            }
        }
    }
    let hovered = response.on_hover_ui(|ui| {
        ui.label(Type::Body.text(sentence(day, units, exception), colors.ink));
    });
    let modifiers = ui.input(|input| of_click(&input.events).unwrap_or(input.modifiers));
    hovered.clicked().then(|| match (modifiers.command, modifiers.shift) {
        (true, _) => Action::Pick(Pick::Toggle(index)),
        (false, true) => Action::Pick(Pick::To(index)),
        (false, false) => Action::Choose(index),
    })
}

/// What was held down at a click: in a slow frame it may have been let go since.
fn of_click(events: &[Event]) -> Option<Modifiers> {
    events.iter().rev().find_map(|event| match event {
        Event::PointerButton { pressed: false, modifiers, .. }
        | Event::Key { key: Key::Space | Key::Enter, pressed: true, modifiers, .. } => {
            Some(*modifiers)
        }
        _ => None,
    })
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
