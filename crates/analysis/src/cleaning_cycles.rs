//! Every cleaning that the record shows, whether it has exceptions or not: when, how hot what came
//! back was, for how long it was hot, and what followed (method, section 8, "cleanings").
//!
//! Only the mode says that a line was cleaned. A night, a stop or a change of product is no cleaning,
//! however warm the line was; and a mode alone is none where nothing flowed or product ran.

use crate::cleaning::is_cold_product;
use crate::context::Context;
use crate::verdicts::Run;
use plant::Mode;
use trace::{
    Channel, ChannelView, Decimal, Duration, Instant, Interval, Role, RunRecord, TemperatureUnit,
};

/// One unbroken stretch of mode cleaning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CleaningCycle {
    /// From its first sample to its last.
    pub interval: Interval,
    /// What stands before its first sample.
    pub begin: Border,
    /// What stands after its last.
    pub end: Border,
    /// Whose thermometer stands for the return: its own, where one is recorded, else that at the device.
    pub thermometer: Role,
    /// The least and the greatest return temperature while nothing shows that the line stood.
    pub temperatures: Option<(Decimal, Decimal)>,
    /// Their unit.
    pub unit: TemperatureUnit,
    /// How long the return temperature was not below the plant's; `None` where the plant sets none.
    pub hot: Option<Duration>,
    /// Whether something flowed.
    pub circulation: Circulation,
    /// Whether product evidently ran forward in it.
    pub product_ran: bool,
    /// Whether it is a cleaning as the plant asks for: where it sets a time, hot for that long.
    pub counts: bool,
    /// What came next.
    pub followed_by: FollowedBy,
}

/// Where a cleaning begins or ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Border {
    /// At a sample of another mode.
    Seen,
    /// With the record: how much lies outside is not known.
    Record,
    /// At a gap: how much lies in it is not known.
    Gap,
}

impl Border {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Record => "record",
            Self::Gap => "gap",
        }
    }
}

/// Whether something flowed in a cleaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Circulation {
    /// The meter, or where there is none the timing pump, shows it.
    Shown,
    /// Neither is recorded.
    NotRecorded,
    /// It is recorded, and shows nothing that flowed.
    NotShown,
}

impl Circulation {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Shown => "shown",
            Self::NotRecorded => "not_recorded",
            Self::NotShown => "not_shown",
        }
    }
}

/// What came after a cleaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FollowedBy {
    /// Product could go forward from this sample on.
    Production(Instant),
    /// Another cleaning began, with no product forward in between.
    Cleaning(Instant),
    /// The record ends without either.
    Nothing,
}

impl FollowedBy {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Production(_) => "production",
            Self::Cleaning(_) => "cleaning",
            Self::Nothing => "nothing",
        }
    }

    /// When.
    pub const fn at(self) -> Option<Instant> {
        match self {
            Self::Production(at) | Self::Cleaning(at) => Some(at),
            Self::Nothing => None,
        }
    }
}

impl CleaningCycle {
    /// Whether the record shows a cleaning and not only its name.
    pub fn is_shown(&self) -> bool {
        self.circulation != Circulation::NotShown && !self.product_ran
    }

    /// Whether all of it lies in the record, from its begin to its end.
    pub fn is_whole(&self) -> bool {
        self.begin == Border::Seen && self.end == Border::Seen
    }
}

/// The thermometer by which cleanings are judged: that of the solution that comes back, the coldest place
/// of the loop, where it is recorded; else that of the holding tube.
pub fn cleaning_thermometer(record: &RunRecord) -> (Role, &Channel<TemperatureUnit>) {
    let returning = record.cleaning_return_temperature();
    returning.map_or((Role::HoldingTemperature, record.holding_temperature()), |channel| {
        (Role::CleaningReturnTemperature, channel)
    })
}

