//! The system's dialogs to choose files, which must not hold up the window.

use crate::register::RangeFormat;
use crate::summary::Suggestion;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// What a dialog is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// The files of one record.
    Files,
    /// A folder of days.
    Folder,
    /// A plant file.
    Plant,
    /// Somebody's public key.
    PublicKey,
    /// Where a summary is saved.
    Summary,
    /// Where the summary of a range goes.
    Range(RangeFormat),
}

/// The dialog that is open, if one is.
#[derive(Default)]
pub struct Dialogs {
    open: Option<(Purpose, Receiver<Vec<PathBuf>>)>,
}

impl Dialogs {
    /// Opens a dialog unless one is open.
    pub fn open(&mut self, purpose: Purpose, context: &egui::Context) {
        self.start(purpose, context, move || ask(purpose));
    }

    /// Opens the dialog that asks where a summary is saved, unless one is open.
    pub fn save(&mut self, suggestion: Suggestion, context: &egui::Context) {
        self.start(Purpose::Summary, context, move || ask_where(&suggestion));
    }

    fn start(
        &mut self,
        purpose: Purpose,
        context: &egui::Context,
        ask: impl FnOnce() -> Vec<PathBuf> + Send + 'static,
    ) {
        if self.open.is_some() {
            return;
        }
        let (sender, receiver) = channel();
        let context = context.clone();
        let ask = move || {
            // Nobody waits any more when the window was closed meanwhile.
            if sender.send(ask()).is_ok() {
                context.request_repaint();
            }
        };
        if cfg!(target_os = "macos") {
            // The system's dialogs belong to the main thread there.
            ask();
            self.open = Some((purpose, receiver));
        } else if std::thread::Builder::new().name("dialog".to_owned()).spawn(ask).is_ok() {
            self.open = Some((purpose, receiver));
        }
    }

    /// What was chosen, once it was.
    pub fn poll(&mut self, context: &egui::Context) -> Option<(Purpose, Vec<PathBuf>)> {
        let (purpose, receiver) = self.open.as_ref()?;
        let purpose = *purpose;
        match receiver.try_recv() {
            Ok(paths) => {
                self.open = None;
                (!paths.is_empty()).then_some((purpose, paths))
            }
            Err(TryRecvError::Disconnected) => {
                self.open = None;
                None
            }
            Err(TryRecvError::Empty) => {
                context.request_repaint_after(std::time::Duration::from_millis(120));
                None
            }
        }
    }
}

fn ask_where(suggestion: &Suggestion) -> Vec<PathBuf> {
    let Suggestion { folder, name, extension } = suggestion;
    let mut dialog = rfd::FileDialog::new()
        .set_title("Save the summary")
        .set_file_name(name)
        .add_filter(extension.to_uppercase(), &[*extension]);
    if let Some(folder) = folder {
        dialog = dialog.set_directory(folder);
    }
    dialog.save_file().into_iter().collect()
}

fn ask(purpose: Purpose) -> Vec<PathBuf> {
    let dialog = rfd::FileDialog::new();
    match purpose {
        Purpose::Files => dialog
            .set_title("Open the files of one day")
            .add_filter("Logger files", &["csv", "CSV", "txt"])
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
        // Asked for with a suggestion, see [`ask_where`].
        Purpose::Summary => Vec::new(),
        Purpose::Range(format) => dialog
            .set_title("Save the summary")
            .set_file_name(format!("summary.{}", format.ending()))
            .save_file()
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
