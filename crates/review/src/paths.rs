//! Where the files of a review lie: the journal beside the record, the signers' register beside
//! the plant file.

use std::path::{Path, PathBuf};

/// How a journal's name ends.
const JOURNAL: &str = "review.jsonl";
/// How the name of the file ends that says who is at work on a record.
const HOLD: &str = "review.hold";
/// The name of the register.
const REGISTER: &str = "signers.jsonl";

/// The files of one review.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paths {
    /// The journal.
    pub journal: PathBuf,
    /// The signers' register of the plant.
    pub register: PathBuf,
    /// Who is at work on the record.
    pub(crate) hold: PathBuf,
}

impl Paths {
    /// The files for the record whose first file is `record`; the register lies beside the plant
    /// file, or beside the record where the plant was assumed.
    pub fn of(record: &Path, plant: Option<&Path>) -> Self {
        Self {
            journal: record.with_extension(JOURNAL),
            hold: record.with_extension(HOLD),
            register: Self::register_beside(plant.unwrap_or(record)),
        }
    }

    /// The name under which the record of a journal is told when it is gone; how its file ended is not
    /// known.
    pub fn record_of(journal: &Path) -> PathBuf {
        let name = journal.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let name = name.strip_suffix(&format!(".{JOURNAL}")).unwrap_or(&name).to_owned();
        journal.with_file_name(format!("{name}.csv"))
    }

    /// The register that lies beside a file.
    pub fn register_beside(file: &Path) -> PathBuf {
        file.with_file_name(REGISTER)
    }

    /// Whether a file is a review journal, by its name.
    pub fn is_journal(file: &Path) -> bool {
        file.file_name()
            .is_some_and(|name| name.to_string_lossy().ends_with(&format!(".{JOURNAL}")))
    }
}
