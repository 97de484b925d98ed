//! The product account, and what the record says of recorder and device, as tables.

use crate::day::Day;
use crate::table::{self, word};
use crate::theme::Look;
use crate::units::Units;
use analysis::{CutVerdict, Side};
use case::plain_volume;
use egui::Ui;
use trace::Role;

fn named(word: &str) -> String {
    if word.is_empty() { "(blank)".to_owned() } else { word.to_owned() }
}

/// Runs of a product and lot, and the lots that an exception touched.
pub(super) fn runs(ui: &mut Ui, look: Look, day: &Day, units: Units) {
    let audit = day.case.audit();
    if audit.product_runs.is_empty() {
        table::note(ui, look, "The record names neither product nor lot.");
        return;
    }
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("runs").show(ui, |ui| {
        let over = |value: Option<f64>, role: Role| {
            value.zip(day.case.record().channel(role)).map_or_else(
                || "\u{2013}".to_owned(),
                |(value, channel)| units.of(channel).difference(value),
            )
        };
        let metered = |value: Option<f64>, unit| {
            value.map_or_else(|| "not metered".to_owned(), |value| plain_volume(value, unit))
        };
        let rows: Vec<Vec<String>> = audit
            .product_runs
            .iter()
            .map(|run| {
                let incomplete = if run.incomplete { ", readings missing" } else { "" };
                let mut sheet =
                    run.stated.map_or_else(String::new, |stated| case::stated_amount(Some(stated)));
                if !run.tank.is_empty() {
                    let comma = if sheet.is_empty() { "" } else { ", " };
                    sheet = format!("{sheet}{comma}{}", case::named("tank", &run.tank));
                }
                vec![
                    named(&run.product),
                    named(&run.lot),
                    day.case.clock(run.interval.start()),
                    day.case.clock(run.interval.end()),
                    run.forward_time.to_string(),
                    format!("{}{incomplete}", metered(run.forward, run.unit)),
                    run.diverted.map_or_else(
                        || "not metered".to_owned(),
                        |value| case::volume_or_none(value, run.unit),
                    ),
                    over(run.temperature_margin, Role::HoldingTemperature),
                    over(run.differential_margin, Role::DifferentialPressure),
                    run.exceptions.to_string(),
                    sheet,
                ]
            })
            .collect();
        let columns = [
            word("Product", 104.0, false),
            word("Lot", 66.0, false),
            word("From", 70.0, true),
            word("To", 70.0, true),
            word("Forward for", 96.0, true),
            word("Metered forward", 104.0, true),
            word("Diverted", 76.0, true),
            word("T over limit", 84.0, true),
            word("\u{394}P over limit", 90.0, true),
            word("Exceptions", 82.0, true),
            word("Run sheet", 110.0, false),
        ];
        // Without a run sheet its column is left out.
        let sheets = rows.iter().any(|row| row.last().is_some_and(|sheet| !sheet.is_empty()));
        let columns = if sheets { &columns[..] } else { &columns[..10] };
        table::words(ui, look, "Runs", columns, &rows);
        amounts(ui, look, day);
        changes(ui, look, day);
        if audit.lots.is_empty() {
            table::note(ui, look, "No lot to hold: no exception names one.");
            return;
        }
        ui.add_space(8.0);
        let rows: Vec<Vec<String>> = audit
            .lots
            .iter()
            .map(|lot| {
                vec![
                    named(&lot.lot),
                    lot.exceptions.to_string(),
                    case::volume(&lot.passed),
                    case::at_most_volume(&lot.passed),
                ]
            })
            .collect();
        let columns = [
            word("Lot to hold", 200.0, false),
            word("Exceptions", 90.0, true),
            word("Passed, about", 220.0, true),
            word("At most", 220.0, true),
        ];
        table::words(ui, look, "Lots to hold", &columns, &rows);
    });
}

