//! One audit: the sections of the method put together.

use crate::accounting::{Accounting, account};
use crate::episodes::{Episode, group};
use crate::exception::Exception;
use crate::exceptions::{self, Verdicts};
use crate::limits::{LimitSpan, differential_limit, temperature_spans};
use crate::observations;
use crate::transitions::{Transition, transitions};
use crate::unverifiable;
use plant::Plant;
use trace::{Channel, Decimal, Duration, Instant, Observation, RunRecord, Unit, ValveState};

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
    let verdicts = Verdicts::judge(record, &spans, floor);

    let context = exceptions::Context { record, plant, spans: &spans, floor, gaps: &gaps };
    let mut found = exceptions::named(&context, &verdicts);
    found.extend(unverifiable::find(&context, &verdicts));
    found.sort_by_key(|one| (one.estimate.start(), one.rule, one.samples, one.estimate.end()));
    let episodes = group(&mut found, plant.limits.merge_time);

    let transitions = transitions(record);
    let mut observed = read;
    observed.extend(observations::find(&context, &found, &transitions));
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
    let margins = margins(&context, &verdicts);
    Audit {
        exceptions: found,
        episodes,
        observations: observed,
        transitions,
        accounting,
        margins,
        temperature_limits: spans,
        differential_limit: floor.exact.to_f64(),
        gap_limit,
        gaps,
    }
}

fn margins(context: &exceptions::Context<'_>, verdicts: &Verdicts) -> Margins {
    let record = context.record;
    let compliant = |sample: usize| {
        record.valve()[sample] == ValveState::Forward && verdicts.is_legal(sample)
    };
    let temperature = record.holding_temperature();
    let mut least: Option<(i64, usize, f64)> = None;
    let mut hottest_first: Option<Margin> = None;
    for span in context.spans {
        // Within a span the least reading is the least margin.
        for sample in span.first..=span.last {
            let mantissa = temperature.mantissas()[sample];
            if compliant(sample) && least.is_none_or(|(least, ..)| mantissa < least) {
                least = Some((mantissa, sample, span.limit));
            }
        }
        if let Some((_, sample, limit)) = least.take() {
            let candidate = margin(record, temperature, sample, limit);
            if let Some(candidate) = candidate
                && hottest_first.is_none_or(|held| candidate.margin < held.margin)
            {
                hottest_first = Some(candidate);
            }
        }
    }
    let differential = record.differential();
    let tightest = (0..record.samples())
        .filter(|&sample| compliant(sample))
        .min_by_key(|&sample| differential.mantissas()[sample]);
    Margins {
        temperature: hottest_first,
        differential: tightest.and_then(|sample| {
            margin(record, differential, sample, context.floor.exact.to_f64())
        }),
    }
}

fn margin<U: Unit>(
    record: &RunRecord,
    channel: &Channel<U>,
    sample: usize,
    limit: f64,
) -> Option<Margin> {
    let value = channel.reading(sample).valid()?;
    Some(Margin {
        value,
        limit,
        margin: value.to_f64() - limit,
        unit: channel.unit().symbol(),
        at: record.instants()[sample],
    })
}
