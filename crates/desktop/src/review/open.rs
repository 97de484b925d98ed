//! Opens the review with the record, on the thread that reads it.

use crate::loading::Task;
use ::review::{Desk, Drafts, Holder, Paths, Subject};
use analysis::Audit;
use plant::Plant;
use std::path::{Path, PathBuf};
use trace::RunRecord;

/// What opening gave. A review that can't be opened keeps nobody from looking at the record.
pub struct Opened {
    /// The journal at work, or why there is none.
    pub desk: Result<Desk, String>,
    /// Torn last lines that were set aside.
    pub aside: Vec<PathBuf>,
    /// What was typed and not decided; `None` where there is no folder for it.
    pub drafts: Option<Result<Drafts, String>>,
}

/// Opens the review of a record. `config` is the user's folder, `holder` who is told to others.
pub fn open(
    task: &Task,
    (record, plant, audit): (&RunRecord, &Plant, &Audit),
    config: Option<&Path>,
    holder: String,
) -> Opened {
    let first = task.files.first().map_or(Path::new(""), PathBuf::as_path);
    let file = plant.file.as_ref().map(|file| Path::new(&file.name));
    let paths = Paths::of(first, file);
    let drafts = config
        .map(|config| Drafts::open(config, &paths.journal).map_err(|cause| cause.to_string()));
    let opened = Subject::new(record, plant, audit)
        .and_then(|subject| Desk::open(paths, subject, Holder(holder)));
    match opened {
        Ok((desk, aside)) => Opened { desk: Ok(desk), aside, drafts },
        Err(cause) => Opened { desk: Err(cause.to_string()), aside: Vec::new(), drafts },
    }
}
