//! From the start of a process to the first full frame of a record, and the memory that it takes.
//!
//! `cargo bench -p desktop --bench start --profile dev` in the build that `cargo run` uses, without
//! `--profile dev` in the release build. Each round starts this program anew as a child, which
//! opens the record as the window does, draws until the verdict and all plots are in a frame,
//! tessellates that frame and says so; the parent's clock runs from before the child was started
//! until it has heard so. What is missing is the card: no window, no set-up of a GPU. Of the time
//! that the child was ready and waited for a core a thread can only tell its own; `taskset` and
//! `nice` keep it small on a shared machine.
//!
//! Memory is that of Linux (`/proc/self/status`) after the first full frame: what the process has for
//! itself (`RssAnon`), all that is resident with the pages of the program's file that were touched
//! (`VmRSS`), and the greatest of the latter while the record was read (`VmHWM`). The columns are 8
//! bytes an instant and a reading, 1 a valve position, 4 a word; the same child without a record
//! tells what fonts and the rest of the window take. The bench fails where the median start of the
//! 1 Hz day is above its target, or where the process has more for itself, beyond the empty window,
//! than its multiple of the columns: pages of the program's file are the same for every record, and
//! the system drops them when it needs room.

use desktop::{App, Start, Surroundings};
use egui::{Context, RawInput, Rect, pos2, vec2};
use std::error::Error;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use trace::Role;

/// At most this from the start to the first full frame of a day at 1 Hz, in milliseconds.
const TARGET_MS: f64 = 300.0;
/// At most this many times the columns.
const TARGET_MEMORY: f64 = 2.5;
const ROUNDS: usize = 15;
/// The argument that makes this program the child.
const CHILD: &str = "first-frame-of";

/// Nine of readings, the valve, product and lot.
const TWELVE: [Role; 12] = [
    Role::Valve,
    Role::HoldingTemperature,
    Role::RecorderTemperature,
    Role::RawPressure,
    Role::PasteurizedPressure,
    Role::FlowRate,
    Role::RawTemperature,
    Role::RegeneratedTemperature,
    Role::HeatingWaterTemperature,
    Role::CooledTemperature,
    Role::Product,
    Role::Lot,
];

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    if arguments.next().as_deref() == Some(CHILD) {
        return child(arguments.next().map(PathBuf::from));
    }
    parent()
}

#[expect(clippy::print_stdout, reason = "the figures are what a bench is for")]
fn parent() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let mut failed = Vec::new();
    let empty = start(None)?;
    println!(
        "no record: {:.0} ms; {:.1} MB of its own, {:.1} MB resident",
        ms(empty.time),
        mb(empty.own),
        mb(empty.after)
    );
    for (name, rows, step_ms, columns, rounds) in [
        ("day at 1 Hz, 7 channels", 86_400_u64, 1000, &simulate::BENCH_COLUMNS[..], ROUNDS),
        ("day at 10 Hz, 12 channels", 864_000, 100, &TWELVE[..], 3),
        ("week at 10 Hz, 12 channels", 6_048_000, 100, &TWELVE[..], 1),
    ] {
        let record = write(folder.path(), rows, step_ms, columns)?;
        let mut starts =
            (0..rounds).map(|_| start(Some(&record))).collect::<Result<Vec<_>, _>>()?;
        starts.sort_by_key(|start| start.time);
        let (least, middle) = (starts[0], starts[starts.len() / 2]);
        let held = rows as f64 * columns.iter().map(|&role| bytes(role)).sum::<f64>();
        let times =
            |kilobytes: u64, empty: u64| (kilobytes.saturating_sub(empty) * 1024) as f64 / held;
        let own = times(middle.own, empty.own);
        println!(
            "{name}: {rows} rows; start to first full frame, {rounds} times: least {:.0} ms, median \
             {:.0} ms; columns {:.1} MB; of its own after the frame {:.1} MB, {own:.2} times the \
             columns beyond the empty window; resident {:.1} MB, {:.2} times; at its greatest \
             {:.1} MB",
            ms(least.time),
            ms(middle.time),
            held / 1e6,
            mb(middle.own),
            mb(middle.after),
            times(middle.after, empty.after),
            mb(middle.greatest),
        );
        if rows == 86_400 && ms(middle.time) > TARGET_MS {
            failed.push(format!("{name}: start"));
        }
        if own > TARGET_MEMORY {
            failed.push(format!("{name}: memory"));
        }
        std::fs::remove_file(&record)?;
    }
    if failed.is_empty() { Ok(()) } else { Err(format!("above the target: {failed:?}").into()) }
}

