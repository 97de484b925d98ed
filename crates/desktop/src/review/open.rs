//! Opens the review with the record, on the thread that reads it.

use crate::loading::Task;
use ::review::{Desk, Holder, Paths, Subject};
use analysis::Audit;
use archive::Trust;
use plant::Plant;
use std::path::{Path, PathBuf};
use trace::RunRecord;

/// What opening gave. A review that can't be opened keeps nobody from looking at the record.
pub struct Opened {
    /// The journal at work, or why there is none.
    pub desk: Result<Desk, String>,
    /// Torn last lines, in sentences.
    pub torn: Vec<String>,
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
    (config, holder): (Option<PathBuf>, String),
    trust: &Trust,
) -> Opened {
    let first = task.files.first().map_or(Path::new(""), PathBuf::as_path);
    let file = plant.file.as_ref().map(|file| Path::new(&file.name));
    let paths = Paths::of(first, file);
    let journal = paths.journal.clone();
    let books = trust.books(&paths.register, file);
    let opened = Subject::new(record, plant, audit)
        .and_then(|subject| Desk::open(paths, books, subject, Holder(holder), trust.now()));
    let (desk, torn) = match opened {
        Ok((desk, torn)) => {
            let torn = torn.map(|torn| torn.to_string()).into_iter();
            let torn = torn.chain(desk.books().torn.clone()).collect();
            (Ok(desk), torn)
        }
        Err(cause) => (Err(cause.to_string()), Vec::new()),
    };
    Opened { desk, torn, config, journal }
}
