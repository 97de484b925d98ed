//! What the figures were measured on, and with.

use std::path::{Path, PathBuf};

/// The folder of the project.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Where the builds of the project lie: beside this program.
pub(crate) fn built() -> Result<PathBuf, std::io::Error> {
    let own = std::env::current_exe()?;
    Ok(own.parent().unwrap_or(Path::new(".")).to_owned())
}

/// Processor, cores and memory in a sentence, as far as the system tells.
pub(crate) fn described() -> String {
    let first = |file: &str, key: &str| {
        let text = std::fs::read_to_string(file).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix(key).map(str::to_owned));
        line.map(|line| line.trim_start_matches(['\t', ' ', ':']).to_owned())
    };
    let processor = first("/proc/cpuinfo", "model name").unwrap_or_else(|| "unknown".to_owned());
    let memory = first("/proc/meminfo", "MemTotal").unwrap_or_else(|| "unknown".to_owned());
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    format!("Processor {processor}, {cores} cores, memory {memory}, {}.", std::env::consts::OS)
}