/// What a sample takes in the column of a role; the valve's comes with the instant.
fn bytes(role: Role) -> f64 {
    match role {
        Role::Valve => 8.0 + 1.0,
        Role::Product | Role::Lot => 4.0,
        // The record keeps the differential of the two pressures as a column of its own.
        Role::RawPressure => 2.0 * 8.0,
        _ => 8.0,
    }
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn mb(kilobytes: u64) -> f64 {
    kilobytes as f64 * 1024.0 / 1e6
}

fn write(
    folder: &Path,
    rows: u64,
    step_ms: i64,
    columns: &[Role],
) -> Result<PathBuf, Box<dyn Error>> {
    std::fs::write(folder.join("plant.toml"), simulate::bench_plant_file(columns))?;
    let path = folder.join("record.csv");
    let mut file = std::io::BufWriter::new(std::fs::File::create(&path)?);
    simulate::bench_csv(&mut file, rows, step_ms, columns)?;
    file.flush()?;
    Ok(path)
}

/// What a child told.
#[derive(Debug, Clone, Copy)]
struct Started {
    time: Duration,
    /// Kilobytes that the process has for itself after the first full frame.
    own: u64,
    /// Kilobytes that are resident then.
    after: u64,
    /// Kilobytes that were resident at the most.
    greatest: u64,
}

fn start(record: Option<&Path>) -> Result<Started, Box<dyn Error>> {
    let mut command = Command::new(std::env::current_exe()?);
    command.arg(CHILD).args(record).stdout(Stdio::piped());
    let begin = Instant::now();
    let mut child = command.spawn()?;
    let output = child.stdout.take().ok_or("the child has no output")?;
    let mut line = String::new();
    BufReader::new(output).read_line(&mut line)?;
    let time = begin.elapsed();
    if !child.wait()?.success() {
        return Err("the child failed".into());
    }
    let figures = line.split_whitespace().map(str::parse).collect::<Result<Vec<u64>, _>>()?;
    let [own, after, greatest] = figures[..] else {
        return Err(format!("the child said {line:?}").into());
    };
    Ok(Started { time, own, after, greatest })
}

/// Opens the record, draws its first full frame, and says what memory it took.
#[expect(clippy::print_stdout, reason = "the parent listens")]
fn child(record: Option<PathBuf>) -> Result<(), Box<dyn Error>> {
    let context = Context::default();
    let wanted = record.is_some();
    let start = Start { paths: record.into_iter().collect(), plant: None };
    let mut app = App::new(&context, start, Surroundings::default());
    let mut frame = || {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), vec2(1280.0, 800.0))),
            focused: true,
            ..RawInput::default()
        };
        let mut output = context.run_ui(input, |ui| app.ui(ui));
        let shapes = std::mem::take(&mut output.shapes);
        let meshes = context.tessellate(shapes, output.pixels_per_point);
        output.drop_without_applying_deltas();
        (meshes.len(), app.verdict().is_some())
    };
    let (mut meshes, mut is_full) = frame();
    while is_full != wanted {
        // The window would draw again when the reader says that it is done.
        std::thread::sleep(Duration::from_millis(1));
        (meshes, is_full) = frame();
    }
    if meshes < 2 {
        return Err("nothing was drawn".into());
    }
    let [own, after, greatest] = ["RssAnon:", "VmRSS:", "VmHWM:"].map(resident);
    println!("{} {} {}", own?, after?, greatest?);
    std::io::stdout().flush()?;
    Ok(())
}

/// A figure of this process's memory, in kilobytes.
fn resident(name: &str) -> Result<u64, Box<dyn Error>> {
    let text = std::fs::read_to_string("/proc/self/status")?;
    let line = text.lines().find_map(|line| line.strip_prefix(name)).ok_or("no such figure")?;
    Ok(line.trim().trim_end_matches("kB").trim().parse()?)
}
