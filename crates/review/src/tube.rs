//! The holding tube on a record's day: the last holding time test in the plant's register, held against the
//! certificate in the plant file by which the record was audited.
//!
//! The audit follows from the record and the plant file alone, so a test in the register changes no
//! result. It says which certificate held on that day: where that one is shorter, the audit went by a less
//! strict figure than it had to, and the record is not approved by it.

use chrono::NaiveDate;
use plant::{Certificate, EquipmentTest, Plant};
use serde::{Deserialize, Serialize};
use signers::{Equipment, Tested};
use std::cmp::Ordering;

/// The tube by which a record was audited.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TubeUsed {
    /// What the certificate says, such as `16.2 s at 50 gal/min`; `None` where only the measures of the tube
    /// are known.
    pub certificate: Option<String>,
    /// The day of that test; `None` where the plant file says none.
    pub tested_on: Option<NaiveDate>,
}

/// What a difference between register and plant file asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TubeStanding {
    /// Nothing: the certificate in the plant file held on that day.
    Holds,
    /// To be told: the plant file says another thing, and nothing less strict.
    Differs,
    /// To be put right before the record is approved: the tube was shown to hold for less, or was not shown
    /// to hold.
    LessStrict,
}

/// How the tube stood on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TubeOnDay {
    /// What it asks for.
    pub standing: TubeStanding,
    /// What register and plant file say, in a sentence without a full stop.
    pub words: String,
    /// The line of the register that has the test; `None` where none was entered.
    pub line: Option<u64>,
}

impl TubeUsed {
    /// The tube of a plant file; `None` without one.
    pub fn of(plant: &Plant) -> Option<Self> {
        let certificate = plant.tube.as_ref()?.certificate();
        Some(Self {
            certificate: certificate.map(Certificate::figure),
            tested_on: certificate.and_then(Certificate::tested_date),
        })
    }

    fn in_words(&self) -> String {
        match (&self.certificate, self.tested_on) {
            (Some(figure), Some(on)) => format!("the certificate of {on} ({figure})"),
            (Some(figure), None) => format!("a certificate without a date ({figure})"),
            (None, _) => "the measures of the tube".to_owned(),
        }
    }
}

impl TubeOnDay {
    /// How the tube of a pasteurizer stood on a day, where that is known; `None` where the register has no
    /// holding time test up to then and the plant file no later one.
    pub fn of(
        equipment: &Equipment,
        (unit, on): (&str, NaiveDate),
        used: Option<&TubeUsed>,
    ) -> Option<Self> {
        let Some((tested, entered)) = equipment.last_test(unit, EquipmentTest::HoldingTime, on)
        else {
            let used = used?;
            let later = used.tested_on.filter(|tested_on| *tested_on > on)?;
            return Some(Self {
                standing: TubeStanding::Differs,
                words: format!(
                    "holding tube: the audit used {}, a test that was made after this day; up to {on} the \
                     register has none (the plant file is of {later} or later)",
                    used.in_words()
                ),
                line: None,
            });
        };
        let result = if tested.passed { "" } else { "failed " };
        let test = format!("the {result}test of {} ({})", tested.on, tested.figure);
        let told = |standing, words: String| {
            let words = format!("holding tube: {words}");
            Some(Self { standing, words, line: Some(entered.line) })
        };
        let Some(used) = used else {
            let words = format!("the register has {test}, and the plant file no tube");
            return told(TubeStanding::Differs, words);
        };
        let audited_by = format!("the audit used {}", used.in_words());
        let own = used.certificate.as_deref().and_then(Certificate::read);
        // A newer certificate of the plant file held on the day, if it was there then.
        if own.is_some() && used.tested_on.is_some_and(|own| tested.on < own && own <= on) {
            let words = format!("{audited_by}; the register has only {test}");
            return told(TubeStanding::Holds, words);
        }
        let found = Certificate::read(&tested.figure);
        let (Some(found), Some(own)) = (found.as_ref(), own.as_ref()) else {
            let (standing, words) = if !tested.passed || own.is_none() {
                (TubeStanding::LessStrict, format!("{audited_by}, and the register has {test}"))
            } else {
                let words = format!(
                    "{test} has no time with its flow in the register, so that it can't be compared; {audited_by}"
                );
                (TubeStanding::Differs, words)
            };
            return told(standing, words);
        };
        match found.holds_against(own) {
            Ordering::Less => told(
                TubeStanding::LessStrict,
                format!(
                    "{test} shows a shorter holding time than {}, which the audit used",
                    used.in_words()
                ),
            ),
            Ordering::Equal if tested.passed && used.tested_on == Some(tested.on) => {
                told(TubeStanding::Holds, format!("{audited_by}, as in the register"))
            }
            _ => told(TubeStanding::Differs, format!("{audited_by}; the register has {test}")),
        }
    }

