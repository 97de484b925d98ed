//! Product went forward for longer than the plant allows without a cleaning in between.

use super::look::{Found, Look, beyond_the_record};
use trace::{Definition, FigureKind, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "production_without_cleaning",
    title: "long production without cleaning",
    rank: Rank::Close,
    figures: &[
        ("limit", FigureKind::Time),
        ("mode", FigureKind::Word),
        ("not_counted", FigureKind::Count),
        ("open", FigureKind::Word),
        ("time", FigureKind::Time),
    ],
    sentence: "production over {time}, and the record shows no cleaning in between; the plant's \
               longest is {limit}[; cleanings that do not count: {not_counted}][; {mode}][; {open}]",
    about: &[],
    why: "Bacteria grow in the regenerator over a long run; the plant has set how long it may run \
          before it is cleaned.",
    what_to_do: "See the cleaning log. If there was a cleaning, write down when; if not, decide \
                 about the product beyond the limit.",
    source: "set by the plant",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(limit) = context.plant.cleaning.longest_production_run else { return };
    for stretch in look.between.iter().filter(|one| one.interval.duration() > limit) {
        found.add(stretch.interval, stretch.samples, |one| {
            let one = one
                .with("time", Value::Time(stretch.interval.duration()))
                .with("limit", Value::Time(limit));
            let one = match stretch.not_counted {
                0 => one,
                count => one.with("not_counted", Value::Count(count as u64)),
            };
            let mode = context.record.mode().is_none().then_some(
                "no mode is recorded, without which no cleaning can be found",
            );
            let open = beyond_the_record(!stretch.after_cleaning, !stretch.before_cleaning);
            one.with_words("mode", mode).with_words("open", open)
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};
    use trace::Duration;

    fn told(specimen: Specimen) -> Vec<String> {
        let specimen = specimen.set(|plant| {
            plant.cleaning.longest_production_run = Some(Duration::from_seconds(10));
        });
        observed(&specimen.audit(), "production_without_cleaning")
    }

    #[test]
    fn exactly_the_longest_is_allowed() {
        let day = |last: usize| {
            day(&format!("D F*{last} D*5")).mode(&format!("production*{} cip", last + 2))
        };
        assert_eq!(told(day(11)), [""; 0]);
        assert_eq!(
            told(day(12)),
            ["1000..12000 n=12 time=11000 ms limit=10000 ms open=\"it may have begun before the \
              record\""]
        );
        assert_eq!(observed(&day(12).audit(), "production_without_cleaning"), [""; 0]);
    }

    /// A night, a stop or a change of product does not end a production; a cleaning does.
    #[test]
    fn only_a_cleaning_ends_it() {
        let mode = |word: &str| day("F*3 D*9 F*3").mode(&format!("production*5 {word}*5 production"));
        assert_eq!(told(mode("cip")), [""; 0]);
        for word in ["water", "production", "_"] {
            assert_eq!(told(mode(word)).len(), 1, "{word}");
        }
        assert_eq!(
            told(mode("cip").flow("20*5 0*6 20")),
            ["0..14000 n=6 time=14000 ms limit=10000 ms not_counted=1 open=\"it may have begun \
              before the record and go on after it\""]
        );
    }

    /// Without a mode no cleaning is found, and that is said.
    #[test]
    fn a_record_without_a_mode_says_so() {
        let told = told(day("F*3 D*9 F*3"));
        assert!(told.concat().contains("mode=\"no mode is recorded"), "{told:?}");
    }
}
