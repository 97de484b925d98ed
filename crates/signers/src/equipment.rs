//! Tests of the equipment and seals on it, as supervisors entered them in the plant's register: what was
//! tested when with which result, what is due, and which seals are broken.

use crate::person::SignerId;
use chrono::{Months, NaiveDate};
use journal::Stamp;
use plant::{Certificate, EquipmentTest, TestPlan};
use serde::{Deserialize, Serialize};
use trace::Instant;

/// A test that was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tested {
    /// The pasteurizer.
    pub unit: String,
    /// Which test.
    pub test: EquipmentTest,
    /// On which day, by the plant's calendar.
    pub on: NaiveDate,
    /// Whether it passed.
    pub passed: bool,
    /// The figure that was found, with its unit.
    pub figure: String,
    /// The figure that is asked for, with its unit.
    pub limit: String,
    /// Who made it.
    pub tested_by: String,
}

impl Tested {
    /// Whether it says what a test of its kind has to say: that of the holding time feeds the tube.
    ///
    /// # Errors
    /// What is to be written.
    pub fn check(&self) -> Result<(), String> {
        if self.test == EquipmentTest::HoldingTime && Certificate::read(&self.figure).is_none() {
            return Err(format!(
                "the figure of a holding time test is the time with the flow of the test, such as \
                 \"16.2 s at 50 gal/min\", not {:?}",
                self.figure
            ));
        }
        Ok(())
    }
}

/// A seal that was applied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sealed {
    /// The pasteurizer.
    pub unit: String,
    /// What it seals, such as "timing pump".
    pub part: String,
    /// Its number.
    pub seal: String,
    /// When it was applied.
    pub at: Stamp,
    /// Who applied it.
    pub applied_by: String,
}

/// A seal that was broken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SealBroken {
    /// The pasteurizer.
    pub unit: String,
    /// Its number.
    pub seal: String,
    /// When it was broken, or found broken.
    pub at: Stamp,
    /// Who broke or found it.
    pub broken_by: String,
    /// Why.
    pub reason: String,
}

/// Who entered something in the register, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EnteredBy {
    /// The supervisor.
    pub by: SignerId,
    /// When it was entered.
    pub at: Stamp,
    /// The register's line, from 1.
    pub line: u64,
}

/// A seal with what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seal {
    /// How it was applied.
    pub sealed: Sealed,
    /// Who entered that.
    pub entered: EnteredBy,
    /// How it was broken, and who entered that; `None` while it is whole.
    pub broken: Option<(SealBroken, EnteredBy)>,
}

/// How a test stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TestStanding<'a> {
    /// Which test.
    pub test: EquipmentTest,
    /// The last one made up to that day; `None` where none was entered.
    pub last: Option<&'a Tested>,
    /// The last day on which it is still in time; `None` where none was entered.
    pub due: Option<NaiveDate>,
    /// Whether it is overdue, failed, or was never entered.
    pub is_wanting: bool,
}

impl TestStanding<'_> {
    /// How it stands, in words.
    pub fn in_words(&self) -> String {
        let Self { test, last, due, is_wanting } = self;
        match (last, due) {
            (Some(last), _) if !last.passed => {
                format!("{test}: failed on {} ({} against {})", last.on, last.figure, last.limit)
            }
            (Some(last), Some(due)) if *is_wanting => {
                format!("{test}: overdue since {due}, last made on {}", last.on)
            }
            (Some(last), Some(due)) => format!(
                "{test}: {} against {}, on {} by {}; due by {due}",
                last.figure, last.limit, last.on, last.tested_by
            ),
            _ => format!("{test}: no test is entered"),
        }
    }
}

/// All tests and seals of the register.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Equipment {
    tests: Vec<(Tested, EnteredBy)>,
    seals: Vec<Seal>,
}

impl FromIterator<(Tested, EnteredBy)> for Equipment {
    /// Tests alone, in the order in which they were entered.
    fn from_iter<T: IntoIterator<Item = (Tested, EnteredBy)>>(tests: T) -> Self {
        Self { tests: tests.into_iter().collect(), seals: Vec::new() }
    }
}

impl Equipment {
    /// The tests, in the order in which they were entered.
    pub fn tests(&self) -> &[(Tested, EnteredBy)] {
        &self.tests
    }

    /// The seals, in the order in which they were entered.
    pub fn seals(&self) -> &[Seal] {
        &self.seals
    }

    /// Whether nothing was ever entered for a pasteurizer.
    pub fn is_silent_of(&self, unit: &str) -> bool {
        self.tests.iter().all(|(one, _)| one.unit != unit)
            && self.seals.iter().all(|one| one.sealed.unit != unit)
    }

    pub(crate) fn add_test(&mut self, tested: Tested, entered: EnteredBy) {
        self.tests.push((tested, entered));
    }

    pub(crate) fn add_seal(&mut self, sealed: Sealed, entered: EnteredBy) {
        self.seals.push(Seal { sealed, entered, broken: None });
    }

