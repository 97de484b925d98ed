//! What the program remembers: a TOML file that a person can read, with a version.
//!
//! It is written whole: to a file beside it, flushed to disk, then renamed over the old one. A
//! file that can't be used is set aside under another name, never overwritten, and the user is
//! told.

use crate::day::setting::PlotSetting;
use crate::units::Units;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// The version of the file that this program writes.
const VERSION: u32 = 1;
/// The most bytes that are read of it (ours): a thousand times what the program writes.
const LARGEST: u64 = 1 << 20;
/// How many recent files are remembered.
const RECENT: usize = 8;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Brightness {
    /// As the system.
    #[default]
    System,
    /// Light.
    Light,
    /// Dark.
    Dark,
}

/// What is remembered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// The version of the file.
    pub version: u32,
    /// Light or dark.
    pub brightness: Brightness,
    /// Whether contrast is high.
    pub high_contrast: bool,
    /// Whether the pane on the right is shown.
    pub side_pane: bool,
    /// The width of the pane on the right, in points.
    pub side_pane_width: f32,
    /// The height of the list, in points.
    pub list_height: f32,
    /// Files and folders opened last, the latest first.
    pub recent: Vec<PathBuf>,
    /// The identifier of the signer who is at work; blank for nobody.
    pub person: String,
    /// The units shown.
    pub units: Units,
    /// The size of the window in points.
    pub window: Window,
    /// The plots in their order.
    pub plots: Vec<PlotSetting>,
}

/// The size of the window in points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Window {
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

impl Default for Window {
    fn default() -> Self {
        Self { width: 1280.0, height: 800.0 }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            version: VERSION,
            brightness: Brightness::default(),
            high_contrast: false,
            side_pane: true,
            side_pane_width: 316.0,
            list_height: 196.0,
            recent: Vec::new(),
            person: String::new(),
            units: Units::default(),
            window: Window::default(),
            plots: PlotSetting::all(),
        }
    }
}

impl Settings {
    /// Where the file lies for this user, if the system says where such files belong.
    pub fn usual_path() -> Option<PathBuf> {
        Self::usual_folder().map(|folder| folder.join("settings.toml"))
    }

