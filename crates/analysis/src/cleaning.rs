//! Cleaning: exceptions that lie wholly in cleaning are bundled, one bundle a cleaning, unless
//! product evidently ran (method, section 4, "outside production").
//!
//! What was not recorded can't be shown to be cleaning, so holes and double spans are never bundled
//! (ours).

use crate::context::Context;
use crate::exception::{Cause, Exception};
use crate::verdicts::Run;
use plant::Mode;
use trace::{ChannelView, Decimal, Interval, Role, TemperatureUnit};

/// Below this a cooler holds product: 45 °F / 7 °C as printed in 1 NYCRR 2.49(b) (text read).
pub(crate) fn product_is_cold(unit: TemperatureUnit) -> Decimal {
    match unit {
        TemperatureUnit::Fahrenheit => Decimal::whole(45),
        TemperatureUnit::Celsius => Decimal::whole(7),
    }
}

/// One cleaning, with the exceptions that are resolved together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleaning {
    /// The number, counted from 1 in order of time, of those with exceptions.
    pub number: usize,
    /// From the first sample of the unbroken stretch of cleaning to the last.
    pub interval: Interval,
    /// The indices of its exceptions in the audit's list.
    pub exceptions: Vec<usize>,
}

/// The unbroken stretches of samples in mode cleaning.
pub(crate) fn stretches(context: &Context<'_>) -> Vec<Run> {
    if !context.modes.contains(&Mode::Cleaning) {
        return Vec::new();
    }
    context.verdicts.runs(|sample| context.mode_at(sample) == Mode::Cleaning)
}

/// The sample of an exception that shows that product ran: cold at the cooler in forward flow.
pub(crate) fn evident_product(context: &Context<'_>, exception: &Exception) -> Option<usize> {
    (exception.samples.0..=exception.samples.1).find(|&sample| is_cold_product(context, sample))
}

/// Whether what goes forward at a sample is as cold at the cooler as product.
pub(crate) fn is_cold_product(context: &Context<'_>, sample: usize) -> bool {
    let Some(ChannelView::Temperature(cooled)) = context.record.channel(Role::CooledTemperature)
    else {
        return false;
    };
    let mantissa = cooled.mantissas()[sample];
    context.verdicts.is_forward(sample)
        && ChannelView::is_valid(mantissa)
        && mantissa
            < trace::Ratio::from(product_is_cold(cooled.unit())).floor_mantissa(cooled.scale())
}

/// The stretch that an exception's outer interval lies in; `None` when it does not lie wholly in one.
pub(crate) fn stretch_of(
    context: &Context<'_>,
    stretches: &[Run],
    exception: &Exception,
) -> Option<usize> {
    if exception.causes.iter().any(|cause: &Cause| cause.is_of_time()) {
        return None;
    }
    let instants = context.record.instants();
    let index = stretches.partition_point(|&(_, last)| last < exception.samples.0);
    let &(first, last) = stretches.get(index)?;
    let holds = first <= exception.samples.0
        && exception.samples.1 <= last
        && instants[first] <= exception.outer.start()
        && exception.outer.end() <= instants[last];
    holds.then_some(index)
}

/// Marks the exceptions outside production, and gives the bundles.
pub(crate) fn bundle(
    context: &Context<'_>,
    stretches: &[Run],
    exceptions: &mut [Exception],
) -> Vec<Cleaning> {
    let mut of_stretch: Vec<Vec<usize>> = vec![Vec::new(); stretches.len()];
    for (index, exception) in exceptions.iter().enumerate() {
        if let Some(stretch) = stretch_of(context, stretches, exception)
            && evident_product(context, exception).is_none()
        {
            of_stretch[stretch].push(index);
        }
    }
    let mut cleanings = Vec::new();
    for (run, members) in stretches.iter().zip(of_stretch) {
        if members.is_empty() {
            continue;
        }
        let number = cleanings.len() + 1;
        for &index in &members {
            exceptions[index].outside_production = true;
            exceptions[index].cleaning = Some(number);
        }
        let interval = context.verdicts.observed(*run);
        cleanings.push(Cleaning { number, interval, exceptions: members });
    }
    cleanings
}

