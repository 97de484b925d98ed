//! Files that nobody has told how to read.

use ingest::sheet::Sheet;
use ingest::{Input, Progress};
use std::path::PathBuf;

/// Files that nobody has told how to read, as they were found.
pub struct Unknown {
    /// The files.
    pub files: Vec<PathBuf>,
    /// The first of them; the others have the same columns.
    pub sheet: Sheet,
    /// Why they could not be read as they are, where they could not.
    pub why: Option<String>,
}

impl Unknown {
    /// Looks at files that are to be set up.
    ///
    /// # Errors
    /// When one can't be read as a table, or their columns differ.
    pub fn look(files: &[PathBuf], why: Option<String>) -> Result<Self, ingest::Error> {
        let inputs: Vec<Input> = files.iter().cloned().map(Input::File).collect();
        let sheet = Sheet::first_of(&inputs, &Progress::default())?;
        Ok(Self { files: files.to_vec(), sheet, why })
    }
}
