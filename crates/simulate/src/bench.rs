//! Long, plausible records for measuring how fast files are read and audited.
//!
//! The full model would take minutes for a month; this is a walk of a few integers, written as it
//! goes. There is no truth beside it.

use crate::error::Error;
use crate::noise::Noise;
use crate::record::{COLUMNS, Column, TIME_HEADER};
use plant::Zone;
use std::io::Write;
use trace::{Instant, Role};

/// The columns of a benchmark record if nothing else is asked: with the stamp, eight columns and
/// about 62 bytes a row.
pub const BENCH_COLUMNS: [Role; 7] = [
    Role::Valve,
    Role::HoldingTemperature,
    Role::RecorderTemperature,
    Role::RawPressure,
    Role::PasteurizedPressure,
    Role::FlowRate,
    Role::Product,
];

/// The sample plant's file with no more than the given columns bound.
pub fn bench_plant_file(columns: &[Role]) -> String {
    let dropped = |line: &str| {
        COLUMNS.iter().any(|column| {
            !columns.contains(&column.role)
                && line.strip_prefix(column.role.key()).is_some_and(|rest| rest.starts_with(" = {"))
        })
    };
    let kept: Vec<&str> = crate::plant_file().lines().filter(|line| !dropped(line)).collect();
    kept.join("\n") + "\n"
}

/// 2026-04-01 00:00:00 in America/Chicago.
const START_UNIX_MS: i64 = 1_775_019_600_000;
const HOUR_MS: i64 = 3_600_000;
const DAY_MS: i64 = 24 * HOUR_MS;

/// Writes a record of `rows` rows, one every `interval_ms`, with the given columns behind the
/// stamp, in the sample plant's words; local ISO stamps, commas, UTF-8.
///
/// Each day runs for twenty hours and is diverted for four, and has one short dip below the
/// limit. Give a writer that buffers little; whole blocks are handed over.
///
/// # Errors
/// When the writer fails, or a column is not one of the sample plant's.
pub fn bench_csv(
    out: &mut impl Write,
    rows: u64,
    interval_ms: i64,
    columns: &[Role],
) -> Result<(), Error> {
    const BLOCK: usize = 1 << 16;
    let columns: Vec<Column> = columns
        .iter()
        .map(|role| {
            COLUMNS
                .into_iter()
                .find(|column| column.role == *role)
                .ok_or(Error::BenchColumn { role: role.key() })
        })
        .collect::<Result<_, _>>()?;
    let zone = crate::sample_plant()?.zone;
    let mut block = Vec::with_capacity(BLOCK + 1024);
    block.extend_from_slice(TIME_HEADER.as_bytes());
    for column in &columns {
        block.push(b',');
        block.extend_from_slice(column.header.as_bytes());
    }
    block.push(b'\n');

    let mut clock = Clock { zone, hour: i64::MIN, offset_ms: 0, day: i64::MIN, date: [0; 10] };
    let mut walk = Walk { noise: Noise::new(1, 1), drift: 0 };
    for row in 0..rows as i64 {
        let unix_ms = START_UNIX_MS + row * interval_ms;
        clock.write(&mut block, unix_ms);
        let sample = walk.sample((row * interval_ms).rem_euclid(DAY_MS));
        for column in &columns {
            block.push(b',');
            sample.write(&mut block, column.role);
        }
        block.push(b'\n');
        if block.len() >= BLOCK {
            out.write_all(&block)?;
            block.clear();
        }
    }
    out.write_all(&block)?;
    out.flush()?;
    Ok(())
}

/// Local stamps without asking the zone more than once an hour.
struct Clock {
    zone: Zone,
    hour: i64,
    offset_ms: i64,
    day: i64,
    date: [u8; 10],
}

impl Clock {
    fn write(&mut self, block: &mut Vec<u8>, unix_ms: i64) {
        let hour = unix_ms.div_euclid(HOUR_MS);
        if hour != self.hour {
            self.hour = hour;
            let local = self.zone.local(Instant::from_unix_milliseconds(unix_ms)).naive_local();
            self.offset_ms = local.and_utc().timestamp_millis() - unix_ms;
            let day = local.and_utc().timestamp_millis().div_euclid(DAY_MS);
            if day != self.day {
                self.day = day;
                for (place, byte) in
                    self.date.iter_mut().zip(local.format("%Y-%m-%d").to_string().bytes())
                {
                    *place = byte;
                }
            }
        }
        let of_day = (unix_ms + self.offset_ms).rem_euclid(DAY_MS);
        block.extend_from_slice(&self.date);
        block.push(b' ');
        two(block, of_day / HOUR_MS);
        block.push(b':');
        two(block, of_day / 60_000 % 60);
        block.push(b':');
        two(block, of_day / 1000 % 60);
        let thousandths = of_day % 1000;
        if thousandths != 0 {
            block.push(b'.');
            block.push(b'0' + (thousandths / 100) as u8);
            two(block, thousandths % 100);
        }
    }
}

fn two(block: &mut Vec<u8>, number: i64) {
    block.push(b'0' + (number / 10) as u8);
    block.push(b'0' + (number % 10) as u8);
}

/// Tenths of a unit as a decimal with one digit.
fn tenths(block: &mut Vec<u8>, mut number: i64) {
    if number < 0 {
        block.push(b'-');
        number = -number;
    }
    let whole = number / 10;
    if whole >= 100 {
        block.push(b'0' + (whole / 100) as u8);
    }
    if whole >= 10 {
        block.push(b'0' + (whole / 10 % 10) as u8);
    }
    block.push(b'0' + (whole % 10) as u8);
    block.push(b'.');
    block.push(b'0' + (number % 10) as u8);
}

