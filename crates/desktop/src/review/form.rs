//! The settlement of the chosen exception: a form while it is open, the decision once it is made.

use super::held;
use super::made::undo;
use super::many;
use super::standing::{Mark, draw as draw_mark};
use super::state::{Focus, Review};
use super::typed::Form;
use super::words;
use crate::action::Actions;
use crate::clock::minute;
use crate::commands::Command;
use crate::theme::card::{card, figure, paragraph, title};
use crate::theme::{GAP, Look, Type, widgets};
use ::review::{
    Bundle, Correction, DISPOSITIONS, Decision, ExceptionItem, ItemKind, Role, Settlement,
    Standing, Together, disposition_name, holds_product,
};
use egui::{Id, Sense, Ui, vec2};
use plant::Plant;

/// Draws the settlement of an exception.
pub fn show(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    plant: &Plant,
    id: &str,
) {
    card(ui, look, |ui| {
        if let Some(why) = review.closed() {
            title(ui, look, "Resolution", None);
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        }
        let Some(item) = review.state().and_then(|state| state.item(id)).cloned() else {
            title(ui, look, "Resolution", None);
            paragraph(ui, look, "The journal does not know this exception yet.");
            return;
        };
        let standing = review.standing(id).clone();
        heading(ui, look, review.mark(id));
        match standing {
            Standing::Settled { settlement, mark } => {
                let when = format!("{}, {}", review.name_of(&mark.by), minute(mark.at));
                figure(ui, look, "Resolved", &when);
                settled(ui, look, &settlement);
                let hold = review.state().and_then(|state| state.hold_of(id)).cloned();
                if let Some(hold) = hold {
                    held::show(ui, look, (review, actions), &hold);
                }
                change(ui, look, (review, actions), &item);
            }
            Standing::SentBack { ref remark, ref mark, .. } => {
                let who = format!("{}, {}", review.name_of(&mark.by), minute(mark.at));
                figure(ui, look, "Returned", &who);
                figure(ui, look, "Comment", remark);
                form(ui, look, (review, actions), plant, (&item, &standing));
            }
            Standing::Open => form(ui, look, (review, actions), plant, (&item, &standing)),
        }
    });
}

fn heading(ui: &mut Ui, look: Look, mark: Mark) {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
        draw_mark(ui.painter(), look, rect, mark);
        let text = match mark {
            Mark::Fails => "Resolved, and its signature FAILS",
            Mark::Open => "To resolve",
            Mark::SentBack => "Returned: to resolve again",
            Mark::Done => "Resolved",
        };
        ui.label(Type::Title.text(text, look.colors.ink));
    });
}

fn settled(ui: &mut Ui, look: Look, settlement: &Settlement) {
    for (name, text) in [
        ("Cause", settlement.cause.as_str()),
        ("Action", &settlement.action),
        ("Disposition", disposition_name(&settlement.disposition)),
        ("Reason", &settlement.disposition_reason),
        ("Quantity", &settlement.quantity),
        ("Lot", &settlement.lot),
        ("Note", &settlement.note),
    ] {
        if !text.trim().is_empty() {
            figure(ui, look, name, text);
        }
    }
    for (name, text) in settlement.correction.iter().flat_map(Correction::parts) {
        figure(ui, look, name, text);
    }
}

/// What can be done about a settled exception.
fn change(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    item: &ExceptionItem,
) {
    ui.add_space(GAP);
    let is_ours = |focus: &mut Focus| !matches!(focus, Focus::Entry(_));
    let focus = review.focus.take_if(is_ours);
    if let Some(response) = undo(ui, look, review.is_signed(&item.id)) {
        if focus == Some(Focus::Settlement) {
            response.request_focus();
            response.scroll_to_me(None);
        }
        if response.clicked() {
            let of = ItemKind::Exception;
            let back = Decision::Withdrawn { of, item: item.id.clone() };
            actions.push(back);
            review.focus = Some(Focus::Settlement);
        }
    }
    if review.role != Some(Role::Supervisor) {
        return;
    }
    let mut remark = review.typed.remark(&item.id);
    let id = Id::unique(("remark", &item.id));
    let response = words::plain(ui, look, id, "Comment, to return it", &mut remark);
    if focus == Some(Focus::Remark) {
        response.request_focus();
    }
    if response.changed() {
        review.typed.set_remark(&item.id, remark.clone());
    }
    if widgets::button(ui, look, "Return with comment", "").clicked() {
        let exception = item.id.clone();
        actions.push(Decision::SentBack { exception, remark });
    }
}