/// The cleanings of the unbroken stretches of mode cleaning, in order.
pub(crate) fn cleaning_cycles(context: &Context<'_>, runs: &[Run]) -> Vec<CleaningCycle> {
    let begins = runs.iter().skip(1).map(|run| Some(run.0)).chain([None]);
    runs.iter().zip(begins).map(|(&run, next)| cycle(context, run, next)).collect()
}

fn cycle(context: &Context<'_>, (first, last): Run, next: Option<usize>) -> CleaningCycle {
    let record = context.record;
    let verdicts = context.verdicts;
    let instants = record.instants();
    let (thermometer, returning) = cleaning_thermometer(record);
    let mantissas = returning.mantissas();
    let is_flowing = |sample: usize| flows(context, sample) != Some(false);
    let readings = || {
        let flowing = (first..=last).filter(|&sample| is_flowing(sample));
        flowing.map(|sample| mantissas[sample]).filter(|&one| ChannelView::is_valid(one))
    };
    let figure = |mantissa| Decimal::new(mantissa, returning.scale());
    let hot = context.plant.cleaning.temperature.map(|limit| {
        let threshold = limit.figure(returning.unit()).floor_mantissa(returning.scale());
        let is_hot = |sample: usize| {
            let mantissa = mantissas[sample];
            ChannelView::is_valid(mantissa) && mantissa >= threshold && is_flowing(sample)
        };
        let steps = (first..last).filter(|&sample| is_hot(sample) && is_hot(sample + 1));
        steps.fold(Duration::ZERO, |sum, sample| sum + instants[sample + 1].since(instants[sample]))
    });
    let circulation = match flows(context, first) {
        None => Circulation::NotRecorded,
        Some(_) if (first..=last).any(is_flowing) => Circulation::Shown,
        Some(_) => Circulation::NotShown,
    };
    let product_ran = (first..=last).any(|sample| is_cold_product(context, sample));
    let asked = context.plant.cleaning.minimum_time;
    let is_long = asked.is_none_or(|asked| hot.is_some_and(|hot| hot >= asked));
    let until = next.unwrap_or(record.samples());
    let forward = (last + 1..until).find(|&sample| is_production(context, sample));
    CleaningCycle {
        interval: verdicts.observed((first, last)),
        begin: border(first.checked_sub(1), |before| verdicts.gap_after(before)),
        end: border((last + 1 < record.samples()).then_some(last), |last| verdicts.gap_after(last)),
        thermometer,
        temperatures: readings()
            .min()
            .zip(readings().max())
            .map(|(least, greatest)| (figure(least), figure(greatest))),
        unit: returning.unit(),
        hot,
        circulation,
        product_ran,
        counts: is_long && !product_ran && circulation != Circulation::NotShown,
        followed_by: match (forward, next) {
            (Some(sample), _) => FollowedBy::Production(instants[sample]),
            (None, Some(sample)) => FollowedBy::Cleaning(instants[sample]),
            (None, None) => FollowedBy::Nothing,
        },
    }
}

fn border(neighbour: Option<usize>, is_gap: impl Fn(usize) -> bool) -> Border {
    match neighbour {
        None => Border::Record,
        Some(sample) if is_gap(sample) => Border::Gap,
        Some(_) => Border::Seen,
    }
}

/// Whether something flows at a sample, by the meter, or where there is none by the timing pump;
/// `None` where neither is recorded. What can't be read shows nothing.
fn flows(context: &Context<'_>, sample: usize) -> Option<bool> {
    let record = context.record;
    let by_meter = record.flow_rate().map(|flow| {
        let mantissa = flow.mantissas()[sample];
        ChannelView::is_valid(mantissa) && mantissa >= context.low_flow.unwrap_or(1)
    });
    by_meter.or_else(|| record.timing_pump().map(|pump| pump[sample] == Some(true)))
}