/// What the meter saw against what the run sheet states; nothing without a sheet.
fn amounts(ui: &mut Ui, look: Look, day: &Day) {
    let case = &day.case;
    let rows: Vec<Vec<String>> = case
        .audit()
        .amounts
        .runs
        .iter()
        .map(|run| {
            vec![
                run.product.clone(),
                named(&run.lot),
                named(&run.tank),
                day.case.clock(run.interval.start()),
                day.case.clock(run.interval.end()),
                case::metered_amount(run),
                case::stated_amount(run.stated),
                case.amount_words(run),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    let columns = [
        word("Run sheet", 86.0, false),
        word("Lot", 58.0, false),
        word("Tank", 58.0, false),
        word("From", 66.0, true),
        word("To", 66.0, true),
        word("Metered forward", 100.0, true),
        word("Stated", 80.0, true),
        word("Compared", 170.0, false),
    ];
    ui.add_space(8.0);
    table::words(ui, look, "Amounts", &columns, &rows);
    for line in case.sum_lines() {
        table::note(ui, look, &line);
    }
}

/// Every change of the product; nothing without one.
fn changes(ui: &mut Ui, look: Look, day: &Day) {
    let rows: Vec<Vec<String>> = day
        .case
        .audit()
        .product_changes
        .iter()
        .map(|change| {
            vec![
                day.case.clock(change.at()),
                named(&change.from),
                named(&change.to),
                case::change_temperature(change),
                case::change_flow(change),
                case::mixed(change),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    let columns = [
        word("Changed at", 72.0, false),
        word("From", 80.0, false),
        word("To", 80.0, false),
        word("Lowest T", 170.0, false),
        word("Highest flow", 200.0, false),
        word("In the tube", 80.0, true),
    ];
    ui.add_space(8.0);
    table::words(ui, look, "Product changes", &columns, &rows);
    let what = "Against the limit of the stricter product, and the flow at which the tube holds for \
                exactly the longer time. In the tube: an estimate of what is mixed, its effective \
                volume.";
    table::note(ui, look, what);
}

/// The recorder's offset, and every cut-in and cut-out with its verdict.
pub(super) fn instruments(ui: &mut Ui, look: Look, day: &Day, units: Units) {
    let instruments = &day.case.audit().instruments;
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("instruments").show(ui, |ui| {
        let shown =
            day.case.record().channel(Role::HoldingTemperature).map(|channel| units.of(channel));
        let text = match (instruments.recorder, shown) {
            (Some(offset), Some(shown)) => format!(
                "Recorder minus indicating thermometer in steady forward flow: median {}, from {} \
                 to {} ({} samples).",
                shown.difference(offset.median),
                shown.difference(offset.lowest),
                shown.difference(offset.highest),
                case::count(offset.samples)
            ),
            _ => "The recorder can't be compared: no recorder in the record, or no steady \
                  forward flow."
                .to_owned(),
        };
        table::note(ui, look, &text);
        if instruments.cuts.is_empty() {
            table::note(ui, look, "The device did not change position.");
            return;
        }
        let rows: Vec<Vec<String>> = instruments
            .cuts
            .iter()
            .map(|cut| {
                let name = match cut.to {
                    Side::Forward => "went forward",
                    Side::Divert => "left forward flow",
                };
                let verdict = match cut.verdict {
                    CutVerdict::AtOrAbove => "at or above the limit",
                    CutVerdict::Below => "BELOW the limit",
                    CutVerdict::NotKnown => "not known: no reading",
                };
                let reading = cut.temperature.zip(shown).map_or_else(
                    || "\u{2013}".to_owned(),
                    |(value, shown)| format!("{} {}", shown.figure(value), shown.symbol()),
                );
                let limit = shown.map_or_else(String::new, |shown| shown.limit(cut.limit));
                let response = match cut.response {
                    Some(response) => case::response(response),
                    None => String::new(),
                };
                vec![
                    name.to_owned(),
                    day.case.clock(cut.at),
                    reading,
                    limit,
                    verdict.to_owned(),
                    response,
                ]
            })
            .collect();
        let columns = [
            word("Passage", 150.0, false),
            word("At", 90.0, true),
            word("Reading", 90.0, true),
            word("Limit", 80.0, true),
            word("Verdict", 170.0, false),
            word("Response after a shortfall", 210.0, false),
        ];
        table::words(ui, look, "Cut-ins and cut-outs", &columns, &rows);
    });
}
