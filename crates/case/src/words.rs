//! The sentences on exceptions: what one means in plain language.

use crate::Case;
use crate::figures::{about, at_least, at_most, decimal_places, reading, volume};
use crate::limits::limit_words;
use crate::sentences::fill;
use analysis::{Cause, Exception, Lethality, UnplacedCount};
use plant::Mode;
use trace::{ChannelView, Role, ValveState};

/// What every report and the window say.
pub const CAUTION: &str = "A review aid, not a legal recorder or controller. Limits must be \
confirmed with the plant's authority; local codes and licensed people decide.";

/// A count with its noun: `1 exception`, `3 exceptions`.
pub fn plural(count: usize, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

/// A lot or a tank by its kind and name: `tank 4`, also where the run sheet writes "tank 4".
pub fn named(kind: &str, name: &str) -> String {
    let mut words = name.split_whitespace();
    match words.next() {
        Some(first) if first.eq_ignore_ascii_case(kind) && words.next().is_some() => {
            name.to_owned()
        }
        _ => format!("{kind} {name}"),
    }
}

/// A reduction by D and z is not told beyond this many powers of ten: nobody measured so far
/// (method, section 7).
pub(crate) const MOST_REDUCTION: f64 = 6.0;

/// Whether two names are of one tank: blanks around them, capitals and the word tank before them aside.
pub fn is_one_tank(one: &str, other: &str) -> bool {
    let bare = |name: &str| {
        let name = name.trim().to_lowercase();
        name.strip_prefix("tank ").map_or_else(|| name.clone(), |rest| rest.trim().to_owned())
    };
    bare(one) == bare(other)
}

/// A lethality in words: `P* 0.83 (15.2 s at 71.3 °C); Listeria monocytogenes more than 6 log₁₀, …`.
pub fn lethality(lethality: &Lethality) -> String {
    let reductions: Vec<String> = lethality
        .reductions()
        .filter_map(|(organism, log)| {
            let reduction = match log? {
                log if log > MOST_REDUCTION => format!("more than {MOST_REDUCTION}"),
                log if organism.z_celsius.is_none() => format!("at least {log:.1}"),
                log => format!("{log:.1}"),
            };
            Some(format!("{} {reduction} log₁₀", organism.name))
        })
        .collect();
    let basis = if lethality.nominal { ", by the nominal flow" } else { "" };
    format!(
        "P* {} ({} at {} °C{basis}){}{}",
        decimal_places(lethality.pasteurization_units, 3),
        at_least(lethality.held),
        decimal_places(lethality.celsius, 2),
        if reductions.is_empty() { "" } else { "; " },
        reductions.join(", ")
    )
}

/// How long an exception was: `at least 12 s, about 13.4 s, at most 14 s`; one time where its ends
/// are known, as those of a hole.
pub fn durations(exception: &Exception) -> String {
    let [observed, estimate, outer] = [exception.observed, exception.estimate, exception.outer];
    if observed == outer {
        return about(estimate.duration());
    }
    format!(
        "at least {}, about {}, at most {}",
        at_least(observed.duration()),
        about(estimate.duration()),
        at_most(outer.duration())
    )
}

/// The worst reading against its limit: `160.2 °F, limit 161 °F`; empty where none was short.
pub fn worst(exception: &Exception) -> String {
    exception.worst.as_ref().map_or_else(String::new, |worst| {
        let limit = limit_words(worst.limit, worst.unit);
        format!("{}, limit {limit}", reading(worst.value, worst.unit))
    })
}

/// Why an exception is one, in a few words: `below the limit`, `reading did not move + flow not
/// usable`.
pub fn causes(exception: &Exception) -> String {
    exception.causes.iter().map(|cause| cause.name()).collect::<Vec<_>>().join(" + ")
}

impl Case {
    /// An exception in two or three sentences: what happened, and which rule with its source it broke.
    pub fn explain(&self, exception: &Exception) -> String {
        let start = self.clock(exception.estimate.start());
        let when = format!("From about {start} for {},", durations(exception));
        let mut sentences = vec![format!("{when} {}", happened(exception))];
        sentences.push(asked(self, exception));
        if exception.within_response {
            sentences.push(format!(
                "Left forward flow within {}; fully diverted after about {}, at most {}",
                self.plant.limits.response_allowance,
                about(exception.estimate.duration()),
                at_most(exception.outer.duration())
            ));
        }
        if exception.outside_production {
            sentences.push(
                "It is entirely within a recorded cleaning, and nothing in the record shows that product \
                 ran"
                .to_owned(),
            );
        }
        sentences.retain(|sentence| !sentence.is_empty());
        let mut text = sentences.join(". ");
        text.push('.');
        text
    }
}

/// What passed how.
fn happened(exception: &Exception) -> String {
    let what = match exception.mode {
        Mode::Production => "product",
        Mode::Water => "water (by the recorded mode)",
        Mode::Cleaning => "cleaning solution (by the recorded mode)",
    };
    let went = if exception.positions == [ValveState::Travel] {
        "could go forward (FDD in travel)"
    } else {
        "went forward"
    };
    fill(exception.rule.definition().happened, |name| match name {
        "what" => Some(what.to_owned()),
        "went" => Some(went.to_owned()),
        "worst" => exception.worst.is_some().then(|| worst(exception)),
        "passed" => Some(volume(&exception.volume)),
        "causes" => {
            let why = exception.causes.iter().map(|&cause| why(cause, exception));
            Some(why.collect::<Vec<_>>().join("; "))
        }
        _ => None,
    })
}

/// What a cause means.
fn why(cause: Cause, exception: &Exception) -> String {
    let words = match cause {
        Cause::Short => "a rule is not shown to be met",
        Cause::InvalidReading => "a reading that a rule needs is missing or not usable",
        Cause::Contradicted => {
            "another thermometer contradicts the holding temperature: the recorder read below the \
             limit, or the heating water was colder than what it heats"
        }
        Cause::RecorderShort => {
            "the recorder has to show this product's limit as well, and was below it, not usable or not recorded"
        }
        Cause::Frozen => "a reading that a rule needs did not move for too long",
        Cause::Repeated => {
            "all readings stood still at once, as when a logger repeats its last row"
        }
        Cause::FlowUnusable => "the flow is not usable, so the residence time is not known",
        Cause::PositionUnknown => "the position of the FDD is unknown",
        Cause::Gap => "the record has a gap, and forward flow in it can't be ruled out",
        Cause::GapDiverted => {
            "the record has a gap while diverted, long enough to go forward and divert again unseen"
        }
        Cause::UnplacedRows => return unplaced(exception),
        Cause::Clock => {
            "the clock was set back or two files cover the same time, so that it is not known what \
             came when"
        }
    };
    words.to_owned()
}

fn unplaced(exception: &Exception) -> String {
    let UnplacedCount { rows, short } = exception.unplaced;
    let rows = if rows == 1 {
        "1 row was recorded whose time can't be used".to_owned()
    } else {
        format!("{rows} rows were recorded whose time can't be used")
    };
    match short {
        0 => rows,
        short => format!("{rows}, {short} of them in forward flow short of a limit"),
    }
}

/// Which limit was asked for, and who asks.
fn asked(case: &Case, exception: &Exception) -> String {
    let Case { record, plant, audit, .. } = case;
    let symbol = |role| record.channel(role).map_or("", |one: ChannelView<'_>| one.symbol());
    let spans = &audit.temperature_limits;
    let span = spans.get(spans.partition_point(|span| span.last < exception.samples.0));
    fill(exception.rule.definition().asked, |name| match name {
        "product" => Some(span?.product.clone()),
        "product source" => Some(span?.source.clone()),
        "temperature limit" => Some(limit_words(span?.limit, symbol(Role::HoldingTemperature))),
        "holding time" => Some(span?.minimum_time.to_string()),
        "differential limit" => {
            Some(limit_words(audit.differential_limit, symbol(Role::DifferentialPressure)))
        }
        "differential source" => Some(plant.limits.differential_source.in_words()),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tank_that_is_called_tank_is_named_once() {
        for (name, told) in [
            ("4", "tank 4"),
            ("tank 4", "tank 4"),
            ("Tank 4", "Tank 4"),
            ("tank", "tank tank"),
            ("tanker 4", "tank tanker 4"),
        ] {
            assert_eq!(named("tank", name), told);
        }
    }

    #[test]
    fn a_tank_is_known_by_its_bare_name() {
        for (one, other) in [("T4", "t4 "), ("Tank 4", "4"), ("tank  T4", "T4")] {
            assert!(is_one_tank(one, other), "{one}, {other}");
        }
        for (one, other) in [("T4", "T5"), ("tanker 4", "4"), ("T 4", "T4")] {
            assert!(!is_one_tank(one, other), "{one}, {other}");
        }
    }

    use crate::samples::eventful;
    use crate::sentences::NOT_KNOWN;
    use analysis::Rule;
    use trace::{Duration, Instant};

    #[test]
    fn exceptions_in_sentences() {
        let day = eventful();
        let sentences: Vec<String> =
            day.audit.exceptions.iter().map(|one| day.explain(one)).collect();
        insta::assert_snapshot!(sentences.join("\n\n"));
    }

    /// A rule speaks of nothing that is not filled in.
    #[test]
    fn every_rule_is_told_in_full() {
        let day = eventful();
        let Some(worst) = day.audit.exceptions.iter().find(|one| one.worst.is_some()) else {
            panic!("none is short")
        };
        for &rule in Rule::ALL {
            let told = day.explain(&Exception { rule, ..worst.clone() });
            assert!(!told.contains(NOT_KNOWN), "{told}");
        }
    }

    #[test]
    fn every_cause_is_told_by_words_of_its_own() {
        let Case { audit, .. } = eventful();
        let Some(mut exception) = audit.exceptions.into_iter().next() else { panic!("none") };
        exception.unplaced = UnplacedCount { rows: 12, short: 3 };
        let mut told: Vec<String> =
            Cause::ALL.into_iter().map(|cause| why(cause, &exception)).collect();
        assert!(told.contains(
            &"12 rows were recorded whose time can't be used, 3 of them in forward flow short of a \
              limit"
                .to_owned()
        ));
        told.sort();
        told.dedup();
        assert_eq!(told.len(), Cause::ALL.len());
    }

    #[test]
    fn reductions_are_not_told_beyond_six() {
        let at = |celsius| Lethality {
            pasteurization_units: 1.0,
            celsius,
            held: Duration::from_seconds(15),
            nominal: false,
            at: Instant::from_unix_milliseconds(0),
        };
        // Listeria, 15 s: 16.7 at 71.7 °C; 0.9 s × 10^(8.7/6.3) = 21.6 s at 63 °C, so 0.7.
        let words = lethality(&at(71.7));
        assert!(words.contains("Listeria monocytogenes more than 6 log₁₀"), "{words}");
        let words = lethality(&at(63.0));
        assert!(words.contains("Listeria monocytogenes 0.7 log₁₀"), "{words}");
    }
}