    /// The folder for what belongs to this user: settings, drafts, keys.
    pub fn usual_folder() -> Option<PathBuf> {
        let from = |name: &str| {
            std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from)
        };
        let folder = if cfg!(target_os = "windows") {
            from("APPDATA")
        } else if cfg!(target_os = "macos") {
            from("HOME").map(|home| home.join("Library/Application Support"))
        } else {
            from("XDG_CONFIG_HOME").or_else(|| from("HOME").map(|home| home.join(".config")))
        };
        folder.map(|folder| folder.join("holdtrace"))
    }

    /// Reads the file. One that is not there gives the defaults; one that can't be used is set
    /// aside and gives the defaults and a message.
    pub fn read(path: &Path) -> (Self, Option<String>) {
        let read = disk::read(path, LARGEST, disk::Links::Follow)
            .and_then(|bytes| String::from_utf8(bytes).map_err(std::io::Error::other));
        let text = match read {
            Ok(text) => text,
            Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
                return (Self::default(), None);
            }
            Err(cause) => {
                return (Self::default(), Some(Self::set_aside(path, &cause.to_string())));
            }
        };
        match toml::from_str::<Self>(&text) {
            Ok(settings) if settings.version == VERSION => (settings.sane(), None),
            Ok(settings) => {
                let cause = format!(
                    "it is of version {}, this program reads version {VERSION}",
                    settings.version
                );
                (Self::default(), Some(Self::set_aside(path, &cause)))
            }
            Err(cause) => {
                (Self::default(), Some(Self::set_aside(path, cause.message().trim_end())))
            }
        }
    }

    fn set_aside(path: &Path, cause: &str) -> String {
        let aside = path.with_extension("broken.toml");
        let outcome = match std::fs::rename(path, &aside) {
            Ok(()) => format!("it was moved to {}", aside.display()),
            Err(cause) => format!("it could not be moved aside ({cause})"),
        };
        format!(
            "The settings file {} can't be used: {cause}. {outcome}; default settings are used.",
            path.display()
        )
    }

    /// Sizes from a file may be anything; plots may be missing or doubled.
    fn sane(mut self) -> Self {
        let within = |value: f32, least: f32, greatest: f32, usual: f32| {
            if value.is_finite() { value.clamp(least, greatest) } else { usual }
        };
        let usual = Window::default();
        self.window.width = within(self.window.width, 640.0, 16_384.0, usual.width);
        self.window.height = within(self.window.height, 480.0, 16_384.0, usual.height);
        self.side_pane_width = within(self.side_pane_width, 260.0, 900.0, 316.0);
        self.list_height = within(self.list_height, 110.0, 2000.0, 196.0);
        self.recent.truncate(RECENT);
        self.plots = PlotSetting::complete(&self.plots);
        self
    }

    /// Puts a file or folder at the head of the recent ones.
    pub fn remember(&mut self, path: &Path) {
        // The program may be started from another folder next time.
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        self.recent.retain(|other| *other != path);
        self.recent.insert(0, path);
        self.recent.truncate(RECENT);
    }

    /// Writes the file, whole or not at all.
    ///
    /// # Errors
    /// When the folder or the file can't be written.
    pub fn write(&self, path: &Path) -> std::io::Result<()> {
        let text = toml::to_string(self).map_err(std::io::Error::other)?;
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        let text =
            format!("# Settings of Holdtrace. Safe to edit while the program is closed.\n{text}");
        // It lies in the user's own folder, and some keep their settings elsewhere by a link.
        let real = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        disk::write_whole(&real, text.as_bytes(), disk::Access::OwnerOnly)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Outcome = Result<(), Box<dyn std::error::Error>>;

    #[test]
    fn what_is_written_is_read() -> Outcome {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("deep").join("settings.toml");
        let mut settings = Settings { high_contrast: true, ..Settings::default() };
        settings.remember(Path::new("/days/one.csv"));
        settings.plots.reverse();
        settings.write(&path)?;
        assert_eq!(Settings::read(&path), (settings, None));
        Ok(())
    }

    #[test]
    #[cfg(unix)]
    fn settings_kept_elsewhere_by_a_link_stay_there() -> Outcome {
        let folder = tempfile::tempdir()?;
        let (path, real) = (folder.path().join("settings.toml"), folder.path().join("mine.toml"));
        std::fs::write(&real, "version = 1\n")?;
        std::os::unix::fs::symlink("mine.toml", &path)?;
        let settings = Settings { high_contrast: true, ..Settings::default() };
        settings.write(&path)?;
        assert!(path.is_symlink());
        assert_eq!(Settings::read(&path), (settings, None));
        assert!(std::fs::read_to_string(real)?.contains("high_contrast = true"));
        Ok(())
    }

    #[test]
    fn a_broken_file_is_set_aside_with_a_message() -> Outcome {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("settings.toml");
        for broken in ["version = ", "version = 99\n", "colour = \"blue\"\n"] {
            std::fs::write(&path, broken)?;
            let (settings, message) = Settings::read(&path);
            assert_eq!(settings, Settings::default(), "{broken}");
            assert!(message.is_some_and(|text| text.contains("it was moved to")), "{broken}");
            let aside = folder.path().join("settings.broken.toml");
            assert_eq!(std::fs::read_to_string(aside)?, broken);
            assert!(!path.exists());
        }
        Ok(())
    }

    #[test]
    fn absurd_sizes_are_put_right() -> Outcome {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("settings.toml");
        std::fs::write(&path, "version = 1\nlist_height = nan\n[window]\nwidth = 1e30\n")?;
        let (settings, message) = Settings::read(&path);
        assert_eq!(message, None);
        assert!((settings.list_height - 196.0).abs() < 1.0);
        assert!(settings.window.width < 20_000.0);
        Ok(())
    }
}
