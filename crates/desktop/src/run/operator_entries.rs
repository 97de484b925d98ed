//! What the operators wrote down during the day, and whether the record shows it.

use crate::action::{Action, Actions};
use crate::commands::Command;
use crate::day::Day;
use crate::table::{self, Place, word};
use crate::theme::{Look, MARGIN, Type};
use ::review::EntriesSigned;
use analysis::Check;
use egui::accesskit::Role as Access;
use egui::{Align, Layout, Ui, WidgetInfo, vec2};

const COLUMNS: [table::Column<()>; 4] = [
    word("Time", 140.0, false),
    word("Entry", 260.0, false),
    word("By", 130.0, false),
    word("In the record", 360.0, false),
];

/// The height of the bar above the list.
pub(super) const BAR: f32 = 34.0;

/// Draws the list under a bar that says who signed it.
pub(super) fn show(ui: &mut Ui, look: Look, day: &Day, actions: &mut Actions) {
    bar(ui, look, day, actions);
    let count = day.case.audit().entries.len();
    if count == 0 {
        return;
    }
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let places = table::titles(ui, look, (&COLUMNS, table::room(ui)), 22.0);
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("operators' entries").show(ui, |ui| {
        table::rows(ui, "Operators' entries", count, |ui, index| {
            line(ui, look, day, (index, &places), actions);
        });
    });
}

fn bar(ui: &mut Ui, look: Look, day: &Day, actions: &mut Actions) {
    let signed = day.review.seen().map(|seen| &seen.entries_signed);
    let has_any = day.case.record().operator_entries().is_some();
    let (text, ink) = match signed {
        _ if !has_any => ("Operators\u{2019} entries: none".to_owned(), look.colors.ink_soft),
        Some(EntriesSigned::By(words)) => {
            (format!("Operators\u{2019} entries: signed by {words}"), look.colors.ink)
        }
        Some(EntriesSigned::ChangedSince(words)) => (
            format!("Operators\u{2019} entries: changed since they were signed by {words}"),
            look.colors.alert,
        ),
        Some(EntriesSigned::Unknown(why)) => (
            format!("Operators\u{2019} entries: a signature can\u{2019}t be checked: {why}"),
            look.colors.alert,
        ),
        _ => ("Operators\u{2019} entries: not signed".to_owned(), look.colors.ink),
    };
    let size = vec2(ui.available_width(), BAR);
    ui.allocate_ui_with_layout(size, Layout::right_to_left(Align::Center), |ui| {
        ui.add_space(MARGIN);
        actions.button(ui, look, Command::OperatorEntry, "Add, sign");
        let left = Layout::left_to_right(Align::Center);
        ui.with_layout(left, |ui| {
            ui.add_space(MARGIN);
            ui.add(egui::Label::new(Type::Strong.text(&text, ink)).truncate());
        });
    });
}

fn line(
    ui: &mut Ui,
    look: Look,
    day: &Day,
    (index, places): (usize, &[Place<()>]),
    actions: &mut Actions,
) {
    let Some(one) = day.case.audit().entries.get(index) else { return };
    let is_open = matches!(one.check, Check::Disagrees(_));
    let cells =
        [day.case.entry_time(one), one.in_words(), one.entry.by.clone(), case::entry_check(one)];
    let info = || WidgetInfo::labeled(Access::Row, true, day.case.entry_line(one));
    let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
        table::cells(ui, look, rect, (places, &cells), |one| one == 0 || (is_open && one == 3));
    });
    if response.on_hover_text(day.case.entry_line(one)).clicked() {
        actions.push(Action::Show(one.meant()));
    }
}
