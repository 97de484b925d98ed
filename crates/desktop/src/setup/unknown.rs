//! Files that nobody has told how to read.

use ::setup::Sheets;
use ingest::{Input, Progress};
use std::path::PathBuf;

/// Files that nobody has told how to read, as they were found.
pub struct Unknown {
    /// The files.
    pub files: Vec<PathBuf>,
    /// What is seen of them, logger by logger.
    pub sheets: Sheets,
    /// Why they could not be read as they are, where they could not.
    pub why: Option<String>,
}

impl Unknown {
    /// Looks at files that are to be set up.
    ///
    /// # Errors
    /// When one can't be read as a table, or their columns do not complement each other.
    pub fn look(files: &[PathBuf], why: Option<String>) -> Result<Self, ingest::Error> {
        let inputs: Vec<Input> = files.iter().cloned().map(Input::File).collect();
        let sheets = Sheets::look(&inputs, &Progress::default())?;
        Ok(Self { files: files.to_vec(), sheets, why })
    }
}
