//! The dialog that asks for a path where the system has no file dialog: what is typed is used as a file that
//! was chosen. What is there already is written over only after a second press.

use crate::action::{Action, Actions};
use crate::dialogs::Purpose;
use crate::theme::{GAP, Look, Type, card, widgets};
use crate::why::Why;
use egui::{Id, Key, TextEdit, Ui};
use std::path::{Path, PathBuf};

/// The dialog.
pub struct PathField {
    purpose: Purpose,
    typed: String,
    message: Option<String>,
    /// What is written over if it is pressed again.
    replaces: Option<PathBuf>,
    begun: bool,
}

impl PathField {
    /// A dialog for what a file is needed for.
    pub fn new(purpose: Purpose) -> Self {
        let typed = purpose.suggested().display().to_string();
        Self { purpose, typed, message: None, replaces: None, begun: false }
    }

    /// Draws the dialog; gives whether it stays.
    pub fn show(&mut self, ui: &Ui, look: Look, actions: &mut Actions) -> bool {
        let (mut given, mut closed) = (false, false);
        let screen = ui.ctx().content_rect().size();
        let ends = card::dialog(ui, look, "path", 620.0_f32.min(screen.x - 60.0), |ui| {
            ui.label(Type::Title.text(self.purpose.title(), look.colors.ink));
            card::paragraph(
                ui,
                look,
                "The system\u{2019}s file dialog could not be opened. Type the path.",
            );
            let name = match self.purpose {
                Purpose::Folder => "Path of the folder",
                _ => "Path of the file",
            };
            ui.label(Type::Small.text(name, look.colors.ink_soft));
            let field = TextEdit::singleline(&mut self.typed).desired_width(f32::INFINITY);
            let field = ui.add(field.id(Id::unique("path that is typed")));
            field.widget_info(|| {
                egui::WidgetInfo::labeled(egui::accesskit::Role::TextInput, true, name)
            });
            if !std::mem::replace(&mut self.begun, true) {
                field.request_focus();
            }
            if field.changed() {
                (self.message, self.replaces) = (None, None);
            }
            given = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
            if let Some(message) = &self.message {
                card::alert(ui, look, message);
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                let title = match (self.purpose.is_saving(), &self.replaces) {
                    (true, Some(_)) => "Replace",
                    (true, None) => "Save",
                    (false, _) => "Open",
                };
                given |= widgets::primary_button(ui, look, title, "Enter").clicked();
                closed = widgets::button(ui, look, "Cancel", "Esc").clicked();
            });
            if given && self.message.is_some() {
                field.request_focus();
            }
        });
        if given {
            match self.path() {
                Ok(path) => {
                    actions.push(Action::Chosen(self.purpose.clone(), vec![path]));
                    return false;
                }
                Err(why) => {
                    self.message = Some(why.into());
                    ui.memory_mut(|memory| memory.request_focus(Id::unique("path that is typed")));
                }
            }
        }
        !(closed || ends)
    }

    /// The path that is typed, or why it can't be used.
    fn path(&mut self) -> Result<PathBuf, Why> {
        let typed = self.typed.trim();
        if typed.is_empty() {
            return Err("Type a path, such as /home/anna/2026-03-14.csv.".into());
        }
        let path = absolute(Path::new(typed));
        let shown = path.display();
        match (self.purpose.is_saving(), &self.purpose) {
            (true, _) if path.is_dir() => {
                Err(format!("{shown} is a folder. Add a file name.").into())
            }
            (true, _) if path.exists() && self.replaces.as_ref() != Some(&path) => {
                let text = format!("{shown} exists already. Press again to replace it.");
                self.replaces = Some(path);
                Err(text.into())
            }
            (false, Purpose::Folder) if !path.is_dir() => {
                Err(format!("{shown} is not a folder. Check the path.").into())
            }
            (false, _) if !path.exists() => {
                Err(format!("{shown} does not exist. Check the path.").into())
            }
            (false, Purpose::Plant | Purpose::Evidence(_) | Purpose::PublicKey)
                if path.is_dir() =>
            {
                Err(format!("{shown} is a folder. Name a file in it.").into())
            }
            _ => Ok(path),
        }
    }
}

/// A path from the root; one that begins with `~` from the user's own folder.
fn absolute(path: &Path) -> PathBuf {
    let home = std::env::var_os("HOME").map(PathBuf::from);
    let path = match (path.strip_prefix("~"), home) {
        (Ok(rest), Some(home)) => home.join(rest),
        _ => path.to_owned(),
    };
    std::path::absolute(&path).unwrap_or(path)
}
