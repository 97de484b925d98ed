//! The dialog that takes a register of signers for the plant's although another one was seen before.
//! Never by one click: the fingerprint of its first supervisor is typed, from paper.

use super::proof::refused;
use super::words;
use crate::job::{Job, Progress};
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use archive::Trust;
use egui::{Frame, Id, Key, Modal, Ui, vec2};
use std::path::{Path, PathBuf};

/// What is asked for in the dialog.
pub struct Accept {
    register: PathBuf,
    plant_file: Option<PathBuf>,
    fingerprint: String,
    message: Option<String>,
    work: Option<Job<Result<(), String>>>,
    begun: bool,
}

/// What came of a frame of the dialog.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// It stays.
    Nothing,
    /// It is closed.
    Closed,
    /// The register is accepted: the record is to be opened again.
    Accepted,
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
    pub fn show(&mut self, ui: &Ui, look: Look, trust: &Trust) -> Told {
        match self.work.as_ref().map(|job| job.poll(ui.ctx())) {
            None | Some(Progress::Running) => {}
            Some(Progress::Done(Ok(()))) => return Told::Accepted,
            Some(Progress::Done(Err(why))) => (self.work, self.message) = (None, Some(why)),
            Some(Progress::Lost) => {
                let why = "that could not be done; try again".to_owned();
                (self.work, self.message) = (None, Some(why));
            }
        }
        let mut told = Told::Nothing;
        let frame = Frame::popup(ui.style()).inner_margin(MARGIN);
        let modal = Modal::new(Id::unique("accept")).frame(frame).backdrop_color(look.colors.veil);
        let modal = modal.show(ui.ctx(), |ui| {
            ui.set_width(520.0);
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            ui.label(Type::Title.text("Accept a register of signers", look.colors.ink));
            for text in [
                format!(
                    "{} is taken for the register of this plant from now on, as it is.",
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
            let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
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
                    told = Told::Closed;
                }
            });
        });
        if told == Told::Nothing && modal.should_close() { Told::Closed } else { told }
    }

    fn begin(&mut self, context: &egui::Context, trust: &Trust) {
        if self.fingerprint.trim().is_empty() {
            self.message = Some("the fingerprint is still to be typed".to_owned());
            return;
        }
        self.message = None;
        let (register, plant_file) = (self.register.clone(), self.plant_file.clone());
        let (fingerprint, trust) = (self.fingerprint.clone(), trust.clone());
        self.work = Some(Job::begin(context, move || {
            let accepted = trust.accept(&register, plant_file.as_deref(), &fingerprint);
            accepted.map_err(|cause| cause.to_string())
        }));
    }
}
