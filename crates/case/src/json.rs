//! The report for a program. The keys are documented in `docs/file-formats.md`; figures are
//! numbers, instants are RFC 3339 with offset and milliseconds.

use crate::error::Error;
use crate::limits::{PRODUCTS, StatedLimit};
use crate::sentences::{DisplayUnits, sentence};
use crate::words::{CAUTION, MOST_REDUCTION};
use crate::{Case, LeastResidence};
use analysis::{
    Cause, Class, Cleaning, Cut, Exception, Hole, LETHALITY_CAUTION, Lethality, Margin,
    PassageReason, ProductRun, RecorderOffset, Side, Transition, Trend, UnplacedCount,
};
use plant::{Accepted, Beyond, Plant, Provenance, Setting, Source, Zone};
use serde::Serialize;
use std::collections::BTreeMap;
use trace::{
    Decimal, Duration, Instant, Observation, SourceFile, SourcePosition, Unit, Value, file_name,
    visible_json,
};

/// The version of the format; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 2;

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
    passed: VolumePart,
    hold: HoldPart<'a>,
    exceptions: Vec<ExceptionPart<'a>>,
    cleanings: Vec<CleaningPart<'a>>,
    holes: Vec<HolePart>,
    observations: Vec<ObservationPart>,
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
    /// Never more than six: then `at_least` is true.
    log10: Option<f64>,
    at_least: bool,
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
    response_about_ms: Option<i64>,
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
    passed: VolumePart,
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
    settings: Vec<SettingPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    review: Option<ReviewPart<'a>>,
    accepted: Option<AcceptedPart<'a>>,
    beyond: Vec<BeyondPart<'a>>,
}

/// A setting of the plant file's limits as it bore on the record.
#[derive(Serialize)]
struct SettingPart {
    key: &'static str,
    figures: Vec<FigurePart>,
    source: String,
    built_in: bool,
    provenance: &'static str,
}

/// What the plant says of its reviews; no part of what an audit finds.
#[derive(Serialize)]
struct ReviewPart<'a> {
    within_working_days: AskedPart<'a, u32>,
    retention: Option<AskedPart<'a, String>>,
}

#[derive(Serialize)]
struct AskedPart<'a, T> {
    value: T,
    source: &'a str,
    built_in: bool,
    provenance: &'static str,
}

#[derive(Serialize)]
struct AcceptedPart<'a> {
    by: &'a str,
    document: &'a str,
    date: String,
}

#[derive(Serialize)]
struct BeyondPart<'a> {
    key: &'a str,
    set: &'a str,
    bound: &'a str,
    reason: &'a str,
}

#[derive(Serialize)]
struct HoldPart<'a> {
    lots: &'a [String],
    tanks: &'a [String],
    unnamed: usize,
    made_from: Option<String>,
    made_to: Option<String>,
}

#[derive(Serialize)]
struct CleaningPart<'a> {
    number: usize,
    start: String,
    end: String,
    exceptions: Vec<&'a str>,
}

#[derive(Serialize)]
struct HolePart {
    start: String,
    end: String,
    exposed: bool,
    unplaced: Option<UnplacedPart>,
}

#[derive(Serialize)]
struct UnplacedPart {
    rows: u64,
    short: u64,
}

#[derive(Serialize)]
struct LimitPart<'a> {
    value: f64,
    unit: &'static str,
    source: &'a str,
    built_in: bool,
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
    causes: Vec<&'static str>,
    positions: Vec<&'static str>,
    unplaced: Option<UnplacedPart>,
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
    tanks: &'a [String],
    shift: Option<&'a str>,
    mode: &'static str,
    within_response: bool,
    outside_production: bool,
    cleaning: Option<usize>,
    episode: usize,
}

#[derive(Serialize)]
struct ObservationPart {
    kind: &'static str,
    rank: &'static str,
    start: Option<String>,
    end: Option<String>,
    line: Option<u64>,
    file: Option<String>,
    count: u64,
    figures: BTreeMap<&'static str, FigurePart>,
    message: String,
}

