//! The calendar of a month: for every date the records that begin on it, with where their reviews
//! stand and the readings closest to their limits.

use super::parts::{facts, inner};
use crate::action::Actions;
use crate::commands::Command;
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Pattern, Type, fill_pattern};
use ::review::Stage;
use chrono::NaiveDate;
use daybook::{Cell, Entry, Fact, ShownIn, month};
use egui::accesskit::Role as Access;
use egui::{
    Align2, Color32, Frame, Id, Rect, Sense, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo,
};
use egui::{pos2, vec2};

/// What has the keyboard while a record of the calendar has it.
pub(super) fn record_id(entry: &Entry) -> Id {
    Id::unique(("record of the calendar", &entry.record))
}

/// What the page shows.
pub(super) struct Shown<'a> {
    pub entries: &'a [Entry],
    pub month: NaiveDate,
    pub facts: &'a [Fact],
    pub no_record: &'a [(String, NaiveDate)],
    /// The place of the record that comes first on the work list.
    pub first: Option<usize>,
    pub today: NaiveDate,
    pub units: ShownIn,
}

/// The days of a week, which begins on Monday (ISO 8601).
const WEEK: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
/// The height of the row with their names.
const HEADING: f32 = 20.0;
/// What is said of a review whose last day is over.
const OVERDUE: &str = "overdue";
/// The width of the pane with the month in figures.
const PANE: f32 = 340.0;

/// Draws the page; gives the record that was chosen.
pub(super) fn show(
    ui: &mut Ui,
    look: Look,
    shown: &Shown<'_>,
    actions: &mut Actions,
) -> Option<usize> {
    let colors = look.colors;
    let plain = Frame::new().fill(colors.surface).inner_margin(inner());
    let width = PANE.min(0.36 * ui.available_width());
    egui::Panel::right("month").frame(plain).exact_size(width).resizable(false).show(ui, |ui| {
        egui::ScrollArea::vertical().auto_shrink(false).id_salt("month").show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 5.0;
            ui.label(Type::Title.text(shown.month.format("%B %Y").to_string(), colors.ink));
            facts(ui, look, shown.facts, 92.0);
            ui.add_space(GAP);
            legend(ui, look);
            undated(ui, look, shown);
        });
    });
    let mut chosen = None;
    let frame = Frame::new().fill(colors.ground).inner_margin(inner());
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        turn(ui, look, shown.month, actions);
        chosen = weeks(ui, look, shown);
    });
    chosen
}

fn turn(ui: &mut Ui, look: Look, month: NaiveDate, actions: &mut Actions) {
    ui.horizontal(|ui| {
        for command in [Command::PreviousMonth, Command::NextMonth] {
            actions.button(ui, look, command, command.title());
        }
        ui.add_space(GAP);
        ui.label(Type::Title.text(month.format("%B %Y").to_string(), look.colors.ink));
    });
}

fn weeks(ui: &mut Ui, look: Look, shown: &Shown<'_>) -> Option<usize> {
    let colors = look.colors;
    let month = month(shown.entries, shown.month);
    let rows = (month.offset + month.cells.len()).div_ceil(7);
    let area = ui.available_rect_before_wrap();
    let size = vec2(
        (area.width() / 7.0).max(60.0),
        ((area.height() - HEADING) / rows as f32).clamp(54.0, 130.0),
    );
    for (index, name) in WEEK.iter().enumerate() {
        let at = pos2(area.left() + size.x * index as f32 + 4.0, area.top() + HEADING / 2.0);
        let ink = colors.ink_soft;
        widgets::text_left(ui.painter(), at, name, Type::Small, ink, size.x);
    }
    let mut chosen = None;
    let builder = UiBuilder::new()
        .accessibility_role(Access::Grid)
        .accessibility_label(shown.month.format("%B %Y").to_string());
    ui.scope_builder(builder, |ui| {
        for (index, cell) in month.cells.iter().enumerate() {
            let place = month.offset + index;
            let corner = pos2(
                area.left() + size.x * (place % 7) as f32,
                area.top() + HEADING + size.y * (place / 7) as f32,
            );
            let rect = Rect::from_min_size(corner, size).shrink(2.0);
            if let Some(entry) = date(ui, look, shown, cell, rect) {
                chosen = shown.entries.iter().position(|one| std::ptr::eq(one, entry));
            }
        }
    });
    chosen
}

