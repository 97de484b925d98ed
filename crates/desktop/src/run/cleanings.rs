//! Every cleaning with how hot and how long it was, and how long product went forward between them.

use crate::action::{Action, Actions};
use crate::day::Day;
use crate::table::{self, Column, word};
use crate::theme::Look;
use crate::units::Units;
use egui::{Ui, vec2};
use trace::Interval;

const CLEANINGS: [Column<()>; 6] = [
    word("Cleaned at", 78.0, false),
    word("For", 84.0, true),
    word("Return temperature", 140.0, true),
    word("Hot for", 84.0, true),
    word("Followed by", 130.0, false),
    word("Not recorded", 120.0, false),
];

const BETWEEN: [Column<()>; 4] = [
    word("Product from", 90.0, false),
    word("To", 78.0, true),
    word("Duration", 90.0, true),
    word("Before and after", 480.0, false),
];

/// Draws both lists.
pub(super) fn show(ui: &mut Ui, look: Look, day: &Day, units: Units, actions: &mut Actions) {
    let (case, units) = (&day.case, units.of_observations());
    let (audit, zone) = (case.audit(), case.plant().zone);
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("cleanings").show(ui, |ui| {
        let note = match (case.no_cleaning(), case.cleaning_temperature(units)) {
            (Some(none), _) => none.to_owned(),
            (None, Some(hot)) => {
                format!("Hot means {hot} or more {} with flow.", case.cleaning_place())
            }
            (None, None) => "The plant file sets no cleaning temperature.".to_owned(),
        };
        table::note(ui, look, &note);
        let cells = |one: &analysis::CleaningCycle| {
            let cells = vec![
                day.case.clock(one.interval.start()),
                one.interval.duration().to_string(),
                case::return_temperatures(one, units).unwrap_or_default(),
                one.hot.map_or_else(String::new, |hot| hot.to_string()),
                case::followed(one, zone),
                case::reservations(one).join("; "),
            ];
            (one.interval, cells)
        };
        let rows: Vec<_> = audit.cleaning_cycles.iter().map(cells).collect();
        list(ui, look, ("Cleanings", &CLEANINGS), rows, actions);
        let rows: Vec<_> = audit
            .between_cleanings
            .iter()
            .map(|one| {
                let cells = vec![
                    day.case.clock(one.interval.start()),
                    day.case.clock(one.interval.end()),
                    one.interval.duration().to_string(),
                    case.between_words(one),
                ];
                (one.interval, cells)
            })
            .collect();
        ui.add_space(8.0);
        list(ui, look, ("Production between cleanings", &BETWEEN), rows, actions);
    });
}

/// A table of which a click on a row shows the plots there.
fn list(
    ui: &mut Ui,
    look: Look,
    (name, columns): (&str, &[Column<()>]),
    rows: Vec<(Interval, Vec<String>)>,
    actions: &mut Actions,
) {
    if rows.is_empty() {
        return;
    }
    let (intervals, texts): (Vec<Interval>, Vec<Vec<String>>) = rows.into_iter().unzip();
    let clicked = table::words(ui, look, name, columns, &texts);
    if let Some(interval) = clicked.and_then(|row| intervals.get(row)) {
        actions.push(Action::Show(*interval));
    }
}
