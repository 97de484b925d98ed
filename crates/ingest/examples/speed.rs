//! How fast files are read: `cargo run --release -p ingest --example speed -- 30` writes a file of
//! that many days to the temporary directory, one row a second and eight columns, and reads it
//! three times. With the path of a file it reads that file.

use ingest::{Input, Progress, read};
use plant::Plant;
use std::fmt::Write as _;
use std::io::{BufWriter, Write as _};
use std::time::Instant;

#[expect(clippy::print_stdout, reason = "the figures are what this example is for")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let argument = std::env::args().nth(1).unwrap_or_else(|| "1".to_owned());
    let path = match argument.parse::<u32>() {
        Ok(days) => {
            let path = std::env::temp_dir().join(format!("holdtrace-speed-{days}.csv"));
            if !path.exists() {
                write(&path, days)?;
            }
            path
        }
        Err(_not_a_number) => argument.into(),
    };
    let bytes = std::fs::metadata(&path)?.len();
    for _ in 0..3 {
        let start = Instant::now();
        let ingested = read(&[Input::File(path.clone())], &Plant::assumed(), &Progress::default())?;
        let seconds = start.elapsed().as_secs_f64();
        println!(
            "{} samples, {} observations, {:.3} s, {:.0} MB/s, peak {}",
            ingested.record.samples(),
            ingested.observations.len(),
            seconds,
            bytes as f64 / seconds / 1e6,
            peak_memory()
        );
    }
    Ok(())
}

fn write(path: &std::path::Path, days: u32) -> std::io::Result<()> {
    let mut file = BufWriter::new(std::fs::File::create(path)?);
    writeln!(
        file,
        "Timestamp,FDV,Hold Temp (°F),Recorder Temp (°F),Raw psi,Past psi,Flow (gal/min),Product"
    )?;
    let mut row = String::new();
    for second in 0..days * 86_400 {
        let (day, time) = (second / 86_400, second % 86_400);
        row.clear();
        // Readings that wander, so that digits change as they do in a dairy.
        let wander = second.wrapping_mul(2_654_435_761) >> 24;
        write!(
            row,
            "2026-03-{:02} {:02}:{:02}:{:02},{},{}.{},{}.{},{}.{},{}.{},{}.{},whole milk",
            day % 31 + 1,
            time / 3600,
            time / 60 % 60,
            time % 60,
            if wander < 250 { "FWD" } else { "DIV" },
            162,
            wander % 10,
            161,
            wander / 7 % 10,
            24,
            wander / 3 % 10,
            28,
            wander / 5 % 10,
            26,
            wander / 11 % 10,
        )
        .map_err(std::io::Error::other)?;
        writeln!(file, "{row}")?;
    }
    file.flush()
}

/// The most memory that this process held, where the system tells.
fn peak_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.map_or("unknown".to_owned(), |peak| peak.trim().to_owned())
}