/// A figure of an observation: what it is shows in its keys.
#[derive(Serialize)]
#[serde(untagged)]
enum FigurePart {
    Quantity { value: f64, unit: &'static str },
    Whole { value: i64, unit: &'static str },
    Count { value: u64, unit: Option<&'static str> },
    Instant { instant: String },
    Text { text: String },
    Place { file: String, line: u64 },
}

#[derive(Serialize)]
struct TransitionPart {
    at: String,
    to: &'static str,
    temperature_before: Option<f64>,
    temperature_after: Option<f64>,
    differential_before: Option<f64>,
    differential_after: Option<f64>,
    reason: Option<&'static str>,
    is_test: bool,
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

/// The whole case.
pub(crate) fn render(case: &Case) -> Result<String, Error> {
    write(&document(case, FileNames::AsGiven))
}

/// The result alone: without the program, and without where and how the files were found, so that
/// the same bytes give the same text in every folder and from every version that finds the same.
pub(crate) fn render_result(case: &Case) -> Result<String, Error> {
    let mut document = document(case, FileNames::Alone);
    document.program = None;
    document.plant.review = None;
    document.assumptions = None;
    for file in document.record.files.iter_mut().chain(&mut document.record.run_sheet) {
        file.name = file_name(file.name);
    }
    write(&document)
}

fn write(document: &Document<'_>) -> Result<String, Error> {
    let text = serde_json::to_string_pretty(document)?;
    Ok(format!("{}\n", visible_json(&text)))
}

/// How files are named.
#[derive(Clone, Copy, PartialEq, Eq)]
enum FileNames {
    /// As they were given, with their folders.
    AsGiven,
    /// Without folders.
    Alone,
}

impl FileNames {
    /// The observation, its files named so. What it says is made of its figures afterwards, so that
    /// no word of a sentence is ever replaced.
    fn in_observation(self, observation: &Observation, sources: &[&str]) -> Observation {
        let mut observation = observation.clone();
        if self == Self::AsGiven {
            return observation;
        }
        if let Some(position) = &mut observation.position {
            position.file = file_name(&position.file).into();
        }
        for figure in &mut observation.figures {
            match &mut figure.value {
                Value::Place(place) => place.file = file_name(&place.file).into(),
                // A file that an observation names as a whole.
                Value::Word(word) if sources.contains(&word.as_str()) => {
                    *word = file_name(word).to_owned();
                }
                _ => {}
            }
        }
        observation
    }
}

impl Case {
    /// The observation with the names of files alone, as paper has them.
    pub fn observation_without_folders(&self, observation: &Observation) -> Observation {
        FileNames::Alone.in_observation(observation, &sources(self))
    }
}

/// The names of the files of the record as they were given.
fn sources(case: &Case) -> Vec<&str> {
    let sheet = case.record.run_sheet().map(|sheet| &*sheet.source().name);
    case.record.sources().iter().map(|source| &*source.name).chain(sheet).collect()
}

fn document(case: &Case, names: FileNames) -> Document<'_> {
    let Case { record, plant, audit, assumptions, least_residence: _ } = case;
    let zone = plant.zone;
    let interval = record.interval();
    let mut accounting_ms: BTreeMap<&'static str, i64> = Class::ALL
        .into_iter()
        .map(|class| (class.key(), audit.accounting.time(class).milliseconds()))
        .collect();
    let unnamed = case.unnamed_interval();
    let sources = sources(case);
    accounting_ms.insert("total", audit.accounting.total().milliseconds());
    Document {
        schema: SCHEMA,
        program: Some(Program { name: "holdtrace", version: env!("CARGO_PKG_VERSION") }),
        verdict: case.verdict(),
        caution: CAUTION,
        plant: plant_part(case, plant),
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
        passed: volume_part(&audit.passed),
        hold: HoldPart {
            lots: &audit.hold.lots,
            tanks: &audit.hold.tanks,
            unnamed: audit.hold.unnamed,
            made_from: unnamed.map(|made| zone.rfc3339(made.start())),
            made_to: unnamed.map(|made| zone.rfc3339(made.end())),
        },
        exceptions: audit.exceptions.iter().map(|one| exception_part(one, zone)).collect(),
        cleanings: audit
            .cleanings
            .iter()
            .map(|one| cleaning_part(one, &audit.exceptions, zone))
            .collect(),
        holes: audit.holes.iter().map(|one| hole_part(one, zone)).collect(),
        observations: audit
            .observations
            .iter()
            .map(|one| observation_part(&names.in_observation(one, &sources), zone))
            .collect(),
        transitions: audit.transitions.iter().map(|one| transition_part(one, zone)).collect(),
        margins: MarginsPart {
            temperature: audit.margins.temperature.map(|one| margin_part(one, zone)),
            differential: audit.margins.differential.map(|one| margin_part(one, zone)),
        },
        holding_tube: plant.tube.as_ref().map(tube_part),
        residence: residence_part(case),
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
                passed: volume_part(&one.passed),
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

fn plant_part<'a>(case: &'a Case, plant: &'a Plant) -> PlantPart<'a> {
    let temperature = case.record.holding_temperature().unit();
    PlantPart {
        name: &plant.name,
        zone: plant.zone.name(),
        assumed: plant.is_assumed(),
        differential_limit: limit_part(
            case.audit.differential_limit,
            case.record.differential().unit().symbol(),
            &plant.limits.differential_source,
        ),
        temperature_limits: plant
            .products
            .iter()
            .map(|product| TemperatureLimitPart {
                product: &product.name,
                minimum_time_ms: product.minimum_time.milliseconds(),
                limit: limit_part(
                    product.limit.figure(temperature).to_f64(),
                    temperature.symbol(),
                    &product.source,
                ),
            })
            .collect(),
        settings: case
            .stated_limits()
            .into_iter()
            .filter(|one| one.key != PRODUCTS && one.key != Setting::Differential.key())
            .map(|one| setting_part(one, plant.zone))
            .collect(),
        review: Some(ReviewPart {
            within_working_days: asked_part(
                plant.review.within_working_days,
                &plant.review.within_source,
            ),
            retention: plant.retention.as_ref().map(|one| asked_part(one.to_string(), &one.source)),
        }),
        accepted: plant.accepted.as_ref().map(accepted_part),
        beyond: plant.beyond.iter().map(beyond_part).collect(),
    }
}

fn is_built_in(source: &Source) -> bool {
    source.provenance != Provenance::Plant
}

fn asked_part<T>(value: T, source: &Source) -> AskedPart<'_, T> {
    AskedPart {
        value,
        source: &source.citation,
        built_in: is_built_in(source),
        provenance: source.provenance.name(),
    }
}

fn setting_part(stated: StatedLimit, zone: Zone) -> SettingPart {
    // The name is for a person: other words must not change the result's digest.
    let StatedLimit { key, name: _, figures, source } = stated;
    SettingPart {
        key,
        figures: figures.iter().map(|value| figure_part(value, zone)).collect(),
        built_in: is_built_in(&source),
        provenance: source.provenance.name(),
        source: source.citation,
    }
}

fn limit_part<'a>(value: f64, unit: &'static str, source: &'a Source) -> LimitPart<'a> {
    let Source { citation, provenance } = source;
    LimitPart {
        value,
        unit,
        source: citation,
        built_in: is_built_in(source),
        provenance: provenance.name(),
    }
}

fn accepted_part(accepted: &Accepted) -> AcceptedPart<'_> {
    let Accepted { by, document, date } = accepted;
    AcceptedPart { by, document, date: date.to_string() }
}

fn beyond_part(beyond: &Beyond) -> BeyondPart<'_> {
    let Beyond { key, set, bound, reason } = beyond;
    BeyondPart { key, set, bound, reason }
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
        causes,
        samples: _,
        positions,
        unplaced,
        observed,
        outer,
        estimate,
        worst,
        shortfall,
        // Never beside an exception (method, section 7).
        volume,
        products,
        lots,
        tanks,
        shift,
        mode,
        within_response,
        outside_production,
        cleaning,
        episode,
    } = exception;
    ExceptionPart {
        id,
        rule: rule.key(),
        causes: causes.iter().map(|cause| Cause::key(*cause)).collect(),
        positions: positions.iter().map(|position| position.name()).collect(),
        unplaced: unplaced_part(*unplaced),
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
        tanks,
        shift: shift.as_deref(),
        mode: mode.name(),
        within_response: *within_response,
        outside_production: *outside_production,
        cleaning: *cleaning,
        episode: *episode,
    }
}

fn cleaning_part<'a>(
    cleaning: &Cleaning,
    exceptions: &'a [Exception],
    zone: Zone,
) -> CleaningPart<'a> {
    let Cleaning { number, interval, exceptions: indices } = cleaning;
    CleaningPart {
        number: *number,
        start: zone.rfc3339(interval.start()),
        end: zone.rfc3339(interval.end()),
        exceptions: indices
            .iter()
            .filter_map(|&index| exceptions.get(index))
            .map(|one| &*one.id)
            .collect(),
    }
}

