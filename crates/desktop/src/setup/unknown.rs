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
    pub fn look(files: &[PathBuf], why: Option<String>) -> Result<Self, String> {
        let progress = Progress::default();
        let mut sheets = Vec::new();
        for file in files {
            let sheet = Sheet::read(&Input::File(file.clone()), &progress);
            sheets.push(sheet.map_err(|cause| cause.to_string())?);
        }
        let names = |sheet: &Sheet| -> Vec<String> {
            sheet.columns.iter().map(|column| column.name.clone()).collect()
        };
        let mut sheets = sheets.into_iter();
        let sheet = sheets.next().ok_or("No file was given.")?;
        match sheets.find(|other| names(other) != names(&sheet)) {
            Some(other) => Err(format!(
                "The columns of {} are not those of {}; open each by itself.",
                other.file, sheet.file
            )),
            None => Ok(Self { files: files.to_vec(), sheet, why }),
        }
    }
}
