//! Exceptions that are chosen together are resolved by one form, each with its own quantity and lot, which
//! are listed before anything is entered; and one that is resolved as the one before was.

use super::form::{self, About};
use super::state::Review;
use crate::action::Actions;
use crate::commands::Command;
use crate::day::Day;
use crate::table::{self, word};
use crate::theme::card::{card, figure, paragraph, title};
use crate::theme::{GAP, Look, ROW, Type, widgets};
use ::review::{Correction, Decision, ExceptionItem, Settlement};
use analysis::{Exception, Rule};
use case::plural;
use egui::accesskit::Role as Access;
use egui::{Ui, WidgetInfo, vec2};

/// How many rows of the list are in sight at once (ours: the button stays in sight below them).
const ROWS: f32 = 6.0;

const COLUMNS: [table::Column<()>; 4] = [
    word("Rule", 36.0, false),
    word("Start", 76.0, false),
    word("Quantity", 76.0, true),
    word("Lot", 74.0, false),
];

/// Draws what is chosen together, and the form.
pub fn show(ui: &mut Ui, look: Look, day: &mut Day, actions: &mut Actions) {
    card(ui, look, |ui| {
        let chosen: Vec<&Exception> = day.picked_exceptions().collect();
        let count = plural(chosen.len(), "exception");
        if title(ui, look, &format!("{count} selected"), Some("Clear the selection")) {
            actions.push(crate::action::Action::Release);
        }
        let rules = Rule::ALL.iter().filter_map(|&rule| {
            let count = chosen.iter().filter(|one| one.rule == rule).count();
            (count > 0).then(|| format!("{count} {}", rule.name()))
        });
        figure(ui, look, "Rules", &rules.collect::<Vec<_>>().join(", "));
        let in_cleaning = chosen.iter().filter(|one| one.outside_production).count();
        if in_cleaning > 0 {
            figure(ui, look, "Outside production", &plural(in_cleaning, "exception"));
        }
    });
    let ids: Vec<String> = day.picked_exceptions().map(|one| one.id.clone()).collect();
    let case = std::sync::Arc::clone(&day.case);
    let review = &mut day.review;
    card(ui, look, |ui| {
        if let Some(why) = review.closed() {
            title(ui, look, "Resolution", None);
            paragraph(ui, look, &format!("The review is not open: {why}"));
            return;
        }
        let open = open_items(review, &ids);
        title(ui, look, "To resolve together", None);
        if open.len() < ids.len() {
            let done = ids.len() - open.len();
            let text = match done {
                1 => "1 of them is already resolved and is not changed.".to_owned(),
                done => format!("{done} of them are already resolved and are not changed."),
            };
            paragraph(ui, look, &text);
        }
        if open.is_empty() {
            return;
        }
        let in_parts = open.iter().any(|item| review.asks_for_parts(item));
        let before = review.typed.many();
        let mut form = before.clone();
        let about = About { key: "together", item: None, in_parts };
        form::fields(ui, look, (review, case.plant()), &about, &mut form);
        list(ui, look, review, &open);
        ui.add_space(GAP);
        let button = format!("Resolve {}", plural(open.len(), "exception"));
        actions.primary_button(ui, look, Command::Settle, &button);
        as_before(ui, look, review, actions);
        let decisions = decisions(review, &ids);
        let missing = decisions.iter().find_map(|decision| match decision {
            Decision::Settled(settlement) => form::missing(review, settlement),
            _ => None,
        });
        let text = missing.map_or_else(
            || {
                "Everything is filled in. Each exception gets its own line in the journal."
                    .to_owned()
            },
            |missing| format!("Required: {missing}."),
        );
        ui.add(egui::Label::new(Type::Small.text(text, look.colors.ink_soft)).wrap());
        if form != before {
            review.typed.set_form(form);
        }
    });
}

