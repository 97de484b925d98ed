//! The case for a program. The keys are documented in `docs/file-formats.md`; figures are
//! numbers, instants are RFC 3339 with offset and milliseconds.

use crate::entries::check_key;
use crate::error::Error;
use crate::limits::{PRODUCTS, StatedLimit};
use crate::ordered::{Json, object};
use crate::sentences::{DisplayUnits, sentence};
use crate::words::{CAUTION, MOST_REDUCTION};
use crate::{Case, LeastResidence};
use analysis::{
    Amounts, AtChange, BetweenCleanings, Check, CheckedEntry, Class, Cleaning, CleaningCycle, Cut,
    Divert, Exception, Hole, LETHALITY_CAUTION, Lethality, Margin, NotMetered, PassageReason,
    ProductChange, ProductRun, RecorderOffset, Response, RunAmount, Side, SumAmount, Transition,
    Trend, UnplacedCount, Volume,
};
use plant::{Accepted, Beyond, Provenance, Setting, Source, Zone};
use std::collections::BTreeMap;
use trace::{
    Decimal, Duration, Observation, OperatorEntry, SourceFile, SourcePosition, Unit, Value,
    file_name, visible_json,
};

/// The version of the format; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 2;

/// The whole case.
pub(crate) fn render(case: &Case) -> Result<String, Error> {
    write(&document(case, FileNames::AsGiven, &sources(case)))
}

/// The result alone: without the program, and without where and how the files were found, so that
/// the same bytes give the same text in every folder and from every version that finds the same.
pub(crate) fn render_result(case: &Case) -> Result<String, Error> {
    let sources = sources(case);
    let mut document = document(case, FileNames::Alone, &sources);
    // The lists tell more of what is judged elsewhere, and what was signed before they were told stays
    // the same.
    document.without(&["program", "assumptions", "diverts"]);
    document.without(&["cleaning_cycles", "between_cleanings", "operator_entries"]);
    document.without(&["amounts", "product_changes"]);
    if let Some(plant) = document.member("plant") {
        plant.without(&["review"]);
    }
    write(&document)
}

fn write(document: &Json<'_>) -> Result<String, Error> {
    let text = serde_json::to_string_pretty(document).map_err(Error::Json)?;
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
    fn of(self, name: &str) -> &str {
        if self == Self::AsGiven { name } else { file_name(name) }
    }

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
    let record = &case.record;
    let sheet = record.run_sheet().map(|sheet| &*sheet.source().name);
    let entries = record.operator_entries().map(|entries| &*entries.source().name);
    record.sources().iter().map(|source| &*source.name).chain(sheet).chain(entries).collect()
}

