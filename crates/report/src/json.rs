//! The report for a program. The keys are documented in `docs/file-formats.md`; figures are
//! numbers, instants are RFC 3339 with offset and milliseconds.

use crate::Report;
use crate::error::Error;
use crate::words::{CAUTION, verdict};
use analysis::{Class, Exception, Margin, Side, Transition};
use plant::{Plant, Zone};
use serde::Serialize;
use std::collections::BTreeMap;
use trace::{Decimal, Instant, Observation, Unit};

/// The version of the format; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    program: Program,
    verdict: String,
    caution: &'static str,
    plant: PlantPart<'a>,
    record: RecordPart<'a>,
    accounting_ms: BTreeMap<&'static str, i64>,
    in_doubt: VolumePart,
    exceptions: Vec<ExceptionPart<'a>>,
    observations: Vec<ObservationPart<'a>>,
    transitions: Vec<TransitionPart>,
    margins: MarginsPart,
    assumptions: &'a [String],
}

#[derive(Serialize)]
struct Program {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct PlantPart<'a> {
    name: &'a str,
    zone: &'static str,
    assumed: bool,
    differential_limit: LimitPart<'a>,
    temperature_limits: Vec<TemperatureLimitPart<'a>>,
}

#[derive(Serialize)]
struct LimitPart<'a> {
    value: f64,
    unit: &'static str,
    source: &'a str,
    provenance: &'static str,
}

#[derive(Serialize)]
struct TemperatureLimitPart<'a> {
    product: &'a str,
    minimum_time_ms: i64,
    #[serde(flatten)]
    limit: LimitPart<'a>,
}

#[derive(Serialize)]
struct RecordPart<'a> {
    unit: &'a str,
    files: Vec<FilePart<'a>>,
    start: String,
    end: String,
    samples: usize,
    sampling_interval_ms: i64,
    gap_limit_ms: i64,
}

#[derive(Serialize)]
struct FilePart<'a> {
    name: &'a str,
    bytes: u64,
    rows: u64,
    sha256: String,
}

#[derive(Serialize)]
struct VolumePart {
    value: Option<f64>,
    outer_value: Option<f64>,
    unit: &'static str,
    basis: &'static str,
}

#[derive(Serialize)]
struct WorstPart {
    value: f64,
    limit: f64,
    unit: &'static str,
    at: String,
}

#[derive(Serialize)]
struct ShortfallPart {
    value: f64,
    unit: &'static str,
}

#[derive(Serialize)]
struct ExceptionPart<'a> {
    id: &'a str,
    rule: &'static str,
    cause: &'static str,
    start: String,
    end: String,
    observed_start: String,
    observed_end: String,
    outer_start: String,
    outer_end: String,
    duration_ms: i64,
    observed_duration_ms: i64,
    outer_duration_ms: i64,
    worst: Option<WorstPart>,
    shortfall: Option<ShortfallPart>,
    volume: VolumePart,
    product: Option<&'a str>,
    products: &'a [String],
    lot: Option<&'a str>,
    lots: &'a [String],
    shift: Option<&'a str>,
    mode: &'static str,
    within_response: bool,
    episode: usize,
}

#[derive(Serialize)]
struct ObservationPart<'a> {
    kind: &'static str,
    start: Option<String>,
    end: Option<String>,
    line: Option<u64>,
    file: Option<&'a str>,
    count: u64,
    message: &'a str,
}

#[derive(Serialize)]
struct TransitionPart {
    at: String,
    to: &'static str,
    temperature_before: Option<f64>,
    temperature_after: Option<f64>,
    differential_before: Option<f64>,
    differential_after: Option<f64>,
}

#[derive(Serialize)]
struct MarginPart {
    margin: f64,
    value: f64,
    limit: f64,
    unit: &'static str,
    at: String,
}

#[derive(Serialize)]
struct MarginsPart {
    temperature: Option<MarginPart>,
    differential: Option<MarginPart>,
}

pub(crate) fn render(report: &Report<'_>) -> Result<String, Error> {
    let Report { record, plant, audit, assumptions } = report;
    let zone = plant.zone;
    let interval = record.interval();
    let mut accounting_ms: BTreeMap<&'static str, i64> = Class::ALL
        .into_iter()
        .map(|class| (class.key(), audit.accounting.time(class).milliseconds()))
        .collect();
    accounting_ms.insert("total", audit.accounting.total().milliseconds());
    let document = Document {
        schema: SCHEMA,
        program: Program { name: "holdtrace", version: env!("CARGO_PKG_VERSION") },
        verdict: verdict(record, audit),
        caution: CAUTION,
        plant: plant_part(report, plant),
        record: RecordPart {
            unit: record.unit(),
            files: record
                .sources()
                .iter()
                .map(|source| FilePart {
                    name: &source.name,
                    bytes: source.bytes,
                    rows: source.rows,
                    sha256: source.sha256_hex(),
                })
                .collect(),
            start: zone.rfc3339(interval.start()),
            end: zone.rfc3339(interval.end()),
            samples: record.samples(),
            sampling_interval_ms: record.sampling_interval().milliseconds(),
            gap_limit_ms: audit.gap_limit.milliseconds(),
        },
        accounting_ms,
        in_doubt: volume_part(&audit.in_doubt),
        exceptions: audit.exceptions.iter().map(|one| exception_part(one, zone)).collect(),
        observations: audit.observations.iter().map(|one| observation_part(one, zone)).collect(),
        transitions: audit.transitions.iter().map(|one| transition_part(one, zone)).collect(),
        margins: MarginsPart {
            temperature: audit.margins.temperature.map(|one| margin_part(one, zone)),
            differential: audit.margins.differential.map(|one| margin_part(one, zone)),
        },
        assumptions,
    };
    let mut text = serde_json::to_string_pretty(&document).map_err(Error::Json)?;
    text.push('\n');
    Ok(text)
}

