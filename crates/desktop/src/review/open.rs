//! Opens the review with the record, on the thread that reads it.

use crate::loading::Task;
use ::review::{Desk, Holder, Paths, Subject};
use analysis::Audit;
use journal::Torn;
use plant::Plant;
use std::path::{Path, PathBuf};
use trace::RunRecord;

/// What opening gave. A review that can't be opened keeps nobody from looking at the record.
pub struct Opened {
    /// The journal at work, or why there is none.
    pub desk: Result<Desk, String>,
    /// Torn last lines of journal and register.
    pub torn: Vec<Torn>,
    /// The user's folder, where drafts lie; `None` where there is none.
    pub config: Option<PathBuf>,
    /// The journal's file, which names the drafts.
    pub journal: PathBuf,
}

/// Opens the review of a record. `config` is the user's folder, `holder` who is told to others.
///
/// The drafts are opened later, once what is typed about the record that was open is kept.
pub fn open(
    task: &Task,
    (record, plant, audit): (&RunRecord, &Plant, &Audit),
    config: Option<PathBuf>,
    holder: String,
) -> Opened {
    let first = task.files.first().map_or(Path::new(""), PathBuf::as_path);
    let file = plant.file.as_ref().map(|file| Path::new(&file.name));
    let paths = Paths::of(first, file);
    let journal = paths.journal.clone();
    let opened = Subject::new(record, plant, audit)
        .and_then(|subject| Desk::open(paths, subject, Holder(holder)));
    let (desk, torn) = match opened {
        Ok((desk, torn)) => (Ok(desk), torn),
        Err(cause) => (Err(cause.to_string()), Vec::new()),
    };
    Opened { desk, torn, config, journal }
}
