//! One field of the form: its name, the field itself, what holds where nothing stands in it, and what is
//! wrong with what does.

use super::state::PlantPage;
use crate::review::words::{bare, check, show_focus};
use crate::theme::{GAP, Look, Type, widgets};
use ::setup::edit::{Field, Group, Kind, Place};
use egui::{Align, Id, Label, Layout, Sense, TextEdit, Ui, vec2};

/// The room of the names and of the fields.
const WIDE: [f32; 2] = [190.0, 236.0];
/// The room of the names in a narrow window, where a field takes the rest.
const NARROW: f32 = 178.0;
/// As much room as a field is given.
const MOST: f32 = 360.0;
/// The least room of a hint beside its field.
const LEAST_HINT: f32 = 180.0;
/// The height of a field of one line.
const HEIGHT: f32 = 24.0;
/// The room of what unfolds the columns.
const UNFOLDING: f32 = 32.0;
/// How many of the columns that fit are offered at once.
const OFFERED: usize = 40;

/// Draws a field under a name.
pub(super) fn show(
    ui: &mut Ui,
    look: Look,
    page: &mut PlantPage,
    (group, field): (&Group, &Field),
    (place, name): (Place, &str),
) {
    // In a narrow window the hint stands below the field.
    let is_beside = ui.available_width() > WIDE[0] + WIDE[1] + LEAST_HINT;
    let rest = (ui.available_width() - NARROW - GAP).min(MOST);
    let [names, fields] = if is_beside { WIDE } else { [NARROW, rest] };
    let said = page.opened.said(place);
    let fault = page.fault.as_ref().filter(|fault| fault.place == Some(place));
    let fault = fault.map(|fault| fault.message.clone());
    let hint = widgets::capital(&hint(page, (group, field), place));
    let below = |ui: &mut Ui| {
        if let Some(fault) = &fault {
            let text = Type::Strong.text(widgets::capital(fault), look.colors.alert);
            ui.add(Label::new(text).wrap().selectable(true));
        }
        if !hint.is_empty() {
            ui.add(Label::new(Type::Small.text(&hint, look.colors.ink_soft)).wrap());
        }
    };
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = GAP;
        ui.allocate_ui_with_layout(
            vec2(names, HEIGHT),
            Layout::left_to_right(Align::Center).with_main_wrap(true),
            |ui| {
                ui.set_min_size(vec2(names, HEIGHT));
                ui.set_max_width(names);
                // What is ticked has its name beside it.
                if field.kind == Kind::Switch {
                    return;
                }
                let is_changed = page.edit.said(place) != said;
                let step = if is_changed { Type::Strong } else { Type::Body };
                // A long name goes on below.
                ui.add(Label::new(step.text(name, look.colors.ink)).wrap());
            },
        );
        ui.allocate_ui_with_layout(vec2(fields, HEIGHT), Layout::top_down(Align::Min), |ui| {
            ui.set_width(fields);
            if let Some(text) = control(ui, look, page, (group, field), (place, name)) {
                page.say(place, field.kind, text);
            }
        });
        if is_beside {
            ui.allocate_ui_with_layout(
                vec2(ui.available_width(), HEIGHT),
                Layout::top_down(Align::Min),
                |ui| {
                    ui.set_width(ui.available_width());
                    ui.add_space(4.0);
                    below(ui);
                },
            );
        }
    });
    if !is_beside {
        ui.horizontal_top(|ui| {
            ui.add_space(names + GAP);
            ui.vertical(below);
        });
    }
}

/// What holds where nothing stands in the field; of a row of a regulation that was chosen, what it says.
fn hint(page: &PlantPage, (group, field): (&Group, &Field), place: Place) -> String {
    let Kind::Choice(choices) = field.kind else { return field.hint(group) };
    let said = page.text(place, field.kind);
    let chosen = choices.all().into_iter().find(|(value, _)| *value == said);
    match chosen {
        Some((value, words)) if value != words => words,
        _ => field.hint(group),
    }
}

/// Draws what can be typed or chosen; gives the text that is said by it.
fn control(
    ui: &mut Ui,
    look: Look,
    page: &PlantPage,
    (group, field): (&Group, &Field),
    (place, name): (Place, &str),
) -> Option<String> {
    let mut text = page.text(place, field.kind);
    let id = Id::unique(("plant file", place));
    match field.kind {
        Kind::Switch => {
            let before = text == "true";
            let mut on = before;
            check(ui, look, &mut on, name);
            (on != before).then(|| if on { "true".to_owned() } else { String::new() })
        }
        Kind::Words => {
            let rows = text.lines().count().max(1) + 1;
            let edit = TextEdit::multiline(&mut text).id(id).desired_rows(rows);
            let response = ui.add(edit.desired_width(f32::INFINITY)).accessible_name(name);
            show_focus(ui, look, &response);
            response.changed().then_some(text)
        }
        Kind::Choice(choices) => {
            let all = choices.all();
            let shown = if text.is_empty() { "not set" } else { &text };
            let rows = all.iter().map(|(value, words)| (value.as_str(), words.as_str()));
            choose(ui, id, (name, shown), rows)
        }
        Kind::Column if !page.columns.is_empty() => {
            let mut said = None;
            ui.horizontal(|ui| {
                let room = ui.available_width() - UNFOLDING - GAP;
                ui.allocate_ui(vec2(room, HEIGHT), |ui| {
                    ui.set_width(room);
                    if bare(ui, look, id, name, &mut text).changed() {
                        said = Some(text.clone());
                    }
                });
                let columns = page.columns.iter().take(OFFERED).map(|one| (one.as_str(), ""));
                let chosen =
                    choose(ui, id.with("columns"), (&format!("Columns: {name}"), ""), columns);
                said = chosen.or(said.take());
            });
            said
        }
        Kind::Text | Kind::Column | Kind::Whole | Kind::Range => {
            let built_in = Type::Body.text(field.built_in(group), look.colors.ink_soft);
            let edit = TextEdit::singleline(&mut text).id(id).hint_text(built_in);
            let response = ui.add(edit.desired_width(f32::INFINITY)).accessible_name(name);
            show_focus(ui, look, &response);
            response.changed().then_some(text)
        }
    }
}

/// A field that unfolds what can be chosen, with nothing at the head of it; gives what was.
fn choose<'a>(
    ui: &mut Ui,
    id: Id,
    (name, shown): (&str, &str),
    all: impl Iterator<Item = (&'a str, &'a str)>,
) -> Option<String> {
    let (field, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let mut said = None;
    widgets::choose(ui, (field, id), name, shown, |ui| {
        for (value, words) in std::iter::once(("", "")).chain(all) {
            let title = if value.is_empty() { "not set" } else { value };
            let mut label = ui.selectable_label(value == shown, title);
            if !words.is_empty() && words != value {
                label = label.on_hover_text(words);
            }
            if label.clicked() {
                said = Some(value.to_owned());
            }
        }
    });
    said
}
