//! What is said across the window about the review of the open record, in plain words: that the
//! register is not the one that was seen before, that nothing may be added, that the register or the
//! ledger is gone, that the record was changed, that nobody approved its limits.

use super::seen::{Limits, Next, Seen};
use super::standing::{Mark, draw as draw_mark};
use super::state::Review;
use crate::action::Actions;
use crate::commands::Command;
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, MARGIN, Type};
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Layout, Margin, Rect, ScrollArea, Sense, Ui, vec2};

/// How much of the window's height the banners take at most (ours): what is longer is scrolled.
const SHARE: f32 = 0.28;

/// One banner.
struct Notice {
    title: &'static str,
    /// What was found, in sentences.
    found: Vec<String>,
    /// What to do about it.
    hint: &'static str,
    command: Option<Command>,
    /// Whether something is wrong; else something is only to be done.
    alarming: bool,
}

/// Draws the banners where there is something to say.
pub fn show(ui: &mut Ui, look: Look, review: &Review, actions: &mut Actions) {
    let notices = notices(review);
    if notices.is_empty() {
        return;
    }
    let frame =
        Frame::new().fill(look.colors.surface).inner_margin(Margin::symmetric(MARGIN as i8, 6));
    let most = SHARE * ui.ctx().content_rect().height();
    egui::Panel::top("banners").frame(frame).resizable(false).show(ui, |ui| {
        let area = ScrollArea::vertical().id_salt("banners").max_height(most);
        // As high as what is in it, rather than the little that a panel offers at first.
        area.min_scrolled_height(most).show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.spacing_mut().item_spacing = vec2(GAP, 3.0);
            for (index, notice) in notices.iter().enumerate() {
                if index > 0 {
                    ui.add_space(4.0);
                }
                draw(ui, look, notice, actions);
            }
        });
    });
}

fn draw(ui: &mut Ui, look: Look, notice: &Notice, actions: &mut Actions) {
    let colors = look.colors;
    let Notice { title, found, hint, command, alarming } = notice;
    let role = if *alarming { Access::Alert } else { Access::Status };
    let said = [&[(*title).to_owned()], found.as_slice()].concat().join(": ");
    let builder = egui::UiBuilder::new().accessibility_role(role).accessibility_label(said);
    ui.scope_builder(builder, |ui| {
        ui.horizontal(|ui| {
            if *alarming {
                let (rect, _) = ui.allocate_exact_size(vec2(14.0, 18.0), Sense::hover());
                let mark = Rect::from_center_size(rect.center(), vec2(13.0, 13.0));
                draw_mark(ui.painter(), look, mark, Mark::Fails);
            }
            let (step, ink) = match (alarming, found.is_empty()) {
                (true, _) => (Type::Strong, colors.alert),
                (false, false) => (Type::Strong, colors.ink),
                (false, true) => (Type::Small, colors.ink_soft),
            };
            ui.label(step.text(*title, ink));
            let Some(command) = command else { return };
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add_space(MARGIN);
                actions.primary_button(ui, look, *command, command.title());
            });
        });
        for text in found {
            let text = Type::Body.text(text, colors.ink);
            ui.add(egui::Label::new(text).wrap().selectable(true));
        }
        if !hint.is_empty() {
            ui.add(egui::Label::new(Type::Small.text(*hint, colors.ink_soft)).wrap());
        }
    });
}