fn hole_part(hole: &Hole, zone: Zone) -> HolePart {
    let Hole { samples: _, interval, exposed, unplaced } = hole;
    HolePart {
        start: zone.rfc3339(interval.start()),
        end: zone.rfc3339(interval.end()),
        exposed: *exposed,
        unplaced: unplaced_part(*unplaced),
    }
}

fn unplaced_part(unplaced: UnplacedCount) -> Option<UnplacedPart> {
    let UnplacedCount { rows, short } = unplaced;
    (rows > 0).then_some(UnplacedPart { rows, short })
}

fn observation_part(observation: &Observation, zone: Zone) -> ObservationPart {
    let Observation { kind, interval, position, count, figures } = observation;
    let instant = |instant: Instant| zone.rfc3339(instant);
    ObservationPart {
        kind: kind.key(),
        rank: kind.rank().key(),
        start: interval.map(|interval| instant(interval.start())),
        end: interval.map(|interval| instant(interval.end())),
        line: position.as_ref().map(|position| position.line),
        file: position.as_ref().map(|position| position.file.to_string()),
        count: *count,
        figures: figures.iter().map(|one| (one.name, figure_part(&one.value, zone))).collect(),
        message: sentence(observation, zone, DisplayUnits::RECORDED),
    }
}

fn figure_part(value: &Value, zone: Zone) -> FigurePart {
    let quantity =
        |value: Decimal, unit: &'static str| FigurePart::Quantity { value: value.to_f64(), unit };
    match value {
        Value::Temperature(value, unit) | Value::TemperatureDifference(value, unit) => {
            quantity(*value, unit.symbol())
        }
        Value::Pressure(value, unit) => quantity(*value, unit.symbol()),
        Value::Flow(value, unit) => quantity(*value, unit.symbol()),
        Value::Percent(value) => quantity(*value, "%"),
        Value::Time(time) => FigurePart::Whole { value: Duration::milliseconds(*time), unit: "ms" },
        Value::Count(count) => FigurePart::Count { value: *count, unit: None },
        Value::At(at) => FigurePart::Instant { instant: zone.rfc3339(*at) },
        Value::Word(word) => FigurePart::Text { text: word.clone() },
        Value::Place(SourcePosition { file, line }) => {
            FigurePart::Place { file: file.to_string(), line: *line }
        }
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
        reason,
        is_test,
    } = *transition;
    TransitionPart {
        at: zone.rfc3339(at),
        to: Side::key(to),
        temperature_before: temperature_before.map(Decimal::to_f64),
        temperature_after: temperature_after.map(Decimal::to_f64),
        differential_before: differential_before.map(Decimal::to_f64),
        differential_after: differential_after.map(Decimal::to_f64),
        reason: reason.map(PassageReason::key),
        is_test,
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

fn residence_part(case: &Case) -> Option<ResidencePart> {
    let LeastResidence { held, minimum, at } = case.least_residence()?;
    Some(ResidencePart {
        least_ms: held.milliseconds(),
        minimum_ms: minimum.milliseconds(),
        at: case.plant.zone.rfc3339(at),
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
                log10: log10.map(|log10| log10.min(MOST_REDUCTION)),
                at_least: organism.z_celsius.is_none()
                    || log10.is_some_and(|log10| log10 > MOST_REDUCTION),
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
        response_at_least_ms: response.map(|one| one.least.milliseconds()),
        response_about_ms: response.map(|one| one.about.milliseconds()),
        response_at_most_ms: response.map(|one| one.most.milliseconds()),
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

#[cfg(test)]
mod tests {
    use crate::samples::{PLANT, day, eventful, file};
    use serde_json::Value;

    fn parsed(text: Result<String, crate::Error>) -> Value {
        match text.map(|text| serde_json::from_str(&text)) {
            Ok(Ok(value)) => value,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_day_as_json() {
        match eventful().result_json() {
            Ok(text) => insta::assert_snapshot!(text),
            Err(error) => panic!("{error}"),
        }
    }

    #[test]
    fn the_result_is_the_same_in_every_folder() {
        // Two rows of one instant that differ, and the same file twice: both observations name files.
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let last = rows.lines().last().unwrap_or_default().replace("163.", "162.");
        let rows = format!("{rows}{last}\n");
        let results: Vec<(String, Value)> = ["", "one/", "other/folder/"]
            .into_iter()
            .map(|folder| {
                let names = [format!("{folder}a.csv"), format!("{folder}b.csv")];
                let day =
                    day(Some(PLANT), &[(&names[0], rows.as_str()), (&names[1], rows.as_str())]);
                (day.result_json().unwrap_or_default(), parsed(day.json()))
            })
            .collect();
        let [(first, _), others @ ..] = results.as_slice() else { panic!("no result") };
        assert!(first.contains("the same as a.csv"), "{first}");
        for (result, whole) in others {
            assert_eq!(result, first);
            assert!(
                whole.to_string().contains("folder/a.csv")
                    || whole.to_string().contains("one/a.csv")
            );
        }
    }

    #[test]
    fn figures_say_what_they_are() {
        let whole = parsed(eventful().json());
        let observations = whole["observations"].as_array().cloned().unwrap_or_default();
        let slow = observations.iter().find(|one| one["kind"] == "slow_response");
        let Some(slow) = slow else { panic!("{whole}") };
        assert_eq!(slow["rank"], "close");
        assert_eq!(slow["figures"]["limit"]["value"], 1000);
        assert_eq!(slow["figures"]["limit"]["unit"], "ms");
        assert_eq!(slow["figures"]["rule"]["text"], "temperature");
        let message = slow["message"].as_str().unwrap_or_default();
        assert!(message.starts_with("Fully diverted about "), "{message}");
    }

    #[test]
    fn exceptions_have_their_causes_and_positions() {
        let whole = parsed(eventful().json());
        let exceptions = whole["exceptions"].as_array().cloned().unwrap_or_default();
        assert_eq!(exceptions[0]["causes"], serde_json::json!(["short"]));
        assert_eq!(exceptions[0]["positions"], serde_json::json!(["forward", "travel"]));
        let outside: Vec<&Value> =
            exceptions.iter().filter(|one| one["outside_production"] == true).collect();
        assert!(
            !outside.is_empty() && outside.iter().all(|one| one["cleaning"] == 1),
            "{outside:?}"
        );
        assert_eq!(
            whole["cleanings"][0]["exceptions"].as_array().map(Vec::len),
            Some(outside.len())
        );
        assert!(exceptions.iter().all(|one| one.get("lethality").is_none()));
    }
}
