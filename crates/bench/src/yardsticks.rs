//! The audit beside general-purpose engines that do the least comparable work, beside the digest that it has
//! to compute in any case, and beside one look at every byte: all in turn, several times, medians.

use crate::data;
use crate::machine::{built, described, root};
use crate::timed::{Timed, median, timed};
use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Rows of a month, one a second.
const MONTH: u64 = 30 * 86_400;

/// Days of the folder.
const DAYS: u64 = 60;

/// Rows of the records that show whether the cost is linear.
const LINE: [u64; 4] = [1_000_000, 2_000_000, 4_000_000, 8_000_000];

const BEGIN: &str = "<!-- written by bench run -->\n";
const END: &str = "<!-- to here -->\n";

/// One thing that is timed.
struct Yardstick {
    name: String,
    command: Vec<String>,
}

/// Runs all and writes the tables into docs/performance.md.
pub(crate) fn run(rounds: usize) -> Result<(), Box<dyn Error>> {
    let built = built()?;
    let place = built.join("bench-data");
    std::fs::create_dir_all(&place)?;
    let holdtrace = text(&built.join("holdtrace"));
    let audit = |file: &Path| {
        let plant = text(&file.with_extension("plant.toml"));
        words(&[&holdtrace, "audit", &text(file), "--plant", &plant, "--format", "json"])
    };
    let month = long(&place, MONTH)?;
    let mut yardsticks =
        vec![Yardstick { name: "`holdtrace audit`".to_owned(), command: audit(&month) }];
    yardsticks.extend(engines(&[text(&month)]));
    yardsticks.extend(looks(&text(&month)));
    let mut shown = format!(
        "{} {rounds} rounds in turn, medians; build of `cargo build`.\n\n### A month in one file\n\n{}",
        described(),
        table(&yardsticks, rounds)?
    );

    let folder = place.join("days");
    if !folder.exists() {
        data::folder(&folder, DAYS, 1000)?;
    }
    let mut files: Vec<String> = std::fs::read_dir(&folder)?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "csv"))
        .map(|path| text(&path))
        .collect();
    files.sort();
    let days = words(&[&holdtrace, "days", &text(&folder), "--format", "json", "--read-again"]);
    let mut yardsticks =
        vec![Yardstick { name: "`holdtrace days`".to_owned(), command: days.clone() }];
    let one_core: Vec<String> = words(&["taskset", "-c", "0"]).into_iter().chain(days).collect();
    yardsticks.push(Yardstick { name: "the same on one core".to_owned(), command: one_core });
    yardsticks.extend(engines(&files));
    write!(shown, "\n### {} days in a file each\n\n{}", files.len(), table(&yardsticks, rounds)?)?;

    shown += "\n### Rows\n\n| rows | seconds | nanoseconds a row |\n|---|---|---|\n";
    for rows in LINE {
        let file = long(&place, rows)?;
        let runs: Result<Vec<Timed>, _> = (0..rounds).map(|_| timed(&audit(&file))).collect();
        let Some(run) = median(runs?) else { continue };
        let each = run.seconds * 1e9 / rows as f64;
        writeln!(shown, "| {rows} | {:.2} | {each:.0} |", run.seconds)?;
    }
    keep(&shown)
}

fn text(path: &Path) -> String {
    path.display().to_string()
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(ToString::to_string).collect()
}

/// A record of so many rows, one a second; made once.
fn long(place: &Path, rows: u64) -> Result<PathBuf, Box<dyn Error>> {
    let path = place.join(format!("{rows}.csv"));
    if !path.exists() {
        data::file(&path, rows, 1000)?;
    }
    Ok(path)
}

/// The engines that are installed for `BENCH_PYTHON`, or else for `python3`.
fn engines(files: &[String]) -> Vec<Yardstick> {
    let python = std::env::var("BENCH_PYTHON").unwrap_or_else(|_unset| "python3".to_owned());
    let script = text(&root().join("crates/bench/engines.py"));
    let is_installed = |name: &&str| {
        let mut asked = Command::new(&python);
        let asked = asked.args([&script, *name]).stdout(Stdio::null()).stderr(Stdio::null());
        asked.status().is_ok_and(|status| status.success())
    };
    let engine = |name: &str| {
        let mut command = words(&[&python, &script, name]);
        command.extend_from_slice(files);
        Yardstick { name: name.to_owned(), command }
    };
    ["polars", "duckdb", "pandas"].into_iter().filter(is_installed).map(engine).collect()
}

/// The digest of the file, and one look at every byte.
fn looks(file: &str) -> [Yardstick; 2] {
    [
        ("`openssl dgst -sha256`", words(&["openssl", "dgst", "-sha256", file])),
        ("`wc -l`", words(&["wc", "-l", file])),
    ]
    .map(|(name, command)| Yardstick { name: name.to_owned(), command })
}

/// The medians, and how they compare with the first.
fn table(yardsticks: &[Yardstick], rounds: usize) -> Result<String, Box<dyn Error>> {
    let mut runs = vec![Vec::new(); yardsticks.len()];
    for _ in 0..rounds {
        for (runs, yardstick) in runs.iter_mut().zip(yardsticks) {
            runs.push(timed(&yardstick.command)?);
        }
    }
    let medians: Vec<Timed> = runs.into_iter().filter_map(median).collect();
    let own = medians.first().map_or(1.0, |run| run.seconds);
    let mut table =
        "| what | seconds | times the first | most memory |\n|---|---|---|---|\n".to_owned();
    for (yardstick, run) in yardsticks.iter().zip(&medians) {
        writeln!(
            table,
            "| {} | {:.2} | {:.2} | {} MB |",
            yardstick.name,
            run.seconds,
            run.seconds / own,
            run.most_kilobytes / 1000
        )?;
    }
    Ok(table)
}

/// Puts the tables where those before them stand.
#[expect(clippy::print_stdout, reason = "the figures are what this program is for")]
fn keep(shown: &str) -> Result<(), Box<dyn Error>> {
    println!("{shown}");
    let page = root().join("docs/performance.md");
    let before = std::fs::read_to_string(&page)?;
    let (head, rest) =
        before.split_once(BEGIN).ok_or("docs/performance.md has no place for them")?;
    let (_, tail) = rest.split_once(END).ok_or("docs/performance.md has no end of their place")?;
    std::fs::write(page, [head, BEGIN, shown, END, tail].concat())?;
    Ok(())
}