#[cfg(test)]
mod tests {
    use crate::Audit;
    use crate::specimen::{Specimen, day, span};

    /// For each exception its first and last sample, whether it lies outside production, and the
    /// cleaning it belongs to.
    fn told(audit: &Audit) -> Vec<((usize, usize), bool, Option<usize>)> {
        audit
            .exceptions
            .iter()
            .map(|one| (one.samples, one.outside_production, one.cleaning))
            .collect()
    }

    fn marked(specimen: Specimen) -> Vec<bool> {
        specimen.audit().exceptions.iter().map(|one| one.outside_production).collect()
    }

    /// Two exceptions of the first cleaning are one bundle, one of the second another; the third
    /// cleaning has none and gets no number.
    #[test]
    fn exceptions_of_one_unbroken_cleaning_are_one_bundle() {
        let audit = day("D*2 F*3 D*2 F*3 D*5 F*3 D*4")
            .holding("150")
            .mode("cip*11 production*2 cip*7 production cip")
            .audit();
        assert_eq!(
            told(&audit),
            [((2, 4), true, Some(1)), ((7, 9), true, Some(1)), ((15, 17), true, Some(2)),]
        );
        let bundles: Vec<_> = audit
            .cleanings
            .iter()
            .map(|one| (one.number, one.interval, one.exceptions.clone()))
            .collect();
        assert_eq!(bundles, [(1, span(0, 10_000), vec![0, 1]), (2, span(13_000, 19_000), vec![2])]);
        // They stay exceptions.
        assert!(!audit.is_clean());
    }

    /// The outer interval goes from the sample before to the sample after: both have to be in
    /// cleaning.
    #[test]
    fn the_outer_interval_has_to_lie_wholly_in_cleaning() {
        let of = |mode: &str| marked(day("D F*3 D").holding("150").mode(mode));
        assert_eq!(of("cip"), [true]);
        assert_eq!(of("production cip"), [false]);
        assert_eq!(of("cip*4 production"), [false]);
        assert_eq!(of("cip*2 _ cip"), [false]);
        assert_eq!(of("water"), [false]);
    }

    /// Without a neighbour the run's own sample is the end.
    #[test]
    fn at_the_border_of_the_record_its_own_sample_is_enough() {
        assert_eq!(marked(day("F*3").holding("150").mode("cip")), [true]);
    }

    #[test]
    fn what_was_not_recorded_is_never_outside_production() {
        let audit = day("F*6").step(2, 9000).mode("cip").audit();
        assert_eq!(told(&audit), [((2, 3), false, None)]);
        assert!(audit.cleanings.is_empty());
        let audit = day("F*6").double(span(1000, 3000)).mode("cip").audit();
        assert_eq!(told(&audit), [((1, 3), false, None)]);
    }

    /// A gap breaks the stretch: two bundles.
    #[test]
    fn a_gap_begins_another_cleaning() {
        let audit = day("D F*2 D*2 F*2 D").step(3, 9000).holding("150").mode("cip").audit();
        let numbers: Vec<_> = audit.exceptions.iter().map(|one| one.cleaning).collect();
        assert_eq!(numbers, [Some(1), Some(2)]);
    }

    /// Cold product at the cooler while forward: judged as production. Exactly 45 °F is not below.
    #[test]
    fn not_when_product_evidently_ran() {
        let of =
            |cooled: &str| marked(day("D F*3 D*2 F*3 D").holding("150").cooled(cooled).mode("cip"));
        assert_eq!(of("60"), [true, true]);
        assert_eq!(of("45.0"), [true, true]);
        assert_eq!(of("60*2 44.9 60"), [false, true]);
        // While diverted the cooler may be cold from what stood in it.
        assert_eq!(of("40 60*3 40*2 60*3 40"), [true, true]);
    }

    #[test]
    fn a_day_without_a_mode_has_no_cleaning() {
        assert_eq!(marked(day("F*3").holding("150")), [false]);
    }
}
