//! The tanks that took what passed in the exceptions of one record, each with everything that went into it from
//! one emptying to the next. One record knows its own run sheet only; what the sheets of other records say is
//! handed in, and which were looked at is always said: an account is never more than those (method, section 10).

use crate::tanks::{TankAccount, TankRun, TankSheet};
use case::{Case, is_one_tank, plural};
use chrono::NaiveDate;
use serde_json::{Value, json};

/// The tanks of a record's exceptions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordTanks {
    /// Each tank from one emptying to the next; none where no exception in production touches a run that names a
    /// tank.
    pub tanks: Vec<RecordTank>,
    /// Which run sheets they are made of.
    pub looked_at: LookedAt,
}

/// A tank from one emptying to the next, and the exceptions whose product went into it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordTank {
    /// What went into it.
    pub account: TankAccount,
    /// The exceptions, by their places in the audit.
    pub exceptions: Vec<usize>,
}

/// An exception by its place in the audit, with its outer bounds in Unix milliseconds.
type Span = (usize, (i64, i64));

/// Which run sheets an account is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LookedAt {
    /// That of the record and no other.
    RecordOnly,
    /// Those of the records of a folder.
    Folder {
        /// How many records lie in it, this one among them.
        records: usize,
        /// The first and the last of their dates, as far as they are known.
        dates: Option<(NaiveDate, NaiveDate)>,
        /// How many have no run sheet that names a tank.
        without: usize,
        /// How many can't be read.
        unreadable: usize,
    },
}

impl RecordTanks {
    /// The tanks of a record. `others` are the sheets of the other records of its folder; `None` where those were
    /// not looked at.
    pub fn of(case: &Case, others: Option<&[TankSheet]>) -> Self {
        let exceptions = case.audit().exceptions.iter().enumerate();
        let spans = exceptions.filter(|(_, one)| !one.outside_production).map(|(place, one)| {
            let (start, end) = (one.outer.start(), one.outer.end());
            (place, (start.unix_milliseconds(), end.unix_milliseconds()))
        });
        Self::made_of(&TankSheet::of_case(case), others, &spans.collect::<Vec<_>>())
    }

    /// The same of a sheet, and of exceptions by their places with their outer bounds in Unix milliseconds.
    fn made_of(own: &TankSheet, others: Option<&[TankSheet]>, spans: &[Span]) -> Self {
        let others = others.map(|others| others.iter().map(|sheet| (false, sheet)));
        let is_alone = others.is_none();
        let sheets: Vec<(bool, &TankSheet)> =
            std::iter::once((true, own)).chain(others.into_iter().flatten()).collect();
        let looked_at = if is_alone { LookedAt::RecordOnly } else { LookedAt::folder(&sheets) };
        let mut told: Vec<&str> = Vec::new();
        let mut tanks = Vec::new();
        for run in own.runs.iter().flatten() {
            if told.iter().any(|other| is_one_tank(other, &run.tank)) {
                continue;
            }
            told.push(&run.tank);
            let fills = TankAccount::fills(&sheets, &run.tank).into_iter().map(|account| {
                let own = || account.runs.iter().filter(|one| one.is_own);
                let touching = spans.iter().filter(|(_, span)| own().any(|one| one.touches(*span)));
                let exceptions = touching.map(|(place, _)| *place).collect();
                RecordTank { account, exceptions }
            });
            tanks.extend(fills.filter(|one| !one.exceptions.is_empty()));
        }
        Self { tanks, looked_at }
    }

    /// Those that took what passed in an exception, by its place in the audit.
    pub fn of_exception(&self, place: usize) -> impl Iterator<Item = &RecordTank> {
        self.tanks.iter().filter(move |one| one.exceptions.contains(&place))
    }

    /// All of it for a program; `null` where there is none.
    pub fn json(&self, case: &Case) -> Value {
        if self.tanks.is_empty() {
            return Value::Null;
        }
        let exceptions = &case.audit().exceptions;
        let tanks = self.tanks.iter().map(|RecordTank { account, exceptions: places }| {
            let runs = account.runs.iter().map(|TankRun { record, unit, is_own, run }| {
                json!({
                    "record": record, "unit": unit, "of_this_record": is_own, "product": run.product,
                    "lot": run.lot, "stated": run.stated, "start_ms": run.ends_ms.0,
                    "end_ms": run.ends_ms.1, "emptied_ms": run.emptied_ms,
                })
            });
            let ids = places.iter().filter_map(|&place| Some(&exceptions.get(place)?.id));
            json!({
                "tank": account.tank,
                "exceptions": ids.collect::<Vec<_>>(),
                "runs": runs.collect::<Vec<_>>(),
                "emptied_ms": account.emptied_ms,
                "was_empty": account.was_empty,
            })
        });
        let records = match self.looked_at {
            LookedAt::RecordOnly => None,
            LookedAt::Folder { records, .. } => Some(records),
        };
        json!({
            "accounts": tanks.collect::<Vec<_>>(),
            "records_looked_at": records,
            "looked_at": self.looked_at.in_words(),
        })
    }
}

