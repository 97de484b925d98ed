//! The day as it is read with what was said so far: how the first stamp is understood, the verdict,
//! and the plots.

use super::state::Setup;
use crate::day::{Day, overview, plots};
use crate::settings::Settings;
use crate::table::note;
use crate::theme::{GAP, Look, MARGIN, Type};
use egui::accesskit::Role as Access;
use egui::{Ui, UiBuilder};
use plant::{LocalResolution, Zone};
use trace::Instant;

/// Draws what is seen, or why nothing is.
pub(super) fn show(ui: &mut Ui, look: Look, setup: &mut Setup, settings: &mut Settings) {
    let first = stamp(setup);
    let is_reading = setup.job.is_some();
    let day = match &mut setup.seen {
        None => {
            let text = if is_reading {
                "The files are being read."
            } else {
                "The day is shown here when the questions on the right are answered."
            };
            note(ui, look, text);
            return;
        }
        Some(Err(why)) => {
            let why = why.clone();
            note(ui, look, &why);
            return;
        }
        Some(Ok(day)) => day.as_mut(),
    };
    ui.add_space(GAP);
    let said = format!("{} {}", read_as(day, first), day.verdict);
    let builder = UiBuilder::new().accessibility_role(Access::Status).accessibility_label(&said);
    ui.scope_builder(builder, |ui| {
        ui.horizontal_top(|ui| {
            ui.add_space(MARGIN);
            let text = Type::Body.text(&said, look.colors.ink);
            ui.add(egui::Label::new(text).wrap().selectable(true));
        });
    });
    ui.add_space(GAP);
    overview::show(ui, look, day, &mut setup.drawing, settings);
    if ui.available_height() > plots::LEAST_HEIGHT {
        plots::show(ui, look, day, &mut setup.drawing, settings);
    }
}

/// The first stamp of the logger whose rows are those of the record, with its line, as its cells stand there.
fn stamp(setup: &Setup) -> Option<(u64, String)> {
    use ::setup::Part::{Date, DayOfYear, SinceStart, Time, Year};
    let (draft, sheets) = (&setup.draft, &setup.sheets);
    let logger = draft.leading(sheets).unwrap_or(0);
    let parts = [Date, Year, DayOfYear, Time, SinceStart].into_iter();
    let columns = parts.filter_map(|part| draft.column_of(sheets, logger, part));
    let cells: Vec<(u64, &str)> =
        columns.filter_map(|column| sheets.first_cells_of(column).next()).collect();
    let (line, _) = *cells.first()?;
    Some((line, cells.into_iter().map(|(_, cell)| cell).collect::<Vec<_>>().join(" ")))
}

/// How the first stamp is understood, spelled out so that no order of day and month is left open.
fn read_as(day: &Day, first: Option<(u64, String)>) -> String {
    let record = day.case.record();
    let Some((line, text)) = first else { return String::new() };
    let instants = record.instants();
    let (Some(&earliest), zone) = (instants.first(), day.case.plant().zone) else {
        return String::new();
    };
    format!("The first stamp, {text} on line {line}, is read as {}.", spelled(zone, earliest))
}

fn spelled(zone: Zone, instant: Instant) -> String {
    let local = zone.local(instant);
    // The hour that is passed twice in autumn: which pass it is.
    let pass = match zone.resolve(local.naive_local()) {
        LocalResolution::Two(first, _) if first == instant => ", first pass",
        LocalResolution::Two(..) => ", second pass",
        _ => "",
    };
    format!("{}{pass}, UTC{}", local.format("%-d %B %Y, %H:%M:%S"), local.format("%:z"))
}
