//! The dialog for what a name is not enough for: opening again what is signed, returning, releasing
//! product, correcting a clock. What is done, by whom, then identifier and passphrase.

use super::proof::{Proof, With};
use super::sign::About;
use super::{signatures, words};
use crate::action::{Action, Actions, Then, Work};
use crate::clock::minute;
use crate::theme::card::{self, figure};
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, Type, widgets};
use ::review::{Decision, Scope};
use case::plural;
use egui::{Id, Ui, vec2};

/// What is signed in the dialog.
enum What {
    Reopened(Scope),
    ClockCorrected,
    Given(Vec<Decision>),
}

/// What is asked for in the dialog.
pub struct Prove {
    what: What,
    reason: String,
    then: Then,
    proof: Proof,
    begun: bool,
}

impl Prove {
    /// The dialog that opens a scope again.
    pub fn reopen(scope: Scope) -> Self {
        Self::with_reason(What::Reopened(scope), Some(Box::new(Action::Release)))
    }

    /// The dialog that says that a clock ran ahead.
    pub fn clock() -> Self {
        Self::with_reason(What::ClockCorrected, None)
    }

    fn with_reason(what: What, then: Then) -> Self {
        Self { what, reason: String::new(), then, proof: Proof::below(""), begun: false }
    }

    /// The dialog for decisions that were made elsewhere and must be signed.
    pub fn given(decisions: Vec<Decision>, then: Then) -> Self {
        let (what, reason) = (What::Given(decisions), String::new());
        Self { what, reason, then, proof: Proof::new(), begun: true }
    }

    /// Whether a key is being unlocked.
    pub const fn is_busy(&self) -> bool {
        self.proof.is_busy()
    }

    fn decisions(&self) -> Vec<Decision> {
        let reason = self.reason.trim().to_owned();
        match &self.what {
            What::Reopened(scope) => vec![Decision::Reopened { scope: scope.clone(), reason }],
            What::ClockCorrected => vec![Decision::ClockCorrected { reason }],
            What::Given(decisions) => decisions.clone(),
        }
    }

    fn title(&self) -> String {
        match &self.what {
            What::Reopened(_) => "Reopen what is signed".to_owned(),
            What::ClockCorrected => "Correct a clock that was ahead".to_owned(),
            What::Given(decisions) => match decisions.as_slice() {
                [Decision::Settled(_), _, ..] => {
                    format!("Release the product of {}", plural(decisions.len(), "exception"))
                }
                decisions => {
                    decisions.first().map_or_else(String::new, |one| capital(&one.in_words()))
                }
            },
        }
    }

    const fn button(&self) -> &'static str {
        match self.what {
            What::Reopened(_) => "Reopen",
            What::ClockCorrected => "Correct the clock",
            What::Given(_) => "Sign and enter",
        }
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, about: &About<'_>, actions: &mut Actions) {
        if let Some(key) = self.proof.poll(ui.ctx()) {
            actions.push(Action::Close);
            let work = Work::Prove(Box::new(key), self.decisions());
            actions.push(Action::Enter(work, self.then.take()));
            return;
        }
        let mut closed = false;
        let ends = card::dialog(ui, look, "prove", 480.0, |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            ui.label(Type::Title.text(self.title(), look.colors.ink));
            self.what(ui, look, about);
            figure(ui, look, "Signed by", &about.signer_in_words());
            if let Some(now) = about.clock.stamp(about.zone) {
                figure(ui, look, "Date and time", &minute(now));
            }
            ui.add_space(GAP);
            let (decisions, review) = (self.decisions(), &*about.review);
            let with = With {
                keys: about.keys.as_ref(),
                signer: Some(about.signer),
                now: about.clock.now(),
                button: self.button(),
                working: "Signing\u{2026}",
            };
            self.proof.show(ui, look, &with, |by| {
                decisions.iter().try_for_each(|decision| review.allows(decision, by))
            });
            if widgets::button(ui, look, "Cancel", "Esc").clicked() {
                closed = true;
            }
        });
        if closed || ends {
            actions.push(Action::Close);
        }
    }

    fn what(&mut self, ui: &mut Ui, look: Look, about: &About<'_>) {
        let paragraph = |ui: &mut Ui, text: &str| {
            ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
        };
        match &mut self.what {
            What::Reopened(chosen) => {
                ui.horizontal_wrapped(|ui| {
                    for scope in about.review.scopes() {
                        let name = signatures::scope_name(&scope);
                        if widgets::toggle(ui, look, scope == *chosen, &name).clicked() {
                            *chosen = scope;
                        }
                    }
                });
                paragraph(ui, "Every signature that overlaps it is superseded. It stays visible.");
            }
            What::ClockCorrected => paragraph(
                ui,
                "Entries of this review are dated in the future, so nothing can be entered after them. A supervisor signs the correction; it stays visible permanently. Set the clock right first.",
            ),
            What::Given(decisions) => {
                let count = decisions.len();
                for line in decisions.iter().take(MOST).flat_map(in_full) {
                    paragraph(ui, &line);
                }
                if count > MOST {
                    paragraph(ui, &format!("and {} more", count - MOST));
                }
                paragraph(ui, "It is signed with your key, so nobody else can do it in your name.");
                return;
            }
        }
        let id = Id::unique("reason that is signed");
        let response = words::plain(ui, look, id, "Reason", &mut self.reason);
        if words::is_entered(ui, &response) {
            self.proof.ask();
        }
        if !std::mem::replace(&mut self.begun, true) {
            response.request_focus();
        }
    }
}

/// How many decisions are told one by one (ours: what finds room).
const MOST: usize = 4;

/// What a decision says that is signed.
fn in_full(decision: &Decision) -> Vec<String> {
    match decision {
        Decision::Settled(settled) => {
            let product = [&settled.quantity, &settled.lot].map(|text| text.trim());
            let product: Vec<&str> = product.into_iter().filter(|text| !text.is_empty()).collect();
            vec![format!(
                "{} ({})",
                capital(&settled.disposition_in_words()),
                product.join(", lot ")
            )]
        }
        Decision::SettledTogether(together) => vec![format!(
            "{} exceptions of {}: {}",
            together.exceptions.len(),
            together.of,
            together.disposition_reason
        )],
        Decision::SentBack { remark, .. } => vec![format!("Comment: {remark}")],
        _ => Vec::new(),
    }
}
