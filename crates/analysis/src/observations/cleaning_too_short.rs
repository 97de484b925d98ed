//! A cleaning that is not shown to have been hot for as long as the plant asks.

use super::look::{Found, Look, beyond_the_record};
use crate::cleaning_cycles::{Border, CleaningCycle, FollowedBy, cleaning_thermometer};
use trace::{Definition, Duration, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "cleaning_too_short",
    title: "cleaning too short",
    rank: Rank::Close,
    figures: &[
        ("channel", FigureKind::Word),
        ("limit", FigureKind::Time),
        ("open", FigureKind::Word),
        ("temperature", FigureKind::Temperature),
        ("time", FigureKind::Time),
        ("why", FigureKind::Word),
    ],
    sentence: "at {temperature} or more [by the {channel}|at the FDD] for {time}; the plant asks for \
               {limit}[; {why}][; {open}]",
    about: &[Role::HoldingTemperature],
    why: "A cleaning that is too short or not hot enough can leave soil and bacteria in the line \
          for the next run.",
    what_to_do: "See the chart of the cleaning. If it did not reach its time and temperature, have \
                 the line cleaned again before it runs.",
    source: "set by the plant",
};

/// The cleanings between which no product could go forward are one: acid may be colder than lye.
pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let plan = &context.plant.cleaning;
    let (Some(limit), Some(asked)) = (plan.temperature, plan.minimum_time) else { return };
    let (role, returning) = cleaning_thermometer(context.record);
    let is_followed = |one: &CleaningCycle| matches!(one.followed_by, FollowedBy::Cleaning(_));
    for parts in look.cycles.chunk_by(|one, _| is_followed(one)) {
        let (Some(first), Some(last)) = (parts.first(), parts.last()) else { continue };
        if parts.iter().any(|one| one.counts) {
            continue;
        }
        let shown = parts.iter().filter(|one| one.is_shown());
        let longest = shown.filter_map(|one| one.hot).max().unwrap_or(Duration::ZERO);
        found.add(first.interval.hull(last.interval), parts.len(), |one| {
            let limit = limit.figure(returning.unit()).decimal_not_below(returning.scale());
            let own = (role != Role::HoldingTemperature).then(|| role.name());
            one.with("temperature", Value::Temperature(limit, returning.unit()))
                .with_words("channel", own)
                .with("time", Value::Time(longest))
                .with("limit", Value::Time(asked))
                .with_words("why", why(parts))
                .with_words("open", open(parts))
        });
    }
}

/// What makes it no cleaning, whatever the temperature.
fn why(parts: &[CleaningCycle]) -> Option<&'static str> {
    if parts.iter().any(|one| one.product_ran) {
        Some("product evidently ran forward in it")
    } else if parts.iter().any(|one| !one.is_shown()) {
        Some("nothing shows that anything flowed")
    } else {
        None
    }
}

/// What of it the record does not show.
fn open(parts: &[CleaningCycle]) -> Option<&'static str> {
    let begins_before = parts.first().is_some_and(|one| one.begin == Border::Record);
    let goes_on = parts.last().is_some_and(|one| one.end == Border::Record);
    let is_cut = || parts.iter().any(|one| !one.is_whole());
    beyond_the_record(begins_before, goes_on).or_else(|| is_cut().then_some("a part of it was not recorded"))
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};
    use plant::TemperatureLimit;
    use trace::{Decimal, Duration, TemperatureUnit};

    fn told(specimen: Specimen) -> Vec<String> {
        let specimen = specimen.set(|plant| {
            let limit = TemperatureLimit::Single(Decimal::whole(168), TemperatureUnit::Fahrenheit);
            plant.cleaning.temperature = Some(limit);
            plant.cleaning.minimum_time = Some(Duration::from_seconds(3));
        });
        observed(&specimen.audit(), "cleaning_too_short")
    }

    #[test]
    fn exactly_as_long_as_asked_is_long_enough() {
        let day = |hot: usize| {
            day("D*9").mode("water cip*6 water").holding(&format!("160*2 168.0*{hot} 167.9"))
        };
        assert_eq!(told(day(4)), [""; 0]);
        assert_eq!(
            told(day(3)),
            ["1000..6000 n=1 temperature=168 \u{b0}F time=2000 ms limit=3000 ms"]
        );
        // Nothing is asked that the plant did not set.
        assert_eq!(observed(&day(3).audit(), "cleaning_too_short"), [""; 0]);
    }

    /// One part that is long enough is enough; two that are not are no sum.
    #[test]
    fn lye_and_acid_are_one_cleaning() {
        let day = |mode: &str| day("D*20").mode(mode).holding("170*4 150*6 170*3 150");
        assert_eq!(told(day("cip*5 water*3 cip*7 water")), [""; 0]);
        assert_eq!(
            told(day("cip*3 water*5 cip*6 water")),
            ["0..13000 n=2 temperature=168 \u{b0}F time=2000 ms limit=3000 ms open=\"it may have \
              begun before the record\""]
        );
    }

    #[test]
    fn what_the_record_does_not_show_is_told() {
        let open = |specimen| {
            let told = told(specimen);
            told.first().and_then(|one| Some(one.split_once("open=")?.1.to_owned()))
        };
        assert_eq!(
            open(day("D*5").mode("cip")).as_deref(),
            Some("\"it may have begun before the record and go on after it\"")
        );
        assert_eq!(
            open(day("D*5").mode("water cip")).as_deref(),
            Some("\"it may go on after the record\"")
        );
        assert_eq!(
            open(day("D*9").mode("water cip*7 water").step(3, 60_000)).as_deref(),
            Some("\"a part of it was not recorded\"")
        );
        assert_eq!(open(day("D*5").mode("water cip*3 water")), None);
    }

    #[test]
    fn a_cleaning_by_name_only_is_told() {
        let still = told(day("D*9").mode("water cip*7 water").holding("170").flow("0"));
        assert!(still.concat().contains("why=\"nothing shows that anything flowed\""), "{still:?}");
        let cold = day("D*4 F D*4").mode("water cip*7 water").holding("170").cooled("40");
        let cold = told(cold);
        assert!(cold.concat().contains("why=\"product evidently ran"), "{cold:?}");
    }
}