fn document<'a>(case: &'a Case, names: FileNames, sources: &'a [&'a str]) -> Json<'a> {
    let Case { record, plant, audit, assumptions, least_residence } = case;
    let zone = plant.zone;
    let interval = record.interval();
    let mut times: BTreeMap<&'static str, Duration> =
        Class::ALL.into_iter().map(|class| (class.key(), audit.accounting.time(class))).collect();
    times.insert("total", audit.accounting.total());
    let times = times.into_iter().map(|(class, time)| (class, time.milliseconds().into()));
    let unnamed = case.unnamed_interval();
    let observation = move |one| observation_part(&names.in_observation(one, sources), zone);
    let margin = |one: Option<Margin>| one.map(|one| margin_part(one, zone));
    object! {
        "schema": SCHEMA,
        "program": object! { "name": "holdtrace", "version": env!("CARGO_PKG_VERSION") },
        "verdict": case.verdict(),
        "caution": CAUTION,
        "plant": plant_part(case),
        "record": object! {
            "unit": record.unit(),
            "files": Json::each(record.sources(), move |one| file_part(one, names)),
            "run_sheet": record.run_sheet().map(|sheet| file_part(sheet.source(), names)),
            "start": zone.rfc3339(interval.start()),
            "end": zone.rfc3339(interval.end()),
            "samples": record.samples(),
            "sampling_interval_ms": record.sampling_interval().milliseconds(),
            "gap_limit_ms": audit.gap_limit.milliseconds(),
        },
        "accounting_ms": Json::Object(times.collect()),
        "passed": volume_part(audit.passed),
        "hold": object! {
            "lots": &audit.hold.lots,
            "tanks": &audit.hold.tanks,
            "unnamed": audit.hold.unnamed,
            "made_from": unnamed.map(|made| zone.rfc3339(made.start())),
            "made_to": unnamed.map(|made| zone.rfc3339(made.end())),
        },
        "exceptions": case.exceptions_json(),
        "cleanings": Json::each(&audit.cleanings, move |one| cleaning_part(one, &audit.exceptions, zone)),
        "holes": Json::each(&audit.holes, move |one| hole_part(one, zone)),
        "observations": Json::each(&audit.observations, observation),
        "transitions": Json::each(&audit.transitions, move |one| transition_part(one, zone)),
        "diverts": Json::each(&audit.diverts, move |one| divert_part(one, zone)),
        "cleaning_cycles": Json::each(&audit.cleaning_cycles, move |one| cycle_part(one, zone)),
        "between_cleanings": Json::each(&audit.between_cleanings, move |one| between_part(one, zone)),
        "operator_entries": record.operator_entries().map(|entries| object! {
            "file": file_part(entries.source(), names),
            "entries": Json::each(&audit.entries, move |one| entry_part(one, zone)),
        }),
        "amounts": amounts_part(case),
        "product_changes": Json::each(&audit.product_changes, move |one| change_part(one, zone)),
        "margins": object! {
            "temperature": margin(audit.margins.temperature),
            "differential": margin(audit.margins.differential),
        },
        "holding_tube": plant.tube.as_ref().map(tube_part),
        "residence": least_residence.map(|LeastResidence { held, minimum, at }| object! {
            "least_ms": held.milliseconds(),
            "minimum_ms": minimum.milliseconds(),
            "at": zone.rfc3339(at),
        }),
        "lethality": audit.lethality.as_ref().map(|one| lethality_part(one, zone)),
        "lethality_caution": LETHALITY_CAUTION,
        "trends": Json::each(&audit.trends, trend_part),
        "recorder_offset": audit.instruments.recorder.map(offset_part),
        "cuts": Json::each(&audit.instruments.cuts, move |one| cut_part(one, zone)),
        "runs": Json::each(&audit.product_runs, move |one| run_part(one, zone)),
        "lots": Json::each(&audit.lots, move |one| object! {
            "lot": &one.lot,
            "exceptions": one.exceptions,
            "passed": volume_part(one.passed),
        }),
        "completeness": Json::each(&audit.completeness, move |one| object! {
            "item": &one.item,
            "source": &one.source,
            "presence": one.presence.key(),
            "detail": &one.detail,
        }),
        "assumptions": assumptions,
    }
}

fn file_part(source: &SourceFile, names: FileNames) -> Json<'_> {
    let SourceFile { name, bytes, rows, sha256: _ } = source;
    object! {
        "name": names.of(name),
        "bytes": *bytes,
        "rows": *rows,
        "sha256": source.sha256_hex(),
    }
}

fn plant_part(case: &Case) -> Json<'_> {
    let Case { record, plant, audit, .. } = case;
    let temperature = record.holding_temperature().unit();
    let differential = record.differential().unit().symbol();
    let settings = case.stated_limits();
    let settings = settings
        .into_iter()
        .filter(|one| one.key != PRODUCTS && one.key != Setting::Differential.key());
    let (retention, products) = (plant.retention.as_ref(), plant.products.iter());
    object! {
        "name": &plant.name,
        "zone": plant.zone.name(),
        "assumed": plant.is_assumed(),
        "differential_limit": limit_part(
            vec![],
            audit.differential_limit,
            differential,
            &plant.limits.differential_source,
        ),
        "temperature_limits": products.map(|product| limit_part(
            vec![
                ("product", Json::from(&product.name)),
                ("minimum_time_ms", product.minimum_time.milliseconds().into()),
            ],
            product.limit.figure(temperature).to_f64(),
            temperature.symbol(),
            &product.source,
        )).collect::<Json<'_>>(),
        "settings": settings.map(|one| setting_part(one, plant.zone)).collect::<Json<'_>>(),
        // What the plant says of its reviews is no part of what an audit finds.
        "review": object! {
            "within_working_days": asked_part(
                plant.review.within_working_days,
                &plant.review.within_source,
            ),
            "retention": retention.map(|one| asked_part(one.to_string(), &one.source)),
        },
        "accepted": plant.accepted.as_ref().map(|Accepted { by, document, date }| object! {
            "by": by,
            "document": document,
            "date": date.to_string(),
        }),
        "beyond": Json::each(&plant.beyond, move |Beyond { key, set, bound, reason }| object! {
            "key": key,
            "set": set,
            "bound": bound,
            "reason": reason,
        }),
    }
}

