//! The sentence at the top (method, section 10): what was found in how much forward flow, what to
//! hold, and whatever limits the worth of the answer.
//!
//! What passed went into a tank, so the sentence never says that only so much is to be looked at.

use crate::Case;
use crate::words::{is_one_tank, named, plural};
use plant::Plant;
use trace::{Duration, Instant, Interval};

/// Samples further apart than this limit what an audit can see (5 s; ours, method, section 10).
const SLOW_SAMPLING: Duration = Duration::from_seconds(5);

/// How many items of a list a sentence names.
const MOST_NAMED: usize = 6;

impl Case {
    /// The record in a sentence or two: exceptions, forward flow, what to close, what to hold, and what
    /// limits the worth of all that.
    pub fn verdict(&self) -> String {
        let mut parts = vec![found(self)];
        match self.audit.to_close().count() {
            0 => {}
            count => parts.push(format!("{} to close", plural(count, "observation"))),
        }
        parts.extend(self.to_hold());
        let mut text = parts.join("; ");
        text.push('.');
        let limits = self.worth_limits();
        if !limits.is_empty() {
            text.push_str(" Note: ");
            text.push_str(&limits.join("; "));
            text.push('.');
        }
        text
    }

    /// What to hold: `hold lot A12, A13; tank 4`; `None` where nothing passed in production.
    pub fn to_hold(&self) -> Option<String> {
        let hold = &self.audit.hold;
        let known: Vec<String> = [("lot", &hold.lots), ("tank", &hold.tanks)]
            .into_iter()
            .filter(|(_, items)| !items.is_empty())
            .map(|(word, items)| named(word, &listed(items)))
            .collect();
        let known = (!known.is_empty()).then(|| format!("hold {}", known.join("; ")));
        let unnamed = unnamed_words(self);
        match (known, unnamed) {
            (Some(known), Some(unnamed)) => Some(format!("{known}; {unnamed}")),
            (known, unnamed) => known.or(unnamed),
        }
    }

    /// What to hold, a line each, nothing left out; of a tank everything that its own run sheet says went into it.
    pub fn hold_lines(&self) -> Vec<String> {
        let fills = self.fills_to_hold().into_iter();
        let fills: Vec<_> =
            fills.map(|fill| (fill.tank.to_owned(), self.fill_in_words(&fill))).collect();
        self.hold_lines_with(&fills)
    }

    /// The same, with tanks and what is known of each.
    pub fn hold_lines_with(&self, tanks: &[(String, String)]) -> Vec<String> {
        let hold = &self.audit.hold;
        let mut lines: Vec<String> = hold.lots.iter().map(|lot| format!("lot {lot}")).collect();
        lines.extend(tanks.iter().map(|(_, words)| words.clone()));
        let told = |name: &&String| tanks.iter().any(|(tank, _)| is_one_tank(tank, name));
        lines.extend(hold.tanks.iter().filter(|tank| !told(tank)).map(|tank| named("tank", tank)));
        lines.extend(unnamed_words(self));
        lines
    }

    /// When what is to be held was made, where the record names neither lot nor tank for an exception;
    /// `None` where it names one for each.
    ///
    /// What passed mixed in its tank with what passed before and after, so these are the whole runs of
    /// product that such exceptions touch, and the whole record where it names no run at all or no lot
    /// and no tank anywhere (ours).
    pub fn unnamed_interval(&self) -> Option<Interval> {
        let unnamed =
            self.audit.exceptions.iter().filter(|one| {
                !one.outside_production && one.lots.is_empty() && one.tanks.is_empty()
            });
        let mut made: Option<Interval> = None;
        for exception in unnamed {
            let outer = exception.outer;
            // The runs are in order and each ends where the next begins.
            let all = &self.audit.product_runs;
            let first = all.partition_point(|run| run.interval.end() < outer.start());
            let after = all.partition_point(|run| run.interval.start() <= outer.end());
            let touched = all.get(first..after).unwrap_or_default();
            let ends = touched.first().into_iter().chain(touched.last());
            let runs = ends.fold(outer, |hull, run| hull.hull(run.interval));
            made = Some(made.map_or(runs, |made| made.hull(runs)));
        }
        let made = made?;
        let names_any =
            self.audit.product_runs.iter().any(|run| !run.lot.is_empty() || !run.tank.is_empty());
        Some(if names_any { made } else { self.record.interval() })
    }

