//! One audit: the sections of the method put together.

use crate::accounting::{Accounting, account};
use crate::completeness::{CompletenessItem, completeness};
use crate::episodes::{Episode, group};
use crate::exception::{Exception, Volume};
use crate::exceptions::{self, Context};
use crate::instruments::{Instruments, instruments};
use crate::lethality::{self, Lethality};
use crate::limits::{LimitSpan, differential_limit, temperature_spans};
use crate::observations;
use crate::product_account::{LotAccount, ProductRun, lots, product_runs};
use crate::residence::Residence;
use crate::runs::Verdicts;
use crate::transitions::{Transition, transitions};
use crate::trend::{Trend, trends};
use crate::unverifiable;
use crate::volume::volume_in_doubt;
use plant::Plant;
use trace::{
    Channel, Decimal, Duration, Instant, Observation, Ratio, RunRecord, Unit, power_of_ten,
};

/// What the audit found in one run record.
#[derive(Debug, Clone, PartialEq)]
pub struct Audit {
    /// The exceptions, in order of their estimates' starts, then of their rules.
    pub exceptions: Vec<Exception>,
    /// The exceptions grouped by closeness.
    pub episodes: Vec<Episode>,
    /// What needs a look: of the reading of files and of the audit, in order of kind and time.
    pub observations: Vec<Observation>,
    /// Every passage between diverted and forward flow, in order.
    pub transitions: Vec<Transition>,
    /// How the record's time divides.
    pub accounting: Accounting,
    /// The residence time at every sample; `None` without a flow meter or a tube.
    pub residence: Option<Residence>,
    /// The parcel in forward flow that received the least heat, for information.
    pub lethality: Option<Lethality>,
    /// What is followed over the run.
    pub trends: Vec<Trend>,
    /// What the record says of the instruments.
    pub instruments: Instruments,
    /// Each run of a product and lot.
    pub product_runs: Vec<ProductRun>,
    /// Each lot that an exception touched.
    pub lots: Vec<LotAccount>,
    /// What the record of a day must hold, and whether it does.
    pub completeness: Vec<CompletenessItem>,
    /// The product that passed while any exception lasted, each litre counted once, whatever the
    /// rules.
    pub in_doubt: Volume,
    /// The least margins in compliant forward flow.
    pub margins: Margins,
    /// Which temperature limit holds where.
    pub temperature_limits: Vec<LimitSpan>,
    /// The floor of the differential, in the unit of the differential channel.
    pub differential_limit: f64,
    /// A step between two samples longer than this is a gap.
    pub gap_limit: Duration,
    /// The samples after which a gap follows, in order.
    pub gaps: Vec<usize>,
}

/// How close compliant forward flow came to the limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// Of the holding temperature; `None` without compliant forward flow.
    pub temperature: Option<Margin>,
    /// Of the differential pressure; `None` without compliant forward flow.
    pub differential: Option<Margin>,
}

/// The sample closest to its limit, the first of equals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// The reading.
    pub value: Decimal,
    /// The limit at that sample.
    pub limit: f64,
    /// Reading minus limit, at least 0.
    pub margin: f64,
    /// The symbol of the unit of all three.
    pub unit: &'static str,
    /// When.
    pub at: Instant,
}

/// Audits a record against a plant's limits (method, sections 2 to 9).
///
/// `read` are the observations made while the files were read; they become part of the audit.
pub fn audit(record: &RunRecord, plant: &Plant, read: Vec<Observation>) -> Audit {
    let spans = temperature_spans(record, plant);
    let floor = differential_limit(record, plant);
    let gap_limit = plant.limits.gap_limit(record.sampling_interval());
    let gaps: Vec<usize> = record
        .instants()
        .windows(2)
        .enumerate()
        .filter(|(_, pair)| pair[1].since(pair[0]) > gap_limit)
        .map(|(sample, _)| sample)
        .collect();
    let mut verdicts = Verdicts::judge(record, &spans, floor, &gaps);
    let residence = verdicts.judge_time(record, plant, &spans);

    let context = Context {
        record,
        plant,
        verdicts: &verdicts,
        spans: &spans,
        floor,
        residence: residence.as_ref(),
    };
    let mut found = exceptions::named(&context);
    found.extend(exceptions::held_short(&context));
    found.extend(unverifiable::find(&context, &gaps));
    found.sort_by_key(|one| (one.estimate.start(), one.rule, one.samples, one.estimate.end()));
    let episodes = group(&mut found, plant.limits.merge_time);

    let transitions = transitions(record);
    let mut observed = read;
    observed.extend(observations::find(&context, &gaps, &found, &transitions));
    observed.sort_by_cached_key(|one| {
        let position = one.position.as_ref();
        (
            one.kind,
            one.interval.map(|interval| (interval.start(), interval.end())),
            position.map(|position| (position.file.clone(), position.line)),
            one.message.clone(),
        )
    });
    let accounting = account(record, gap_limit, &found);
    let in_doubt = volume_in_doubt(record, plant, &verdicts, &found);
    let margins = margins(&context);
    let forward = (0..record.samples()).filter(|&sample| verdicts.is_forward(sample));
    let lethality = lethality::least(&context, forward);
    let trends = trends(&context);
    let instruments = instruments(&context, &transitions);
    let product_runs = product_runs(&context, &found);
    let lots = lots(&context, &found);
    let completeness = completeness(&context, &found, &transitions);
    Audit {
        exceptions: found,
        episodes,
        observations: observed,
        transitions,
        accounting,
        residence,
        lethality,
        trends,
        instruments,
        product_runs,
        lots,
        completeness,
        in_doubt,
        margins,
        temperature_limits: spans,
        differential_limit: floor.exact.to_f64(),
        gap_limit,
        gaps,
    }
}