/// Members, and behind them who stands behind a limit.
fn sourced<'a>(
    mut members: Vec<(&'static str, Json<'a>)>,
    citation: impl Into<Json<'a>>,
    provenance: Provenance,
) -> Json<'a> {
    members.push(("source", citation.into()));
    members.push(("built_in", (provenance != Provenance::Plant).into()));
    members.push(("provenance", provenance.name().into()));
    Json::Object(members)
}

fn asked_part<'a>(value: impl Into<Json<'a>>, source: &'a Source) -> Json<'a> {
    sourced(vec![("value", value.into())], &source.citation, source.provenance)
}

fn setting_part<'a>(stated: StatedLimit, zone: Zone) -> Json<'a> {
    // The name is for a person: other words must not change the result's digest.
    let StatedLimit { key, name: _, figures, source } = stated;
    let figures = figures.iter().map(|value| figure_part(value, zone)).collect();
    let members = vec![("key", key.into()), ("figures", Json::List(figures))];
    sourced(members, source.citation, source.provenance)
}

fn limit_part<'a>(
    mut members: Vec<(&'static str, Json<'a>)>,
    value: f64,
    unit: &'static str,
    source: &'a Source,
) -> Json<'a> {
    members.extend([("value", value.into()), ("unit", unit.into())]);
    sourced(members, &source.citation, source.provenance)
}

fn volume_part<'a>(volume: Volume) -> Json<'a> {
    let Volume { value, outer_value, unit, basis } = volume;
    object! {
        "value": value,
        "outer_value": outer_value,
        "unit": unit.symbol(),
        "basis": basis.key(),
    }
}

fn cleaning_part<'a>(cleaning: &'a Cleaning, exceptions: &'a [Exception], zone: Zone) -> Json<'a> {
    let Cleaning { number, interval, exceptions: indices } = cleaning;
    let members = indices.iter().filter_map(|&index| exceptions.get(index));
    object! {
        "number": *number,
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "exceptions": members.map(|one| &one.id).collect::<Json<'_>>(),
    }
}

fn hole_part(hole: &Hole, zone: Zone) -> Json<'_> {
    let Hole { samples: _, interval, exposed, unplaced } = hole;
    object! {
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "exposed": *exposed,
        "unplaced": unplaced_part(*unplaced),
    }
}

fn unplaced_part<'a>(unplaced: UnplacedCount) -> Option<Json<'a>> {
    let UnplacedCount { rows, short } = unplaced;
    (rows > 0).then(|| object! { "rows": rows, "short": short })
}

fn observation_part<'a>(observation: &Observation, zone: Zone) -> Json<'a> {
    let Observation { kind, interval, position, count, figures } = observation;
    let figures: BTreeMap<&'static str, Json<'a>> =
        figures.iter().map(|one| (one.name, figure_part(&one.value, zone))).collect();
    object! {
        "kind": kind.key(),
        "rank": kind.rank().key(),
        "start": interval.map(|interval| zone.rfc3339(interval.start())),
        "end": interval.map(|interval| zone.rfc3339(interval.end())),
        "line": position.as_ref().map(|position| position.line),
        "file": position.as_ref().map(|position| position.file.to_string()),
        "count": *count,
        "figures": Json::Object(figures.into_iter().collect()),
        "message": sentence(observation, zone, DisplayUnits::FILED),
    }
}