fn form(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    plant: &Plant,
    (item, standing): (&ExceptionItem, &Standing),
) {
    let before = review.typed.form(item, standing);
    let mut form = before.clone();
    let in_parts = review.asks_for_parts(item);
    let about = About { key: &item.id, item: Some(item), in_parts };
    let complete = fields(ui, look, (review, plant), &about, &mut form);
    let others = others_open(review, item).len();
    if others > 0 {
        let of = if item.cleaning.is_some() { "cleaning" } else { "episode" };
        let text = match others {
            1 => format!("Apply to the other exception in this {of}"),
            more => format!("Apply to the other {more} exceptions in this {of}"),
        };
        words::check(ui, look, &mut form.whole_episode, &text);
    }
    ui.add_space(2.0);
    actions.primary_button(ui, look, Command::Settle, Command::Settle.title());
    many::as_before(ui, look, review, actions);
    match missing(review, &complete) {
        Some(missing) => {
            let text = format!("Required: {missing}.");
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
        None => {
            ui.label(Type::Small.text("Everything is filled in.", look.colors.ink_soft));
        }
    }
    if form != before {
        review.typed.set_form(form);
    }
}

/// What the fields of a form are about.
pub(super) struct About<'a> {
    /// What tells them from those of another form.
    pub key: &'a str,
    /// The exception; `None` where several are resolved alike, whose quantities and lots are their own.
    pub item: Option<&'a ExceptionItem>,
    /// Whether a corrective action is entered in its parts.
    pub in_parts: bool,
}

/// Draws the fields of a form; gives what is decided when it is entered as it is.
pub(super) fn fields(
    ui: &mut Ui,
    look: Look,
    (review, plant): (&mut Review, &Plant),
    about: &About<'_>,
    form: &mut Form,
) -> Settlement {
    let About { key, item, in_parts } = *about;
    let held_before = holds_product(&form.settlement().disposition);
    let id = |field: &str| Id::unique((field, key));
    let dispositions: Vec<String> = DISPOSITIONS
        .iter()
        .map(|(_, name)| (*name).to_owned())
        .chain(plant.review.dispositions.iter().cloned())
        .collect();
    let Form { settlement, .. } = form;
    let offer = |ui: &mut Ui, field: &str, name: &str, text: &mut String, words: &[String]| {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        words::offering(ui, look, id(field), name, text, &words)
    };
    let cause = offer(ui, "cause", "Cause", &mut settlement.cause, &plant.review.causes);
    if review.focus == Some(Focus::Settlement) {
        review.focus = None;
        cause.request_focus();
        cause.scroll_to_me(None);
    }
    let actions = &plant.review.actions;
    offer(ui, "action", "Corrective action", &mut settlement.action, actions);
    if in_parts {
        let begin = || item.map(begun).unwrap_or_default();
        let parts = settlement.correction.get_or_insert_with(begin);
        let name = match item {
            Some(_) => "Under control again since",
            None => "Under control again since (blank: its end, by the record)",
        };
        words::plain(ui, look, id("control"), name, &mut parts.under_control);
        words::plain(ui, look, id("recurrence"), "Recurrence prevented by", &mut parts.recurrence);
        let name = "No unsafe product went out, since";
        words::plain(ui, look, id("product"), name, &mut parts.product);
    }
    let name = "Disposition of the product";
    offer(ui, "disposition", name, &mut settlement.disposition, &dispositions);
    let complete = Form { settlement: settlement.clone(), whole_episode: false }.settlement();
    // What the rules ask for is not decided here: the field is there when they do, or when it has
    // been used.
    let asks_reason =
        Settlement { disposition_reason: String::new(), ..filled(&complete) }.missing().is_some();
    if asks_reason || !settlement.disposition_reason.is_empty() {
        let text = &mut settlement.disposition_reason;
        words::plain(ui, look, id("reason"), "Reason for the disposition", text);
    }
    if item.is_some() {
        ui.columns(2, |columns| {
            if let [left, right] = columns {
                words::plain(left, look, id("quantity"), "Quantity", &mut settlement.quantity);
                words::plain(right, look, id("lot"), "Lot", &mut settlement.lot);
            }
        });
    }
    if holds_product(&complete.disposition) {
        // Offered once: whoever clears a field means it.
        if !held_before && settlement.hold_tag.is_empty() {
            settlement.hold_tag = review.next_hold_tag();
            settlement.tank = item.map(|item| item.tanks.join(", ")).unwrap_or_default();
        }
        let tank = if item.is_some() { "Tank" } else { "Tank (blank: its own)" };
        ui.columns(2, |columns| {
            if let [left, right] = columns {
                words::plain(left, look, id("tag"), "Tag of the hold", &mut settlement.hold_tag);
                words::plain(right, look, id("tank"), tank, &mut settlement.tank);
            }
        });
    }
    words::plain(ui, look, id("note"), "Note", &mut settlement.note);
    complete
}

