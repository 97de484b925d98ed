//! The dialog that asks first where this machine's clock differs from that of the disk: an entry with a wrong date can never be removed.

use crate::action::{Action, Actions, Then, Work};
use crate::theme::card;
use crate::theme::widgets::{self, capital};
use crate::theme::{GAP, Look, Type};
use egui::Ui;

/// The dialog that asks whether this machine's clock is right.
pub struct AskClock {
    told: String,
    /// What is entered if it is.
    work: Option<(Work, Then)>,
}

impl AskClock {
    /// The dialog with what was found, about what was to be entered.
    pub const fn new(told: String, work: Work, then: Then) -> Self {
        Self { told, work: Some((work, then)) }
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, actions: &mut Actions) {
        let (mut closed, mut entered) = (false, None);
        let ends = card::dialog(ui, look, "clock", 460.0, |ui| {
            ui.label(Type::Title.text("Is this machine\u{2019}s clock right?", look.colors.ink));
            for text in [
                format!("{}.", capital(&self.told)),
                "An entry with a wrong date can never be removed. Set the clock first, or continue if this clock is right."
                    .to_owned(),
            ] {
                ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                if widgets::button(ui, look, "Continue anyway", "").clicked() {
                    entered = self.work.take();
                }
                let cancel = widgets::primary_button(ui, look, "Cancel", "Esc");
                if ui.ctx().memory(|memory| memory.focused().is_none()) {
                    cancel.request_focus();
                }
                if cancel.clicked() {
                    closed = true;
                }
            });
        });
        if closed || ends || entered.is_some() {
            actions.push(Action::Close);
        }
        if let Some((work, then)) = entered {
            actions.push(Action::TrustClock);
            actions.push(Action::Enter(work, then));
        }
    }
}
