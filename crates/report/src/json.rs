//! The report for a program. The keys are documented in `docs/file-formats.md`; figures are
//! numbers, instants are RFC 3339 with offset and milliseconds.

use crate::Report;
use crate::error::Error;
use crate::words::least_residence;
use crate::words::{CAUTION, verdict};
use analysis::{
    Class, Cut, Exception, LETHALITY_CAUTION, Lethality, Margin, ProductRun, RecorderOffset, Side,
    Transition, Trend,
};
use plant::{Plant, Zone};
use serde::Serialize;
use std::collections::BTreeMap;
use trace::{Decimal, Instant, Observation, SourceFile, Unit, file_name};

/// The version of the format; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    program: Option<Program>,
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
    holding_tube: Option<TubePart<'a>>,
    residence: Option<ResidencePart>,
    lethality: Option<LethalityPart>,
    lethality_caution: &'static str,
    trends: Vec<TrendPart>,
    recorder_offset: Option<OffsetPart>,
    cuts: Vec<CutPart>,
    runs: Vec<RunPart<'a>>,
    lots: Vec<LotPart<'a>>,
    completeness: Vec<CompletenessPart<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    assumptions: Option<&'a [String]>,
}

#[derive(Serialize)]
struct TubePart<'a> {
    certified: Option<CertificatePart<'a>>,
    measured_volume_litres: Option<f64>,
}

#[derive(Serialize)]
struct CertificatePart<'a> {
    test_flow: f64,
    test_flow_unit: &'static str,
    test_time_ms: i64,
    tested_on: Option<&'a str>,
    tested_by: Option<&'a str>,
}

#[derive(Serialize)]
struct ResidencePart {
    /// The least in forward flow.
    least_ms: i64,
    minimum_ms: i64,
    at: String,
}

#[derive(Serialize)]
struct LethalityPart {
    pasteurization_units: f64,
    temperature_celsius: f64,
    held_ms: i64,
    nominal_flow: bool,
    at: String,
    log10_reductions: Vec<ReductionPart>,
}

#[derive(Serialize)]
struct ReductionPart {
    organism: &'static str,
    log10: Option<f64>,
    source: &'static str,
}

#[derive(Serialize)]
struct TrendPart {
    followed: &'static str,
    unit: &'static str,
    mean: f64,
    least: f64,
    greatest: f64,
    minutes: usize,
    per_hour: Option<f64>,
    per_hour_uncertainty: Option<f64>,
}

#[derive(Serialize)]
struct OffsetPart {
    median: f64,
    lowest: f64,
    highest: f64,
    unit: &'static str,
    samples: usize,
}

#[derive(Serialize)]
struct CutPart {
    at: String,
    to: &'static str,
    temperature: Option<f64>,
    limit: f64,
    verdict: &'static str,
    response_at_least_ms: Option<i64>,
    response_at_most_ms: Option<i64>,
}

#[derive(Serialize)]
struct RunPart<'a> {
    product: &'a str,
    lot: &'a str,
    start: String,
    end: String,
    forward_ms: i64,
    forward_volume: Option<f64>,
    diverted_volume: Option<f64>,
    unit: &'static str,
    incomplete: bool,
    temperature_margin: Option<f64>,
    differential_margin: Option<f64>,
    tank: &'a str,
    stated_quantity: Option<f64>,
    stated_unit: Option<&'static str>,
    exceptions: usize,
}

#[derive(Serialize)]
struct LotPart<'a> {
    lot: &'a str,
    exceptions: usize,
    in_doubt: VolumePart,
}

#[derive(Serialize)]
struct CompletenessPart<'a> {
    item: &'a str,
    source: &'a str,
    presence: &'static str,
    detail: &'a str,
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
    run_sheet: Option<FilePart<'a>>,
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
    lethality: Option<LethalityPart>,
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

/// The whole report.
pub(crate) fn render(report: &Report<'_>) -> Result<String, Error> {
    write(&document(report))
}

/// The result alone: without the program, and without where and how the files were found, so that
/// the same bytes give the same text in every folder and from every version that finds the same.
pub(crate) fn render_result(report: &Report<'_>) -> Result<String, Error> {
    let mut document = document(report);
    document.program = None;
    document.assumptions = None;
    for file in document.record.files.iter_mut().chain(&mut document.record.run_sheet) {
        file.name = file_name(file.name);
    }
    let names = report.source_names();
    let messages: Vec<String> = report
        .audit
        .observations
        .iter()
        .map(|one| {
            let text = one.message.clone();
            names.iter().fold(text, |text, name| text.replace(name, file_name(name)))
        })
        .collect();
    for (part, message) in document.observations.iter_mut().zip(&messages) {
        part.file = part.file.map(file_name);
        part.message = message;
    }
    write(&document)
}

fn write(document: &Document<'_>) -> Result<String, Error> {
    let mut text = serde_json::to_string_pretty(document).map_err(Error::Json)?;
    text.push('\n');
    Ok(text)
}

