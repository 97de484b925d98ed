//! The dialog to sign: exactly what is signed, by whom, meaning what; then identifier and
//! passphrase.

use super::proof::{Proof, With, refused};
use super::seen::Seen;
use super::signatures;
use super::state::Review;
use crate::action::{Action, Actions, Work};
use crate::clock::{Clock, minute};
use crate::theme::card::{self, figure, title};
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use ::review::{Made, Meaning, Role, Scope, SignerId, Standing, State, disposition_name};
use egui::{ScrollArea, Ui, vec2};
use plant::Zone;
use signers::{KeyFolder, Signer};
use std::time::{Duration, Instant};

/// What is asked for in the dialog.
pub struct Sign {
    /// What the signature is to mean; `None` until a supervisor says so where nothing is to be approved.
    meaning: Option<Meaning>,
    proof: Proof,
    opened: Instant,
}

/// For so long what is typed waits for the search for the record before; then Esc has to work again.
const LONGEST_WAIT: Duration = Duration::from_secs(5);

/// What the dialog is drawn from.
pub struct About<'a> {
    /// The review.
    pub review: &'a mut Review,
    /// Who is at work.
    pub signer: &'a Signer,
    /// The user's keys; `None` where there is no folder for them.
    pub keys: Option<KeyFolder>,
    /// The clock.
    pub clock: Clock,
    /// The plant's zone.
    pub zone: Zone,
}

impl About<'_> {
    /// Who is at work, as they are named on screen.
    pub fn signer_in_words(&self) -> String {
        format!("{} ({})", self.signer.name(), self.signer.role())
    }
}

impl Sign {
    /// The dialog for somebody in a role. A supervisor approves what is reviewed, and never signs as
    /// reviewer without saying so.
    pub fn new(review: &mut Review, role: Role, by: &SignerId) -> Self {
        let meaning = if Meaning::Approved.is_open_to(role) {
            turn_to_reviewed(review, by).then_some(Meaning::Approved)
        } else {
            Some(Meaning::Reviewed)
        };
        Self { meaning, proof: Proof::new(), opened: Instant::now() }
    }

    /// Whether only the search for the record before stands between now and the fields.
    pub fn asks_soon(&self, review: &Review) -> bool {
        !self.proof.has_begun() && review.before.goes_on() && self.opened.elapsed() < LONGEST_WAIT
    }

