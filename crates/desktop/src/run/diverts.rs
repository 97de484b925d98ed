//! Every divert with what the record shows of its cause, and the reason that somebody who was there gives
//! for it. One without a cause in the record is an observation to close, and leads there.

use crate::action::{Action, Actions};
use crate::clock::minute;
use crate::day::Day;
use crate::review::words;
use crate::table::{self, Place, word};
use crate::theme::{Look, Type, widgets};
use crate::units::Units;
use ::review::{Decision, ItemKind, divert_reason};
use analysis::{Divert, DivertReason};
use egui::accesskit::Role as Access;
use egui::{Id, Key, Rect, Ui, UiBuilder, WidgetInfo, pos2, vec2};

/// The column of the response.
const RESPONSE: usize = 3;
/// The last column, which has the field.
const REASON: usize = 5;
/// Below this width headings are shorter.
const NARROW: f32 = 760.0;

/// The room of the field with its button (ours: some eight words).
const FIELD: f32 = 320.0;
/// A field with less room has it to itself: the key enters what is typed.
const ALONE: f32 = 250.0;

const COLUMNS: [table::Column<()>; 6] = [
    word("Diverted at", 78.0, false),
    word("Duration, about", 84.0, true),
    word("Cause in the record", 190.0, false),
    word("Response, about", 92.0, true),
    word("Diverted", 76.0, true),
    word("Reason", 260.0, false),
];

/// Draws the list.
pub(super) fn show(ui: &mut Ui, look: Look, day: &mut Day, units: Units, actions: &mut Actions) {
    let count = day.case.audit().diverts.len();
    if count == 0 {
        table::note(ui, look, "The device never left forward flow outside cleaning.");
        return;
    }
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let all: Vec<[String; REASON]> =
        day.case.audit().diverts.iter().map(|divert| cells(day, divert, units)).collect();
    let needs = |ui: &Ui, index: usize| {
        let texts = all.iter().filter_map(|row| row.get(index)).map(String::as_str);
        // The reason is typed: its field keeps the room that it has.
        if index == REASON { FIELD } else { table::widest_text(ui, texts, Type::Strong) }
    };
    let mut columns = COLUMNS;
    // Where there is little room, the reason comes first.
    if table::room(ui) < NARROW {
        columns[RESPONSE].title = "Response";
    }
    let columns = table::fitted(ui, &columns, table::room(ui), needs);
    let places = table::titles(ui, look, (&columns, table::room(ui)), 22.0);
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("diverts").show(ui, |ui| {
        table::rows(ui, "Diverts", count, |ui, index| {
            if let Some(cells) = all.get(index) {
                line(ui, look, day, (index, &places, cells), actions);
            }
        });
    });
}

/// What stands in a line before the reason.
fn cells(day: &Day, divert: &Divert, units: Units) -> [String; REASON] {
    let until = if divert.is_over { "" } else { " +" };
    [
        day.case.clock(divert.observed.start()),
        format!("{}{until}", case::about(divert.estimate.duration())),
        case::divert_cause(divert, units.of_observations()),
        divert.response.map_or_else(String::new, |response| case::at_most(response.about)),
        case::returned(divert).unwrap_or_default(),
    ]
}

fn line(
    ui: &mut Ui,
    look: Look,
    day: &mut Day,
    (index, places, cells): (usize, &[Place<()>], &[String; REASON]),
    actions: &mut Actions,
) {
    let Some(divert) = day.case.audit().diverts.get(index).cloned() else { return };
    let said = || table::said(&COLUMNS, cells);
    let info = || WidgetInfo::labeled(Access::Row, true, said());
    let mut field = None;
    let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
        let is_open = divert.reason == DivertReason::NotInRecord;
        table::cells(ui, look, rect, (places, cells), |one| one == 0 || (is_open && one == 2));
        field = places.get(REASON).map(|place| {
            Rect::from_min_max(
                pos2(place.left, rect.top() + 1.0),
                pos2(place.left + place.width - 12.0, rect.bottom() - 2.0),
            )
        });
    });
    if response.on_hover_text(said()).clicked() {
        actions.push(Action::Show(divert.outer));
    }
    if let Some(field) = field {
        let mut inner = ui.new_child(
            UiBuilder::new()
                .max_rect(field)
                .id_salt(("divert", &divert.id))
                .layout(egui::Layout::right_to_left(egui::Align::Center)),
        );
        inner.spacing_mut().item_spacing.x = 4.0;
        reason(&mut inner, look, day, &divert, actions);
    }
}

/// The reason that was entered, a field to enter it, or the way to the observation to close.
fn reason(ui: &mut Ui, look: Look, day: &mut Day, divert: &Divert, actions: &mut Actions) {
    let Some(state) = day.review.state() else { return };
    let audit = day.case.audit();
    let made = divert_reason(state, audit, day.closing_ids(), divert).cloned();
    let observation = audit.observation_of(divert);
    let known = state.subject().diverts.iter().find(|item| item.id == divert.id);
    let is_signed = known.is_some_and(|item| {
        state.signatures().iter().any(|one| one.is_current() && one.scope.holds(&item.shifts))
    });
    let at = day.case.clock(divert.observed.start());
    if let Some(made) = made {
        let undo = observation.is_none() && !is_signed;
        if undo && widgets::named_button(ui, look, "Undo", &format!("Undo: divert {at}")).clicked()
        {
            actions.push(Decision::Withdrawn { of: ItemKind::Divert, item: divert.id.clone() });
        }
        let who = day.review.name_of(&made.mark.by);
        let text = format!("{} ({who}, {})", made.value, minute(made.mark.at));
        ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
            ui.add(egui::Label::new(Type::Strong.text(text, look.colors.ink)).truncate());
        });
        return;
    }
    if let Some(index) = observation {
        let name = format!("Close: divert {at}");
        if widgets::named_button(ui, look, "Close with a reason", &name).clicked() {
            actions.push(Action::Note(index));
        }
        return;
    }
    if known.is_none() || is_signed {
        return;
    }
    let name = format!("Enter: divert {at}");
    let has_button = ui.available_width() >= ALONE;
    let pressed = has_button && widgets::named_button(ui, look, "Enter", &name).clicked();
    let mut text = day.review.typed.reason(&divert.id);
    let id = Id::unique(("divert reason", &divert.id));
    let response = words::bare(ui, look, id, &format!("Reason of the divert at {at}"), &mut text);
    if response.changed() {
        day.review.typed.set_reason(&divert.id, text.clone());
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if (pressed || entered) && !text.trim().is_empty() {
        let (divert, note) = (divert.id.clone(), String::new());
        actions.push(Decision::DivertExplained { divert, reason: text, note });
    }
}
