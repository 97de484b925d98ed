//! A week of the demo plant (invented), in which everything happens that a review asks about: product that goes
//! on hold, a divert without a cause, a test that is overdue, a seal that is broken, what the operators wrote
//! down, cleanings, alarms, amounts. Each check has a day on which it speaks, and days on which it must be
//! silent: a stop for lunch, a change of product, a cleaning, a quiet night.
//!
//! What is to be told follows from the events of the model ([`crate::Events`]) and from what people did, never
//! from the readings. It is made when it is asked for, and lies in no folder.

mod asked;
mod day;
mod days;
mod written;

use crate::error::Error;
use asked::PLANT;

pub use day::{Told, WeekDay};
pub use written::{Entry, SheetLine};

/// A test of the equipment, or a seal: what a supervisor enters in the plant's register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Booked {
    /// A test: its key, the day, the figure found and the figure asked for. All of them passed.
    Test([&'static str; 4]),
    /// A seal: its number, what it seals, when it was applied.
    Seal([&'static str; 3]),
    /// A seal that was broken: its number, when, and why.
    Broken([&'static str; 3]),
}

/// The week.
#[derive(Debug, Clone)]
pub struct Week {
    /// The plant file.
    pub plant: String,
    /// Monday to Sunday.
    pub days: Vec<WeekDay>,
    /// What is entered in the plant's register, in order.
    pub booked: &'static [Booked],
    /// On which days the register has something to tell of the pasteurizer, and words of it.
    pub equipment: &'static [(&'static str, &'static [&'static str])],
}

/// Plays the week.
///
/// # Errors
/// When the model can't play it.
pub fn week() -> Result<Week, Error> {
    let plant = written::plant_file()?;
    let days = days::days(&plant)?;
    Ok(Week { plant, days, booked: BOOKED, equipment: EQUIPMENT })
}

/// The kinds that are to be closed and on which the week holds the program, with the channel where a kind has
/// several: each has its day.
pub const CHECKS: [(&str, &str); 9] = [
    ("alarm_without_divert", "high-flow alarm"),
    ("alarm_without_divert", "low-flow alarm"),
    ("amount_disagrees", ""),
    ("cleaning_too_short", ""),
    ("divert_without_cause", ""),
    ("entry_disagrees", ""),
    ("medium_above_product", "heating medium pressure"),
    ("medium_above_product", "cooling medium pressure"),
    ("production_without_cleaning", ""),
];

const CERTIFICATE: &str = "16.5 s at 50 gal/min";

const BOOKED: &[Booked] = &[
    Booked::Test(["holding_time", "2026-01-14", CERTIFICATE, "15 s"]),
    Booked::Test(["flow_diversion_device", "2025-12-10", "0.8 s", "1 s"]),
    Booked::Seal(["4711", "timing pump", "2026-01-14 09:00"]),
    Booked::Broken(["4711", "2026-03-12 05:40", "the belt was changed"]),
    Booked::Seal(["4712", "timing pump", "2026-03-12 06:20"]),
    Booked::Test(["flow_diversion_device", "2026-03-12", "0.7 s", "1 s"]),
    Booked::Test(["holding_time", "2026-03-13", "16.2 s at 50 gal/min", "15 s"]),
];

/// The device was due by the 10th and tested again on the 12th; the seal was broken on the 12th for forty
/// minutes; the tube was found to hold for less on the 13th.
const EQUIPMENT: &[(&str, &[&str])] = &[
    ("2026-03-09", &[]),
    ("2026-03-10", &[]),
    ("2026-03-11", &["overdue since 2026-03-10"]),
    ("2026-03-12", &["seal 4711 on timing pump"]),
    ("2026-03-13", &["(16.2 s at 50 gal/min) shows a shorter holding time"]),
    ("2026-03-14", &["(16.2 s at 50 gal/min) shows a shorter holding time"]),
    ("2026-03-15", &["(16.2 s at 50 gal/min) shows a shorter holding time"]),
];

impl Week {
    /// Every file of the week and its bytes: the plant file, logger files, run sheets, operators' entries where
    /// they are a file, and the truth of each day.
    ///
    /// # Errors
    /// When a file can't be written in its dialect.
    pub fn files(&self) -> Result<Vec<(String, Vec<u8>)>, Error> {
        let mut files = vec![(PLANT.to_owned(), self.plant.clone().into_bytes())];
        for day in &self.days {
            let date = day.date;
            files.push((format!("{date}.csv"), written::log(&day.run)?.into_bytes()));
            if !day.sheet.is_empty() {
                let sheet = written::run_sheet(&day.sheet);
                files.push((format!("{date}.run-sheet.csv"), sheet.into_bytes()));
            }
            if day.entries_are_a_file && !day.entries.is_empty() {
                let entries = written::entries(&day.entries);
                files.push((format!("{date}.entries.csv"), entries.into_bytes()));
            }
            files.push((format!("truth/{date}.json"), day.truth_json()?.into_bytes()));
        }
        Ok(files)
    }
}