/// Draws a date; gives the record that was chosen on it.
fn date<'a>(
    ui: &mut Ui,
    look: Look,
    shown: &Shown<'a>,
    cell: &Cell<'a>,
    rect: Rect,
) -> Option<&'a Entry> {
    let colors = look.colors;
    let mut edge = Stroke::new(1.0, colors.line);
    if cell.date == shown.today {
        edge = Stroke::new(2.0, colors.line_strong);
    }
    ui.painter().rect(rect, 3.0, colors.surface, edge, StrokeKind::Inside);
    if cell.entries.is_empty() {
        let lacking: Vec<&str> = shown
            .no_record
            .iter()
            .filter(|(_, date)| *date == cell.date)
            .map(|(unit, _)| unit.as_str())
            .collect();
        if !lacking.is_empty() {
            let said = format!("{}: no record of {}", cell.date, lacking.join(", "));
            let response =
                ui.interact(rect, ui.scope_id().with(("none", cell.date)), Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(Access::Cell, true, &said));
            let at = rect.left_top() + vec2(10.0, 11.0);
            let ink = colors.ink_soft;
            let room = rect.width() - 40.0;
            let text = "no record";
            widgets::text_left(ui.painter(), at, text, Type::Small, ink, room);
        }
    }
    let mut chosen = None;
    let share = rect.height() / cell.entries.len().max(1) as f32;
    for (index, entry) in cell.entries.iter().enumerate() {
        let top = rect.top() + share * index as f32;
        let part = Rect::from_min_size(pos2(rect.left(), top), vec2(rect.width(), share));
        if record(ui, look, shown, entry, (part, cell.entries.len() > 1)) {
            chosen = Some(*entry);
        }
    }
    // On top of what is drawn under the pointer.
    let number = cell.date.format("%-d").to_string();
    let at = rect.right_top() + vec2(-7.0, 11.0);
    let anchor = Align2::RIGHT_CENTER;
    widgets::text_in(ui.painter(), at, anchor, &number, Type::Strong, colors.ink, 30.0);
    chosen
}

/// Draws a record in its part of a date, which may be crowded; whether it was chosen.
fn record(
    ui: &mut Ui,
    look: Look,
    shown: &Shown<'_>,
    entry: &Entry,
    (rect, is_crowded): (Rect, bool),
) -> bool {
    let colors = look.colors;
    let response = ui.interact(rect, record_id(entry), Sense::click());
    let stage = entry.review.stage;
    let late = entry.due().is_some_and(|due| due < shown.today);
    let is_first = shown
        .first
        .and_then(|index| shown.entries.get(index))
        .is_some_and(|first| std::ptr::eq(first, entry));
    let exceptions =
        entry.exceptions_in_words().unwrap_or_else(|| "can\u{2019}t be read".to_owned());
    let margins = entry.worst_margins(shown.units);
    let when = if late { OVERDUE } else { "due" };
    let due = entry.due().map_or_else(String::new, |due| format!("{when} {due}"));
    let said = || {
        let date = entry.date().map_or_else(String::new, |date| format!("{date}, "));
        let parts = [entry.unit(), stage.name(), &exceptions, &margins, &due];
        let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        format!("{date}{}", parts.join(", "))
    };
    response.widget_info(|| WidgetInfo::labeled(Access::Button, true, said()));
    let inside = rect.shrink(1.0);
    if response.hovered() {
        ui.painter().rect_filled(inside, 3.0, colors.hovered);
    }
    let bar = Rect::from_min_size(inside.left_top(), vec2(6.0, inside.height()));
    stage_bar(ui, look, bar, stage);
    if is_first {
        let focus = Stroke::new(2.0, colors.accent);
        ui.painter().rect_stroke(rect, 3.0, focus, StrokeKind::Inside);
    }
    let is_narrow = rect.width() < 160.0;
    let lines = lines(look, entry, [&exceptions, &margins, when], (is_crowded, is_narrow));
    let (mut y, step) =
        if is_crowded { (rect.top() + 9.0, 13.0) } else { (rect.top() + 11.0, 16.0) };
    for (index, (text, style, ink)) in lines.into_iter().enumerate() {
        if y + 6.0 > rect.bottom() || text.is_empty() {
            continue;
        }
        let room = rect.width() - if index == 0 { 40.0 } else { 18.0 };
        let at = pos2(rect.left() + 12.0, y);
        widgets::text_left(ui.painter(), at, &text, style, ink, room);
        y += step;
    }
    widgets::focus_ring(ui, look, &response, rect);
    let clicked = response.clicked();
    response.on_hover_text(format!("{}\n{}\n{}", entry.name(), said(), entry.sentence()));
    clicked
}