fn margins(context: &Context<'_>) -> Margins {
    let record = context.record;
    let verdicts = context.verdicts;
    let compliant = |&sample: &usize| verdicts.is_forward(sample) && verdicts.is_legal(sample);
    let temperature = record.holding_temperature();
    let mut closest: Option<Margin> = None;
    for span in context.spans {
        // Within a span the least reading is the least margin.
        let candidate = (span.first..=span.last)
            .filter(compliant)
            .min_by_key(|&sample| temperature.mantissas()[sample])
            .and_then(|sample| margin(record, temperature, sample, span.exact));
        if let Some(candidate) = candidate
            && closest.is_none_or(|held| candidate.margin < held.margin)
        {
            closest = Some(candidate);
        }
    }
    let differential = record.differential();
    let tightest = (0..record.samples())
        .filter(compliant)
        .min_by_key(|&sample| differential.mantissas()[sample])
        .and_then(|sample| margin(record, differential, sample, context.floor.exact));
    Margins { temperature: closest, differential: tightest }
}

fn margin<U: Unit>(
    record: &RunRecord,
    channel: &Channel<U>,
    sample: usize,
    limit: Ratio,
) -> Option<Margin> {
    let value = channel.reading(sample).valid()?;
    // Subtracted as integers: 161.1 − 161 is 0.1, not 0.0999….
    let power = i128::from(power_of_ten(value.scale()));
    let over = i128::from(value.mantissa()) * limit.denominator() - limit.numerator() * power;
    Some(Margin {
        value,
        limit: limit.to_f64(),
        margin: Ratio::new(over, limit.denominator() * power).to_f64(),
        unit: channel.unit().symbol(),
        at: record.instants()[sample],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Basis, Cause, Class, Exception, Rule};
    use trace::{
        Differential, Interval, Invalid, PressureUnit, Reading, RunRecordParts, TemperatureUnit,
        Toward, ValveState,
    };

    /// Valve, °F and psi.
    type Row = (char, &'static str, &'static str);

    /// A record from rows of (valve, °F, psi); a word that is no number is invalid.
    fn record(stamps: &[i64], rows: &[Row]) -> RunRecord {
        let range = (Decimal::whole(-100), Decimal::whole(400));
        let mut temperature = Channel::new(TemperatureUnit::Fahrenheit, range, Toward::Down);
        let mut differential = Channel::new(PressureUnit::Psi, range, Toward::Down);
        let reading =
            |cell: &str| cell.parse().map_or(Reading::Invalid(Invalid::NotANumber), Reading::Valid);
        let mut valve = Vec::new();
        for (position, degrees, psi) in rows {
            valve.push(match position {
                'F' => ValveState::Forward,
                'D' => ValveState::Divert,
                'T' => ValveState::Travel,
                _ => ValveState::Unknown,
            });
            temperature.push(reading(degrees));
            differential.push(reading(psi));
        }
        let instants = stamps.iter().copied().map(Instant::from_unix_milliseconds).collect();
        let differential = Differential::Direct(differential);
        let parts = RunRecordParts::needed("unit", instants, valve, temperature, differential);
        match RunRecord::new(parts) {
            Ok(record) => record,
            Err(error) => panic!("{error}"),
        }
    }

    fn seconds(count: i64) -> Vec<i64> {
        (0..count).map(|second| second * 1000).collect()
    }

    fn interval(from: i64, to: i64) -> Interval {
        let at = Instant::from_unix_milliseconds;
        Interval::between(at(from), at(to))
    }

    fn audit_of(record: &RunRecord) -> Audit {
        audit(record, &Plant::assumed(), Vec::new())
    }

    fn only(audit: &Audit) -> &Exception {
        match audit.exceptions.as_slice() {
            [one] => one,
            others => panic!("{} exceptions: {others:#?}", others.len()),
        }
    }

    #[test]
    fn a_dip_in_forward_flow_has_three_intervals() {
        let record = record(
            &seconds(6),
            &[
                ('F', "163", "3"),
                ('F', "161.4", "3"),
                ('F', "160.9", "3"),
                ('F', "160.6", "3"),
                ('F', "161.0", "3"),
                ('F', "163", "3"),
            ],
        );
        let audit = audit_of(&record);
        let found = only(&audit);
        assert_eq!((found.rule, found.samples), (Rule::Temperature, (2, 3)));
        assert_eq!(found.observed, interval(2000, 3000));
        assert_eq!(found.outer, interval(1000, 4000));
        // 161.4 → 160.9 meets 161 after 0.8 s; 160.6 → 161.0 meets it at the sample.
        assert_eq!(found.estimate, interval(1800, 4000));
        let worst = found.worst.as_ref().map(|worst| (worst.value, worst.limit, worst.at));
        assert_eq!(
            worst,
            Some((Decimal::new(1606, 1), 161.0, Instant::from_unix_milliseconds(3000)))
        );
        // 0.2 s × 0.1/2 + (0.1 + 0.4)/2 + 0.4/2 = 0.46 °F·s.
        let shortfall = found.shortfall.map(|shortfall| shortfall.value);
        assert!(shortfall.is_some_and(|value| (value - 0.46).abs() < 1e-9), "{shortfall:?}");
        assert_eq!(found.volume.basis, Basis::Unknown);
        assert_eq!(audit.accounting.time(Class::ForwardTemperature).milliseconds(), 2200);
        assert_eq!(audit.accounting.total().milliseconds(), 5000);
        assert_eq!(audit.margins.temperature.map(|margin| margin.margin), Some(0.0));
    }

    #[test]
    fn a_divert_within_the_allowance_is_told_apart_and_stays() {
        let record = record(
            &seconds(4),
            &[('F', "161.5", "3"), ('F', "160.5", "3"), ('D', "160", "3"), ('D', "159", "3")],
        );
        let found = audit_of(&record);
        let found = only(&found);
        assert_eq!(found.estimate, interval(500, 1500));
        assert!(found.within_response);
    }

    #[test]
    fn what_cannot_be_vouched_for() {
        type Case = (&'static str, Vec<Row>, Option<(Cause, Interval)>);
        let cases: [Case; 5] = [
            (
                "an invalid reading in forward flow",
                vec![('F', "163", "3"), ('F', "BAD", "3"), ('F', "163", "3")],
                Some((Cause::InvalidReading, interval(500, 1500))),
            ),
            (
                "an unknown valve over short milk",
                vec![('D', "163", "3"), ('?', "150", "3"), ('D', "163", "3")],
                Some((Cause::ValveUnknown, interval(500, 1500))),
            ),
            (
                "an unknown valve over safe milk",
                vec![('D', "163", "3"), ('?', "163", "3"), ('D', "163", "3")],
                None,
            ),
            (
                "a short travel over short milk",
                vec![('F', "163", "3"), ('T', "150", "3"), ('D', "150", "3")],
                None,
            ),
            (
                "an invalid reading while diverted",
                vec![('D', "163", "3"), ('D', "BAD", "3"), ('D', "163", "3")],
                None,
            ),
        ];
        for (name, rows, expected) in cases {
            let audit = audit_of(&record(&seconds(3), &rows));
            let found = audit.exceptions.first().map(|found| (found.cause, found.estimate));
            assert_eq!(found, expected, "{name}");
        }
    }

    #[test]
    fn a_gap_in_forward_flow_is_an_exception_and_while_diverted_an_observation() {
        let stamps = [0, 1000, 2000, 9000, 10_000];
        let forward = record(&stamps, &[('F', "163", "3"); 5]);
        let audit = audit_of(&forward);
        let found = only(&audit);
        assert_eq!((found.cause, found.outer), (Cause::Gap, interval(2000, 9000)));
        assert_eq!(audit.accounting.time(Class::Unverifiable).milliseconds(), 7000);

        let diverted = audit_of(&record(&stamps, &[('D', "163", "3"); 5]));
        assert!(diverted.exceptions.is_empty());
        assert_eq!(diverted.accounting.time(Class::GapDiverted).milliseconds(), 7000);
        let kinds: Vec<_> = diverted.observations.iter().map(|one| one.kind).collect();
        assert!(kinds.contains(&trace::ObservationKind::GapDiverted), "{kinds:?}");
    }

    #[test]
    fn two_rules_at_once_are_counted_once() {
        let record = record(
            &seconds(4),
            &[('F', "163", "3"), ('F', "160", "1"), ('F', "160", "1"), ('F', "163", "3")],
        );
        let audit = audit_of(&record);
        assert_eq!(audit.exceptions.len(), 2);
        assert_eq!(audit.episodes.len(), 1);
        assert_eq!(audit.accounting.total().milliseconds(), 3000);
        let both = audit.accounting.time(Class::ForwardMultiple).milliseconds();
        // 163 → 160 meets 161 at 667 ms, 3 → 1 meets 2 at 500 ms; back likewise.
        assert_eq!(both, 2333 - 667);
    }

    #[test]
    fn a_shift_of_rule_and_gap_at_one_instant_keep_two_ids() {
        let stamps = [0, 1000, 2000, 9000, 10_000];
        let rows = [
            ('F', "163", "3"),
            ('F', "163", "3"),
            ('F', "BAD", "3"),
            ('F', "163", "3"),
            ('F', "163", "3"),
        ];
        let audit = audit_of(&record(&stamps, &rows));
        let [first, second] = audit.exceptions.as_slice() else { panic!("{audit:#?}") };
        assert_eq!(first.observed.start(), second.observed.start());
        assert_ne!(first.id, second.id);
    }
}