/// What of each is its own.
fn list(ui: &mut Ui, look: Look, review: &Review, open: &[ExceptionItem]) {
    ui.add_space(GAP);
    ui.label(Type::Small.text("Each with its own quantity and lot", look.colors.ink_soft));
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
        let places = table::titles(ui, look, (&COLUMNS, table::room(ui)), 20.0);
        let height = ROW * ROWS.min(open.len() as f32);
        let area = egui::ScrollArea::vertical().auto_shrink([false, true]).max_height(height);
        area.id_salt("resolved together").show(ui, |ui| {
            table::rows(ui, "Resolve together", open.len(), |ui, index| {
                let Some(item) = open.get(index) else { return };
                let own = own(review, item);
                let rule = Rule::ALL.iter().find(|rule| rule.key() == item.rule);
                let (code, name) = rule.map_or(("", item.rule.as_str()), |rule| {
                    (rule.code(), rule.definition().short_name)
                });
                let start = item.start.get(11..19).unwrap_or(&item.start);
                let cells = |rule: &str| {
                    [rule, start, &own.quantity, &own.lot].map(|cell: &str| cell.to_owned())
                };
                let said = table::said(&COLUMNS, &cells(name));
                let info = || WidgetInfo::labeled(Access::Row, true, &said);
                let cells = cells(code);
                table::row(ui, look, (false, 0.0), info, |ui, rect| {
                    table::cells(ui, look, rect, (&places, &cells), |_| false);
                });
            });
        });
    });
}

/// The button that resolves as the one before was, where there is one; what that says stands below it.
pub fn as_before(ui: &mut Ui, look: Look, review: &Review, actions: &mut Actions) {
    let Some(last) = last_made(review) else { return };
    actions.button(ui, look, Command::SettleAsBefore, "Same as previous");
    let text = Type::Small.text(said(last), look.colors.ink_soft);
    ui.add(egui::Label::new(text).truncate()).on_hover_text(said(last));
}

/// What is taken over from the one before.
fn said(last: &Settlement) -> String {
    let parts = [last.cause.trim(), last.action.trim(), &last.disposition_in_words()];
    let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    widgets::capital(&parts.join("; "))
}

/// The resolution that was entered last.
fn last_made(review: &Review) -> Option<&Settlement> {
    let made = review.state()?.resolutions();
    made.max_by_key(|(_, _, mark)| mark.line).map(|(_, settlement, _)| settlement)
}

/// Those of the chosen that are not resolved.
fn open_items(review: &Review, ids: &[String]) -> Vec<ExceptionItem> {
    let items = ids.iter().filter_map(|id| review.state()?.item(id));
    items.filter(|item| !review.is_settled(&item.id)).cloned().collect()
}

/// What is filled in for one by itself: its quantity and its lot as they were typed there, or else as the
/// audit found them.
fn own(review: &Review, item: &ExceptionItem) -> Settlement {
    review.typed.form(item, review.standing(&item.id)).settlement
}

/// The same decision about each, with its own quantity, lot and tank.
fn alike(review: &Review, items: &[ExceptionItem], all: &Settlement) -> Vec<Decision> {
    let one = |item: &ExceptionItem| {
        let own = own(review, item);
        let correction = all.correction.clone().filter(|_| review.asks_for_parts(item));
        let correction = correction.map(|parts| match parts.under_control.trim() {
            "" => Correction { under_control: form::begun(item).under_control, ..parts },
            _ => parts,
        });
        let tank = match (all.holds_product(), item.tanks.is_empty() || !all.tank.is_empty()) {
            (false, _) => String::new(),
            (true, true) => all.tank.clone(),
            (true, false) => item.tanks.join(", "),
        };
        Decision::Settled(Settlement {
            exception: item.id.clone(),
            quantity: own.quantity,
            lot: own.lot,
            correction,
            tank,
            ..all.clone()
        })
    };
    items.iter().map(one).collect()
}

/// What the form decides about those of the chosen that are not resolved.
pub fn decisions(review: &Review, ids: &[String]) -> Vec<Decision> {
    alike(review, &open_items(review, ids), &review.typed.many().settlement())
}

/// What resolves those of the chosen that are open as the one before was; nothing where none was resolved
/// yet.
pub fn decisions_as_before(review: &Review, ids: &[String]) -> Vec<Decision> {
    let Some(last) = last_made(review) else { return Vec::new() };
    // When it was under control again, and where its product is, is each one's own.
    let own = |parts: &Correction| Correction { under_control: String::new(), ..parts.clone() };
    let correction = last.correction.as_ref().map(own);
    alike(review, &open_items(review, ids), &Settlement { correction, ..last.clone() })
}