/// Whether product may go forward at a sample.
pub(crate) fn is_production(context: &Context<'_>, sample: usize) -> bool {
    context.verdicts.is_exposed(sample) && context.mode_at(sample) == Mode::Production
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, at, day, span};
    use plant::TemperatureLimit;
    use proptest::prelude::*;

    fn told(specimen: Specimen) -> Vec<CleaningCycle> {
        let hot = TemperatureLimit::Single(Decimal::whole(160), TemperatureUnit::Fahrenheit);
        specimen.set(|plant| plant.cleaning.temperature = Some(hot)).audit().cleaning_cycles
    }

    fn only(specimen: Specimen) -> CleaningCycle {
        match told(specimen).as_slice() {
            [one] => one.clone(),
            others => panic!("{others:#?}"),
        }
    }

    /// Samples 2 to 7; 160.0 is reached at 4, 5 and 6: two steps.
    #[test]
    fn a_cleaning_tells_when_how_hot_and_what_followed() {
        let one = only(
            day("D*9 F*3")
                .mode("production*2 cip*6 production")
                .holding("150*3 159.9 160.0 171 160 150*2 165"),
        );
        assert_eq!(one.interval, span(2000, 7000));
        assert_eq!((one.begin, one.end), (Border::Seen, Border::Seen));
        assert_eq!(one.temperatures, Some((Decimal::new(1500, 1), Decimal::new(1710, 1))));
        assert_eq!(one.hot, Some(Duration::from_seconds(2)));
        assert_eq!(one.circulation, Circulation::NotRecorded);
        assert_eq!(one.followed_by, FollowedBy::Production(at(9000)));
    }

    #[test]
    fn another_cleaning_or_nothing_may_follow() {
        let found = told(day("D*9").mode("cip*2 water*2 cip*2 production"));
        let followed: Vec<_> = found.iter().map(|one| one.followed_by).collect();
        assert_eq!(followed, [FollowedBy::Cleaning(at(4000)), FollowedBy::Nothing]);
        // Product forward in between.
        let found = told(day("D*3 F D*5").mode("cip*2 production*2 cip*2 production"));
        assert_eq!(found[0].followed_by, FollowedBy::Production(at(3000)));
    }

    /// What lies outside the record, or in a gap, is never taken for a cleaning.
    #[test]
    fn ends_that_the_record_does_not_show_are_told() {
        let borders = |specimen| {
            let found = told(specimen);
            found.iter().map(|one| (one.begin, one.end)).collect::<Vec<_>>()
        };
        assert_eq!(borders(day("D*5").mode("cip")), [(Border::Record, Border::Record)]);
        assert_eq!(
            borders(day("D*6").mode("water cip*4 water").step(2, 60_000)),
            [(Border::Seen, Border::Gap), (Border::Gap, Border::Seen)]
        );
        assert_eq!(
            borders(day("D*6").mode("water cip*4 water").step(0, 60_000)),
            [(Border::Gap, Border::Seen)]
        );
        assert_eq!(
            borders(day("D*6").mode("water cip*4 water").step(4, 60_000)),
            [(Border::Seen, Border::Gap)]
        );
    }

    /// The time in a gap is no time at the temperature.
    #[test]
    fn only_steps_with_hot_readings_at_both_ends_count() {
        let hot = |specimen| told(specimen).iter().filter_map(|one| one.hot).collect::<Vec<_>>();
        let seconds = Duration::from_seconds;
        assert_eq!(hot(day("D*5").mode("cip").holding("170")), [seconds(4)]);
        assert_eq!(hot(day("D*5").mode("cip").holding("170*2 _ 170")), [seconds(2)]);
        assert_eq!(hot(day("D*5").mode("cip").holding("170").step(1, 60_000)), [1, 2].map(seconds));
        // In °C: 160 °F is 71.11…
        assert_eq!(hot(day("D*5").mode("cip").metric().holding("71.2*3 71.1")), [seconds(2)]);
        let without = day("D*5").mode("cip").holding("170").audit();
        assert_eq!(without.cleaning_cycles[0].hot, None);
    }

    /// The solution that comes back is the colder one: it alone is asked, and what it does not show is not
    /// taken from the tube.
    #[test]
    fn a_recorded_return_is_what_a_cleaning_is_judged_by() {
        let cleaned = || day("D*5").mode("cip").holding("170");
        let one = only(cleaned().cleaning_return("159.9*2 160.0*2 _"));
        assert_eq!(one.thermometer, Role::CleaningReturnTemperature);
        assert_eq!(one.hot, Some(Duration::from_seconds(1)));
        assert_eq!(one.temperatures, Some((Decimal::new(1599, 1), Decimal::new(1600, 1))));
        let blank = only(cleaned().cleaning_return("_"));
        assert_eq!((blank.hot, blank.temperatures), (Some(Duration::ZERO), None));
        let without = only(cleaned());
        assert_eq!(without.thermometer, Role::HoldingTemperature);
        assert_eq!(without.hot, Some(Duration::from_seconds(4)));
    }

    #[test]
    fn hot_water_that_stands_is_no_cleaning() {
        let of =
            |flow: &str| only(day("D*5").mode("cip").holding("170").tube(20, 16_000).flow(flow));
        let (still, flowing) = (of("1.9"), of("1.9*2 2.0"));
        assert_eq!((still.circulation, still.hot), (Circulation::NotShown, Some(Duration::ZERO)));
        assert!(!still.is_shown() && still.temperatures.is_none());
        assert_eq!(flowing.circulation, Circulation::Shown);
        assert_eq!(flowing.hot, Some(Duration::from_seconds(2)));
        assert_eq!(of("_").circulation, Circulation::NotShown);
        // Without a meter the pump tells.
        let pump = |text: &str| only(day("D*5").mode("cip").pump(text)).circulation;
        assert_eq!(
            [pump("on"), pump("off"), pump("_")],
            [Circulation::Shown, Circulation::NotShown, Circulation::NotShown]
        );
        // A meter tells more than the pump: other pumps circulate as well.
        let both = only(day("D*5").mode("cip").pump("off").flow("20"));
        assert_eq!(both.circulation, Circulation::Shown);
    }

    #[test]
    fn what_ran_product_is_no_cleaning() {
        let ran =
            |valve: &str, cooled: &str| only(day(valve).mode("cip").cooled(cooled)).is_shown();
        assert!(!ran("D F D", "60 44.9 60"));
        assert!(ran("D F D", "60 45.0 60"));
        assert!(ran("D*3", "60 44.9 60"));
    }

    /// A quiet night, a stop for lunch, a change of product, water: as warm as they like.
    #[test]
    fn nothing_but_the_mode_tells_of_a_cleaning() {
        for specimen in [
            day("D*90").holding("180").pump("off").mode("production"),
            day("F*9 D*9 F*9").pump("on*9 off*9 on").mode("production"),
            day("F*9 D*9 F*9").product("milk*12 cream").mode("production"),
            day("D*90").holding("180").flow("20").mode("water"),
            day("D*90").holding("180").flow("20").mode("_"),
            day("D*90").holding("180").flow("20"),
        ] {
            assert_eq!(told(specimen), []);
        }
    }

    proptest! {
        /// Each sample of mode cleaning lies in exactly one cleaning, no other lies in one, and the
        /// time at the temperature is no longer than the cleaning.
        #[test]
        fn cleanings_are_the_mode(modes in proptest::collection::vec(0..3_usize, 2..40)) {
            let words: Vec<_> = modes.iter().map(|&one| ["production", "water", "cip"][one]).collect();
            let found = told(day(&format!("D*{}", modes.len())).mode(&words.join(" ")));
            for (sample, &mode) in modes.iter().enumerate() {
                let instant = at(sample as i64 * 1000);
                let inside = found.iter().filter(|one| one.interval.contains(instant)).count();
                prop_assert_eq!(inside, usize::from(mode == 2));
            }
            for one in &found {
                prop_assert!(one.hot.is_some_and(|hot| hot <= one.interval.duration()));
            }
        }
    }
}
