//! The instruments that vouch for the record: the recorder's offset in steady forward flow, and
//! how the device answered each shortfall (method, section 8).

use crate::context::Context;
use crate::exception::{Cause, Exception};
use crate::rules::Rule;
use crate::transitions::{Side, Transition};
use crate::zero_check::{self, ZeroCheck};
use std::collections::BTreeMap;
use trace::median::{self, Counted};
use trace::{ChannelView, Decimal, Duration, Instant, Unit};

/// How long forward flow must have lasted to be called steady: 60 s (our choice; a recorder may
/// take 5 s to respond, PMO Appendix I, test 8, from memory).
pub(crate) const STEADY_AFTER: Duration = Duration::from_seconds(60);

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
    /// For a cut-out that followed a shortfall: how long the device took.
    pub response: Option<Response>,
}

/// How long the device took from a shortfall to full divert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Response {
    /// Not shorter than this.
    pub least: Duration,
    /// About this: the estimate of the exception.
    pub about: Duration,
    /// Not longer than this.
    pub most: Duration,
}

/// What the record says of the instruments.
#[derive(Debug, Clone, PartialEq)]
pub struct Instruments {
    /// `None` without a recorder or without steady forward flow.
    pub recorder: Option<RecorderOffset>,
    /// Every cut-in and cut-out, in order.
    pub cuts: Vec<Cut>,
    /// Where the pumps stood, in order; empty where the plant does not check the zero of its pressures so.
    pub zero_checks: Vec<ZeroCheck>,
}

pub(crate) fn instruments(
    context: &Context<'_>,
    transitions: &[Transition],
    exceptions: &[Exception],
) -> Instruments {
    let responses = responses(context, exceptions);
    let cuts = transitions.iter().map(|transition| cut(context, transition, &responses)).collect();
    Instruments { recorder: recorder(context), cuts, zero_checks: zero_check::find(context) }
}

/// For the sample after each short run the longest response.
fn responses(context: &Context<'_>, exceptions: &[Exception]) -> BTreeMap<usize, Response> {
    let mut responses = BTreeMap::new();
    for one in exceptions.iter().filter(|one| one.causes == [Cause::Short]) {
        let diverted = context
            .verdicts
            .after(one.samples.1)
            .filter(|&after| !context.verdicts.is_exposed(after));
        let Some(after) = diverted else { continue };
        let [least, about, most] =
            [one.observed, one.estimate, one.outer].map(trace::Interval::duration);
        let response = Response { least, about, most };
        let longest: &mut Response = responses.entry(after).or_insert(response);
        if longest.about < response.about {
            *longest = response;
        }
    }
    responses
}

fn recorder(context: &Context<'_>) -> Option<RecorderOffset> {
    let record = context.record;
    let recorder = record.recorder_temperature()?;
    let indicating = record.holding_temperature();
    let unit = indicating.unit();
    let instants = record.instants();
    let same = recorder.unit() == unit && recorder.scale() == indicating.scale();
    // Of two alike the integers are counted, of others each offset is kept.
    let mut counted = Counted::default();
    let mut offsets: Vec<f64> = Vec::new();
    let mut steady_since: Option<Instant> = None;
    for (sample, &instant) in instants.iter().enumerate() {
        if !context.verdicts.is_forward(sample) {
            steady_since = None;
            continue;
        }
        if sample > 0 && context.verdicts.gap_after(sample - 1) {
            // What the line did in the gap is not shown.
            steady_since = None;
        }
        let since = *steady_since.get_or_insert(instant);
        if instant.since(since) < STEADY_AFTER {
            continue;
        }
        let (one, other) = (recorder.mantissas()[sample], indicating.mantissas()[sample]);
        if !ChannelView::is_valid(one) || !ChannelView::is_valid(other) {
            continue;
        }
        if same {
            counted.add(one - other);
        } else {
            let one = Decimal::new(one, recorder.scale()).to_f64();
            let other = Decimal::new(other, indicating.scale()).to_f64();
            offsets.push(recorder.unit().convert(one, unit) - other);
        }
    }
    let samples = counted.len() + offsets.len();
    let [lowest, median, highest] = if same {
        let offset = |counts: i64| Decimal::new(counts, indicating.scale()).to_f64();
        counted.least_lower_greatest()?.map(offset)
    } else {
        let median = median::lower(&mut offsets, f64::total_cmp)?;
        let lowest = offsets.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = offsets.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        [lowest, median, highest]
    };
    Some(RecorderOffset { median, lowest, highest, unit: unit.symbol(), samples })
}