/// A figure of an observation: what it is shows in its keys.
fn figure_part<'a>(value: &Value, zone: Zone) -> Json<'a> {
    let quantity = |value: Decimal, unit: &'static str| {
        object! { "value": value.to_f64(), "unit": unit }
    };
    match value {
        Value::Temperature(value, unit) | Value::TemperatureDifference(value, unit) => {
            quantity(*value, unit.symbol())
        }
        Value::Pressure(value, unit) => quantity(*value, unit.symbol()),
        Value::Flow(value, unit) => quantity(*value, unit.symbol()),
        Value::Volume(value, unit) => quantity(*value, unit.symbol()),
        Value::Percent(value) => quantity(*value, "%"),
        Value::Time(time) => object! { "value": time.milliseconds(), "unit": "ms" },
        Value::Count(count) => object! { "value": *count, "unit": Json::Null },
        Value::At(at) => object! { "instant": zone.rfc3339(*at) },
        Value::Word(word) => object! { "text": word.clone() },
        Value::Place(SourcePosition { file, line }) => {
            object! { "file": file.to_string(), "line": *line }
        }
    }
}

fn transition_part(transition: &Transition, zone: Zone) -> Json<'_> {
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
    object! {
        "at": zone.rfc3339(at),
        "to": Side::key(to),
        "temperature_before": temperature_before.map(Decimal::to_f64),
        "temperature_after": temperature_after.map(Decimal::to_f64),
        "differential_before": differential_before.map(Decimal::to_f64),
        "differential_after": differential_after.map(Decimal::to_f64),
        "reason": reason.map(PassageReason::key),
        "is_test": is_test,
    }
}

fn entry_part(one: &CheckedEntry, zone: Zone) -> Json<'_> {
    let CheckedEntry { entry, check } = one;
    // Destructured, so that a new field must be thought about here.
    let OperatorEntry { at, to_the_minute, kind, reading, by, note, line } = entry;
    let shown = match check {
        Check::Agrees(shown) | Check::Disagrees(shown) | Check::NotComparable(shown) => Some(shown),
        Check::Words => None,
    };
    object! {
        "at": zone.rfc3339(*at),
        "to_the_minute": *to_the_minute,
        "entry": kind.key(),
        "reading": reading.map(|(value, _)| value.to_f64()),
        "unit": reading.map(|(_, unit)| unit.symbol()),
        "by": by,
        "note": note,
        "line": *line,
        "check": check_key(check),
        "shown": shown,
    }
}

fn divert_part(divert: &Divert, zone: Zone) -> Json<'_> {
    // Destructured, so that a new field must be thought about here.
    let Divert {
        id,
        observed,
        outer,
        estimate,
        is_over,
        reason,
        reading,
        temperature,
        response,
        returned,
        unit,
        product,
        lot,
        mode,
    } = divert;
    let milliseconds = |of: fn(&Response) -> Duration| {
        response.as_ref().map(|response| of(response).milliseconds())
    };
    object! {
        "id": id,
        "start": zone.rfc3339(estimate.start()),
        "end": zone.rfc3339(estimate.end()),
        "duration_ms": estimate.duration().milliseconds(),
        "observed_duration_ms": observed.duration().milliseconds(),
        "outer_duration_ms": outer.duration().milliseconds(),
        "is_over": *is_over,
        "reason": reason.key(),
        "reading": reading.as_ref().map(|value| figure_part(value, zone)),
        "temperature_before": temperature.map(Decimal::to_f64),
        "response_at_least_ms": milliseconds(|one| one.least),
        "response_about_ms": milliseconds(|one| one.about),
        "response_at_most_ms": milliseconds(|one| one.most),
        "diverted_volume": *returned,
        "unit": returned.map(|_| unit.symbol()),
        "product": product,
        "lot": lot,
        "mode": mode.name(),
    }
}

fn cycle_part<'a>(cycle: &CleaningCycle, zone: Zone) -> Json<'a> {
    let CleaningCycle {
        interval,
        begin,
        end,
        thermometer,
        temperatures,
        unit,
        hot,
        circulation,
        product_ran,
        counts,
        followed_by,
    } = cycle;
    object! {
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "duration_ms": interval.duration().milliseconds(),
        "begin": begin.key(),
        "finish": end.key(),
        "temperature_of": thermometer.key(),
        "temperature_least": temperatures.map(|(least, _)| least.to_f64()),
        "temperature_greatest": temperatures.map(|(_, greatest)| greatest.to_f64()),
        "unit": unit.symbol(),
        "hot_ms": hot.map(Duration::milliseconds),
        "circulation": circulation.key(),
        "product_ran": *product_ran,
        "counts": *counts,
        "followed_by": followed_by.key(),
        "followed_at": followed_by.at().map(|at| zone.rfc3339(at)),
    }
}