/// What there is to say, the gravest first.
fn notices(review: &Review) -> Vec<Notice> {
    let alert =
        |title, found, hint, command| Notice { title, found, hint, command, alarming: true };
    let seen = match (review.seen(), review.closed()) {
        (Some(seen), _) => seen,
        (None, why) => {
            return vec![alert(
                "The review could not be opened",
                why.map(str::to_owned).into_iter().collect(),
                "The record can be looked at. Nothing can be decided about it.",
                None,
            )];
        }
    };
    let mut notices = Vec::new();
    let books = &seen.books;
    if !books.alarms.is_empty() {
        notices.push(alert(
            "The register of signers or the ledger is not what was seen before",
            books.alarms.clone(),
            "Ask a supervisor you know and compare with the plant\u{2019}s papers before anything is \
             signed.",
            Some(Command::AcceptRegister),
        ));
    }
    if seen.register_is_gone() {
        notices.push(alert("The register of signers is gone", vec![gone(seen)], KEEP, None));
    } else {
        if let (Err(why), true, true) =
            (&books.register, seen.has_register, books.alarms.is_empty())
        {
            let title = "The register of signers can\u{2019}t be relied on";
            notices.push(alert(title, vec![why.clone()], KEEP, None));
        }
        let forbids = forbids(seen);
        if !forbids.is_empty() {
            let title = "This review can\u{2019}t be relied on: nothing can be added to it";
            notices.push(alert(title, forbids, KEEP, None));
        }
        if let (Ok(_), Err(why)) = (&books.register, &books.ledger)
            && !seen.verification.is_contradicted
        {
            let title = "The ledger can\u{2019}t be relied on";
            notices.push(alert(title, vec![why.clone()], KEEP, None));
        }
    }
    if !seen.changes.is_empty() {
        notices.push(alert(
            "This record is not what was reviewed",
            seen.changes.clone(),
            "Nothing can be decided until the new audit is entered. That supersedes the signatures; resolutions of unchanged exceptions are kept.",
            seen.forbids.is_empty().then_some(Command::ReAudit),
        ));
    }
    if seen.lacks_ledger() && books.alarms.is_empty() {
        let found = "There is no ledger beside the register of signers: lines cut off from a journal would not be noticed, and nothing can be signed."
            .to_owned();
        notices.push(Notice {
            title: "The existing records are not in the ledger yet",
            found: vec![found],
            hint: "A supervisor takes stock of the signed records once.",
            command: Some(Command::Books),
            alarming: false,
        });
    }
    notices.extend(limits(seen));
    notices
}

/// What to do where files are not what they were.
const KEEP: &str = "Nothing can be signed or decided. Keep the files as they are and fetch the right ones from the \
     backup.";

fn gone(seen: &Seen) -> String {
    let there = match (seen.lines > 0, seen.has_ledger) {
        (true, true) => "this record has a journal and the plant has a ledger",
        (true, false) => "this record has a journal",
        _ => "the plant has a ledger",
    };
    format!(
        "{} is not there, and {there}: no signature can be checked.",
        seen.register_path.display()
    )
}

/// Why nothing may be added, as far as nothing above says it.
fn forbids(seen: &Seen) -> Vec<String> {
    // Without the register no signature can be checked, which is said already.
    if seen.books.register.is_err() {
        return Vec::new();
    }
    seen.forbids.clone()
}

fn limits(seen: &Seen) -> Option<Notice> {
    match &seen.limits {
        Limits::NotApproved { found, next } if seen.changes.is_empty() => {
            let found = found.strip_prefix("NOT APPROVED: ").unwrap_or(found);
            let (hint, command) = match next {
                Next::Approve => (
                    "Nothing can be signed with these limits. A supervisor approves the plant file in use, \
                     or puts the approved one back.",
                    Command::Books,
                ),
                Next::Agree => (
                    "A supervisor has approved the plant file in use; another one agrees to it.",
                    Command::Books,
                ),
                Next::PlantFile => (
                    "Nothing can be signed with assumed limits. Choose the approved plant file, or put it \
                     beside the record again.",
                    Command::OpenPlant,
                ),
                Next::ReAudit => (
                    "The plant file in use is approved: enter the new audit, then sign.",
                    Command::ReAudit,
                ),
            };
            Some(Notice {
                title: "Limits not approved",
                found: vec![format!("{}.", capital(found))],
                hint,
                command: Some(command),
                alarming: true,
            })
        }
        // An alarm, or a register that is gone, says more.
        Limits::NoSigners if !seen.has_register && !seen.register_is_gone() => Some(Notice {
            title: "Nobody has set up signers: the limits are not approved",
            found: Vec::new(),
            hint: "",
            command: None,
            alarming: false,
        }),
        _ => None,
    }
}
