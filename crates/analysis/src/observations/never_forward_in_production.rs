//! A record that never shows forward flow although product was made.

use super::look::{Found, Look};
use plant::Mode;
use trace::{ChannelView, Definition, Duration, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "never_forward_in_production",
    title: "never forward in production",
    rank: Rank::Close,
    figures: &[("time", FigureKind::Time)],
    sentence: "no sample shows forward flow, though for {time} the mode was production or a flow was metered; check the wiring of the position switches and the words of the plant file",
    about: &[Role::FlowRate],
    why: "A device that is never recorded forward on a production day was most likely recorded wrongly, so nothing of the day was judged.",
    what_to_do: "Check the wiring of the position switches and the words for the device in the \
                 plant file, then read the record again.",
    source: "Holdtrace's own check (method, section 8)",
};

/// How long production may have lasted without forward flow before it is told (method, section 8).
const AFTER: Duration = Duration::from_seconds(600);

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let record = context.record;
    if (0..record.samples()).any(|sample| context.verdicts.is_forward(sample)) {
        return;
    }
    // A blank mode, or none, says nothing of production; a flow does.
    let is_production = |sample: usize| {
        record.mode().is_some_and(|text| !text.word(sample).is_empty())
            && context.mode_at(sample) == Mode::Production
    };
    let lowest = record.flow_rate().map(|flow| {
        let limit = context.plant.low_flow_limit(flow.unit());
        (flow.mantissas(), limit.map_or(0, |limit| limit.ceiling_mantissa(flow.scale())))
    });
    let flows = |sample: usize| {
        lowest.is_some_and(|(flow, lowest)| {
            ChannelView::is_valid(flow[sample]) && flow[sample] > lowest
        })
    };
    let instants = record.instants();
    let mut time = Duration::ZERO;
    for sample in 1..record.samples() {
        let runs = |sample: usize| is_production(sample) || flows(sample);
        if !context.verdicts.gap_after(sample - 1) && runs(sample - 1) && runs(sample) {
            time = time + instants[sample].since(instants[sample - 1]);
        }
    }
    if time > AFTER {
        found.add(record.interval(), 1, |one| one.with("time", Value::Time(time)));
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "never_forward_in_production")
    }

    /// 601 samples are ten minutes, 602 are more.
    #[test]
    fn more_than_ten_minutes_of_production_are_told() {
        assert_eq!(told(day("D*601").mode("production")), [""; 0]);
        assert_eq!(
            told(day("D*602").mode("production")),
            ["0..601000 n=1 time=601000 ms"]
        );
        // Travel is not forward, and so is a position that nobody knows.
        assert_eq!(told(day("V*300 U*302").mode("production")).len(), 1);
        // An interruption does not begin the count anew.
        assert_eq!(
            told(day("D*700").mode("production*400 water*50 production")),
            ["0..699000 n=1 time=648000 ms"]
        );
    }

    /// A tenth of the test flow is not above the low-flow limit.
    #[test]
    fn a_flow_that_was_metered_is_told() {
        let of = |flow: &str| told(day("D*602").tube(20, 16_000).flow(flow));
        assert_eq!(of("2.0"), [""; 0]);
        assert_eq!(of("2.1~"), ["0..601000 n=1 time=601000 ms"]);
        // Without any figure of the plant anything above zero is a flow.
        assert_eq!(told(day("D*602").flow("0.1")).len(), 1);
        assert_eq!(told(day("D*602").flow("0")), [""; 0]);
    }

    #[test]
    fn one_forward_sample_is_enough() {
        assert_eq!(told(day("D*800 F D*800").mode("production")), [""; 0]);
    }

    #[test]
    fn a_blank_mode_water_and_cleaning_say_nothing_of_production() {
        for mode in ["_", "water", "cip"] {
            assert_eq!(told(day("D*602").mode(mode)), [""; 0], "{mode}");
        }
        assert_eq!(told(day("D*602")), [""; 0]);
        // A word that nobody knows may be production.
        assert_eq!(told(day("D*602").mode("whatever")).len(), 1);
    }
}
