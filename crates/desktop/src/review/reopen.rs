//! The dialog that opens again what is signed, for a reason.

use super::{Review, signatures, words};
use crate::theme::{Look, MARGIN, Type, widgets};
use ::review::{Decision, Scope};
use egui::{Frame, Id, Modal, Ui};

/// What is asked for in the dialog.
#[derive(Debug)]
pub struct Reopen {
    scope: Scope,
    reason: String,
    begun: bool,
}

impl Reopen {
    /// The dialog for a scope.
    pub const fn new(scope: Scope) -> Self {
        Self { scope, reason: String::new(), begun: false }
    }

    /// Draws the dialog: whether it stays, and what was decided in it.
    pub fn show(&mut self, ui: &Ui, look: Look, review: &Review) -> (bool, Option<Decision>) {
        let mut decision = None;
        let mut stays = true;
        let frame = Frame::popup(ui.style()).inner_margin(MARGIN);
        let modal = Modal::new(Id::unique("reopen")).frame(frame).backdrop_color(look.colors.veil);
        let modal = modal.show(ui.ctx(), |ui| {
            ui.set_width(420.0);
            ui.label(Type::Title.text("Reopen what is signed", look.colors.ink));
            ui.horizontal_wrapped(|ui| {
                for scope in review.scopes() {
                    let name = signatures::scope_name(&scope);
                    if widgets::toggle(ui, look, scope == self.scope, &name).clicked() {
                        self.scope = scope;
                    }
                }
            });
            let text = "Every signature that has something in common with it is superseded. It \
                        stays visible.";
            ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
            let id = Id::unique("reason for reopening");
            let response = words::plain(ui, look, id, "Reason", &mut self.reason);
            if !std::mem::replace(&mut self.begun, true) {
                response.request_focus();
            }
            ui.add_space(4.0);
            ui.horizontal(|ui| {
                if widgets::primary_button(ui, look, "Reopen", "").clicked() {
                    let (scope, reason) = (self.scope.clone(), self.reason.clone());
                    decision = Some(Decision::Reopened { scope, reason });
                }
                if widgets::button(ui, look, "Cancel", "Esc").clicked() {
                    stays = false;
                }
            });
        });
        (stays && !modal.should_close() && decision.is_none(), decision)
    }
}
