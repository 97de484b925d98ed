//! The system's dialogs to choose files, which must not hold up the window. Where the system has none, or it
//! can't be opened, nothing says so: it answers at once, as if somebody had cancelled.

use crate::job::{Job, Progress};
use crate::register::format::RangeFormat;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Nobody sees a dialog and cancels it sooner (ours: a quick person needs about a quarter of a second to press a
/// key that they were waiting to press).
const UNSEEN: Duration = Duration::from_millis(250);

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

/// What asks for files; a window that is tested brings its own.
#[derive(Debug, Clone, Copy)]
pub struct Chooser(pub fn(&Purpose) -> Vec<PathBuf>);

impl Chooser {
    /// The system's dialogs.
    pub const SYSTEM: Self = Self(ask);
}

impl Default for Chooser {
    /// Nothing that could be opened.
    fn default() -> Self {
        Self(|_| Vec::new())
    }
}

/// What came of a dialog.
pub enum Answer {
    /// Files were chosen.
    Chosen(Purpose, Vec<PathBuf>),
    /// It could not be opened.
    Unseen(Purpose),
}

/// What a dialog gave, and how long it took.
type Given = (Vec<PathBuf>, Duration);

/// The dialog that is open, if one is.
#[derive(Default)]
pub struct Dialogs {
    open: Option<(Purpose, Job<Given>)>,
}

impl Purpose {
    /// What is asked for, as a title.
    pub const fn title(&self) -> &'static str {
        match self {
            Self::Files => "Open the files of one day",
            Self::Folder => "Open a folder of days",
            Self::Plant => "Choose the plant file",
            Self::Evidence(_) => "Choose the file that shows why the hold can be ended",
            Self::PublicKey => "Choose the file with the public key",
            Self::Summary(_) | Self::Range(..) => "Save the summary",
        }
    }

    /// Whether something is written there.
    pub const fn is_saving(&self) -> bool {
        matches!(self, Self::Summary(_) | Self::Range(..))
    }

    /// The file that is suggested, if one is.
    pub fn suggested(&self) -> PathBuf {
        match self {
            Self::Summary(Suggestion { folder, name, .. }) => {
                folder.clone().unwrap_or_default().join(name)
            }
            Self::Range(format, name) => range_name(*format, name).into(),
            _ => PathBuf::new(),
        }
    }
}

fn range_name(format: RangeFormat, name: &str) -> String {
    format!("{} {name}.{}", format.what(), format.ending())
}

impl Dialogs {
    /// Opens a dialog unless one is open.
    pub fn open(&mut self, purpose: Purpose, chooser: Chooser, context: &egui::Context) {
        if self.open.is_some() {
            return;
        }
        let asked = purpose.clone();
        let ask = move || {
            let begun = Instant::now();
            let paths = chooser.0(&asked);
            (paths, begun.elapsed())
        };
        // The system's dialogs belong to the main thread on macOS.
        let here = cfg!(target_os = "macos");
        let job = if here { Job::done(ask()) } else { Job::begin(context, ask) };
        self.open = Some((purpose, job));
    }

    /// What was chosen, once it was, or that nothing could be.
    pub fn poll(&mut self, context: &egui::Context) -> Option<Answer> {
        let (paths, shown) = match self.open.as_ref()?.1.poll(context) {
            Progress::Running => return None,
            Progress::Done(answer) => answer,
            Progress::Lost => (Vec::new(), Duration::ZERO),
        };
        let (purpose, _) = self.open.take()?;
        match (paths.is_empty(), shown < UNSEEN) {
            (false, _) => Some(Answer::Chosen(purpose, paths)),
            (true, true) => Some(Answer::Unseen(purpose)),
            (true, false) => None,
        }
    }
}

fn ask(purpose: &Purpose) -> Vec<PathBuf> {
    let dialog = rfd::FileDialog::new().set_title(purpose.title());
    match purpose {
        Purpose::Files => dialog
            .add_filter(
                "Logger files",
                &["csv", "CSV", "txt", "gz", "zip", "xlsx", "ods", "parquet"],
            )
            .add_filter("All files", &["*"])
            .pick_files()
            .unwrap_or_default(),
        Purpose::Folder => dialog.pick_folder().into_iter().collect(),
        Purpose::Plant => {
            dialog.add_filter("Plant files", &["toml"]).pick_file().into_iter().collect()
        }
        Purpose::Summary(Suggestion { folder, name, extension }) => {
            let dialog =
                dialog.set_file_name(name).add_filter(extension.to_uppercase(), &[*extension]);
            let dialog = match folder {
                Some(folder) => dialog.set_directory(folder),
                None => dialog,
            };
            dialog.save_file().into_iter().collect()
        }
        Purpose::Range(format, name) => {
            dialog.set_file_name(range_name(*format, name)).save_file().into_iter().collect()
        }
        Purpose::Evidence(_) => dialog.pick_file().into_iter().collect(),
        Purpose::PublicKey => dialog
            .add_filter("Public keys", &["pub", "pem"])
            .add_filter("All files", &["*"])
            .pick_file()
            .into_iter()
            .collect(),
    }
}
