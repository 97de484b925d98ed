//! The instructions of an audit, which do not depend on what else the machine does: counted by valgrind and
//! compared with those kept in the repository.

use crate::data;
use crate::machine::{built, root};
use std::error::Error;
use std::process::Command;

/// A day, one row a second.
const ROWS: u64 = 86_400;

/// So many in a hundred more than kept are a loss that is told; so many fewer a gain that should be kept.
const MOST_MORE: u64 = 5;

/// Counts, and compares or keeps.
#[expect(clippy::print_stdout, reason = "the count is what this command is for")]
pub(crate) fn check(keep: bool) -> Result<(), Box<dyn Error>> {
    let built = built()?;
    let day = built.join("bench-day.csv");
    data::file(&day, ROWS, 1000)?;
    let plant = day.with_extension("plant.toml");
    let output = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(built.join("holdtrace"))
        .arg("audit")
        .arg(&day)
        .arg("--plant")
        .arg(&plant)
        .args(["--format", "json"])
        .output()
        .map_err(|error| format!("valgrind: {error}"))?;
    let told = String::from_utf8_lossy(&output.stderr);
    let counted = told.lines().find_map(|line| line.split_once("Collected : "));
    let counted: u64 = counted
        .and_then(|(_, count)| count.trim().parse().ok())
        .ok_or_else(|| format!("valgrind counted nothing:\n{told}"))?;
    let file = root().join("crates/bench/instructions.txt");
    if keep {
        std::fs::write(&file, format!("{counted}\n"))?;
        println!("{counted} instructions kept");
        return Ok(());
    }
    let kept: u64 = std::fs::read_to_string(&file)?.trim().parse()?;
    println!("{counted} instructions for the audit of a day, {kept} kept");
    if counted * 100 > kept * (100 + MOST_MORE) {
        return Err(format!(
            "the audit takes over {MOST_MORE} % more instructions than before; where it has to, run \
             `bench instructions --keep` and say why"
        )
        .into());
    }
    if counted * (100 + MOST_MORE) < kept * 100 {
        println!("fewer than before: run `bench instructions --keep`");
    }
    Ok(())
}