fn between_part<'a>(between: &BetweenCleanings, zone: Zone) -> Json<'a> {
    let BetweenCleanings { interval, samples, after_cleaning, before_cleaning, not_counted } =
        between;
    object! {
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "duration_ms": interval.duration().milliseconds(),
        "samples": *samples,
        "after_cleaning": *after_cleaning,
        "before_cleaning": *before_cleaning,
        "not_counted": *not_counted,
    }
}

/// `null` without a run sheet.
fn amounts_part(case: &Case) -> Option<Json<'_>> {
    case.record.run_sheet()?;
    let zone = case.plant.zone;
    let limit = case.plant.amount_limit();
    let Amounts { runs, lots, tanks } = &case.audit.amounts;
    let run = move |one| amount_part(one, zone);
    Some(object! {
        "tolerance_percent": limit.to_f64(),
        "built_in": case.plant.amount_tolerance.is_none(),
        "runs": Json::each(runs, run),
        "lots": Json::each(lots, sum_part),
        "tanks": Json::each(tanks, sum_part),
    })
}

fn amount_part(run: &RunAmount, zone: Zone) -> Json<'_> {
    let RunAmount { interval, product, lot, tank, metered, unit, stated, line } = run;
    object! {
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "product": product,
        "lot": lot,
        "tank": tank,
        "metered": metered.ok(),
        "unit": unit.symbol(),
        "stated": stated.map(|(value, _)| value.to_f64()),
        "stated_unit": stated.map(|(_, unit)| unit.symbol()),
        "percent_apart": run.percent_apart(),
        "not_compared": metered.err().map(NotMetered::key),
        "line": *line,
    }
}

fn sum_part(sum: &SumAmount) -> Json<'_> {
    let SumAmount { name, runs, metered, stated, unit } = sum;
    object! {
        "name": name,
        "runs": *runs,
        "metered": *metered,
        "stated": *stated,
        "unit": unit.symbol(),
        "percent_apart": sum.percent_apart(),
    }
}

fn change_part(change: &ProductChange, zone: Zone) -> Json<'_> {
    let ProductChange { interval, from, to, is_forward, temperature, flow, mixed } = change;
    let at = |at: Option<AtChange>| {
        at.map(|AtChange { reading, limit, margin, unit }| {
            object! {
                "reading": reading.to_f64(),
                "limit": limit,
                "margin": margin,
                "unit": unit,
            }
        })
    };
    object! {
        "at": zone.rfc3339(change.at()),
        "last_before": zone.rfc3339(interval.start()),
        "from": from,
        "to": to,
        "is_forward": *is_forward,
        "temperature": at(*temperature),
        "flow": at(*flow),
        "mixed_estimate": mixed.map(|(volume, unit)| object! {
            "value": volume,
            "unit": unit.symbol(),
            "of": "effective volume of the holding tube",
        }),
    }
}

fn margin_part<'a>(margin: Margin, zone: Zone) -> Json<'a> {
    let Margin { value, limit, margin, unit, at } = margin;
    object! {
        "margin": margin,
        "value": value.to_f64(),
        "limit": limit,
        "unit": unit,
        "at": zone.rfc3339(at),
    }
}

fn tube_part(tube: &plant::Tube) -> Json<'_> {
    object! {
        "certified": tube.certificate().map(|certificate| object! {
            "test_flow": certificate.test_flow.value.to_f64(),
            "test_flow_unit": certificate.test_flow.unit.symbol(),
            "test_time_ms": certificate.test_time.milliseconds(),
            "tested_on": certificate.tested_on.as_deref(),
            "tested_by": certificate.tested_by.as_deref(),
        }),
        "measured_volume_litres": tube.geometry().map(plant::Geometry::litres),
    }
}