    /// The certificate that the plant file may take from the register: the last test that passed, where the plant
    /// file has none that is newer, and says another thing.
    pub fn to_take(
        equipment: &Equipment,
        unit: &str,
        used: Option<&TubeUsed>,
    ) -> Option<Certificate> {
        let is_of = |one: &&Tested| {
            one.unit == unit && one.test == EquipmentTest::HoldingTime && one.passed
        };
        let tests = equipment.tests().iter().map(|(one, _)| one).filter(is_of).enumerate();
        let (_, last) = tests.max_by_key(|(place, one)| (one.on, *place))?;
        let own = used.and_then(|used| used.tested_on);
        let certificate = Certificate {
            tested_on: Some(last.on.to_string()),
            tested_by: Some(last.tested_by.clone()),
            ..Certificate::read(&last.figure)?
        };
        let figure = used.and_then(|used| used.certificate.as_deref());
        let is_there = own == Some(last.on) && figure == Some(certificate.figure().as_str());
        (own.is_none_or(|own| own <= last.on) && !is_there).then_some(certificate)
    }

    /// Whether anything is to be told of it.
    pub fn is_wanting(&self) -> bool {
        self.standing != TubeStanding::Holds
    }

    /// What is to be done before the record is approved; `None` where nothing is.
    pub fn before_approval(&self) -> Option<String> {
        (self.standing == TubeStanding::LessStrict).then(|| {
            format!(
                "{}; take the test over into the plant file (Ctrl+, offers it), or use the plant file of \
                 that day, have it approved, and enter the audit again (re-audit)",
                self.words
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::TubeStanding::{Differs, Holds, LessStrict};
    use super::*;
    use signers::EnteredBy;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap_or_default()
    }

    /// A register with holding time tests: day, whether passed, figure.
    fn register(tests: &[(&str, bool, &str)]) -> Equipment {
        let (Ok(by), Ok(at)) = ("ben".parse(), "2026-03-01T08:00:00.000-06:00".parse()) else {
            panic!("an identifier and a stamp")
        };
        let entered = EnteredBy { by, at, line: 7 };
        let tests = tests.iter().map(|&(on, passed, figure)| {
            let tested = Tested {
                unit: "HTST-1".to_owned(),
                test: EquipmentTest::HoldingTime,
                on: day(on),
                passed,
                figure: figure.to_owned(),
                limit: "15 s".to_owned(),
                tested_by: "C. Example (invented)".to_owned(),
            };
            (tested, entered.clone())
        });
        tests.collect()
    }

    fn used(certificate: Option<&str>, on: Option<&str>) -> TubeUsed {
        TubeUsed { certificate: certificate.map(str::to_owned), tested_on: on.map(day) }
    }

    const CERTIFICATE: &str = "16.2 s at 50 gal/min";

    /// On 14 March, against a certificate of 14 January.
    fn on_day(tests: &[(&str, bool, &str)]) -> Option<TubeStanding> {
        let used = used(Some(CERTIFICATE), Some("2026-01-14"));
        let found = TubeOnDay::of(&register(tests), ("HTST-1", day("2026-03-14")), Some(&used));
        found.map(|one| one.standing)
    }

    #[test]
    fn the_test_that_held_on_the_day_is_held_against_the_certificate() {
        for (tests, expected) in [
            (&[][..], None),
            (&[("2026-01-14", true, CERTIFICATE)], Some(Holds)),
            // The same tube, said in other figures: 810 gal/min s.
            (&[("2026-01-14", true, "32.4 s at 25 gal/min")], Some(Holds)),
            // A newer test is told until the plant file has it, whatever it found.
            (&[("2026-03-10", true, CERTIFICATE)], Some(Differs)),
            (&[("2026-03-10", true, "17 s at 50 gal/min")], Some(Differs)),
            (&[("2026-03-10", true, "16.1 s at 50 gal/min")], Some(LessStrict)),
            (&[("2026-03-14", true, "16.1 s at 50 gal/min")], Some(LessStrict)),
            // What was made later says nothing of the day.
            (&[("2026-03-15", true, "16.1 s at 50 gal/min")], None),
            // An older one held no longer.
            (&[("2026-01-13", true, "16.1 s at 50 gal/min")], Some(Holds)),
            // A time without its flow can't be compared; one that failed shows nothing that holds.
            (&[("2026-03-10", true, "17 s")], Some(Differs)),
            (&[("2026-03-10", false, "17 s")], Some(LessStrict)),
            (&[("2026-03-10", false, "14.2 s at 50 gal/min")], Some(LessStrict)),
            (&[("2026-03-10", false, "17 s at 50 gal/min")], Some(Differs)),
        ] {
            assert_eq!(on_day(tests), expected, "{tests:?}");
        }
        // Of two the later one counts.
        let both =
            [("2026-03-10", true, "16.1 s at 50 gal/min"), ("2026-03-12", true, CERTIFICATE)];
        assert_eq!(on_day(&both), Some(Differs));
    }

    #[test]
    fn the_plant_file_may_take_the_last_test_that_passed() {
        let of = |tests: &[(&str, bool, &str)]| {
            let used = used(Some(CERTIFICATE), Some("2026-01-14"));
            let taken = TubeOnDay::to_take(&register(tests), "HTST-1", Some(&used))?;
            Some((taken.figure(), taken.tested_on?))
        };
        let newer = ("2026-03-10", true, "16.1 s at 50 gal/min");
        let expected = Some((newer.2.to_owned(), newer.0.to_owned()));
        assert_eq!(of(&[newer]), expected);
        assert_eq!(of(&[newer, ("2026-03-12", false, "14 s at 50 gal/min")]), expected);
        assert_eq!(of(&[("2026-01-14", true, CERTIFICATE)]), None, "the plant file has it");
        assert_eq!(of(&[("2025-07-10", true, "16.1 s at 50 gal/min")]), None, "it has a newer one");
        assert_eq!(of(&[("2026-03-10", true, "16.1 s")]), None);
        assert!(TubeOnDay::to_take(&register(&[newer]), "HTST-1", None).is_some());
    }

    #[test]
    fn measures_a_later_certificate_and_no_tube() {
        let of = |tests: &[(&str, bool, &str)], used: Option<TubeUsed>| {
            let found =
                TubeOnDay::of(&register(tests), ("HTST-1", day("2026-03-14")), used.as_ref());
            found.map(|one| one.standing)
        };
        let test = [("2026-01-14", true, "16.2 s at 50 gal/min")];
        assert_eq!(of(&test, Some(used(None, None))), Some(LessStrict));
        assert_eq!(of(&[], Some(used(None, None))), None);
        assert_eq!(of(&test, None), Some(Differs));
        let later = || used(Some("16.8 s at 50 gal/min"), Some("2026-04-01"));
        assert_eq!(of(&test, Some(later())), Some(LessStrict), "the one of that day was shorter");
        assert_eq!(of(&[], Some(later())), Some(Differs));
        let undated = used(Some("16.2 s at 50 gal/min"), None);
        assert_eq!(of(&test, Some(undated)), Some(Differs));
        let other = register(&test);
        assert_eq!(TubeOnDay::of(&other, ("HTST-2", day("2026-03-14")), None), None);
    }
}