/// What is written about a record, line by line, in what room there is.
fn lines(
    look: Look,
    entry: &Entry,
    [exceptions, margins, when]: [&str; 3],
    (is_crowded, is_narrow): (bool, bool),
) -> Vec<(String, Type, Color32)> {
    let colors = look.colors;
    let stage = entry.review.stage;
    let word = match stage {
        // The legend says it in full.
        Stage::ChangedSinceSigning => "changed",
        Stage::MethodChanged => "new method",
        Stage::Unproven => "not verifiable",
        stage => stage.name(),
    };
    let open_holds = entry.open_holds();
    let word = match open_holds {
        0 => word.to_owned(),
        open => format!("{word}, {open} on hold"),
    };
    let word_ink = if open_holds > 0 { colors.alert } else { stage_ink(look, stage) };
    let (resolved, all) = entry.resolved_in_all();
    let (closed, to_close) = entry.closed();
    let is_short = entry.day.as_ref().map_or(true, |day| !day.exceptions.is_empty());
    let soft = colors.ink_soft;
    let of_short = if is_short { colors.ink } else { soft };
    let due =
        entry.due().map_or_else(String::new, |due| format!("{when} {}", due.format("%b %-d")));
    let due_ink = |otherwise| if when == OVERDUE { colors.alert } else { otherwise };
    if is_crowded {
        // Where several records share a date, each says which pasteurizer it is of.
        let style = if is_narrow { Type::Small } else { Type::Strong };
        let figures = match &entry.day {
            Ok(_) => together((resolved, all), margins),
            Err(_) => exceptions.to_owned(),
        };
        let named = format!("{} {word}", entry.unit()).trim_start().to_owned();
        return vec![
            (named, style, word_ink),
            (figures, Type::Small, of_short),
            (due, Type::Small, due_ink(of_short)),
        ];
    }
    let short = match &entry.day {
        Ok(_) if all > 0 && closed < to_close => {
            format!("{resolved} of {all} resolved, {} to close", to_close - closed)
        }
        Ok(_) if all > 0 => format!("{resolved} of {all} resolved"),
        Ok(_) if closed < to_close => format!("{} to close", to_close - closed),
        _ => exceptions.to_owned(),
    };
    let mut lines = vec![(word, Type::Strong, word_ink), (short, Type::Small, of_short)];
    // A narrow date has a line for each.
    if is_narrow {
        lines.extend(margins.split(", ").map(|one| (one.to_owned(), Type::Small, soft)));
    } else {
        lines.push((margins.to_owned(), Type::Small, soft));
    }
    lines.push((due, Type::Small, due_ink(soft)));
    lines
}

/// Exceptions and margins in one line, which may be cut at its end: what was short comes first.
fn together((resolved, all): (usize, usize), margins: &str) -> String {
    let mut parts: Vec<&str> = margins.split(", ").collect();
    parts.sort_by_key(|part| !part.contains(" \u{2212}"));
    let margins = parts.join(", ");
    if all > 0 { format!("{resolved} of {all}, {margins}") } else { margins }
}

/// The ink of a stage's word.
const fn stage_ink(look: Look, stage: Stage) -> Color32 {
    if stage.is_alarming() { look.colors.alert } else { look.colors.ink }
}

/// The mark of a stage: the fuller, the further the review is; crossed where it is not what was
/// signed.
pub fn stage_bar(ui: &Ui, look: Look, rect: Rect, stage: Stage) {
    let colors = look.colors;
    let (pattern, ink) = match stage {
        Stage::Unread => (None, colors.line_strong),
        Stage::BeingReviewed => (Some(Pattern::Dots), colors.forward),
        Stage::Reviewed => (Some(Pattern::Level), colors.forward),
        Stage::Signed => (Some(Pattern::Plain), colors.forward),
        Stage::MethodChanged => (Some(Pattern::Dots), colors.alert),
        Stage::Unproven => (Some(Pattern::Level), colors.alert),
        Stage::ChangedSinceSigning => (Some(Pattern::Cross), colors.alert),
    };
    if let Some(pattern) = pattern {
        fill_pattern(&ui.painter_at(rect), rect, pattern, ink);
    }
    ui.painter().rect_stroke(rect, 0.0, Stroke::new(1.0, ink), StrokeKind::Inside);
}

/// What the marks mean.
fn legend(ui: &mut Ui, look: Look) {
    for stage in Stage::ALL {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(18.0, 12.0), Sense::hover());
            stage_bar(ui, look, rect, stage);
            ui.label(Type::Small.text(stage.name(), look.colors.ink_soft));
        });
    }
    let text = "Review is due within the plant's working days, Monday to Friday (built in: 7, 21 CFR \
                117.165(a)(4)(i), not verified). T and \u{394}P: the reading closest to its limit, below 0 where it was below the limit.";
    ui.add(egui::Label::new(Type::Small.text(text, look.colors.ink_soft)).wrap());
}

/// The records that have no date, so that no calendar can show them.
fn undated(ui: &mut Ui, look: Look, shown: &Shown<'_>) {
    let undated: Vec<&Entry> = shown.entries.iter().filter(|one| one.date().is_none()).collect();
    if undated.is_empty() {
        return;
    }
    ui.add_space(MARGIN);
    ui.label(Type::Strong.text("Without a date", look.colors.alert));
    for entry in undated {
        let text = format!("{}: {}", entry.name(), entry.sentence());
        let text = Type::Small.text(text, look.colors.ink);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_short_is_not_cut_off() {
        let margins = "T +2.2 \u{b0}F, \u{394}P \u{2212}4.8 psi";
        assert_eq!(together((0, 2), margins), "0 of 2, \u{394}P \u{2212}4.8 psi, T +2.2 \u{b0}F");
        assert_eq!(together((0, 0), "T +2.2 \u{b0}F"), "T +2.2 \u{b0}F");
    }
}
