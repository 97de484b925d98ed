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
    let first = setup.sheet.first_rows.first().map(|(line, cells)| (*line, stamp(setup, cells)));
    let is_reading = setup.job.is_some();
    let day = match &mut setup.seen {
        None => {
            let text = if is_reading {
                "The files are being read."
            } else {
                "The day is shown here once the questions on the right are answered."
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

/// The cells of date and time of a row, as they stand there.
fn stamp(setup: &Setup, cells: &[String]) -> String {
    let of = |part| Some(cells.get(setup.draft.column(part)?)?.as_str());
    let parts = [::setup::Part::Date, ::setup::Part::Time].into_iter().filter_map(of);
    parts.collect::<Vec<_>>().join(" ")
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
