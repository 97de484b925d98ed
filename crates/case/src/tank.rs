//! What a tank took: everything that the run sheet says went into it, from one emptying to the next.
//! What passed during an exception mixed with all of that (method, section 10).

use crate::amounts::stated_amount;
use crate::case::Case;
use crate::words::{is_one_tank, named};
use analysis::Exception;
use std::collections::BTreeSet;
use trace::{Instant, SheetRun};

/// A tank from one emptying to the next, as far as the run sheet tells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankFill<'a> {
    /// The tank.
    pub tank: &'a str,
    /// The runs that went into it, in order; at least one.
    pub runs: Vec<&'a SheetRun>,
    /// When it was emptied; `None` where the sheet does not say.
    pub emptied: Option<Instant>,
    /// Whether the sheet says that it was empty before the first of them.
    pub was_empty: bool,
}

impl Case {
    /// The fills of the tanks that took what passed in production while an exception lasted, in order.
    pub fn fills_to_hold(&self) -> Vec<TankFill<'_>> {
        let Some(sheet) = self.record().run_sheet() else { return Vec::new() };
        let exceptions = self.audit().exceptions.iter().filter(|one| !one.outside_production);
        let touched = |one: &'_ Exception| sheet.runs_touching(one.outer).map(|run| run.line);
        let lines: BTreeSet<u64> = exceptions.flat_map(touched).collect();
        let mut fills: Vec<TankFill<'_>> = Vec::new();
        for run in sheet.runs().iter().filter(|run| !run.tank.is_empty()) {
            let last = fills.iter_mut().rfind(|fill| is_one_tank(fill.tank, &run.tank));
            // What began before the tank was empty was in it.
            let goes_on = |fill: &&mut TankFill<'_>| {
                fill.emptied.is_none_or(|emptied| run.interval.start() < emptied)
            };
            let was_empty = last.as_ref().is_some_and(|fill| fill.emptied.is_some());
            match last.filter(goes_on) {
                Some(fill) => {
                    fill.runs.push(run);
                    fill.emptied = fill.emptied.max(run.emptied);
                }
                None => fills.push(TankFill {
                    tank: &run.tank,
                    runs: vec![run],
                    emptied: run.emptied,
                    was_empty,
                }),
            }
        }
        fills.retain(|fill| fill.runs.iter().any(|run| lines.contains(&run.line)));
        fills
    }

    /// A fill in words: what went into it, and until when.
    pub(crate) fn fill_in_words(&self, fill: &TankFill<'_>) -> String {
        let runs = fill.runs.iter().map(|run| {
            let lot = match run.lot.as_str() {
                "" => "no lot named".to_owned(),
                lot => format!("lot {lot}"),
            };
            let (from, to) = (self.clock(run.interval.start()), self.clock(run.interval.end()));
            let stated = run.quantity.map_or_else(String::new, |stated| {
                format!(", {} stated", stated_amount(Some(stated)))
            });
            format!("{lot} ({}, {from} to {to}{stated})", run.product)
        });
        let runs: Vec<String> = runs.collect();
        let until = fill.emptied.map_or_else(
            || "when it was emptied is not in the run sheet".to_owned(),
            |emptied| format!("emptied {}", self.clock(emptied)),
        );
        let before =
            if fill.was_empty { "" } else { "; what was in it before is not in the run sheet" };
        format!("{}, all of it: {}; {until}{before}", named("tank", fill.tank), runs.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use crate::samples::{day_with_sheet, file};

    /// What a sheet says of the tanks of a day that was cold from 04:01:00 for two seconds.
    fn told(sheet: &str) -> Vec<String> {
        let rows = file(
            &[
                (60, 'F', "163.", "A1", "run"),
                (2, 'F', "160.", "A1", "run"),
                (60, 'F', "163.", "A1", "run"),
            ],
            &[],
        );
        let case = day_with_sheet(&rows, &format!("start,end,product,lot,tank,emptied\n{sheet}"));
        case.hold_lines().into_iter().filter(|line| line.starts_with("tank")).collect()
    }

    #[test]
    fn a_tank_is_held_with_all_that_went_into_it() {
        let told = told(
            "2026-03-04 06:00,2026-03-04 06:04,milk,A1,T1,\n\
             2026-03-04 06:04,2026-03-04 06:06,milk,A2,T1,2026-03-04 07:00\n\
             2026-03-04 06:06,2026-03-04 06:08,milk,A3,T2,\n\
             2026-03-04 06:08,2026-03-04 06:10,milk,A4,T1,\n",
        );
        assert_eq!(
            told,
            ["tank T1, all of it: lot A1 (milk, 06:00:00 to 06:04:00), lot A2 (milk, 06:04:00 to \
                 06:06:00), lot A4 (milk, 06:08:00 to 06:10:00); emptied 07:00:00; what was in it \
                 before is not in the run sheet"],
            "what began before the tank was empty was in it"
        );
    }

    #[test]
    fn what_came_after_it_was_emptied_is_not_held() {
        let told = told(
            "2026-03-04 05:00,2026-03-04 05:30,milk,A0,T1,2026-03-04 05:50\n\
             2026-03-04 06:00,2026-03-04 06:04,milk,A1,T1,2026-03-04 06:05\n\
             2026-03-04 06:06,2026-03-04 06:08,milk,A2,T1,\n",
        );
        assert_eq!(
            told,
            ["tank T1, all of it: lot A1 (milk, 06:00:00 to 06:04:00); emptied 06:05:00"]
        );
    }

    #[test]
    fn a_sheet_that_does_not_say_when_keeps_everything() {
        let told = told(
            "2026-03-04 05:00,2026-03-04 05:30,milk,A0,T1,\n\
             2026-03-04 06:00,2026-03-04 06:04,milk,A1,T1,\n",
        );
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("lot A0") && told[0].contains("lot A1"), "{told:?}");
        assert!(told[0].contains("when it was emptied is not in the run sheet"), "{told:?}");
    }
}
