//! Opens the review with the record, on the thread that reads it.

use super::seen::Seen;
use crate::task::Task;
use ::review::{Desk, Holder, Paths, Stage, Subject};
use archive::Trust;
use case::Case;
use std::path::{Path, PathBuf};

/// What opening gave. A review that can't be opened keeps nobody from looking at the record.
pub struct Opened {
    /// The journal at work with what is shown of it, or why there is none, and how far the review is.
    pub desk: Result<(Desk, Box<Seen>), (String, Stage)>,
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
    case: &Case,
    (config, holder): (Option<PathBuf>, String),
    trust: &Trust,
) -> Opened {
    let first = task.files.first().map_or(Path::new(""), PathBuf::as_path);
    let file = case.plant().file.as_ref().map(|file| Path::new(&file.name));
    let paths = Paths::of(first, file);
    let journal = paths.journal.clone();
    let books = {
        let (trust, register) = (trust.clone(), paths.register.clone());
        let file = file.map(Path::to_owned);
        move || trust.books(&register, file.as_deref())
    };
    let holder = Holder(holder);
    let opened = Subject::new(case).map(|subject| {
        let fresh = subject.clone();
        let opened = Desk::open(paths.clone(), books, subject, holder, trust.now());
        opened.map_err(|cause| (cause, stage_of(&paths, file, &fresh, trust)))
    });
    let (desk, torn) = match opened {
        Ok(Ok((desk, torn))) => {
            let torn = torn.map(|torn| torn.to_string()).into_iter();
            let torn = torn.chain(desk.books().torn.clone()).collect();
            let seen = Box::new(Seen::of(&desk, trust.now()));
            (Ok((desk, seen)), torn)
        }
        Ok(Err((cause, stage))) => (Err((cause.to_string(), stage)), Vec::new()),
        Err(cause) => (Err((cause.to_string(), Stage::Unread)), Vec::new()),
    };
    Opened { desk, torn, config, journal }
}

/// How far a review is that can't be opened: as the register of days has it.
fn stage_of(paths: &Paths, plant: Option<&Path>, fresh: &Subject, trust: &Trust) -> Stage {
    let reviewed = archive::read_review((paths, plant), fresh, None, trust);
    reviewed.map_or(Stage::ChangedSinceSigning, |reviewed| reviewed.stage)
}
