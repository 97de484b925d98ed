//! What the operators wrote down during the day, and whether the record shows it.

use crate::action::{Action, Actions};
use crate::day::Day;
use crate::table::{self, Place, word};
use crate::theme::Look;
use analysis::Check;
use egui::accesskit::Role as Access;
use egui::{Ui, WidgetInfo, vec2};

const COLUMNS: [table::Column<()>; 4] = [
    word("Time", 140.0, false),
    word("Entry", 260.0, false),
    word("By", 130.0, false),
    word("In the record", 360.0, false),
];

/// Draws the list.
pub(super) fn show(ui: &mut Ui, look: Look, day: &Day, actions: &mut Actions) {
    let count = day.case.audit().entries.len();
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let places = table::titles(ui, look, (&COLUMNS, table::room(ui)), 22.0);
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("operators' entries").show(ui, |ui| {
        table::rows(ui, "Operators' entries", count, |ui, index| {
            line(ui, look, day, (index, &places), actions);
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