fn plant_part<'a>(report: &Report<'a>, plant: &'a Plant) -> PlantPart<'a> {
    let temperature = report.record.holding_temperature().unit();
    PlantPart {
        name: &plant.name,
        zone: plant.zone.name(),
        assumed: plant.assumed,
        differential_limit: LimitPart {
            value: report.audit.differential_limit,
            unit: report.record.differential().unit().symbol(),
            source: &plant.limits.differential_source.citation,
            provenance: plant.limits.differential_source.provenance.name(),
        },
        temperature_limits: plant
            .products
            .iter()
            .map(|product| TemperatureLimitPart {
                product: &product.name,
                minimum_time_ms: product.minimum_time.milliseconds(),
                limit: LimitPart {
                    value: product.limit.figure(temperature).to_f64(),
                    unit: temperature.symbol(),
                    source: &product.source.citation,
                    provenance: product.source.provenance.name(),
                },
            })
            .collect(),
    }
}

fn volume_part(volume: &analysis::Volume) -> VolumePart {
    let analysis::Volume { value, outer_value, unit, basis } = *volume;
    VolumePart { value, outer_value, unit: unit.symbol(), basis: basis.key() }
}

fn exception_part(exception: &Exception, zone: Zone) -> ExceptionPart<'_> {
    // Destructured, so that a new field must be thought about here.
    let Exception {
        id,
        rule,
        cause,
        samples: _,
        observed,
        outer,
        estimate,
        worst,
        shortfall,
        volume,
        products,
        lots,
        shift,
        mode,
        within_response,
        episode,
    } = exception;
    ExceptionPart {
        id,
        rule: rule.key(),
        cause: cause.key(),
        start: zone.rfc3339(estimate.start()),
        end: zone.rfc3339(estimate.end()),
        observed_start: zone.rfc3339(observed.start()),
        observed_end: zone.rfc3339(observed.end()),
        outer_start: zone.rfc3339(outer.start()),
        outer_end: zone.rfc3339(outer.end()),
        duration_ms: estimate.duration().milliseconds(),
        observed_duration_ms: observed.duration().milliseconds(),
        outer_duration_ms: outer.duration().milliseconds(),
        worst: worst.map(|worst| WorstPart {
            value: worst.value.to_f64(),
            limit: worst.limit,
            unit: worst.unit,
            at: zone.rfc3339(worst.at),
        }),
        shortfall: shortfall.map(|one| ShortfallPart { value: one.value, unit: one.unit }),
        volume: volume_part(volume),
        product: products.first().map(String::as_str),
        products,
        lot: lots.first().map(String::as_str),
        lots,
        shift: shift.as_deref(),
        mode: mode.name(),
        within_response: *within_response,
        episode: *episode,
    }
}

fn observation_part(observation: &Observation, zone: Zone) -> ObservationPart<'_> {
    let Observation { kind, interval, position, count, message } = observation;
    let instant = |instant: Instant| zone.rfc3339(instant);
    ObservationPart {
        kind: kind.key(),
        start: interval.map(|interval| instant(interval.start())),
        end: interval.map(|interval| instant(interval.end())),
        line: position.as_ref().map(|position| position.line),
        file: position.as_ref().map(|position| &*position.file),
        count: *count,
        message,
    }
}

fn transition_part(transition: &Transition, zone: Zone) -> TransitionPart {
    let Transition {
        at,
        to,
        samples: _,
        temperature_before,
        temperature_after,
        differential_before,
        differential_after,
    } = *transition;
    TransitionPart {
        at: zone.rfc3339(at),
        to: Side::key(to),
        temperature_before: temperature_before.map(Decimal::to_f64),
        temperature_after: temperature_after.map(Decimal::to_f64),
        differential_before: differential_before.map(Decimal::to_f64),
        differential_after: differential_after.map(Decimal::to_f64),
    }
}

fn margin_part(margin: Margin, zone: Zone) -> MarginPart {
    let Margin { value, limit, margin, unit, at } = margin;
    MarginPart { margin, value: value.to_f64(), limit, unit, at: zone.rfc3339(at) }
}
