//! The card of what is signed, scope by scope, while nothing is selected.

use super::seen::Seen;
use super::standing::{Mark, draw as draw_mark};
use super::state::Review;
use crate::action::Actions;
use crate::clock::minute;
use crate::commands::Command;
use crate::theme::card::{card, figure, paragraph, title};
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, Type};
use ::review::{Act, Kind, Link, Meaning, Proof, Scope, Signed, Stage, State};
use egui::accesskit::Role as Access;
use egui::{Rect, Sense, Ui, UiBuilder, vec2};

/// A scope as a title.
pub fn scope_name(scope: &Scope) -> String {
    scope.shift_name().map_or_else(|| "Whole record".to_owned(), |name| format!("Shift {name}"))
}

/// Draws the card.
pub fn show(ui: &mut Ui, look: Look, review: &Review, actions: &mut Actions) {
    card(ui, look, |ui| {
        title(ui, look, "Review", None);
        let Some(seen) = review.seen() else {
            let why = review.closed().unwrap_or_default();
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        };
        let state = &seen.state;
        for scope in review.scopes() {
            ui.horizontal(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
                draw_mark(ui.painter(), look, rect, mark(seen, &scope));
                figure(ui, look, &scope_name(&scope), &stand(seen, &scope));
            });
        }
        if !state.signatures().is_empty() {
            ui.add_space(GAP);
            title(ui, look, "Signatures", None);
        }
        for one in state.signatures() {
            signature(ui, look, one);
        }
        let lines = lines(state);
        if !lines.is_empty() {
            ui.add_space(GAP);
            title(ui, look, "Other lines of the journal", None);
        }
        for (text, failing) in lines {
            if failing {
                fails(ui, look, &text);
            } else {
                paragraph(ui, look, &text);
            }
        }
        let faults = faults(seen);
        if !faults.is_empty() {
            ui.add_space(GAP);
            title(ui, look, "What fails", None);
        }
        for fault in faults {
            fails(ui, look, &fault);
        }
        ui.add_space(GAP);
        ui.horizontal_wrapped(|ui| {
            let is_signed = state.signatures().iter().any(Signed::is_current);
            let all = [(Command::Sign, true), (Command::Reopen, is_signed)];
            for (command, _) in all.into_iter().filter(|(_, shown)| *shown) {
                actions.button(ui, look, command, command.title());
            }
        });
    });
}

/// A signature: what it says, and whether it holds.
fn signature(ui: &mut Ui, look: Look, signed: &Signed) {
    let ink = look.colors.ink;
    let meaning = capital(&signed.meaning.to_string());
    let mut first = Type::Strong.text(format!("{meaning}: {}", signed.scope), ink);
    let name = format!("{} ({}), {}", signed.name, signed.role, minute(signed.mark.at));
    let mut second = Type::Body.text(name, ink);
    if !signed.is_current() {
        (first, second) = (first.strikethrough(), second.strikethrough());
    }
    ui.add(egui::Label::new(first).wrap());
    ui.add(egui::Label::new(second).wrap());
    if !signed.verdict.holds() {
        fails(ui, look, &format!("this signature FAILS: {}", signed.verdict));
    }
    let line = signed.mark.line;
    let text = match signed.superseded_by {
        Some(by) => format!("line {line}, superseded by line {by} of the journal"),
        None => format!("line {line} of the journal"),
    };
    ui.label(Type::Small.text(text, look.colors.ink_soft));
}

/// What fails: told by its mark and its words, not by its colour alone.
fn fails(ui: &mut Ui, look: Look, text: &str) {
    let builder = UiBuilder::new().accessibility_role(Access::Alert).accessibility_label(text);
    ui.scope_builder(builder, |ui| {
        ui.horizontal_top(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(12.0, 16.0), Sense::hover());
            let mark = Rect::from_center_size(rect.center(), vec2(12.0, 12.0));
            draw_mark(ui.painter(), look, mark, Mark::Fails);
            let text = Type::Body.text(capital(text), look.colors.alert);
            ui.add(egui::Label::new(text).wrap().selectable(true));
        });
    });
}

/// Signed lines that are no signatures under the record and do not hold, and clocks that ran ahead.
fn lines(state: &State) -> Vec<(String, bool)> {
    let failing = state.failing().filter(|proof| !matches!(proof.act, Act::Sign(_)));
    let failing = failing.filter_map(|Proof { mark, verdict, .. }| {
        let text = format!("line {} of {} FAILS: {}", mark.line, mark.by, (*verdict)?);
        Some((text, true))
    });
    let corrected = state.corrections().iter().map(|(mark, reason)| {
        let text = format!(
            "Line {}: {} corrected the clock to {}: {reason}",
            mark.line,
            mark.by,
            minute(mark.at)
        );
        (text, false)
    });
    failing.chain(corrected).collect()
}

/// What else of a review that was begun does not hold; what differs in the files has a banner.
fn faults(seen: &Seen) -> Vec<String> {
    let links = seen.verification.links.iter().filter(|link| !link.holds);
    let told = |kind: Kind| match kind {
        Kind::Chain => seen.lines > 0,
        Kind::Rules
        | Kind::Ledger
        | Kind::Approval
        | Kind::Shown
        | Kind::Entries
        | Kind::Seal
        | Kind::Tube
        | Kind::Line
        | Kind::Unsigned => true,
        // A register that is gone or refused has a banner.
        Kind::Register
        | Kind::File
        | Kind::PlantFile
        | Kind::Audit
        | Kind::Hole
        | Kind::Signature
        | Kind::SignedLine
        | Kind::SignOff => false,
    };
    let links = links.filter(|link| told(link.kind));
    links.map(Link::in_words).collect()
}

/// The mark of a scope: whether it is signed, or could be, or bears a signature that is worth nothing.
fn mark(seen: &Seen, scope: &Scope) -> Mark {
    let state = &seen.state;
    if bears_failing(state, scope) || is_changed(seen, scope) {
        Mark::Fails
    } else if state.can_be_reviewed(scope).is_ok() || state.is_signed(Meaning::Reviewed, scope) {
        Mark::Done
    } else {
        Mark::Open
    }
}

/// Whether a signature that nothing has superseded fails under a scope.
fn bears_failing(state: &State, scope: &Scope) -> bool {
    let mut failing = state.signatures().iter().filter(|one| one.is_current() && !one.stands());
    failing.any(|one| one.scope == *scope || one.scope == Scope::DAY)
}

/// Whether signatures that hold stand under a scope, and what they were given for is not there any more.
fn is_changed(seen: &Seen, scope: &Scope) -> bool {
    seen.stage == Stage::ChangedSinceSigning && seen.state.is_signed(Meaning::Reviewed, scope)
}

/// Where a scope stands, in words.
pub fn stand(seen: &Seen, scope: &Scope) -> String {
    let state = &seen.state;
    let (done, all) = state.settled(scope);
    let settled = format!("{done} of {all} resolved");
    if bears_failing(state, scope) {
        format!("{settled}, a signature FAILS")
    } else if is_changed(seen, scope) {
        format!("{settled}, {}", Stage::ChangedSinceSigning.name())
    } else if state.is_signed(Meaning::Approved, scope) {
        format!("{settled}, approved")
    } else if state.is_signed(Meaning::Reviewed, scope) {
        format!("{settled}, reviewed")
    } else {
        settled
    }
}