impl RecordTank {
    /// The runs in order of time, at most so many: those nearest to the record's own; and how many more there are.
    pub fn nearest(&self, most: usize) -> (Vec<&TankRun>, usize) {
        let runs = &self.account.runs;
        let own = || runs.iter().filter(|one| one.is_own).map(|one| one.run.ends_ms);
        let from = own().map(|(from, _)| from).min().unwrap_or_default();
        let to = own().map(|(_, to)| to).max().unwrap_or_default();
        let mut nearest: Vec<(usize, &TankRun)> = runs.iter().enumerate().collect();
        nearest.sort_by_key(|(place, one)| {
            let (begins, ends) = one.run.ends_ms;
            ((from - ends).max(begins - to).max(0), *place)
        });
        nearest.truncate(most);
        nearest.sort_by_key(|(place, _)| *place);
        (nearest.into_iter().map(|(_, one)| one).collect(), runs.len().saturating_sub(most))
    }
}

impl LookedAt {
    fn folder(sheets: &[(bool, &TankSheet)]) -> Self {
        let dates = || sheets.iter().filter_map(|(_, sheet)| sheet.date);
        let count =
            |is_it: fn(&TankSheet) -> bool| sheets.iter().filter(|(_, sheet)| is_it(sheet)).count();
        Self::Folder {
            records: sheets.len(),
            dates: dates().min().zip(dates().max()),
            without: count(|sheet| sheet.runs.as_ref().is_some_and(Vec::is_empty)),
            unreadable: count(|sheet| sheet.runs.is_none()),
        }
    }

    /// Whether no record but the one asked about is among them.
    pub const fn is_alone(self) -> bool {
        matches!(self, Self::RecordOnly | Self::Folder { records: 1, .. })
    }

