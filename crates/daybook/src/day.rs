//! The row that stands for one record: what of its audit is needed once the samples are gone.

use crate::error::Error;
use crate::figure::Figure;
use analysis::{Followed, Presence, Side, Volume};
use case::Case;
use chrono::NaiveDate;
use plant::{Plant, TestPlan, Zone};
use review::Subject;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use trace::{Decimal, Instant, RunRecord, SheetRun, ValveState};

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
    /// The keys of what the record says of the causes, in order; at least one.
    pub causes: Vec<String>,
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
    /// Every tank that the run sheet names for its time.
    pub tanks: Vec<String>,
    /// The positions of the flow diversion device meanwhile, in order of their first appearance.
    pub positions: Vec<String>,
    /// The shift in which it began.
    pub shift: Option<String>,
    /// Whether the device was fully diverted within the response that it is allowed.
    pub within_response: bool,
    /// Whether it lies wholly in cleaning, and nothing shows that product ran.
    pub outside_production: bool,
    /// The number of its cleaning, from 1; only outside production.
    pub cleaning: Option<usize>,
    /// The number of its episode, from 1.
    pub episode: usize,
}

/// The name of a rule for a person, by its key.
pub(crate) fn rule_name(key: &str) -> String {
    let rule = analysis::Rule::ALL.iter().find(|rule| rule.key() == key);
    rule.map_or_else(|| key.to_owned(), |rule| rule.name().to_owned())
}

impl ExceptionRow {
    /// The name of its rule for a person.
    pub fn rule_name(&self) -> String {
        rule_name(&self.rule)
    }
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

/// A run of the run sheet that went into a tank.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetRow {
    /// The tank.
    pub tank: String,
    /// The product.
    pub product: String,
    /// The lot; blank where none was written.
    pub lot: String,
    /// What was stated, with its unit; blank where nothing was.
    pub stated: String,
    /// Its start and its end, Unix milliseconds.
    pub ends_ms: (i64, i64),
    /// Its start on the plant's clock.
    pub start: String,
    /// Its end.
    pub end: String,
    /// When the tank was empty, Unix milliseconds; `None` where that was not written down.
    pub emptied_ms: Option<i64>,
    /// The same on the plant's clock.
    pub emptied: Option<String>,
}

