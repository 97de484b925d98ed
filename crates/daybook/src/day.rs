//! The row that stands for one record: what of its audit is needed once the samples are gone.

use crate::error::Error;
use crate::figure::Figure;
use analysis::{Audit, Followed, Presence, Side, Volume, Worst};
use chrono::NaiveDate;
use plant::Plant;
use report::verdict;
use review::Subject;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use trace::{Decimal, RunRecord};

/// A volume of product.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Amount {
    /// The best guess; `None` when unknown.
    pub value: Option<f64>,
    /// It cannot have been more; `None` when unknown.
    pub at_most: Option<f64>,
    /// The symbol of its unit.
    pub unit: String,
    /// What it rests on: `metered`, `nominal` or `unknown`.
    pub basis: String,
}

impl Amount {
    fn of(volume: &Volume) -> Self {
        Self {
            value: volume.value,
            at_most: volume.outer_value,
            unit: volume.unit.symbol().to_owned(),
            basis: volume.basis.key().to_owned(),
        }
    }
}

/// One exception of a day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ExceptionRow {
    /// The audit's stable identifier.
    pub id: String,
    /// The key of the rule.
    pub rule: String,
    /// The key of what the record says of the cause.
    pub cause: String,
    /// The estimate's start, RFC 3339.
    pub start: String,
    /// The estimate's end, RFC 3339.
    pub end: String,
    /// How long the estimate lasts, in milliseconds.
    pub duration_ms: i64,
    /// How long what the samples themselves show lasts, in milliseconds.
    pub observed_ms: i64,
    /// How long it can have lasted at most, in milliseconds.
    pub at_most_ms: i64,
    /// The reading furthest below its limit; `None` where no reading was short.
    pub worst: Option<Figure>,
    /// The limit of that reading.
    pub limit: Option<f64>,
    /// The product that passed.
    pub volume: Amount,
    /// Every product that it touched.
    pub products: Vec<String>,
    /// Every lot that it touched.
    pub lots: Vec<String>,
    /// The shift in which it began.
    pub shift: Option<String>,
    /// Whether the device acted within the moment it is allowed.
    pub within_response: bool,
}

/// One run of a product and lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunRow {
    /// The product, as recorded.
    pub product: String,
    /// The lot, as recorded.
    pub lot: String,
    /// Its first sample, RFC 3339.
    pub start: String,
    /// Its end, RFC 3339.
    pub end: String,
    /// The time in forward flow, in milliseconds.
    pub forward_ms: i64,
    /// What the meter saw in forward flow; `None` without a meter.
    pub forward: Option<f64>,
    /// What the meter saw while diverted; `None` without a meter.
    pub diverted: Option<f64>,
    /// The symbol of the unit of both.
    pub unit: String,
    /// Whether readings of the meter were missing, so that both are too small.
    pub incomplete: bool,
    /// The tank that the run sheet names; blank without one.
    pub tank: String,
    /// How many exceptions touched it.
    pub exceptions: usize,
}

/// What stands for one record among many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Day {
    /// The calendar date of the first sample on the plant's clock.
    pub date: NaiveDate,
    /// The calendar date of the last sample: the record was created then.
    pub created: NaiveDate,
    /// What is reviewed: plant, unit, files with digests, the audit's digest, what is to be settled.
    pub subject: Subject,
    /// The record in one sentence.
    pub verdict: String,
    /// How long the record lasts, in milliseconds.
    pub recorded_ms: i64,
    /// How long the valve was in forward flow, in milliseconds.
    pub forward_ms: i64,
    /// How long forward flow was not safe or cannot be vouched for, in milliseconds.
    pub in_doubt_ms: i64,
    /// The product that passed meanwhile, each litre counted once.
    pub in_doubt: Amount,
    /// The exceptions, in order.
    pub exceptions: Vec<ExceptionRow>,
    /// The runs, in order; empty when the record names neither product nor lot.
    pub runs: Vec<RunRow>,
    /// By lot, what of it is in doubt.
    pub lots: BTreeMap<String, Amount>,
    /// The least holding temperature above its limit in compliant forward flow.
    pub temperature_margin: Option<Figure>,
    /// The least differential above its limit in compliant forward flow.
    pub differential_margin: Option<Figure>,
    /// The reading furthest from its temperature limit, exceptions included: below 0 when short.
    pub worst_temperature: Option<Figure>,
    /// The same of the differential.
    pub worst_differential: Option<Figure>,
    /// The recorder minus the indicating thermometer, the median in steady forward flow.
    pub recorder_offset: Option<Figure>,
    /// The lowest temperature at which the device left forward flow.
    pub cut_out: Option<Figure>,
    /// The mean regeneration efficiency.
    pub regeneration: Option<Figure>,
    /// The mean of heating water above holding temperature.
    pub approach: Option<Figure>,
    /// How often the device left forward flow.
    pub diverts: usize,
    /// How many items the plant's list asks for.
    pub required: usize,
    /// Those that the record does not hold; a person can have entered them.
    pub missing: Vec<String>,
}