struct Walk {
    noise: Noise,
    drift: i64,
}

/// One row; readings in tenths.
struct Sample {
    running: bool,
    holding: i64,
    jitter: [i64; 8],
}

impl Walk {
    fn sample(&mut self, of_day_ms: i64) -> Sample {
        let bits = self.noise.next();
        // −1, 0 or 1 for each channel, and now and then a step of the slow drift.
        let jitter = std::array::from_fn(|index| ((bits >> (8 * index)) & 3) as i64 % 3 - 1);
        if bits >> 58 == 0 {
            self.drift = (self.drift + if bits & 4 == 0 { 1 } else { -1 }).clamp(-3, 3);
        }
        let seconds = of_day_ms / 1000;
        // Diverted in the first and the last two hours of each day.
        let running = (2..22).contains(&(seconds / 3600));
        // Once a day, from 10:00:00, a dip of 80 s down to 159.8 °F, held forward.
        let into_dip = seconds - 10 * 3600;
        let dip = if (0..80).contains(&into_dip) { into_dip.min(80 - into_dip) } else { 0 };
        let holding = if running { 1638 - dip } else { 1450 };
        Sample { running, holding: holding + self.drift, jitter }
    }
}

impl Sample {
    fn write(&self, block: &mut Vec<u8>, role: Role) {
        let running = |on: i64, off: i64| if self.running { on } else { off };
        let [holding, recorder, raw_pressure, pasteurized, flow, raw, regenerated, other] =
            self.jitter;
        match role {
            Role::Valve => block.extend_from_slice(if self.running { b"FWD" } else { b"DIV" }),
            Role::HoldingTemperature => tenths(block, self.holding + holding),
            Role::RecorderTemperature => tenths(block, self.holding - 5 + recorder),
            Role::RawPressure => tenths(block, running(123, -27) + raw_pressure),
            Role::PasteurizedPressure => tenths(block, running(212, 36) + pasteurized),
            Role::FlowRate => tenths(block, 500 + flow),
            Role::RawTemperature => tenths(block, running(376, 1380) + raw),
            Role::RegeneratedTemperature => tenths(block, running(1510, 1380) + regenerated),
            Role::HeatingWaterTemperature => tenths(block, running(1675, 1500) + other),
            Role::CooledTemperature => tenths(block, 352 + other),
            Role::Product => block.extend_from_slice(b"whole milk"),
            Role::Lot => block.extend_from_slice(b"0401-A"),
            Role::Mode => block.extend_from_slice(b"run"),
            // Not among the sample plant's columns, so never asked for.
            Role::ValveForward
            | Role::ValveDivert
            | Role::DifferentialPressure
            | Role::TimingPump
            | Role::BoosterPump
            | Role::HighFlowAlarm
            | Role::LowFlowAlarm
            | Role::ModeSwitch
            | Role::HeatingMediumPressure
            | Role::CoolingMediumPressure
            | Role::CleaningReturnTemperature
            | Role::LeakDetect => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(rows: u64, interval_ms: i64) -> String {
        let mut bytes = Vec::new();
        let written = bench_csv(&mut bytes, rows, interval_ms, &BENCH_COLUMNS);
        assert!(written.is_ok(), "{written:?}");
        String::from_utf8(bytes).unwrap_or_default()
    }

    #[test]
    fn rows_have_all_cells_and_stamps_go_on() {
        let text = text(200_000, 500);
        let mut lines = text.lines();
        assert_eq!(lines.next().map(|header| header.split(',').count()), Some(8));
        assert!(lines.clone().all(|line| line.split(',').count() == 8));
        assert!(lines.next().is_some_and(|line| line.starts_with("2026-04-01 00:00:00,DIV,")));
        assert!(lines.next().is_some_and(|line| line.starts_with("2026-04-01 00:00:00.500,")));
        let last = text.lines().last().unwrap_or_default();
        assert!(last.starts_with("2026-04-02 03:46:39.500,"), "{last}");
        assert_eq!(text.lines().count(), 200_001);
    }

    #[test]
    fn the_stamps_are_those_of_the_zone() {
        // 250 days reach across the end of summer time.
        let text = text(250 * 24 * 2, HOUR_MS / 2);
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a known zone") };
        for (row, line) in text.lines().skip(1).enumerate() {
            let instant = Instant::from_unix_milliseconds(START_UNIX_MS + row as i64 * HOUR_MS / 2);
            let stamp = zone.local(instant).format("%Y-%m-%d %H:%M:%S,").to_string();
            assert!(line.starts_with(&stamp), "{line} is not at {stamp}");
        }
    }

    #[test]
    fn the_plant_file_binds_the_columns_that_are_there() {
        let plant = plant::Plant::parse("plant.toml", &bench_plant_file(&BENCH_COLUMNS));
        let bound = plant.map(|plant| plant.columns.roles.into_keys().collect::<Vec<_>>());
        let mut expected = BENCH_COLUMNS.to_vec();
        expected.sort_unstable();
        assert_eq!(bound.ok(), Some(expected));
    }

    #[test]
    fn a_column_that_no_benchmark_has_is_refused() {
        let written = bench_csv(&mut Vec::new(), 1, 1000, &[Role::LeakDetect]);
        assert!(written.is_err_and(|error| error.to_string().contains("leak_detect")));
    }
}
