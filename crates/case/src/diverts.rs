//! Diverts in words, and as a table.

use crate::Case;
use crate::error::Error;
use crate::figures::{
    about, at_least, at_most, plain_volume, rounds_to_nothing, time_of_day, volume_or_none,
};
use crate::sentences::{DisplayUnits, quantity};
use crate::table::{Builder, Table};
use analysis::{Divert, DivertReason, Response};
use plant::Zone;
use trace::{Decimal, Unit, Value};

/// The cause of a divert as the record shows it: `temperature, 160.9 °F`; `not in the record`.
pub fn divert_cause(divert: &Divert, units: DisplayUnits) -> String {
    let name = divert.reason.name();
    match &divert.reading {
        // A reading has no time that a zone could show.
        Some(value) => format!("{name}, {}", quantity(value, Zone::UTC, units)),
        None => name.to_owned(),
    }
}

/// How long the device took: `about 1.7 s (at least 1 s, at most 3 s)`.
pub fn response(response: Response) -> String {
    let Response { least, about: estimate, most } = response;
    format!("about {} (at least {}, at most {})", at_most(estimate), at_least(least), at_most(most))
}

/// What was returned while diverted: `140 gal`, `none`; nothing where it was not metered throughout, and nothing
/// of the water and the solution that circulate behind production.
pub fn returned(divert: &Divert) -> Option<String> {
    Some(volume_or_none(returned_volume(divert)?, divert.unit))
}

fn returned_volume(divert: &Divert) -> Option<f64> {
    if matches!(divert.reason, DivertReason::OffProduct | DivertReason::EndOfProduction) {
        return None;
    }
    Some(divert.returned?.max(0.0))
}

/// The reading that shows the cause, and the symbol of its unit.
fn reading(divert: &Divert) -> Option<(Decimal, &'static str)> {
    match divert.reading.as_ref()? {
        Value::Temperature(value, unit) => Some((*value, unit.symbol())),
        Value::Pressure(value, unit) => Some((*value, unit.symbol())),
        Value::Flow(value, unit) => Some((*value, unit.symbol())),
        _ => None,
    }
}

impl Case {
    /// A divert in a line: when, how long, why, how fast the device answered, what was returned.
    pub fn divert_line(&self, divert: &Divert) -> String {
        let zone = self.plant.zone;
        let start = divert.observed.start();
        let mut parts = vec![format!("cause: {}", divert_cause(divert, DisplayUnits::RECORDED))];
        parts.extend(divert.response.map(|one| format!("fully diverted after {}", response(one))));
        parts.extend(returned_volume(divert).map(|volume| {
            if rounds_to_nothing(volume) {
                "nothing returned".to_owned()
            } else {
                format!("{} returned", plain_volume(volume, divert.unit))
            }
        }));
        let until = if divert.is_over { "" } else { ", up to the end of the record" };
        format!(
            "{} {}  diverted for about {}{until}; {}",
            zone.date(start),
            time_of_day(zone, start),
            about(divert.estimate.duration()),
            parts.join("; ")
        )
    }

    /// A row a divert, in the audit's order. The columns are described in `docs/file-formats.md`.
    pub fn diverts_table(&self) -> Table {
        Builder::of(&self.audit.diverts, self.plant.zone)
            .text("id", |one| Some(one.id.clone()))
            .at("start", |one| Some(one.estimate.start()))
            .at("end", |one| Some(one.estimate.end()))
            .time("duration_ms", |one| Some(one.estimate.duration()))
            .time("observed_duration_ms", |one| Some(one.observed.duration()))
            .time("outer_duration_ms", |one| Some(one.outer.duration()))
            .truth("is_over", |one| one.is_over)
            .text("reason", |one| Some(one.reason.key().to_owned()))
            .decimal("reading", |one| Some(reading(one)?.0))
            .text("reading_unit", |one| Some(reading(one)?.1.to_owned()))
            .decimal("temperature_before", |one| one.temperature)
            .time("response_at_least_ms", |one| Some(one.response?.least))
            .time("response_about_ms", |one| Some(one.response?.about))
            .time("response_at_most_ms", |one| Some(one.response?.most))
            .number("diverted_volume", |one| one.returned)
            .text("volume_unit", |one| Some(one.returned.map(|_| one.unit.symbol())?.to_owned()))
            .text("product", |one| Some(one.product.clone()))
            .text("lot", |one| Some(one.lot.clone()))
            .text("mode", |one| Some(one.mode.name().to_owned()))
            .done()
    }

    /// The same as CSV, with the columns of `more` behind, such as what was entered of each.
    ///
    /// # Errors
    /// As [`Case::csv_with`].
    pub fn diverts_csv_with(&self, more: Table) -> Result<String, Error> {
        self.diverts_table().beside(more).csv()
    }
}