fn lethality_part(lethality: &Lethality, zone: Zone) -> Json<'_> {
    let Lethality { pasteurization_units, celsius, held, nominal, at } = *lethality;
    let reductions = lethality.reductions().map(|(organism, log10)| {
        object! {
            "organism": organism.name,
            // Never more than six: then `at_least` is true.
            "log10": log10.map(|log10| log10.min(MOST_REDUCTION)),
            "at_least": organism.z_celsius.is_none()
                || log10.is_some_and(|log10| log10 > MOST_REDUCTION),
            "source": organism.source,
        }
    });
    object! {
        "pasteurization_units": pasteurization_units,
        "temperature_celsius": celsius,
        "held_ms": held.milliseconds(),
        "nominal_flow": nominal,
        "at": zone.rfc3339(at),
        "log10_reductions": reductions.collect::<Json<'_>>(),
    }
}

fn trend_part(trend: &Trend) -> Json<'_> {
    let Trend { followed, unit, mean, least, greatest, minutes, line } = trend;
    object! {
        "followed": followed.key(),
        "unit": *unit,
        "mean": *mean,
        "least": *least,
        "greatest": *greatest,
        "minutes": minutes.len(),
        "per_hour": line.map(|line| line.per_hour),
        "per_hour_uncertainty": line.map(|line| line.uncertainty),
    }
}

fn offset_part<'a>(offset: RecorderOffset) -> Json<'a> {
    let RecorderOffset { median, lowest, highest, unit, samples } = offset;
    object! {
        "median": median,
        "lowest": lowest,
        "highest": highest,
        "unit": unit,
        "samples": samples,
    }
}

fn cut_part(cut: &Cut, zone: Zone) -> Json<'_> {
    let Cut { at, to, temperature, limit, verdict, response } = *cut;
    object! {
        "at": zone.rfc3339(at),
        "to": to.key(),
        "temperature": temperature.map(Decimal::to_f64),
        "limit": limit,
        "verdict": verdict.key(),
        "response_at_least_ms": response.map(|one| one.least.milliseconds()),
        "response_about_ms": response.map(|one| one.about.milliseconds()),
        "response_at_most_ms": response.map(|one| one.most.milliseconds()),
    }
}

fn run_part(run: &ProductRun, zone: Zone) -> Json<'_> {
    let ProductRun {
        product,
        lot,
        interval,
        // They stand beside another day, and follow from what is written.
        forward_flow: _,
        lowest: _,
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
    object! {
        "product": product,
        "lot": lot,
        "start": zone.rfc3339(interval.start()),
        "end": zone.rfc3339(interval.end()),
        "forward_ms": forward_time.milliseconds(),
        "forward_volume": *forward,
        "diverted_volume": *diverted,
        "unit": unit.symbol(),
        "incomplete": *incomplete,
        "temperature_margin": *temperature_margin,
        "differential_margin": *differential_margin,
        "tank": tank,
        "stated_quantity": stated.map(|(value, _)| value.to_f64()),
        "stated_unit": stated.map(|(_, unit)| unit.symbol()),
        "exceptions": *exceptions,
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
    fn diverts_have_their_causes_and_are_no_part_of_the_result() {
        let whole = parsed(eventful().json());
        let diverts = whole["diverts"].as_array().cloned().unwrap_or_default();
        assert_eq!(diverts.len(), 2);
        assert_eq!(diverts[1]["reason"], "temperature");
        assert_eq!(diverts[1]["reading"]["value"], 160.1);
        assert_eq!(diverts[1]["response_about_ms"], 810);
        assert_eq!(parsed(eventful().result_json()).get("diverts"), None);
    }

    #[test]
    fn cleanings_are_no_part_of_the_result() {
        let whole = parsed(eventful().json());
        let cycles = whole["cleaning_cycles"].as_array().cloned().unwrap_or_default();
        assert_eq!(cycles.len(), 1, "{whole}");
        assert_eq!(cycles[0]["temperature_of"], "holding_temperature");
        assert_eq!(whole["between_cleanings"].as_array().map(Vec::len), Some(1));
        let result = parsed(eventful().result_json());
        for key in ["cleaning_cycles", "between_cleanings", "amounts", "product_changes"] {
            assert_eq!(result.get(key), None);
        }
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
