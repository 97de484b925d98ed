//! The system's dialogs to choose files, which must not hold up the window.

use crate::job::{Job, Progress};
use crate::register::format::RangeFormat;
use std::path::PathBuf;

/// The file that is suggested for a summary.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// The folder of the record. A table that lies there is taken for another day of the record,
    /// so one is suggested for the other formats only.
    pub folder: Option<PathBuf>,
    /// The file's name.
    pub name: String,
    /// How the name ends.
    pub extension: &'static str,
}

/// What a dialog is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// The files of one record.
    Files,
    /// A folder of days.
    Folder,
    /// A plant file.
    Plant,
    /// A file that shows why a hold can be ended, by the hold's name.
    Evidence(String),
    /// Somebody's public key.
    PublicKey,
    /// Where a summary is saved.
    Summary(Suggestion),
    /// Where the summary of a range goes, and what its file is called.
    Range(RangeFormat, String),
}

/// The dialog that is open, if one is.
#[derive(Default)]
pub struct Dialogs {
    open: Option<(Purpose, Job<Vec<PathBuf>>)>,
}

impl Dialogs {
    /// Opens a dialog unless one is open.
    pub fn open(&mut self, purpose: Purpose, context: &egui::Context) {
        if self.open.is_some() {
            return;
        }
        let asked = purpose.clone();
        let ask = move || ask(&asked);
        // The system's dialogs belong to the main thread on macOS.
        let here = cfg!(target_os = "macos");
        let job = if here { Job::done(ask()) } else { Job::begin(context, ask) };
        self.open = Some((purpose, job));
    }

    /// What was chosen, once it was.
    pub fn poll(&mut self, context: &egui::Context) -> Option<(Purpose, Vec<PathBuf>)> {
        let paths = match self.open.as_ref()?.1.poll(context) {
            Progress::Running => return None,
            Progress::Done(paths) => paths,
            Progress::Lost => Vec::new(),
        };
        self.open.take().map(|(purpose, _)| (purpose, paths)).filter(|(_, paths)| !paths.is_empty())
    }
}

fn ask(purpose: &Purpose) -> Vec<PathBuf> {
    let dialog = rfd::FileDialog::new();
    match purpose {
        Purpose::Files => dialog
            .set_title("Open the files of one day")
            .add_filter(
                "Logger files",
                &["csv", "CSV", "txt", "gz", "zip", "xlsx", "ods", "parquet"],
            )
            .add_filter("All files", &["*"])
            .pick_files()
            .unwrap_or_default(),
        Purpose::Folder => {
            dialog.set_title("Open a folder of days").pick_folder().into_iter().collect()
        }
        Purpose::Plant => dialog
            .set_title("Choose the plant file")
            .add_filter("Plant files", &["toml"])
            .pick_file()
            .into_iter()
            .collect(),
        Purpose::Summary(Suggestion { folder, name, extension }) => {
            let dialog = dialog
                .set_title("Save the summary")
                .set_file_name(name)
                .add_filter(extension.to_uppercase(), &[*extension]);
            let dialog = match folder {
                Some(folder) => dialog.set_directory(folder),
                None => dialog,
            };
            dialog.save_file().into_iter().collect()
        }
        Purpose::Range(format, name) => dialog
            .set_title("Save the summary")
            .set_file_name(format!("{} {name}.{}", format.what(), format.ending()))
            .save_file()
            .into_iter()
            .collect(),
        Purpose::Evidence(_) => dialog
            .set_title("Choose the file that shows why the hold can be ended")
            .pick_file()
            .into_iter()
            .collect(),
        Purpose::PublicKey => dialog
            .set_title("Choose the file with the public key")
            .add_filter("Public keys", &["pub", "pem"])
            .add_filter("All files", &["*"])
            .pick_file()
            .into_iter()
            .collect(),
    }
}