    /// Whatever limits the worth of the answer, a few words each.
    pub fn worth_limits(&self) -> Vec<String> {
        let mut limits = Vec::new();
        if self.plant.is_assumed() {
            limits.push("no plant file, built-in limits are assumed".to_owned());
        }
        if !self.plant.beyond.is_empty() {
            let set: Vec<String> =
                self.plant.beyond.iter().map(|one| format!("{} {}", one.key, one.set)).collect();
            let by = self.plant.accepted.as_ref().map_or_else(
                || "accepted by nobody".to_owned(),
                |one| format!("accepted by {} ({}, {})", one.by, one.document, one.date),
            );
            limits.push(format!("set beyond the bounds of the method: {}, {by}", listed(&set)));
        }
        if self.audit.residence.is_none() {
            limits.push("holding time not judged".to_owned());
        }
        if self.record.sampling_interval() > SLOW_SAMPLING {
            limits.push(format!("one sample every {}", self.record.sampling_interval()));
        }
        for (key, words) in [
            ("indicating_not_recorded", "the temperature is the recorder's"),
            ("averaged_readings", "readings are averages"),
            ("certificate_old", "holding time test older than six months or not dated"),
            ("tube_by_measures", "holding tube known by its measures only, not by a test"),
        ] {
            if self.audit.observations.iter().any(|one| one.kind.key() == key) {
                limits.push(words.to_owned());
            }
        }
        limits
    }
}

/// How many exceptions in how much forward flow.
fn found(case: &Case) -> String {
    let forward = case.audit.accounting.forward();
    let flow = if forward == Duration::ZERO {
        format!("no forward flow in {} of record", case.record.interval().duration())
    } else {
        format!("{forward} of forward flow")
    };
    let outside = case.audit.exceptions.iter().filter(|one| one.outside_production).count();
    let counted = case.audit.exceptions.len() - outside;
    let settled = case
        .audit
        .exceptions
        .iter()
        .filter(|one| one.within_response && !one.outside_production)
        .count();
    let exceptions = match counted {
        0 => "No exception".to_owned(),
        count => plural(count, "exception"),
    };
    let settled = match settled {
        0 => String::new(),
        count => format!(" ({count} within the FDD's allowed response)"),
    };
    let apart = match outside {
        0 => String::new(),
        count => format!(
            " and {count} outside production (in {})",
            plural(case.audit.cleanings.len(), "cleaning")
        ),
    };
    let exceptions = format!("{exceptions}{settled}{apart}");
    match (forward == Duration::ZERO, counted + outside) {
        (true, 0) => format!("No forward flow in {} of record", case.record.interval().duration()),
        (true, _) => format!("{exceptions}; {flow}"),
        (false, _) => format!("{exceptions} in {flow}"),
    }
}

fn unnamed_words(case: &Case) -> Option<String> {
    let made = case.unnamed_interval()?;
    let of = if case.audit.hold.lots.is_empty() && case.audit.hold.tanks.is_empty() {
        "lots and tanks are not recorded".to_owned()
    } else {
        format!(
            "neither lot nor tank is recorded for {}",
            plural(case.audit.hold.unnamed, "exception")
        )
    };
    Some(format!(
        "{of}: hold everything made from {} to {}",
        moment(&case.plant, made.start()),
        moment(&case.plant, made.end())
    ))
}

fn moment(plant: &Plant, at: Instant) -> String {
    format!("{} {}", plant.zone.date(at), plant.zone.clock(at))
}

