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
        if let Some((first, one)) = section.groups.first().and_then(|one| Some((one, one.several?)))
        {
            change = several(ui, look, page, (section.groups, first.list(), one));
        } else {
            for group in section.groups {
                of_group(ui, look, page, group, None);
            }
        }
        match change {
            Some(Change::Add(table)) => page.add(table),
            Some(Change::Remove(table, index)) => page.remove(table, index),
            None => {}
        }
    });
}

/// The fields of a group, of one of several tables where there are several.
fn of_group(ui: &mut Ui, look: Look, page: &mut PlantPage, group: &Group, index: Option<usize>) {
    card(ui, look, |ui| {
        // A column is a line while it is bound to nothing, and shows the rest once it is.
        let first = group.fields.first().filter(|_| group.is_column());
        let Some(first) = first else {
            title(ui, look, group.title, None);
            fields(ui, look, page, (group, group.fields), index);
            return;
        };
        let place = Place { table: group.table, index, key: first.key };
        field::show(ui, look, page, (group, first), (place, group.title));
        if page.edit.said(place).is_some() {
            fields(ui, look, page, (group, group.fields.get(1..).unwrap_or_default()), index);
        }
    });
}

/// Tables of which there can be several, each with what removes it.
fn several(
    ui: &mut Ui,
    look: Look,
    page: &mut PlantPage,
    (groups, list, one): (&[Group], &'static str, &str),
) -> Option<Change> {
    let mut change = None;
    for index in 0..page.edit.count(list) {
        for (place, group) in groups.iter().enumerate() {
            if place > 0 {
                of_group(ui, look, page, group, Some(index));
                continue;
            }
            card(ui, look, |ui| {
                let heading = format!("{} {}", widgets::capital(one), index + 1);
                if title(ui, look, &heading, Some(&format!("Remove {one} {}", index + 1))) {
                    change = Some(Change::Remove(list, index));
                }
                fields(ui, look, page, (group, group.fields), Some(index));
            });
        }
    }
    ui.add_space(GAP);
    if widgets::button(ui, look, &format!("Add a {one}"), "").clicked() {
        change = Some(Change::Add(list));
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
