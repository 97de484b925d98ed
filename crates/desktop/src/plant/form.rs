//! The fields of a section.

use super::field;
use super::state::PlantPage;
use crate::theme::card::{card, title};
use crate::theme::{GAP, Look, widgets};
use ::setup::edit::{Field, Group, Place, SECTIONS};
use egui::{ScrollArea, Ui};

/// What is done to the tables of which there can be several, once all are drawn.
enum Change {
    Add(&'static str),
    Remove(&'static str, usize),
}

/// Draws the section that is shown.
pub(super) fn show(ui: &mut Ui, look: Look, page: &mut PlantPage) {
    let Some(section) = SECTIONS.get(page.section) else { return };
    let id = ("plant file", page.section);
    ScrollArea::vertical().auto_shrink(false).id_salt(id).show(ui, |ui| {
        let mut change = None;
        for group in section.groups {
            match group.several {
                Some(one) => change = several(ui, look, page, (group, one)).or(change.take()),
                None if group.table.starts_with("columns.") => column(ui, look, page, group),
                None => {
                    card(ui, look, |ui| {
                        title(ui, look, group.title, None);
                        fields(ui, look, page, (group, group.fields), None);
                    });
                }
            }
        }
        match change {
            Some(Change::Add(table)) => page.add(table),
            Some(Change::Remove(table, index)) => page.remove(table, index),
            None => {}
        }
    });
}

/// A column: a line while it is bound to nothing, and the rest once it is.
fn column(ui: &mut Ui, look: Look, page: &mut PlantPage, group: &Group) {
    let Some((first, rest)) = group.fields.split_first() else { return };
    let place = Place { table: group.table, index: None, key: first.key };
    card(ui, look, |ui| {
        field::show(ui, look, page, (group, first), (place, group.title));
        if page.edit.said(place).is_some() {
            fields(ui, look, page, (group, rest), None);
        }
    });
}

/// Tables of which there can be several, each with what removes it.
fn several(
    ui: &mut Ui,
    look: Look,
    page: &mut PlantPage,
    (group, one): (&Group, &str),
) -> Option<Change> {
    let mut change = None;
    for index in 0..page.edit.count(group.table) {
        card(ui, look, |ui| {
            let heading = format!("{} {}", widgets::capital(one), index + 1);
            if title(ui, look, &heading, Some(&format!("Remove {one} {}", index + 1))) {
                change = Some(Change::Remove(group.table, index));
            }
            fields(ui, look, page, (group, group.fields), Some(index));
        });
    }
    ui.add_space(GAP);
    if widgets::button(ui, look, &format!("Add a {one}"), "").clicked() {
        change = Some(Change::Add(group.table));
    }
    change
}

fn fields(
    ui: &mut Ui,
    look: Look,
    page: &mut PlantPage,
    (group, fields): (&Group, &[Field]),
    index: Option<usize>,
) {
    let at = |key| Place { table: group.table, index, key };
    let is_by_row = group.table == "products" && page.edit.said(at("row")).is_some();
    for one in fields {
        let place = at(one.key);
        // A row of a regulation says these.
        let is_of_row = is_by_row && matches!(one.key, "temperature" | "minimum_time" | "source");
        if is_of_row && page.edit.said(place).is_none() {
            continue;
        }
        field::show(ui, look, page, (group, one), (place, one.name));
    }
}