fn document<'a>(report: &Report<'a>) -> Document<'a> {
    let Report { record, plant, audit, assumptions } = report;
    let zone = plant.zone;
    let interval = record.interval();
    let mut accounting_ms: BTreeMap<&'static str, i64> = Class::ALL
        .into_iter()
        .map(|class| (class.key(), audit.accounting.time(class).milliseconds()))
        .collect();
    accounting_ms.insert("total", audit.accounting.total().milliseconds());
    Document {
        schema: SCHEMA,
        program: Some(Program { name: "holdtrace", version: env!("CARGO_PKG_VERSION") }),
        verdict: verdict(record, audit),
        caution: CAUTION,
        plant: plant_part(report, plant),
        record: RecordPart {
            unit: record.unit(),
            files: record.sources().iter().map(file_part).collect(),
            run_sheet: record.run_sheet().map(|sheet| file_part(sheet.source())),
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
        holding_tube: plant.tube.as_ref().map(tube_part),
        residence: residence_part(report),
        lethality: audit.lethality.as_ref().map(|one| lethality_part(one, zone)),
        lethality_caution: LETHALITY_CAUTION,
        trends: audit.trends.iter().map(trend_part).collect(),
        recorder_offset: audit.instruments.recorder.map(offset_part),
        cuts: audit.instruments.cuts.iter().map(|one| cut_part(one, zone)).collect(),
        runs: audit.product_runs.iter().map(|one| run_part(one, zone)).collect(),
        lots: audit
            .lots
            .iter()
            .map(|one| LotPart {
                lot: &one.lot,
                exceptions: one.exceptions,
                in_doubt: volume_part(&one.in_doubt),
            })
            .collect(),
        completeness: audit
            .completeness
            .iter()
            .map(|one| CompletenessPart {
                item: &one.item,
                source: &one.source,
                presence: one.presence.key(),
                detail: &one.detail,
            })
            .collect(),
        assumptions: Some(assumptions),
    }
}

fn file_part(source: &SourceFile) -> FilePart<'_> {
    let SourceFile { name, bytes, rows, sha256: _ } = source;
    FilePart { name, bytes: *bytes, rows: *rows, sha256: source.sha256_hex() }
}

fn plant_part<'a>(report: &Report<'a>, plant: &'a Plant) -> PlantPart<'a> {
    let temperature = report.record.holding_temperature().unit();
    PlantPart {
        name: &plant.name,
        zone: plant.zone.name(),
        assumed: plant.is_assumed(),
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
        lethality,
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
        lethality: lethality.as_ref().map(|one| lethality_part(one, zone)),
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

fn tube_part(tube: &plant::Tube) -> TubePart<'_> {
    TubePart {
        certified: tube.certificate().map(|certificate| CertificatePart {
            test_flow: certificate.test_flow.value.to_f64(),
            test_flow_unit: certificate.test_flow.unit.symbol(),
            test_time_ms: certificate.test_time.milliseconds(),
            tested_on: certificate.tested_on.as_deref(),
            tested_by: certificate.tested_by.as_deref(),
        }),
        measured_volume_litres: tube.geometry().map(plant::Geometry::litres),
    }
}

fn residence_part(report: &Report<'_>) -> Option<ResidencePart> {
    let (held, minimum, at) = least_residence(report.record, report.audit)?;
    Some(ResidencePart {
        least_ms: held.milliseconds(),
        minimum_ms: minimum.milliseconds(),
        at: report.plant.zone.rfc3339(at),
    })
}

fn lethality_part(lethality: &Lethality, zone: Zone) -> LethalityPart {
    let Lethality { pasteurization_units, celsius, held, nominal, at } = *lethality;
    LethalityPart {
        pasteurization_units,
        temperature_celsius: celsius,
        held_ms: held.milliseconds(),
        nominal_flow: nominal,
        at: zone.rfc3339(at),
        log10_reductions: lethality
            .reductions()
            .map(|(organism, log10)| ReductionPart {
                organism: organism.name,
                log10,
                source: organism.source,
            })
            .collect(),
    }
}

fn trend_part(trend: &Trend) -> TrendPart {
    let Trend { followed, unit, mean, least, greatest, minutes, line } = trend;
    TrendPart {
        followed: followed.key(),
        unit,
        mean: *mean,
        least: *least,
        greatest: *greatest,
        minutes: minutes.len(),
        per_hour: line.map(|line| line.per_hour),
        per_hour_uncertainty: line.map(|line| line.uncertainty),
    }
}

fn offset_part(offset: RecorderOffset) -> OffsetPart {
    let RecorderOffset { median, lowest, highest, unit, samples } = offset;
    OffsetPart { median, lowest, highest, unit, samples }
}

fn cut_part(cut: &Cut, zone: Zone) -> CutPart {
    let Cut { at, to, temperature, limit, verdict, response } = *cut;
    CutPart {
        at: zone.rfc3339(at),
        to: to.key(),
        temperature: temperature.map(Decimal::to_f64),
        limit,
        verdict: verdict.key(),
        response_at_least_ms: response.map(|(least, _)| least.milliseconds()),
        response_at_most_ms: response.map(|(_, most)| most.milliseconds()),
    }
}

fn run_part(run: &ProductRun, zone: Zone) -> RunPart<'_> {
    let ProductRun {
        product,
        lot,
        interval,
        forward_time,
        forward,
        diverted,
        unit,
        incomplete,
        temperature_margin,
        differential_margin,
        tank,
        stated,
        exceptions,
    } = run;
    RunPart {
        product,
        lot,
        start: zone.rfc3339(interval.start()),
        end: zone.rfc3339(interval.end()),
        forward_ms: forward_time.milliseconds(),
        forward_volume: *forward,
        diverted_volume: *diverted,
        unit: unit.symbol(),
        incomplete: *incomplete,
        temperature_margin: *temperature_margin,
        differential_margin: *differential_margin,
        tank,
        stated_quantity: stated.map(|(value, _)| value.to_f64()),
        stated_unit: stated.map(|(_, unit)| unit.symbol()),
        exceptions: *exceptions,
    }
}