    pub(crate) fn break_seal(&mut self, broken: SealBroken, entered: EnteredBy) {
        let is_it = |one: &&mut Seal| one.is_whole() && one.is(&broken.unit, &broken.seal);
        if let Some(seal) = self.seals.iter_mut().find(is_it) {
            seal.broken = Some((broken, entered));
        }
    }

    /// Whether a seal may be applied: its number is used for one seal of a pasteurizer.
    pub(crate) fn allows_seal(&self, sealed: &Sealed) -> Result<(), String> {
        match self.seals.iter().find(|one| one.is(&sealed.unit, &sealed.seal)) {
            Some(_) => {
                Err(format!("the seal {} of {} was entered before", sealed.seal, sealed.unit))
            }
            None => Ok(()),
        }
    }

    /// Whether a seal can be entered as broken.
    pub(crate) fn allows_breaking(&self, broken: &SealBroken) -> Result<(), String> {
        let found = self.seals.iter().find(|one| one.is(&broken.unit, &broken.seal));
        match found {
            Some(seal) if !seal.is_whole() => {
                Err(format!("the seal {} of {} is broken already", broken.seal, broken.unit))
            }
            Some(seal) if broken.at.instant() < seal.sealed.at.instant() => {
                Err(format!("the seal {} was applied later, {}", broken.seal, seal.sealed.at))
            }
            Some(_) => Ok(()),
            None => Err(format!("no seal {} of {} was entered", broken.seal, broken.unit)),
        }
    }

    /// The last test of a kind that was made up to a day; of two on one day the one that was entered last.
    pub fn last_test(
        &self,
        unit: &str,
        test: EquipmentTest,
        on: NaiveDate,
    ) -> Option<(&Tested, &EnteredBy)> {
        let is_of = |one: &Tested| one.unit == unit && one.test == test && one.on <= on;
        let of = self.tests.iter().filter(|(one, _)| is_of(one)).enumerate();
        of.max_by_key(|(place, (one, _))| (one.on, *place))
            .map(|(_, (one, entered))| (one, entered))
    }

    /// How the tests of a pasteurizer stand on a day: those that the plan names, and those that were
    /// ever entered.
    pub fn standings(&self, unit: &str, on: NaiveDate, plan: &TestPlan) -> Vec<TestStanding<'_>> {
        let is_asked = |test: &EquipmentTest| {
            plan.tests.contains(test) || self.last_test(unit, *test, on).is_some()
        };
        let standing = |test: EquipmentTest| {
            let last = self.last_test(unit, test, on).map(|(one, _)| one);
            let months = Months::new(plan.months_of(test));
            let due = last.and_then(|last| last.on.checked_add_months(months));
            let is_good = last.is_some_and(|last| last.passed) && due.is_some_and(|due| on <= due);
            TestStanding { test, last, due, is_wanting: !is_good }
        };
        EquipmentTest::ALL.into_iter().filter(is_asked).map(standing).collect()
    }

    /// The seals of a pasteurizer that were broken at some time between two instants: broken before
    /// the later, and the part not sealed anew before the earlier.
    pub fn broken_between(&self, unit: &str, from: Instant, to: Instant) -> Vec<&Seal> {
        let is_sealed_anew = |broken: &Seal, at: Instant| {
            self.seals.iter().any(|one| {
                one.sealed.unit == unit
                    && one.sealed.part == broken.sealed.part
                    && at <= one.sealed.at.instant()
                    && one.sealed.at.instant() <= from
            })
        };
        let is_broken = |one: &&Seal| {
            let Some((broken, _)) = &one.broken else { return false };
            let at = broken.at.instant();
            one.sealed.unit == unit && at <= to && !is_sealed_anew(one, at)
        };
        self.seals.iter().filter(is_broken).collect()
    }
}

impl Seal {
    fn is(&self, unit: &str, seal: &str) -> bool {
        self.sealed.unit == unit && self.sealed.seal == seal
    }

    /// Whether nobody broke it.
    pub const fn is_whole(&self) -> bool {
        self.broken.is_none()
    }