impl Day {
    /// The row of a record and its audit.
    ///
    /// # Errors
    /// When the audit's result can't be written as JSON; none that an audit gives.
    pub fn new(record: &RunRecord, plant: &Plant, audit: &Audit) -> Result<Self, Error> {
        let subject =
            Subject::new(record, plant, audit).map_err(|cause| Error::Review(cause.to_string()))?;
        let zone = plant.zone;
        let interval = record.interval();
        let unit = record.holding_temperature().unit();
        let trend = |followed| {
            let trend = audit.trends.iter().find(|trend| trend.followed == followed)?;
            Some(Figure::new(trend.mean, trend.unit))
        };
        let margin = |margin: Option<analysis::Margin>| {
            margin.map(|margin| Figure::new(margin.margin, margin.unit))
        };
        let worst = |rule: analysis::Rule, margin: Option<Figure>| {
            let short = audit.exceptions.iter().filter(|one| one.rule == rule);
            let short = short.filter_map(|one| one.worst.as_ref()).map(short_by);
            short.chain(margin).min_by(|one, other| one.value.total_cmp(&other.value))
        };
        let (temperature_margin, differential_margin) =
            (margin(audit.margins.temperature), margin(audit.margins.differential));
        let outs = || audit.instruments.cuts.iter().filter(|cut| cut.to == Side::Divert);
        let lowest = outs().filter_map(|cut| cut.temperature).map(Decimal::to_f64);
        Ok(Self {
            date: zone.local(interval.start()).date_naive(),
            created: zone.local(interval.end()).date_naive(),
            verdict: verdict(record, audit),
            recorded_ms: interval.duration().milliseconds(),
            forward_ms: audit.accounting.forward().milliseconds(),
            in_doubt_ms: audit.accounting.in_doubt().milliseconds(),
            in_doubt: Amount::of(&audit.in_doubt),
            exceptions: audit.exceptions.iter().map(|one| exception(one, plant)).collect(),
            runs: audit.product_runs.iter().map(|one| run(one, plant)).collect(),
            lots: audit
                .lots
                .iter()
                .map(|lot| (lot.lot.clone(), Amount::of(&lot.in_doubt)))
                .collect(),
            worst_temperature: worst(analysis::Rule::Temperature, temperature_margin.clone()),
            worst_differential: worst(analysis::Rule::Differential, differential_margin.clone()),
            temperature_margin,
            differential_margin,
            recorder_offset: audit
                .instruments
                .recorder
                .map(|offset| Figure::new(offset.median, offset.unit)),
            cut_out: lowest
                .min_by(f64::total_cmp)
                .map(|value| Figure::new(value, trace::Unit::symbol(unit))),
            regeneration: trend(Followed::Regeneration),
            approach: trend(Followed::Approach),
            diverts: outs().count(),
            required: audit.completeness.len(),
            missing: audit
                .completeness
                .iter()
                .filter(|item| item.presence != Presence::Present)
                .map(|item| item.item.clone())
                .collect(),
            subject,
        })
    }

    /// What the meter saw in forward flow over all runs, by the symbol of the unit; empty where no
    /// run was metered.
    pub fn forward(&self) -> BTreeMap<String, f64> {
        let mut sums = BTreeMap::new();
        for run in &self.runs {
            if let Some(forward) = run.forward {
                *sums.entry(run.unit.clone()).or_insert(0.0) += forward;
            }
        }
        sums
    }
}

fn short_by(worst: &Worst) -> Figure {
    Figure::new(worst.value.to_f64() - worst.limit, worst.unit)
}

fn exception(one: &analysis::Exception, plant: &Plant) -> ExceptionRow {
    ExceptionRow {
        id: one.id.clone(),
        rule: one.rule.key().to_owned(),
        cause: one.cause.key().to_owned(),
        start: plant.zone.rfc3339(one.estimate.start()),
        end: plant.zone.rfc3339(one.estimate.end()),
        duration_ms: one.estimate.duration().milliseconds(),
        observed_ms: one.observed.duration().milliseconds(),
        at_most_ms: one.outer.duration().milliseconds(),
        worst: one.worst.as_ref().map(|worst| Figure::new(worst.value.to_f64(), worst.unit)),
        limit: one.worst.as_ref().map(|worst| worst.limit),
        volume: Amount::of(&one.volume),
        products: one.products.clone(),
        lots: one.lots.clone(),
        shift: one.shift.clone(),
        within_response: one.within_response,
    }
}

fn run(one: &analysis::ProductRun, plant: &Plant) -> RunRow {
    RunRow {
        product: one.product.clone(),
        lot: one.lot.clone(),
        start: plant.zone.rfc3339(one.interval.start()),
        end: plant.zone.rfc3339(one.interval.end()),
        forward_ms: one.forward_time.milliseconds(),
        forward: one.forward,
        diverted: one.diverted,
        unit: one.unit.symbol().to_owned(),
        incomplete: one.incomplete,
        tank: one.tank.clone(),
        exceptions: one.exceptions,
    }
}
