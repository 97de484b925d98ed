//! The recorder above the indicating thermometer in steady forward flow.

use super::look::{Found, Look};
use crate::doubts::Lower;
use crate::instruments::STEADY_AFTER;
use trace::{Channel, Decimal, Definition, Duration, FigureKind, Instant, Interval, Rank, Role, TemperatureUnit, Value, median};

pub(super) const DEFINITION: Definition = Definition {
    key: "recorder_above_indicating",
    title: "recorder above indicating thermometer",
    rank: Rank::Note,
    figures: &[("count", FigureKind::Count), ("difference", FigureKind::TemperatureDifference)],
    sentence: "the recorder read above the indicating thermometer in {count} minutes of steady forward flow, by up to {difference} (median of a minute); the indicating thermometer is the official one",
    about: &[Role::RecorderTemperature, Role::HoldingTemperature],
    why: "The recorder makes the device divert; where it reads too high, product goes forward \
          colder than its chart says.",
    what_to_do: "Compare the two thermometers, and tell the person authorized to adjust the \
                 recorder.",
    source: "1 NYCRR 2.45(b)(2), for batch (text read); for HTST not verified",
};

/// What a median is taken over.
const MINUTE: Duration = Duration::from_seconds(60);

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let record = context.record;
    let Some(recorder) = record.recorder_temperature() else { return };
    let holding = record.holding_temperature();
    let unit = holding.unit();
    // One display step of the coarser of the two, in degrees of the holding temperature.
    let step = |channel: &Channel<TemperatureUnit>| {
        channel.unit().per_degree(unit).times(Decimal::new(1, channel.scale()).into())
    };
    let (one, other) = (step(recorder), step(holding));
    let step = if one.is_above(other) { one } else { other };
    let above = Lower::new(recorder, holding, step);
    let instants = record.instants();
    let (mut count, mut most, mut hull): (u64, i128, Option<Interval>) = (0, 0, None);
    for run in context.verdicts.runs(|sample| context.verdicts.is_forward(sample)) {
        let mut begin: Instant = instants[run.0] + STEADY_AFTER;
        let mut first = run.0 + instants[run.0..=run.1].partition_point(|&at| at < begin);
        while first <= run.1 && instants[run.1] >= begin + MINUTE {
            let end = begin + MINUTE;
            let after = run.0 + instants[run.0..=run.1].partition_point(|&at| at < end);
            let mut differences: Vec<i128> = (first..after)
                .filter_map(|sample| above.difference(sample).map(|lower| -lower))
                .collect();
            if let Some(median) = median::lower(&mut differences, i128::cmp)
                && above.exceeds(median)
            {
                count += 1;
                most = most.max(median);
                let minute = Interval::between(instants[first], instants[after - 1]);
                hull = Some(hull.map_or(minute, |held| held.hull(minute)));
            }
            (begin, first) = (end, after);
        }
    }
    if let Some(hull) = hull {
        found.add(hull, usize::try_from(count).unwrap_or(usize::MAX), |one| {
            one.with("count", Value::Count(count))
                .with("difference", Value::TemperatureDifference(above.degrees(most), unit))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "recorder_above_indicating")
    }

    /// Forward flow is steady after a minute; the next whole minute is that of samples 60 to 119.
    #[test]
    fn the_median_of_a_steady_minute_counts() {
        let of = |valve: &str, recorder: &str| told(day(valve).holding("165.0").recorder(recorder));
        assert_eq!(
            of("F*121", "165.2"),
            ["60000..119000 n=1 count=1 difference=0.2 °F apart"]
        );
        // No whole minute; and by exactly one display step.
        assert_eq!(of("F*120", "165.2"), [""; 0]);
        assert_eq!(of("F*121", "165.1"), [""; 0]);
        // What is above before the flow is steady does not count.
        assert_eq!(of("F*121", "170*60 165.0"), [""; 0]);
        assert_eq!(of("D*121", "165.2"), [""; 0]);
    }

    /// Of sixty readings 31 have to be above: of an even number the lower of the two in the middle
    /// is the median.
    #[test]
    fn noise_that_goes_both_ways_is_silent() {
        let of = |below: usize| {
            told(day("F*121").holding("165.0").recorder(&format!("165.0*{} 165.5", 60 + below)))
        };
        assert_eq!(of(30), [""; 0]);
        assert_eq!(of(29), ["60000..119000 n=1 count=1 difference=0.5 °F apart"]);
    }

    #[test]
    fn several_minutes_are_one_observation() {
        // Minutes from 60 to 119, 120 to 179 and 180 to 239; the second is not above.
        let recorder = "165.2*120 165.0*60 165.7*60 165.0";
        assert_eq!(
            told(day("F*241").holding("165.0").recorder(recorder)),
            ["60000..239000 n=2 count=2 difference=0.7 °F apart"]
        );
    }

    /// 74.2 °C are 165.56 °F. A step of 0.1 °C is 0.18 °F: 0.26 is more, 0.16 is not.
    #[test]
    fn the_coarser_display_step_of_two_units_counts() {
        let of = |holding: &str| {
            let day = day("F*121").holding(holding);
            told(day.recorder_in(trace::TemperatureUnit::Celsius, "74.2"))
        };
        assert_eq!(of("165.3"), ["60000..119000 n=1 count=1 difference=0.26 °F apart"]);
        assert_eq!(of("165.4"), [""; 0]);
    }
}
