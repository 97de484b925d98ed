//! The window; where there is no display, the same audits as text.

use crate::arguments::{RecordArguments, WindowArguments};
use crate::outcome::Outcome;
use crate::{audit, output};
use plant::Plant;
use std::error::Error;
use std::path::PathBuf;

/// Opens the window, or says why not and prints what it would have shown.
///
/// # Errors
/// When there is no display and the record can't be used, or the window fails for another reason.
pub fn run(arguments: WindowArguments) -> Result<Outcome, Box<dyn Error>> {
    let WindowArguments { paths, plant } = arguments;
    let start = desktop::Start { paths: paths.clone(), plant: plant.clone() };
    match desktop::run(start) {
        Ok(()) => Ok(Outcome::Clean),
        Err(desktop::Error::NoDisplay(cause)) => {
            output::complain(&format!("no display ({cause}); the same audit as text:"));
            let mut worst = Outcome::Clean;
            for files in records(&paths)? {
                let record = RecordArguments {
                    files,
                    plant: plant.clone(),
                    run_sheet: None,
                    operator_entries: None,
                };
                let audited = audit::read(&record)?;
                let mut text = audited.text();
                text.end();
                output::say(&text)?;
                worst = worst.max(audit::outcome(audited.audit()));
            }
            Ok(worst)
        }
        Err(error) => Err(error.into()),
    }
}

/// The records that the window would offer: every logger file of a folder is one, several files
/// named together are one.
fn records(paths: &[PathBuf]) -> Result<Vec<Vec<PathBuf>>, Box<dyn Error>> {
    match paths {
        [folder] if folder.is_dir() => {
            let days = ingest::days(folder)?;
            let plant = ingest::plant_file_beside(folder).map(|file| Plant::read(&file));
            Ok(ingest::records(days, plant.transpose()?.as_ref()))
        }
        [] => Err("nothing to open; name a logger file".into()),
        files => Ok(vec![files.to_vec()]),
    }
}