fn cut(
    context: &Context<'_>,
    transition: &Transition,
    responses: &BTreeMap<usize, Response>,
) -> Cut {
    let (before, after) = transition.samples;
    let (sample, temperature) = match transition.to {
        Side::Forward => (after, transition.temperature_after),
        Side::Divert => (before, transition.temperature_before),
    };
    let verdict = match temperature {
        None => CutVerdict::NotKnown,
        Some(_) if context.verdicts.is_short(sample, Rule::TEMPERATURE) => CutVerdict::Below,
        Some(_) => CutVerdict::AtOrAbove,
    };
    let response = match transition.to {
        Side::Divert => responses.get(&after).copied(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, at, day};

    fn offset(specimen: Specimen) -> Option<RecorderOffset> {
        specimen.audit().instruments.recorder
    }

    /// Samples 60 to 99 are steady: of forty the first twenty 0.5 °F above, then 0.25 below.
    #[test]
    fn the_recorder_is_compared_in_steady_forward_flow() {
        let day = day("F*100").holding("165.00").recorder("170*60 165.50*20 164.75");
        let Some(found) = offset(day) else { panic!("a recorder in steady flow") };
        assert_eq!((found.samples, found.unit), (40, "°F"));
        let expected = [-0.25, -0.25, 0.5];
        for (found, expected) in
            [found.median, found.lowest, found.highest].into_iter().zip(expected)
        {
            assert!((found - expected).abs() < 1e-12, "{found}");
        }
    }

    #[test]
    fn without_steady_flow_or_recorder_there_is_no_offset() {
        assert!(offset(day("F*100")).is_none());
        assert!(offset(day("F*60").recorder("165")).is_none());
        assert!(offset(day("D*100").recorder("165")).is_none());
        assert!(offset(day("F*50 D F*50").recorder("165")).is_none());
    }

    #[test]
    fn a_gap_begins_steady_flow_anew() {
        let day = day("F*100").step(49, 60_000).recorder("165");
        assert!(offset(day).is_none());
    }

    fn cuts(specimen: Specimen) -> Vec<(Side, CutVerdict, Option<Response>)> {
        let audit = specimen.audit();
        audit.instruments.cuts.iter().map(|cut| (cut.to, cut.verdict, cut.response)).collect()
    }

    /// At cut-in the first forward sample counts, at cut-out the last.
    #[test]
    fn the_forward_sample_of_a_passage_is_judged() {
        use CutVerdict::{AtOrAbove, Below, NotKnown};
        let of = |cells: &str| -> Vec<_> {
            cuts(day("D F*2 D").holding(cells)).iter().map(|cut| cut.1).collect()
        };
        assert_eq!(of("150 161 161 150"), [AtOrAbove, AtOrAbove]);
        assert_eq!(of("170 160.9 160.9 170"), [Below, Below]);
        assert_eq!(of("170 _ _ 170"), [NotKnown, NotKnown]);
    }

    #[test]
    fn a_cut_has_reading_limit_and_instant() {
        let audit = day("D F D").holding("150 160.5 150").audit();
        let found: Vec<_> =
            audit.instruments.cuts.iter().map(|cut| (cut.at, cut.temperature, cut.limit)).collect();
        let reading = Some(Decimal::new(1605, 1));
        assert_eq!(found, [(at(1000), reading, 161.0), (at(2000), reading, 161.0)]);
    }

    /// Observed 1000..2000, estimate 800..2500, outer 0..3000: at least one second, about 1.7, at
    /// most three.
    #[test]
    fn a_cut_out_after_a_shortfall_has_a_response() {
        let milliseconds = Duration::from_milliseconds;
        let response = Response {
            least: milliseconds(1000),
            about: milliseconds(1700),
            most: milliseconds(3000),
        };
        assert_eq!(
            cuts(day("F*3 D").holding("165 160*3")),
            [(Side::Divert, CutVerdict::Below, Some(response))]
        );
        // Nothing was short: the device left forward flow for another reason.
        assert_eq!(cuts(day("F*3 D")), [(Side::Divert, CutVerdict::AtOrAbove, None)]);
        // A gap before the diverted sample: what the device did is not shown.
        assert_eq!(
            cuts(day("F*3 D").step(2, 4000).holding("165 160*3")),
            [(Side::Divert, CutVerdict::Below, None)]
        );
    }

    /// Temperature short from 800, differential from 1500 on: the longer of the two is told.
    #[test]
    fn of_two_shortfalls_the_longer_response_is_told() {
        let day = day("F*3 D").holding("165 160*3").differential("3*2 1*2");
        let about: Vec<_> =
            cuts(day).iter().filter_map(|cut| cut.2).map(|one| one.about.milliseconds()).collect();
        assert_eq!(about, [1700]);
    }
}