    /// The seal in a line.
    pub fn in_words(&self) -> String {
        let Sealed { part, seal, at, applied_by, .. } = &self.sealed;
        match &self.broken {
            None => format!("seal {seal} on {part}: applied {} by {applied_by}", at.minute()),
            Some((broken, _)) => format!(
                "seal {seal} on {part}: broken {} by {}: {}",
                broken.at.minute(),
                broken.broken_by,
                broken.reason
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, month, day).unwrap_or_default()
    }

    fn at(text: &str) -> Stamp {
        match text.parse() {
            Ok(stamp) => stamp,
            Err(error) => panic!("{error}"),
        }
    }

    fn entered() -> EnteredBy {
        let Ok(by) = "ben".parse() else { panic!("an identifier") };
        EnteredBy { by, at: at("2026-03-01T08:00:00.000-06:00"), line: 4 }
    }

    fn tested(test: EquipmentTest, on: NaiveDate, passed: bool) -> Tested {
        Tested {
            unit: "HTST-1".to_owned(),
            test,
            on,
            passed,
            figure: "0.8 s".to_owned(),
            limit: "1 s".to_owned(),
            tested_by: "C. Example (invented)".to_owned(),
        }
    }

    fn with(tests: &[(EquipmentTest, NaiveDate, bool)]) -> Equipment {
        let mut equipment = Equipment::default();
        for (test, on, passed) in tests {
            equipment.add_test(tested(*test, *on, *passed), entered());
        }
        equipment
    }

    /// Three months, the holding time six; the last day is still in time.
    #[test]
    fn a_test_is_overdue_after_its_months() {
        let made = [
            (EquipmentTest::FlowDiversionDevice, day(1, 14), true),
            (EquipmentTest::HoldingTime, day(1, 14), true),
        ];
        let (equipment, plan) = (with(&made), TestPlan::default());
        let wanting = |on: NaiveDate| -> Vec<EquipmentTest> {
            let standings = equipment.standings("HTST-1", on, &plan);
            standings.iter().filter(|one| one.is_wanting).map(|one| one.test).collect()
        };
        assert_eq!(wanting(day(4, 14)), []);
        assert_eq!(wanting(day(4, 15)), [EquipmentTest::FlowDiversionDevice]);
        assert_eq!(wanting(day(7, 14)), [EquipmentTest::FlowDiversionDevice]);
        assert_eq!(wanting(day(7, 15)).len(), 2);
        assert_eq!(wanting(day(1, 13)), [], "what was made later says nothing of a day before");
        assert!(equipment.standings("HTST-2", day(7, 15), &plan).is_empty());
        let monthly = TestPlan { months: 1, ..TestPlan::default() };
        assert!(equipment.standings("HTST-1", day(2, 15), &monthly)[0].is_wanting);
    }

    #[test]
    fn a_failed_test_and_one_that_was_never_made_are_told() {
        let device = EquipmentTest::FlowDiversionDevice;
        let failed = with(&[(device, day(1, 14), true), (device, day(3, 1), false)]);
        let plan = TestPlan { tests: vec![EquipmentTest::CutInCutOut], ..TestPlan::default() };
        let standings = failed.standings("HTST-1", day(3, 2), &plan);
        let words: Vec<String> = standings.iter().map(TestStanding::in_words).collect();
        assert_eq!(
            words,
            [
                "flow diversion device, assembly and function: failed on 2026-03-01 (0.8 s against 1 s)",
                "cut-in and cut-out temperatures: no test is entered",
            ]
        );
        assert!(standings.iter().all(|one| one.is_wanting));
        let again = with(&[(device, day(3, 1), false), (device, day(3, 1), true)]);
        let plan = TestPlan::default();
        assert!(!again.standings("HTST-1", day(3, 2), &plan)[0].is_wanting, "the later one counts");
    }

    #[test]
    fn a_broken_seal_is_broken_until_the_part_is_sealed_anew() {
        let mut equipment = Equipment::default();
        let seal = |number: &str, applied: &str| Sealed {
            unit: "HTST-1".to_owned(),
            part: "timing pump".to_owned(),
            seal: number.to_owned(),
            at: at(applied),
            applied_by: "C. Example (invented)".to_owned(),
        };
        let broken = |number: &str, when: &str| SealBroken {
            unit: "HTST-1".to_owned(),
            seal: number.to_owned(),
            at: at(when),
            broken_by: "maintenance".to_owned(),
            reason: "belt changed".to_owned(),
        };
        equipment.add_seal(seal("11", "2026-01-14T09:00:00.000-06:00"), entered());
        assert!(equipment.allows_seal(&seal("11", "2026-02-14T09:00:00.000-06:00")).is_err());
        assert!(equipment.allows_breaking(&broken("12", "2026-03-14T12:00:00.000-05:00")).is_err());
        assert!(equipment.allows_breaking(&broken("11", "2026-01-13T12:00:00.000-06:00")).is_err());
        let when = broken("11", "2026-03-14T12:00:00.000-05:00");
        assert_eq!(equipment.allows_breaking(&when), Ok(()));
        equipment.break_seal(when.clone(), entered());
        assert!(equipment.allows_breaking(&when).is_err(), "it is broken already");
        let on = |equipment: &Equipment, from: &str, to: &str| {
            equipment.broken_between("HTST-1", at(from).instant(), at(to).instant()).len()
        };
        let day_of = ("2026-03-14T04:00:00.000-05:00", "2026-03-14T22:00:00.000-05:00");
        let day_after = ("2026-03-15T04:00:00.000-05:00", "2026-03-15T22:00:00.000-05:00");
        assert_eq!(
            on(&equipment, "2026-03-13T04:00:00.000-05:00", "2026-03-13T22:00:00.000-05:00"),
            0
        );
        assert_eq!(on(&equipment, day_of.0, day_of.1), 1);
        assert_eq!(on(&equipment, day_after.0, day_after.1), 1, "nobody sealed it anew");
        equipment.add_seal(seal("12", "2026-03-14T20:00:00.000-05:00"), entered());
        assert_eq!(on(&equipment, day_of.0, day_of.1), 1, "it was broken for a part of that day");
        assert_eq!(on(&equipment, day_after.0, day_after.1), 0);
    }
}