    /// Which they are and what is not known therefore, in sentences.
    pub fn in_words(self) -> String {
        const MORE: &str = "what went into the tanks on other days is not known";
        match self {
            Self::RecordOnly => {
                format!("Only the run sheet of this record was looked at: {MORE}.")
            }
            Self::Folder { records: 1, .. } => {
                format!("There is no other record in the folder: {MORE}.")
            }
            Self::Folder { records, dates, without, unreadable } => {
                let dates = match dates {
                    Some((first, last)) if first == last => format!(" of {first}"),
                    Some((first, last)) => format!(" from {first} to {last}"),
                    None => String::new(),
                };
                let mut text =
                    format!("By the run sheets of the {records} records in the folder{dates}.");
                for (count, what) in [
                    (without, "without a run sheet that names a tank"),
                    (unreadable, "that can't be read"),
                ] {
                    if count > 0 {
                        text = format!(
                            "{text} {} {what}: what went into the tanks there is not known.",
                            plural(count, "record")
                        );
                    }
                }
                text
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::day::SheetRow;

    const HOUR: i64 = 3_600_000;
    /// 2026-03-04 00:00 UTC.
    const MIDNIGHT: i64 = 1_772_582_400_000;

    /// A run of an hour in the days after 2026-03-03.
    fn row(tank: &str, lot: &str, (day, hour): (i64, i64), emptied: Option<i64>) -> SheetRow {
        let at = MIDNIGHT + (24 * day + hour) * HOUR;
        SheetRow {
            tank: tank.to_owned(),
            product: "milk".to_owned(),
            lot: lot.to_owned(),
            stated: String::new(),
            ends_ms: (at, at + HOUR),
            start: format!("2026-03-{:02} {hour:02}:00", 4 + day),
            end: format!("2026-03-{:02} {:02}:00", 4 + day, hour + 1),
            emptied_ms: emptied.map(|after| at + after * HOUR),
            emptied: emptied.map(|after| format!("{after} h after")),
        }
    }

    fn sheet(day: i64, runs: Option<Vec<SheetRow>>) -> TankSheet {
        TankSheet {
            record: format!("{day}.csv"),
            unit: "HTST-1".to_owned(),
            date: NaiveDate::from_ymd_opt(2026, 3, 4)
                .map(|date| date + chrono::TimeDelta::days(day)),
            runs,
        }
    }

    /// An exception at an hour of the first day, of a minute.
    fn at(place: usize, hour: i64) -> Span {
        let from = MIDNIGHT + hour * HOUR;
        (place, (from + HOUR / 2, from + HOUR / 2 + 60_000))
    }

    fn lots(one: &RecordTank) -> Vec<(&str, bool)> {
        one.account.runs.iter().map(|one| (one.run.lot.as_str(), one.is_own)).collect()
    }

    #[test]
    fn what_went_in_on_the_days_before_and_after_is_in_it_until_it_was_emptied() {
        let own = sheet(
            0,
            Some(vec![
                row("T4", "A", (0, 6), None),
                row("T5", "B", (0, 8), Some(2)),
                row("T5", "C", (0, 12), None),
            ]),
        );
        let others = [
            sheet(-2, Some(vec![row("T4", "too early", (-2, 6), Some(2))])),
            sheet(-1, Some(vec![row("Tank t4", "before", (-1, 6), None)])),
            sheet(
                1,
                Some(vec![
                    row("T4", "after", (1, 6), Some(3)),
                    row("T4", "too late", (1, 20), None),
                ]),
            ),
        ];
        let found = RecordTanks::made_of(&own, Some(&others), &[at(0, 6), at(1, 8), at(3, 6)]);
        let [four, five] = found.tanks.as_slice() else { panic!("{found:#?}") };
        assert_eq!(lots(four), [("before", false), ("A", true), ("after", false)]);
        assert_eq!(four.exceptions, [0, 3]);
        assert_eq!(four.account.briefly(9), "tank T4: lots before, A, after; emptied 3 h after");
        assert_eq!((lots(five), &*five.exceptions), (vec![("B", true)], &[1][..]));
        assert!(five.account.until().contains("what was in it before is in no run sheet"));
        assert_eq!(found.of_exception(1).count(), 1);
        assert_eq!(found.of_exception(2).count(), 0, "it touches no run");
        assert_eq!(
            found.looked_at.in_words(),
            "By the run sheets of the 4 records in the folder from 2026-03-02 to 2026-03-05."
        );
    }

    /// Nobody takes what one sheet says for all that went into the tank.
    #[test]
    fn what_was_not_looked_at_is_said() {
        let own = sheet(0, Some(vec![row("T4", "A", (0, 6), None), row("T4", "", (0, 7), None)]));
        let alone = RecordTanks::made_of(&own, None, &[at(0, 6)]);
        assert_eq!(
            alone.tanks[0].account.briefly(9),
            "tank T4: lot A and 1 run with no lot named; when it was emptied is in no run sheet; \
             what was in it before is in no run sheet"
        );
        let not_known = "what went into the tanks on other days is not known.";
        assert_eq!(alone.looked_at, LookedAt::RecordOnly);
        assert!(alone.looked_at.is_alone());
        assert!(alone.looked_at.in_words().ends_with(not_known));
        let only = RecordTanks::made_of(&own, Some(&[]), &[at(0, 6)]);
        assert!(only.looked_at.is_alone() && only.looked_at.in_words().ends_with(not_known));
        let others = [sheet(-1, None), sheet(-3, Some(Vec::new())), sheet(1, Some(Vec::new()))];
        let several = RecordTanks::made_of(&own, Some(&others), &[at(0, 6)]);
        assert!(!several.looked_at.is_alone());
        assert_eq!(
            several.looked_at.in_words(),
            "By the run sheets of the 4 records in the folder from 2026-03-01 to 2026-03-05. 2 records \
             without a run sheet that names a tank: what went into the tanks there is not known. \
             1 record that can't be read: what went into the tanks there is not known."
        );
    }

    #[test]
    fn without_a_tank_in_its_own_sheet_there_is_nothing() {
        let others = [sheet(1, Some(vec![row("T4", "A", (0, 6), None)]))];
        for own in [sheet(0, Some(Vec::new())), sheet(0, Some(vec![row("T4", "A", (0, 9), None)]))]
        {
            let found = RecordTanks::made_of(&own, Some(&others), &[at(0, 6)]);
            assert_eq!(found.tanks, [], "another record's run is touched, none of its own");
        }
    }

    #[test]
    fn of_many_runs_those_nearest_to_the_record_are_listed() {
        let own = sheet(0, Some(vec![row("T4", "own", (0, 6), None)]));
        let others: Vec<TankSheet> = (-5..6)
            .filter(|day| *day != 0)
            .map(|day| sheet(day, Some(vec![row("T4", &day.to_string(), (day, 6), None)])))
            .collect();
        let found = RecordTanks::made_of(&own, Some(&others), &[at(0, 6)]);
        let (nearest, more) = found.tanks[0].nearest(5);
        let lots: Vec<&str> = nearest.iter().map(|one| one.run.lot.as_str()).collect();
        assert_eq!((lots, more), (vec!["-2", "-1", "own", "1", "2"], 6));
        assert_eq!(found.tanks[0].nearest(50).1, 0);
    }

    #[test]
    fn a_date_that_is_the_same_is_said_once() {
        let times = |row: SheetRow| {
            let of = |row| TankRun {
                record: String::new(),
                unit: String::new(),
                is_own: true,
                run: row,
            };
            of(row).times()
        };
        assert_eq!(times(row("T", "", (0, 6), None)), "2026-03-04 06:00 to 07:00");
        let late = SheetRow { end: "2026-03-05 00:00".to_owned(), ..row("T", "", (0, 23), None) };
        assert_eq!(times(late), "2026-03-04 23:00 to 2026-03-05 00:00");
    }
}