/// What stands for one record among many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Day {
    /// The calendar date of the first sample on the plant's clock.
    pub date: NaiveDate,
    /// The calendar date of the last sample: the record was created then.
    pub created: NaiveDate,
    /// The first and the last sample, Unix milliseconds.
    pub ends_ms: (i64, i64),
    /// The positions of the flow diversion device at the first and at the last sample.
    pub end_positions: (String, String),
    /// A longer time without a sample is a gap, in milliseconds.
    pub gap_limit_ms: i64,
    /// Within how many working days of its making the plant reviews a record.
    pub review_within: u32,
    /// Who asks for that, and how well that is known.
    pub review_source: String,
    /// The first date on which the record need not be kept any more; `None` where the plant does not say.
    #[serde(default)]
    pub kept_until: Option<NaiveDate>,
    /// Which tests of the equipment the plant makes, and how often.
    #[serde(default)]
    pub tests: TestPlan,
    /// What is reviewed: plant, unit, files with digests, the audit's digest, what is to be
    /// resolved.
    #[serde(with = "as_text")]
    pub subject: Subject,
    /// The record in one sentence.
    pub verdict: String,
    /// How long the record lasts, in milliseconds.
    pub recorded_ms: i64,
    /// How long the flow diversion device was forward, in milliseconds.
    pub forward_ms: i64,
    /// How long it was not forward within limits, or that is not verifiable, in milliseconds.
    pub exception_ms: i64,
    /// The product that passed while any exception lasted, each litre counted once.
    pub passed: Amount,
    /// The exceptions, in order.
    pub exceptions: Vec<ExceptionRow>,
    /// How many observations are to be closed one by one.
    pub to_close: usize,
    /// The lots to hold, in order of time.
    pub hold_lots: Vec<String>,
    /// The tanks to hold, in order of time.
    pub hold_tanks: Vec<String>,
    /// How many exceptions name neither lot nor tank to hold.
    pub hold_unnamed: usize,
    /// The runs, in order; empty when the record names neither product nor lot.
    pub runs: Vec<RunRow>,
    /// The runs of the run sheet that name a tank, in order.
    #[serde(default)]
    pub sheet: Vec<SheetRow>,
    /// By lot, what of it passed while exceptions lasted.
    pub lots: BTreeMap<String, Amount>,
    /// The least holding temperature above its limit in forward flow within limits.
    pub temperature_margin: Option<Figure>,
    /// The least differential above its limit in forward flow within limits.
    pub differential_margin: Option<Figure>,
    /// The reading furthest from its temperature limit, exceptions included: below 0 when short.
    pub worst_temperature: Option<Figure>,
    /// The same of the differential.
    pub worst_differential: Option<Figure>,
    /// The recorder minus the indicating thermometer, the median in steady forward flow.
    pub recorder_offset: Option<Figure>,
    /// Pasteurized minus raw while the pumps stood, of the standstill furthest from zero; `None` where none was
    /// checked.
    #[serde(default)]
    pub zero_check: Option<Figure>,
    /// The lowest temperature at which the device left forward flow, whatever the reason.
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
    /// The row of a case.
    ///
    /// # Errors
    /// When the audit's result can't be written as JSON; none that an audit gives.
    pub fn new(case: &Case) -> Result<Self, Error> {
        let subject = Subject::new(case).map_err(|cause| Error::Review(cause.to_string()))?;
        let (record, plant, audit) = (case.record(), case.plant(), case.audit());
        let (zone, valve) = (plant.zone, record.valve());
        let position = |at: Option<&ValveState>| at.map_or("unknown", |at| at.name()).to_owned();
        let interval = record.interval();
        let unit = record.holding_temperature().unit();
        let trend = |followed| {
            let trend = audit.trends.iter().find(|trend| trend.followed == followed)?;
            Some(Figure::new(trend.mean, trend.unit))
        };
        let margin = |margin: Option<analysis::Margin>| {
            margin.map(|margin| Figure::new(margin.margin, margin.unit))
        };
        let outs = || audit.instruments.cuts.iter().filter(|cut| cut.to == Side::Divert);
        let lowest = outs().filter_map(|cut| cut.temperature).map(Decimal::to_f64);
        Ok(Self {
            date: zone.local(interval.start()).date_naive(),
            created: zone.local(interval.end()).date_naive(),
            ends_ms: (interval.start().unix_milliseconds(), interval.end().unix_milliseconds()),
            end_positions: (position(valve.first()), position(valve.last())),
            gap_limit_ms: audit.gap_limit.milliseconds(),
            review_within: plant.review.within_working_days,
            review_source: plant.review.within_source.in_words(),
            kept_until: plant
                .retention
                .as_ref()
                .and_then(|retention| retention.ends(zone.local(interval.end()).date_naive())),
            tests: plant.tests.clone(),
            verdict: case.verdict(),
            recorded_ms: interval.duration().milliseconds(),
            forward_ms: audit.accounting.forward().milliseconds(),
            exception_ms: audit.accounting.in_doubt().milliseconds(),
            passed: Amount::of(&audit.passed),
            to_close: audit.to_close().count(),
            hold_lots: audit.hold.lots.clone(),
            hold_tanks: audit.hold.tanks.clone(),
            hold_unnamed: audit.hold.unnamed,
            exceptions: audit.exceptions.iter().map(|one| exception(one, plant)).collect(),
            runs: audit.product_runs.iter().map(|one| run(one, plant)).collect(),
            sheet: sheet_rows(record, zone),
            lots: audit.lots.iter().map(|lot| (lot.lot.clone(), Amount::of(&lot.passed))).collect(),
            worst_temperature: margin(case.least_margin(analysis::Rule::TEMPERATURE)),
            worst_differential: margin(case.least_margin(analysis::Rule::DIFFERENTIAL)),
            temperature_margin: margin(audit.margins.temperature),
            differential_margin: margin(audit.margins.differential),
            recorder_offset: audit
                .instruments
                .recorder
                .map(|offset| Figure::new(offset.median, offset.unit)),
            zero_check: audit
                .instruments
                .zero_checks
                .iter()
                .max_by_key(|check| check.median.mantissa().abs())
                .map(|check| Figure::new(check.median.to_f64(), trace::Unit::symbol(check.unit))),
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

    /// The exceptions in production, those that lie wholly in cleaning left out.
    pub fn in_production(&self) -> impl Iterator<Item = &ExceptionRow> {
        self.exceptions.iter().filter(|one| !one.outside_production)
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

/// A subject as the text that stands in a journal: members that are left out there can't be left out
/// in a layout without names.
mod as_text {
    use review::Subject;
    use serde::{Deserialize as _, Deserializer, Serializer, de, ser};

    pub(super) fn serialize<S: Serializer>(of: &Subject, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&serde_json::to_string(of).map_err(ser::Error::custom)?)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Subject, D::Error> {
        let text = String::deserialize(from)?;
        serde_json::from_str(&text).map_err(de::Error::custom)
    }
}

fn exception(one: &analysis::Exception, plant: &Plant) -> ExceptionRow {
    ExceptionRow {
        id: one.id.clone(),
        rule: one.rule.key().to_owned(),
        causes: one.causes.iter().map(|cause| cause.key().to_owned()).collect(),
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
        tanks: one.tanks.clone(),
        positions: one.positions.iter().map(|at| at.name().to_owned()).collect(),
        shift: one.shift.clone(),
        within_response: one.within_response,
        outside_production: one.outside_production,
        cleaning: one.cleaning,
        episode: one.episode,
    }
}

/// The runs of a record's sheet that name a tank, in order.
pub(crate) fn sheet_rows(record: &RunRecord, zone: Zone) -> Vec<SheetRow> {
    let runs = record.run_sheet().map_or(&[][..], |sheet| sheet.runs()).iter();
    let named = runs.filter(|run| !run.tank.trim().is_empty());
    named.map(|run| sheet_row(run, zone)).collect()
}

fn sheet_row(run: &SheetRun, zone: Zone) -> SheetRow {
    let clock = |at: Instant| zone.local(at).format("%Y-%m-%d %H:%M").to_string();
    let (start, end) = (run.interval.start(), run.interval.end());
    SheetRow {
        tank: run.tank.trim().to_owned(),
        product: run.product.clone(),
        lot: run.lot.clone(),
        stated: run.quantity.map_or_else(String::new, |stated| case::stated_amount(Some(stated))),
        ends_ms: (start.unix_milliseconds(), end.unix_milliseconds()),
        start: clock(start),
        end: clock(end),
        emptied_ms: run.emptied.map(Instant::unix_milliseconds),
        emptied: run.emptied.map(clock),
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
