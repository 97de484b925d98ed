//! Every passage between diverted and forward flow, with the readings on both sides and what the
//! record shows of its reason (method, section 8).
//!
//! A passage is no test: a *cut-out test* is one at which the temperature fell through the limit
//! with everything else in order, a *cut-in test* one at which it rose through it.

use crate::context::Context;
use crate::rules::Rule;
use trace::{ChannelView, Decimal, Instant, ValveState};

/// A position that a transition goes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Cut-in: the device went forward.
    Forward,
    /// Cut-out: the device diverted.
    Divert,
}

impl Side {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Divert => "divert",
        }
    }
}

/// What the record shows of the reason for a passage out of forward flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PassageReason {
    /// The holding temperature was below its limit.
    Temperature,
    /// The differential pressure was below its limit.
    Differential,
    /// The residence time was below its minimum.
    Flow,
    /// The timing pump stood, or next to nothing flowed.
    PumpStopped,
    /// None of these.
    NotInRecord,
}

impl PassageReason {
    /// All reasons, in the order in which they are looked for.
    pub const ALL: [Self; 5] =
        [Self::Temperature, Self::Differential, Self::Flow, Self::PumpStopped, Self::NotInRecord];

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential",
            Self::Flow => "flow",
            Self::PumpStopped => "pump_stopped",
            Self::NotInRecord => "not_in_record",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential pressure",
            Self::Flow => "flow",
            Self::PumpStopped => "timing pump stopped",
            Self::NotInRecord => "not in the record",
        }
    }
}

/// One passage from divert to forward or back, whatever lay between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Transition {
    /// The first sample in the new position.
    pub at: Instant,
    /// The new position.
    pub to: Side,
    /// The last sample in the old position and the first in the new one.
    pub samples: (usize, usize),
    /// The holding temperature at the last sample in the old position.
    pub temperature_before: Option<Decimal>,
    /// The holding temperature at the first sample in the new position.
    pub temperature_after: Option<Decimal>,
    /// The differential at the last sample in the old position.
    pub differential_before: Option<Decimal>,
    /// The differential at the first sample in the new position.
    pub differential_after: Option<Decimal>,
    /// Out of forward flow: what the record shows of the reason.
    pub reason: Option<PassageReason>,
    /// Whether the temperature passed its limit, falling at a cut-out and rising at a cut-in, with
    /// differential and flow in order on both sides.
    pub is_test: bool,
}

/// All transitions of a record, in order.
pub(crate) fn transitions(context: &Context<'_>) -> Vec<Transition> {
    let record = context.record;
    let mut transitions = Vec::new();
    let mut last: Option<(usize, Side)> = None;
    for (sample, valve) in record.valve().iter().enumerate() {
        let side = match valve {
            ValveState::Forward => Side::Forward,
            ValveState::Divert => Side::Divert,
            ValveState::Travel | ValveState::Unknown => continue,
        };
        if let Some((before, old)) = last
            && old != side
        {
            let temperature = |sample| record.holding_temperature().reading(sample).valid();
            let differential = |sample| record.differential().reading(sample).valid();
            transitions.push(Transition {
                at: record.instants()[sample],
                to: side,
                samples: (before, sample),
                temperature_before: temperature(before),
                temperature_after: temperature(sample),
                differential_before: differential(before),
                differential_after: differential(sample),
                reason: (side == Side::Divert).then(|| reason(context, before, sample)),
                is_test: is_test(context, before, sample, side),
            });
        }
        last = Some((sample, side));
    }
    transitions
}

/// What was wrong between the last forward sample and the first diverted one, both included.
fn reason(context: &Context<'_>, last: usize, first: usize) -> PassageReason {
    let verdicts = context.verdicts;
    let any = |holds: &dyn Fn(usize) -> bool| (last..=first).any(holds);
    if any(&|sample| verdicts.is_short(sample, Rule::TEMPERATURE)) {
        PassageReason::Temperature
    } else if any(&|sample| verdicts.is_short(sample, Rule::DIFFERENTIAL)) {
        PassageReason::Differential
    } else if any(&|sample| verdicts.is_short(sample, Rule::HOLDING_TIME)) {
        PassageReason::Flow
    } else if any(&|sample| context.is_pump_stopped(sample)) {
        PassageReason::PumpStopped
    } else {
        PassageReason::NotInRecord
    }
}

