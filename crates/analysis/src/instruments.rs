//! The instruments that vouch for the record: the recorder's offset in steady forward flow, and
//! how the device answered each shortfall (method, section 8).

use crate::exceptions::Context;
use crate::runs::Reading;
use crate::transitions::{Side, Transition};
use trace::{ChannelView, Decimal, Duration, Instant, Unit};

/// How long forward flow must have lasted to be called steady: 60 s (our choice; a recorder may
/// take 5 s to respond, PMO Appendix I, test 8, from memory).
const STEADY_AFTER: Duration = Duration::from_seconds(60);

/// The recorder against the indicating thermometer in steady forward flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecorderOffset {
    /// Recorder minus indicating: the median.
    pub median: f64,
    /// The lowest.
    pub lowest: f64,
    /// The highest; above 0 the recorder read above the official thermometer.
    pub highest: f64,
    /// In the unit of the indicating thermometer.
    pub unit: &'static str,
    /// How many samples were compared.
    pub samples: usize,
}

/// How a change of the device's position stands to the temperature limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CutVerdict {
    /// At or above the limit.
    AtOrAbove,
    /// Below the limit.
    Below,
    /// The reading is not usable.
    NotKnown,
}

impl CutVerdict {
    /// The key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::AtOrAbove => "at_or_above",
            Self::Below => "below",
            Self::NotKnown => "not_known",
        }
    }
}

/// A cut-in or cut-out, judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// The first sample in the new position.
    pub at: Instant,
    /// The new position.
    pub to: Side,
    /// The reading that counts: at cut-in the first in forward flow, at cut-out the last.
    pub temperature: Option<Decimal>,
    /// The limit at that sample.
    pub limit: f64,
    /// How the two compare.
    pub verdict: CutVerdict,
    /// For a cut-out that followed a shortfall: how long the device took, at least and at most.
    pub response: Option<(Duration, Duration)>,
}

/// What the record says of the instruments.
#[derive(Debug, Clone, PartialEq)]
pub struct Instruments {
    /// `None` without a recorder or without steady forward flow.
    pub recorder: Option<RecorderOffset>,
    /// Every cut-in and cut-out, in order.
    pub cuts: Vec<Cut>,
}

pub(crate) fn instruments(context: &Context<'_>, transitions: &[Transition]) -> Instruments {
    let cuts = transitions.iter().map(|transition| cut(context, transition)).collect();
    Instruments { recorder: recorder(context), cuts }
}

fn recorder(context: &Context<'_>) -> Option<RecorderOffset> {
    let record = context.record;
    let recorder = record.recorder_temperature()?;
    let indicating = record.holding_temperature();
    let unit = indicating.unit();
    let instants = record.instants();
    let same = recorder.unit() == unit && recorder.scale() == indicating.scale();
    let mut offsets: Vec<f64> = Vec::new();
    let mut steady_since: Option<Instant> = None;
    for (sample, &instant) in instants.iter().enumerate() {
        if !context.verdicts.is_forward(sample) {
            steady_since = None;
            continue;
        }
        let since = *steady_since.get_or_insert(instant);
        if instant.since(since) < STEADY_AFTER {
            continue;
        }
        let (one, other) = (recorder.mantissas()[sample], indicating.mantissas()[sample]);
        if !ChannelView::is_valid(one) || !ChannelView::is_valid(other) {
            continue;
        }
        offsets.push(if same {
            Decimal::new(one - other, indicating.scale()).to_f64()
        } else {
            let one = Decimal::new(one, recorder.scale()).to_f64();
            recorder.unit().convert(one, unit) - Decimal::new(other, indicating.scale()).to_f64()
        });
    }
    if offsets.is_empty() {
        return None;
    }
    let lowest = offsets.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = offsets.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let samples = offsets.len();
    let middle = samples / 2;
    let median = *offsets.select_nth_unstable_by(middle, f64::total_cmp).1;
    Some(RecorderOffset { median, lowest, highest, unit: unit.symbol(), samples })
}

fn cut(context: &Context<'_>, transition: &Transition) -> Cut {
    let (before, after) = transition.samples;
    let (sample, temperature) = match transition.to {
        Side::Forward => (after, transition.temperature_after),
        Side::Divert => (before, transition.temperature_before),
    };
    let verdict = match temperature {
        None => CutVerdict::NotKnown,
        Some(_) if context.verdicts.is_short(sample, Reading::Temperature) => CutVerdict::Below,
        Some(_) => CutVerdict::AtOrAbove,
    };
    let response = match transition.to {
        Side::Divert => response(context, before),
        Side::Forward => None,
    };
    Cut {
        at: transition.at,
        to: transition.to,
        temperature,
        limit: context.span(sample).limit,
        verdict,
        response,
    }
}

/// How long the forward flow that ends at `last` had been short of temperature or differential:
/// at least from its first short sample to its last, at most from the sample before to the sample
/// after; `None` when it was not short.
fn response(context: &Context<'_>, last: usize) -> Option<(Duration, Duration)> {
    let verdicts = context.verdicts;
    let short = |sample: usize| {
        verdicts.is_forward(sample)
            && (verdicts.is_short(sample, Reading::Temperature)
                || verdicts.is_short(sample, Reading::Differential))
    };
    if !short(last) {
        return None;
    }
    let mut first = last;
    while let Some(before) = verdicts.before(first).filter(|&before| short(before)) {
        first = before;
    }
    let run = (first, last);
    Some((verdicts.observed(run).duration(), verdicts.outer(run).duration()))
}