    /// Whether a key is being unlocked.
    pub const fn is_busy(&self) -> bool {
        self.proof.is_busy()
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, about: &mut About<'_>, actions: &mut Actions) {
        if let Some(key) = self.proof.poll(ui.ctx()) {
            actions.push(Action::Close);
            // The card with the signatures comes into view.
            if let Some(meaning) = self.meaning {
                let work = Work::Sign(Box::new(key), meaning, about.review.scope.clone());
                actions.push(Action::Enter(work, Some(Box::new(Action::Release))));
            }
            return;
        }
        let mut closed = false;
        let screen = ui.ctx().content_rect().size();
        let ends = card::dialog(ui, look, "sign", 620.0_f32.min(screen.x - 60.0), |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            self.choices(ui, look, about);
            let Some(seen) = about.review.seen() else { return };
            let scope = about.review.scope.clone();
            let used = 330.0;
            ScrollArea::vertical()
                .id_salt("what is signed")
                .max_height((screen.y - used).max(90.0))
                .auto_shrink([false, true])
                .show(ui, |ui| {
                    subject(ui, look, seen, &scope);
                });
            ui.add_space(GAP);
            match self.meaning {
                Some(meaning) => self.signature(ui, look, meaning, about),
                None => nothing_reviewed(ui, look, about),
            }
            ui.horizontal(|ui| {
                if widgets::button(ui, look, "Cancel", "Esc").clicked() {
                    closed = true;
                }
            });
        });
        if closed || ends {
            actions.push(Action::Close);
        }
    }

    fn choices(&mut self, ui: &mut Ui, look: Look, about: &mut About<'_>) {
        ui.horizontal_wrapped(|ui| {
            ui.label(Type::Title.text("Sign", look.colors.ink));
            ui.add_space(GAP);
            for scope in about.review.scopes() {
                let name = signatures::scope_name(&scope);
                let chosen = scope == about.review.scope;
                if widgets::toggle(ui, look, chosen, &name).clicked() {
                    about.review.scope = scope;
                }
            }
            ui.add_space(MARGIN);
            for (meaning, name) in
                [(Meaning::Reviewed, "as reviewed"), (Meaning::Approved, "as approved")]
            {
                if meaning.is_open_to(about.signer.role())
                    && widgets::toggle(ui, look, self.meaning == Some(meaning), name).clicked()
                {
                    self.meaning = Some(meaning);
                }
            }
        });
        ui.separator();
    }

    /// By whom, when and meaning what; then what is asked for, or why it can't be signed.
    fn signature(&mut self, ui: &mut Ui, look: Look, meaning: Meaning, about: &About<'_>) {
        figure(ui, look, "Signed by", &about.signer_in_words());
        if let Some(now) = about.clock.stamp(about.zone) {
            let text = now.to_string();
            let offset = text.get(23..).unwrap_or_default();
            figure(ui, look, "Date and time", &format!("{} {offset}", minute(now)));
        }
        let words = match meaning {
            Meaning::Reviewed => "reviewed: everything in it was examined and resolved",
            Meaning::Approved => "approved: the review was checked and is accepted",
        };
        figure(ui, look, "Meaning", words);
        let Some(seen) = about.review.seen() else { return };
        let refusal = about.review.can_be_signed(meaning, &about.review.scope, about.signer.id());
        if !seen.changes.is_empty() {
            refused(ui, look, "the record has changed; enter the new audit first");
        } else if let Err(why) = refusal {
            refused(ui, look, &why);
        } else {
            self.components(ui, look, meaning, about);
        }
    }

    fn components(&mut self, ui: &mut Ui, look: Look, meaning: Meaning, about: &About<'_>) {
        let with = With {
            keys: about.keys.as_ref(),
            signer: Some(about.signer),
            now: about.clock.now(),
            button: match meaning {
                Meaning::Reviewed => "Sign as reviewed",
                Meaning::Approved => "Sign as approved",
            },
            working: "Signing\u{2026}",
        };
        self.proof.show(ui, look, &with, |_| Ok(()));
    }
}

/// Turns to a scope that is reviewed, where the chosen one is not, of several to one that somebody else
/// reviewed; whether there is one.
fn turn_to_reviewed(review: &mut Review, by: &SignerId) -> bool {
    let Some(state) = review.state() else { return false };
    if state.is_signed(Meaning::Reviewed, &review.scope) {
        return true;
    }
    let waiting = state.to_approve();
    let others = waiting.iter().find(|scope| !state.is_own_review(scope, by.as_str()));
    match others.or(waiting.first()).cloned() {
        Some(scope) => review.scope = scope,
        None => return false,
    }
    true
}

/// That there is nothing to approve, and what is left to do before anybody can review it.
fn nothing_reviewed(ui: &mut Ui, look: Look, about: &About<'_>) {
    let text = "Nothing in this record is signed as reviewed yet, so there is nothing to approve. Whoever \
                reviewed it signs first; to sign as the reviewer yourself, choose \u{201c}as reviewed\u{201d}.";
    let text = Type::Strong.text(text, look.colors.ink);
    ui.add(egui::Label::new(text).wrap().selectable(true));
    let review = &about.review;
    let refusal = review.can_be_signed(Meaning::Reviewed, &review.scope, about.signer.id());
    if let Err(why) = refusal {
        refused(ui, look, &why);
    }
}

