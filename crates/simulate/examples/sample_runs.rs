//! Writes the demo into the folder `sample-runs/` of the workspace; with a folder, all sample runs
//! into that one.

use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (folder, files) = match std::env::args_os().nth(1) {
        Some(folder) => (PathBuf::from(folder), simulate::sample_runs()?),
        None => {
            (Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-runs"), simulate::demo()?)
        }
    };
    for (name, bytes) in files {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(path, bytes)?;
    }
    Ok(())
}