fn is_test(context: &Context<'_>, before: usize, after: usize, to: Side) -> bool {
    let verdicts = context.verdicts;
    let (warm, cold) = match to {
        Side::Divert => (before, after),
        Side::Forward => (after, before),
    };
    let flows = |sample: usize| {
        let is_metered = context
            .record
            .flow_rate()
            .is_none_or(|flow| ChannelView::is_valid(flow.mantissas()[sample]));
        is_metered
            && !context.is_pump_stopped(sample)
            && !verdicts.is_short(sample, Rule::HOLDING_TIME)
    };
    verdicts.is_legal_for(warm, Rule::TEMPERATURE)
        && verdicts.is_short(cold, Rule::TEMPERATURE)
        && [before, after]
            .into_iter()
            .all(|sample| verdicts.is_legal_for(sample, Rule::DIFFERENTIAL) && flows(sample))
        && (before..after).all(|sample| !verdicts.gap_after(sample))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, at, day};

    fn passages(specimen: Specimen) -> Vec<Transition> {
        specimen.audit().transitions
    }

    fn reason_of(specimen: Specimen) -> Option<PassageReason> {
        passages(specimen).last().and_then(|one| one.reason)
    }

    /// Position, last sample before, first after.
    fn told(specimen: Specimen) -> Vec<(Side, (usize, usize))> {
        passages(specimen).iter().map(|one| (one.to, one.samples)).collect()
    }

    #[test]
    fn whatever_lies_between_two_positions_is_one_passage() {
        assert_eq!(told(day("D*2 V U F*2 V D")), [(Side::Forward, (1, 4)), (Side::Divert, (5, 7))]);
        // To the same position there is none.
        assert_eq!(told(day("D V D F U F")), [(Side::Forward, (2, 3))]);
        assert_eq!(told(day("V F*2 U")), []);
    }

    #[test]
    fn the_readings_on_both_sides_are_given() {
        let passages = passages(day("D V F").holding("150 155 162.5").differential("_ 1 3.5"));
        let [one] = passages.as_slice() else { panic!("{passages:#?}") };
        assert_eq!((one.at, one.reason), (at(2000), None));
        let whole = |value: i64| Some(Decimal::whole(value));
        assert_eq!(one.temperature_before, whole(150));
        assert_eq!(one.temperature_after, Some(Decimal::new(1625, 1)));
        assert_eq!(
            (one.differential_before, one.differential_after),
            (None, Some(Decimal::new(35, 1)))
        );
    }

    #[test]
    fn a_reason_is_looked_for_from_the_last_forward_sample_to_the_first_diverted() {
        use PassageReason::{Differential, Flow, NotInRecord, PumpStopped, Temperature};
        for (name, specimen, expected) in [
            ("cold", day("F*2 D").holding("165 165 160.9"), Temperature),
            ("cold in travel", day("F V D").holding("165 160 165"), Temperature),
            ("cold before", day("F*2 D").holding("160 165 165"), NotInRecord),
            ("both", day("F*2 D").holding("160").differential("1"), Temperature),
            ("differential", day("F*2 D").differential("5 1.9 5"), Differential),
            ("flow", day("F*2 D").tube(20, 16_000).flow("22"), Flow),
            ("pump", day("F*2 D").pump("on*2 off"), PumpStopped),
            ("no flow", day("F*2 D").tube(20, 16_000).flow("20*2 1.9"), PumpStopped),
            ("nothing", day("F*2 D"), NotInRecord),
        ] {
            assert_eq!(reason_of(specimen), Some(expected), "{name}");
        }
    }

    fn is_test(specimen: Specimen) -> bool {
        passages(specimen).last().is_some_and(|one| one.is_test)
    }

    #[test]
    fn a_test_is_a_passage_at_which_the_temperature_goes_through_the_limit() {
        assert!(is_test(day("F D").holding("161 160.9")));
        assert!(is_test(day("D F").holding("160.9 161")));
        // It diverted late, went forward early, or the temperature had nothing to do with it.
        assert!(!is_test(day("F D").holding("160.9 160")));
        assert!(!is_test(day("D F").holding("160 160.9")));
        assert!(!is_test(day("F D").holding("165")));
        assert!(!is_test(day("D F").holding("160 _")));
    }

    #[test]
    fn a_test_needs_flow_and_differential_in_order_on_both_sides() {
        let cold = || day("F D").holding("161 160");
        for (name, specimen) in [
            ("low differential before", cold().differential("1.9 5")),
            ("low differential after", cold().differential("5 1.9")),
            ("no differential", cold().differential("5 _")),
            ("no flow reading", cold().tube(20, 16_000).flow("20 _")),
            ("low flow", cold().tube(20, 16_000).flow("20 1.9")),
            ("too much flow", cold().tube(20, 16_000).flow("22")),
            ("a gap between", cold().step(0, 15_001)),
        ] {
            assert!(!is_test(specimen), "{name}");
        }
        assert!(is_test(cold().tube(20, 16_000).flow("20")));
    }

    #[test]
    fn a_stopped_pump_is_no_test_where_no_flow_is_recorded() {
        assert!(!is_test(day("F D").holding("161 160").pump("on off")));
        assert!(is_test(day("F D").holding("161 160").pump("on")));
    }
}
