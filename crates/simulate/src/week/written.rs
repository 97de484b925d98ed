//! What people and the logger of the week write: the plant file, the log with its additional columns, the run
//! sheet, the operators' entries.

use super::asked::{HOT, LONGEST_RUN};
use crate::dialect::{Dialect, write_csv};
use crate::error::Error;
use crate::proof::replaced;
use crate::record::Run;
use std::fmt::Write as _;

/// A line of the run sheet. Times are whole minutes on the plant's clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLine {
    /// From and to, such as `2026-03-09 05:15`.
    pub times: [String; 2],
    /// Product, lot and tank.
    pub words: [&'static str; 3],
    /// What is stated, gallons.
    pub gallons: i64,
}

/// What an operator wrote down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// When, such as `2026-03-09 05:30`.
    pub time: String,
    /// The key of its kind.
    pub kind: &'static str,
    /// The thermometer, °F, where it is a reading.
    pub reading: Option<String>,
    /// What else; never empty where it is none.
    pub note: &'static str,
    /// Whether it is what happened.
    pub is_true: bool,
}

/// Who made the entries.
pub(super) const OPERATOR: &str = "Robin Vale (invented)";

const COLUMNS: &str = "\
timing_pump = { column = \"Timing Pump\" }
booster_pump = { column = \"Booster Pump\" }
high_flow_alarm = { column = \"High Flow\" }
low_flow_alarm = { column = \"Low Flow\" }
heating_medium_pressure = { column = \"Hot Water (psi)\", unit = \"psi\" }
cooling_medium_pressure = { column = \"Chilled Water (psi)\", unit = \"psi\" }
mode_switch = { column = \"Mode Switch\" }
cleaning_return_temperature = { column = \"CIP Return (°F)\", unit = \"degF\" }
mode = {";

pub(super) fn plant_file() -> Result<String, Error> {
    let plant = replaced(crate::plant_file(), "mode = {", COLUMNS)?;
    let minutes = |milliseconds: i64| milliseconds / 60_000;
    Ok(format!(
        "{plant}\n[limits]\nhigh_flow_alarm = \"54 gal/min\"\nlow_flow_alarm = \"40 gal/min\"\n\n[cleaning]\ntemperature = \"{}\"\n\
         minimum_time = \"{} min\"\nlongest_production_run = \"{} min\"\n",
        HOT.0,
        minutes(HOT.1.milliseconds()),
        minutes(LONGEST_RUN.milliseconds())
    ))
}

/// The log: the columns of the sample plant, and behind them what stands beside the line.
pub(super) fn log(run: &Run) -> Result<String, Error> {
    let bytes = write_csv(run, &Dialect::default())?;
    let text =
        String::from_utf8(bytes).map_err(|cause| Error::Proof { missing: cause.to_string() })?;
    let heads = "Timing Pump,Booster Pump,High Flow,Low Flow,Mode Switch,CIP Return (°F),\
                 Hot Water (psi),Chilled Water (psi)"
        .to_owned();
    let rows = run.rows.iter().map(|row| {
        let beside = row.beside;
        let runs = |yes: bool| if yes { "run" } else { "stop" };
        let alarm = |on: bool| if on { "on" } else { "off" };
        let [heating, cooling] = beside.media;
        format!(
            "{},{},{},{},{},{},{heating},{cooling}",
            runs(beside.timing_pump),
            runs(beside.booster),
            alarm(beside.high_flow),
            alarm(beside.low_flow),
            if beside.by_hand { "DIVERT" } else { "AUTO" },
            beside.cleaning_return
        )
    });
    let mut log = String::with_capacity(text.len() * 5 / 4);
    for (line, more) in text.lines().zip(std::iter::once(heads).chain(rows)) {
        // Writing to a text does not fail.
        let _written = writeln!(log, "{line},{more}");
    }
    Ok(log)
}

pub(super) fn run_sheet(lines: &[SheetLine]) -> String {
    let mut text = "start,end,product,lot,tank,quantity (gal)\n".to_owned();
    for SheetLine { times: [from, to], words: [product, lot, tank], gallons } in lines {
        let _written = writeln!(text, "{from},{to},\"{product}\",{lot},{tank},{gallons}");
    }
    text
}

pub(super) fn entries(entries: &[Entry]) -> String {
    let mut text = "time,entry,reading (degF),by,note\n".to_owned();
    for Entry { time, kind, reading, note, .. } in entries {
        let reading = reading.as_deref().unwrap_or_default();
        let _written = writeln!(text, "{time},{kind},{reading},{OPERATOR},{note}");
    }
    text
}