/// What is signed, as the journal has it.
fn subject(ui: &mut Ui, look: Look, seen: &Seen, scope: &Scope) {
    let state = &seen.state;
    let subject = state.subject();
    figure(ui, look, "Plant, pasteurizer", &format!("{}, {}", subject.plant, subject.unit));
    for source in &subject.sources {
        let short = source.sha256.get(..16).unwrap_or(&source.sha256);
        figure(ui, look, "Record", &format!("{} (SHA-256 {short}\u{2026})", source.name));
    }
    figure(ui, look, "From, to", &format!("{}\n{}", subject.start, subject.end));
    figure(ui, look, "Scope", &format!("{scope}, {}", signatures::stand(seen, scope)));
    let of = |(done, all): (usize, usize)| format!("{done} of {all}");
    let mut observations = format!("{} closed", of(state.closed_of(scope)));
    if scope.shift_name().is_none() {
        let progress = state.progress();
        let types = format!("; {} types acknowledged", of(progress.observations));
        observations.push_str(&types);
        figure(ui, look, "Observations", &observations);
        figure(ui, look, "Entries", &format!("{} made", of(progress.entries)));
    } else {
        figure(ui, look, "Observations", &observations);
    }
    figure(ui, look, "Journal", &format!("{} lines, last {}", seen.lines, seen.head));
    ui.add_space(GAP);
    title(ui, look, "Exceptions in it", None);
    let items = subject.exceptions.iter().filter(|item| scope.holds(&item.shifts));
    let mut none = true;
    for item in items {
        none = false;
        let standing = match state.exception(&item.id) {
            Standing::Open => "OPEN".to_owned(),
            Standing::SentBack { remark, .. } => format!("RETURNED: {remark}"),
            Standing::Settled { settlement, .. } => {
                let words = [
                    settlement.cause.as_str(),
                    &settlement.action,
                    disposition_name(&settlement.disposition),
                    &settlement.disposition_reason,
                    &settlement.quantity,
                    &settlement.lot,
                    &settlement.note,
                ];
                let words = words.into_iter().filter(|word| !word.trim().is_empty());
                words.collect::<Vec<_>>().join("; ")
            }
        };
        let start = item.start.get(11..19).unwrap_or(&item.start);
        line(ui, look, &format!("{start} {}: {standing}", item.rule));
    }
    if none {
        line(ui, look, "none");
    }
    closings(ui, look, state, scope);
    if scope.shift_name().is_none() {
        for entry in &subject.entries {
            let made = state.entered(entry);
            let value = made.map_or_else(|| "OPEN".to_owned(), |made| made.value.clone());
            line(ui, look, &format!("Entry \u{201c}{entry}\u{201d}: {value}"));
        }
    }
}

/// What was to be closed, each with its reason; nothing where nothing was.
fn closings(ui: &mut Ui, look: Look, state: &State, scope: &Scope) {
    let words = |made: &Made| {
        let words = [made.value.trim(), made.note.trim()];
        words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join("; ")
    };
    let items: Vec<_> =
        state.subject().to_close.iter().filter(|item| scope.holds(&item.shifts)).collect();
    let hole = state.hole();
    if items.is_empty() && hole.is_none() {
        return;
    }
    ui.add_space(GAP);
    title(ui, look, "To close in it", None);
    if let Some((hole, made)) = hole {
        line(ui, look, &format!("{}: {}", hole.in_words(), words(made)));
    }
    for item in items {
        let start = item.start.as_deref().and_then(|start| start.get(11..19)).unwrap_or_default();
        let kind = case::observation_kinds().find(|kind| kind.key() == item.kind);
        let kind = match kind {
            Some(kind) => kind.title(),
            None => &item.kind,
        };
        let closed = state.closed(&item.id).map_or_else(|| "OPEN".to_owned(), words);
        line(ui, look, format!("{start} {kind}: {closed}").trim_start());
    }
    ui.add_space(GAP);
}

fn line(ui: &mut Ui, look: Look, text: &str) {
    let text = Type::Body.text(text, look.colors.ink);
    ui.add(egui::Label::new(text).wrap().selectable(true));
}