/// The first of what is required of a resolution and blank, in words.
pub(super) fn missing(review: &Review, settlement: &Settlement) -> Option<&'static str> {
    let item = review.state().and_then(|state| state.item(&settlement.exception));
    let in_parts = item.is_some_and(|item| review.asks_for_parts(item));
    settlement.wanting().or_else(|| settlement.missing_part().filter(|_| in_parts))
}

/// What the record itself says of the parts of a corrective action.
pub(super) fn begun(item: &ExceptionItem) -> Correction {
    let end = item.end.get(..19).unwrap_or(&item.end).replace('T', " ");
    Correction { under_control: format!("{end}, by the record"), ..Correction::default() }
}

/// The same with nothing else missing.
fn filled(settlement: &Settlement) -> Settlement {
    let full = || "\u{2013}".to_owned();
    let disposition = match settlement.disposition.as_str() {
        "" => full(),
        chosen => chosen.to_owned(),
    };
    Settlement { cause: full(), action: full(), disposition, ..settlement.clone() }
}

/// What an exception is resolved with: its cleaning, else its episode.
fn bundle(item: &ExceptionItem) -> Bundle {
    item.cleaning.map_or(Bundle::Episode(item.episode), Bundle::Cleaning)
}

/// The other exceptions of the cleaning or the episode that are not resolved.
fn others_open(review: &Review, item: &ExceptionItem) -> Vec<ExceptionItem> {
    let items = review.state().map(|state| state.subject().exceptions.as_slice());
    let items = items.unwrap_or_default().iter();
    let bundle = bundle(item);
    items
        .filter(|other| bundle.holds(other) && other.id != item.id)
        .filter(|other| !review.is_settled(&other.id))
        .cloned()
        .collect()
}

/// What the form of an exception decides: its settlement, and that of the rest of the episode
/// where that was asked for, each with its own quantity and lot.
pub fn decisions(review: &Review, id: &str) -> Vec<Decision> {
    let Some(item) = review.state().and_then(|state| state.item(id)) else { return Vec::new() };
    if review.is_settled(id) {
        return Vec::new();
    }
    let form = review.typed.form(item, review.standing(id));
    let settlement = form.settlement();
    let others = if form.whole_episode { others_open(review, item) } else { Vec::new() };
    if item.cleaning.is_some() && !others.is_empty() {
        return vec![Decision::SettledTogether(Together {
            of: bundle(item),
            exceptions: std::iter::once(item.id.clone())
                .chain(others.into_iter().map(|other| other.id))
                .collect(),
            cause: settlement.cause,
            action: settlement.action,
            correction: settlement.correction,
            disposition: settlement.disposition,
            disposition_reason: settlement.disposition_reason,
            // Blank: of each what the audit found of it.
            quantity: String::new(),
            lot: String::new(),
            hold_tag: settlement.hold_tag,
            tank: settlement.tank,
            note: settlement.note,
        })];
    }
    let alike = others.into_iter().map(|other| Settlement {
        quantity: other.quantity.unwrap_or_default(),
        lot: other.lots.join(", "),
        exception: other.id,
        ..settlement.clone()
    });
    let alike: Vec<Settlement> = alike.collect();
    [settlement].into_iter().chain(alike).map(Decision::Settled).collect()
}
