//! Writes a long record, and beside it the plant file that reads it: path, rows, and the interval
//! in milliseconds.

use simulate::{BENCH_COLUMNS, bench_csv, bench_plant_file};
use std::fs::File;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let usage = "give a path, a number of rows and an interval in milliseconds";
    let mut arguments = std::env::args_os().skip(1);
    let path = PathBuf::from(arguments.next().ok_or(usage)?);
    let mut number = || -> Result<u64, Box<dyn std::error::Error>> {
        let text = arguments.next().ok_or(usage)?;
        Ok(text.to_str().ok_or(usage)?.parse()?)
    };
    let (rows, interval_ms) = (number()?, number()?);
    bench_csv(&mut File::create(&path)?, rows, i64::try_from(interval_ms)?, &BENCH_COLUMNS)?;
    std::fs::write(path.with_extension("plant.toml"), bench_plant_file(&BENCH_COLUMNS))?;
    Ok(())
}
