//! Recorder and indicating thermometer apart by more than allowed.

use super::look::{Found, Look};
use crate::doubts::Lower;
use trace::{Definition, Duration, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "recorder_disagrees",
    title: "recorder and indicating thermometer disagree",
    rank: Rank::Close,
    figures: &[("difference", FigureKind::TemperatureDifference), ("limit", FigureKind::TemperatureDifference)],
    sentence: "recorder and indicating thermometer differed by up to {difference}, more than the allowed {limit}; tell the person authorized to adjust the recorder",
    about: &[Role::RecorderTemperature, Role::HoldingTemperature],
    why: "The recorder makes the device divert; where it reads differently from the indicating \
          thermometer, the device diverts at another temperature than the limit.",
    what_to_do: "Compare both thermometers, and tell the person authorized to adjust the recorder.",
    source: "allowed difference 1 °F / 0.5 °C: Holdtrace's own figure (3 CCR 585 and Alabama's manufacturing milk rules print an accuracy)",
};

/// A recorder lags behind a step, so that only a difference that lasts is one (ours; PMO App. I, test
/// 8: at most 5 s, not verified).
const AFTER: Duration = Duration::from_seconds(10);

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(recorder) = context.record.recorder_temperature() else { return };
    let holding = context.record.holding_temperature();
    let unit = holding.unit();
    let allowed = context.plant.limits.recorder_difference.figure(unit);
    let apart = Lower::new(recorder, holding, allowed);
    let mut runs =
        context.verdicts.runs(|sample| apart.differs(sample) && !context.is_standing(sample));
    runs.retain(|&run| context.verdicts.observed(run).duration() > AFTER);
    for run in look.joined(runs) {
        found.add(run.interval, run.count(), |one| {
            let most = run
                .samples()
                .filter_map(|sample| apart.difference(sample))
                .map(i128::abs)
                .max()
                .unwrap_or_default();
            one.with("difference", Value::TemperatureDifference(apart.degrees(most), unit)).with(
                "limit",
                Value::TemperatureDifference(allowed.decimal_not_above(holding.scale().max(1)), unit),
            )
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "recorder_disagrees")
    }

    /// Twelve samples are eleven seconds, more than the ten that a recorder may lag.
    #[test]
    fn a_difference_that_lasts_is_told() {
        let of = |cells: &str| told(day("F*30").holding("165.0").recorder(cells));
        assert_eq!(
            of("165.0*5 166.1*12 165.0"),
            ["5000..16000 n=12 difference=1.1 °F apart limit=1 °F apart"]
        );
        assert_eq!(of("165.0*5 166.1*11 165.0"), [""; 0]);
        // Exactly the allowed difference; and the other way round.
        assert_eq!(of("166.0"), [""; 0]);
        assert_eq!(
            of("163.5"),
            ["0..29000 n=30 difference=1.5 °F apart limit=1 °F apart"]
        );
    }

    #[test]
    fn in_celsius_half_a_degree_is_allowed() {
        let of = |recorder: &str| {
            told(day("D*30").metric().holding("72.0").differential("30.0~").recorder(recorder))
        };
        assert_eq!(of("72.5"), [""; 0]);
        assert_eq!(
            of("72.6"),
            ["0..29000 n=30 difference=0.6 °C apart limit=0.5 °C apart"]
        );
    }

    /// 166.1 °F are 74.5 °C: a difference of 1.1 °F, in the unit of the holding temperature.
    #[test]
    fn two_units_are_compared_in_that_of_the_holding_temperature() {
        let of = |recorder: &str| {
            let day = day("F*30").holding("165.0");
            told(day.recorder_in(trace::TemperatureUnit::Celsius, recorder))
        };
        assert_eq!(
            of("74.5"),
            ["0..29000 n=30 difference=1.1 °F apart limit=1 °F apart"]
        );
        // 74.4 °C are 165.92 °F.
        assert_eq!(of("74.4"), [""; 0]);
    }

    #[test]
    fn a_standing_line_and_a_blank_are_silent() {
        let day = || day("D*30").holding("165.0").recorder("150");
        assert_eq!(told(day()).len(), 1);
        assert_eq!(told(day().pump("off")), [""; 0]);
        assert_eq!(told(crate::specimen::day("D*30").recorder("_")), [""; 0]);
    }
}