/// A list that a sentence can carry: `A12, A13 and 4 more`.
pub(crate) fn listed(items: &[String]) -> String {
    let (named, more) = items.split_at(items.len().min(MOST_NAMED));
    let text = named.join(", ");
    if more.is_empty() { text } else { format!("{text} and {} more", more.len()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{PLANT, day, eventful, file};

    fn told(day: &Case) -> String {
        day.verdict()
    }

    fn of(plant: Option<&str>, text: &str) -> String {
        told(&day(plant, &[("day.csv", text)]))
    }

    #[test]
    fn a_clean_day() {
        let rows = file(&[(60, 'D', "150.", "A1", "run"), (60, 'F', "163.", "A1", "run")], &[]);
        assert_eq!(of(Some(PLANT), &rows), "No exception in 59.5 s of forward flow.");
    }

    #[test]
    fn an_eventful_day() {
        insta::assert_snapshot!(told(&eventful()));
    }

    #[test]
    fn nothing_forward() {
        let rows = file(&[(60, 'D', "150.", "A1", "run")], &[]);
        assert_eq!(of(Some(PLANT), &rows), "No forward flow in 59 s of record.");
    }

    #[test]
    fn without_lot_and_tank_the_whole_record_is_held() {
        let plant = PLANT.replace("lot = { column = \"Lot\" }\n", "");
        let rows = file(
            &[
                (60, 'F', "163.", "A1", "run"),
                (2, 'F', "160.", "A1", "run"),
                (60, 'F', "163.", "A1", "run"),
            ],
            &[],
        );
        let told = of(Some(&plant), &rows);
        let hold = "lots and tanks are not recorded: hold everything made from 2026-03-04 06:00:00 \
                    to 2026-03-04 06:02:01";
        assert!(told.starts_with("1 exception in ") && told.contains(hold), "{told}");
    }

    #[test]
    fn a_blank_lot_holds_its_run() {
        let rows = file(
            &[
                (60, 'F', "163.", "A1", "run"),
                (30, 'F', "163.", "", "run"),
                (2, 'F', "160.", "", "run"),
                (30, 'F', "163.", "", "run"),
                (60, 'F', "163.", "A2", "run"),
            ],
            &[],
        );
        let day = day(Some(PLANT), &[("day.csv", &rows)]);
        let made = day.unnamed_interval();
        let run = |lot: &str| {
            let run = day.audit.product_runs.iter().find(|run| run.lot == lot);
            run.map(|run| run.interval)
        };
        assert!(made.is_some());
        assert_eq!(made, run(""));
        let lines = day.hold_lines();
        assert_eq!(lines.len(), 1, "{lines:?}");
    }

    #[test]
    fn whatever_limits_the_answer_is_said() {
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[])
            .replace("Hold", "Holding temperature (°F)")
            .replace("Diff", "Differential pressure (psi)")
            .replace("Flow", "Flow (gal/min)")
            .replace(",F,", ",forward,")
            .replace("FDD", "Valve");
        let without_plant = of(None, &rows);
        for words in ["no plant file", "holding time not judged"] {
            assert!(without_plant.contains(words), "{words}: {without_plant}");
        }
        let steps: Vec<(u32, u32)> = (1..60).map(|row| (row, 9)).collect();
        let slow = of(Some(PLANT), &file(&[(60, 'F', "163.", "A1", "run")], &steps));
        assert!(slow.contains("one sample every 10 s"), "{slow}");
        let undated = PLANT.replace("tested_on = \"2026-01-14\"\n", "");
        let undated = of(Some(&undated), &file(&[(60, 'F', "163.", "A1", "run")], &[]));
        assert!(
            undated.contains("holding time test older than six months or not dated"),
            "{undated}"
        );
    }

    #[test]
    fn words_that_promise_too_much_are_never_said() {
        let told = told(&eventful()).to_lowercase();
        for word in ["compliant", "doubt", "every interval"] {
            assert!(!told.contains(word), "{word}: {told}");
        }
    }

    #[test]
    fn long_lists_are_cut() {
        let lots: Vec<String> = (1..=9).map(|number| format!("L{number}")).collect();
        assert_eq!(listed(&lots), "L1, L2, L3, L4, L5, L6 and 3 more");
        assert_eq!(listed(&lots[..2]), "L1, L2");
    }
}
