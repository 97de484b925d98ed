//! The dialog that takes a register of signers for the plant's although another one was seen before.
//! Never by one click: the fingerprint of its first supervisor is typed, from paper.

use super::proof::refused;
use super::words;
use crate::action::{Action, Actions};
use crate::commands::Command;
use crate::job::Job;
use crate::theme::card;
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use archive::Trust;
use egui::{Id, Ui, vec2};
use std::path::{Path, PathBuf};

/// What is asked for in the dialog.
pub struct Accept {
    register: PathBuf,
    plant_file: Option<PathBuf>,
    fingerprint: String,
    message: Option<String>,
    work: Option<Job<Result<(), Why>>>,
    begun: bool,
}

impl Accept {
    /// The dialog about the register that lies at a path.
    pub fn new(register: &Path, plant_file: Option<&Path>) -> Self {
        Self {
            register: register.to_owned(),
            plant_file: plant_file.map(Path::to_owned),
            fingerprint: String::new(),
            message: None,
            work: None,
            begun: false,
        }
    }

    /// Whether it is being accepted.
    pub const fn is_busy(&self) -> bool {
        self.work.is_some()
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, trust: &Trust, actions: &mut Actions) {
        let lost = || "that could not be done; try again".into();
        match Job::take(&mut self.work, ui.ctx(), lost) {
            None => {}
            Some(Ok(())) => {
                actions.push(Action::Close);
                return actions.push(Command::OpenAgain);
            }
            Some(Err(why)) => self.message = Some(why.into()),
        }
        let mut closed = false;
        let ends = card::dialog(ui, look, "accept", 520.0, |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            ui.label(Type::Title.text("Accept a register of signers", look.colors.ink));
            for text in [
                format!(
                    "{} will be used as the register of this plant from now on, as it is.",
                    self.register.display()
                ),
                "Ask a supervisor you know why it is not the one that was used so far. Then type the \
                 fingerprint of its first supervisor from the plant\u{2019}s papers, not from this \
                 screen: whoever laid a register here chose what the screen shows."
                    .to_owned(),
            ] {
                ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
            }
            let id = Id::unique("fingerprint on paper");
            let name = "Fingerprint on paper";
            let field = words::plain(ui, look, id, name, &mut self.fingerprint);
            if !std::mem::replace(&mut self.begun, true) {
                field.request_focus();
            }
            let entered = words::is_submitted(ui, &[(field, false)]);
            if let Some(message) = &self.message {
                refused(ui, look, message);
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                let text = "Accept this register";
                if widgets::primary_button(ui, look, text, "Enter").clicked() || entered {
                    self.begin(ui.ctx(), trust);
                }
                if widgets::button(ui, look, "Cancel", "Esc").clicked() {
                    closed = true;
                }
            });
        });
        if closed || ends {
            actions.push(Action::Close);
        }
    }

    fn begin(&mut self, context: &egui::Context, trust: &Trust) {
        if self.fingerprint.trim().is_empty() {
            self.message = Some("enter the fingerprint".to_owned());
            return;
        }
        self.message = None;
        let (register, plant_file) = (self.register.clone(), self.plant_file.clone());
        let (fingerprint, trust) = (self.fingerprint.clone(), trust.clone());
        self.work = Some(Job::begin(context, move || {
            let accepted = trust.accept(&register, plant_file.as_deref(), &fingerprint);
            accepted.map_err(Why::from)
        }));
    }
}
