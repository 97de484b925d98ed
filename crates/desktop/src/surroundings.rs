//! What the program begins with: its folders and clocks, which tests bring along, and what to open.

use crate::clock::{Clock, DiskClock};
use crate::dialogs::Chooser;
use crate::opener::Opener;
use crate::settings::Settings;
use paper::Paper;
use signers::KeyFolder;
use std::path::{Path, PathBuf};

/// What lies around the program.
#[derive(Debug, Clone, Default)]
pub struct Surroundings {
    /// The settings file; without one nothing is remembered.
    pub settings: Option<PathBuf>,
    /// The folder of the demo; without one it is not offered.
    pub demo: Option<PathBuf>,
    /// The folder of this user's keys and drafts; without one there are none.
    pub config: Option<PathBuf>,
    /// The clock on the wall.
    pub clock: Clock,
    /// Where rows of days are kept; without one every record of a folder is read each time.
    pub cache: Option<PathBuf>,
    /// How this machine's clock is compared with that of the disk.
    pub disk_clock: DiskClock,
    /// What asks for files.
    pub chooser: Chooser,
    /// What opens what was saved.
    pub opener: Opener,
    /// The paper that is usual here.
    pub paper: Paper,
}

impl Surroundings {
    /// The keys of this user; `None` where there is no folder for them.
    pub fn keys(&self) -> Option<KeyFolder> {
        self.config.as_deref().map(KeyFolder::under)
    }

    /// What this user has seen of the plants' books before, and the time.
    pub fn trust(&self) -> archive::Trust {
        archive::Trust::new(self.config.clone(), self.clock.now())
    }

    /// The settings file of this user, and the demo in the current folder or above the program
    /// where it was built.
    pub fn usual() -> Self {
        let here = std::env::current_dir().ok();
        let program = std::env::current_exe().ok();
        let mut folders: Vec<&Path> = here.as_deref().into_iter().collect();
        folders.extend(program.iter().flat_map(|program| program.ancestors().skip(1)));
        let demo = folders
            .into_iter()
            .map(|folder| folder.join("sample-runs"))
            .find(|folder| folder.join("plant.toml").is_file());
        Self {
            settings: Settings::usual_path(),
            demo,
            config: Settings::usual_folder(),
            clock: Clock::default(),
            cache: archive::usual_cache(),
            disk_clock: DiskClock::default(),
            chooser: Chooser::SYSTEM,
            opener: Opener::SYSTEM,
            paper: usual_paper(),
        }
    }
}

/// The paper of the user's locale: that of the variables which POSIX names for it, the first that is set.
fn usual_paper() -> Paper {
    let named = |name| std::env::var(name).ok().filter(|locale: &String| !locale.is_empty());
    let locale = ["LC_ALL", "LC_PAPER", "LANG"].into_iter().find_map(named);
    Paper::of_locale(&locale.unwrap_or_default())
}

/// What to open.
#[derive(Debug, Clone, Default)]
pub struct Start {
    /// Nothing, the files of one day, or one folder of days.
    pub paths: Vec<PathBuf>,
    /// The plant file; without one, `plant.toml` beside the record is used.
    pub plant: Option<PathBuf>,
}
