//! What was saved, opened with the program that the system has for it, or shown in its folder.

use crate::action::{Action, Actions};
use crate::theme::{Look, Type, widgets};
use egui::Ui;
use std::io;
use std::path::Path;
use std::process::{Command, Stdio};

/// What opens a file, or shows it in its folder; a window that is tested brings its own.
#[derive(Debug, Clone, Copy)]
pub struct Opener(pub fn(&Path, What) -> io::Result<()>);

/// What is done with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// It is opened.
    Open,
    /// It is shown in its folder.
    Show,
}

impl Opener {
    /// The system's own.
    pub const SYSTEM: Self = Self(open);
}

impl Default for Opener {
    fn default() -> Self {
        Self(|_, _| Err(io::ErrorKind::Unsupported.into()))
    }
}

/// Where something was saved, and what can be done with it.
pub fn saved(ui: &mut Ui, look: Look, path: &Path, actions: &mut Actions) {
    let text = Type::Strong.text(format!("Saved as {}", path.display()), look.colors.ink);
    ui.add(egui::Label::new(text).wrap().selectable(true));
    ui.horizontal(|ui| {
        for (title, what) in [("Open", What::Open), ("Show in folder", What::Show)] {
            if widgets::button(ui, look, title, "").clicked() {
                actions.push(Action::Reveal(path.to_owned(), what));
            }
        }
    });
}

/// Starts the system's program. The path is one argument of it, and no shell sees it.
fn open(path: &Path, what: What) -> io::Result<()> {
    let path = std::path::absolute(path)?;
    let folder = path.parent().unwrap_or(&path);
    let mut command = match std::env::consts::OS {
        "macos" => {
            let mut command = Command::new("open");
            if what == What::Show {
                command.arg("-R");
            }
            command.arg(&path);
            command
        }
        "windows" => {
            let mut command = Command::new("explorer");
            match what {
                What::Open => command.arg(&path),
                What::Show => command.arg(folder),
            };
            command
        }
        _ => {
            let mut command = Command::new("xdg-open");
            command.arg(if what == What::Open { &path } else { folder });
            command
        }
    };
    let quiet = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = quiet.spawn()?;
    // Its end is waited for elsewhere, so that nothing is left of it.
    std::thread::Builder::new().name("opener".to_owned()).spawn(move || child.wait()).map(|_| ())
}
