//! What only a person can say, as questions with their answers beside them, and the names.

use super::columns::named;
use super::state::Setup;
use super::{joined, written};
use crate::review::words::{check, offering, plain};
use crate::theme::card::{card, paragraph, title};
use crate::theme::widgets::choose;
use crate::theme::{Look, Type, widgets};
use ::setup::{Draft, Meaning, Part, Question, Reason};
use egui::{Id, ScrollArea, Sense, Ui, vec2};
use plant::AnyUnit;
use trace::Role;

/// Draws what is asked; gives whether something was said.
pub(super) fn show(ui: &mut Ui, look: Look, setup: &mut Setup) -> bool {
    let before = setup.draft.clone();
    ScrollArea::vertical().auto_shrink(false).id_salt("asked").show(ui, |ui| {
        let asked = setup.asked.clone();
        for question in &asked {
            match question {
                Question::Time { columns, .. } => {
                    choice(ui, look, setup, question, columns, Part::Time);
                }
                Question::Role(role, columns) => {
                    choice(ui, look, setup, question, columns, Part::Role(*role));
                }
                Question::ColumnUnit(column) => unit(ui, look, setup, question, *column),
                // These stand below, also when they are answered.
                Question::Plant
                | Question::Unit
                | Question::Zone
                | Question::Word { .. }
                | Question::OnChange { .. }
                | Question::DayNumbers(_)
                | Question::DayOfYear(_)
                | Question::Since(_)
                | Question::Start(_)
                | Question::Files(_)
                | Question::Tolerance(_)
                | Question::DateOrder { .. }
                | Question::Name(_) => {}
            }
        }
        joined::show(ui, look, setup);
        for logger in 0..setup.sheets.loggers.len() {
            written::show(ui, look, setup, logger);
        }
        for column in 0..setup.draft.columns.len() {
            words(ui, look, setup, column);
        }
        products(ui, look, &mut setup.draft);
        names(ui, look, &mut setup.draft);
    });
    setup.draft != before
}

/// A question that a column answers.
fn choice(
    ui: &mut Ui,
    look: Look,
    setup: &mut Setup,
    question: &Question,
    columns: &[usize],
    part: Part,
) {
    card(ui, look, |ui| {
        paragraph(ui, look, &question.text(&setup.sheets, &setup.draft));
        if columns.is_empty() {
            ui.label(Type::Small.text("Choose it in the list on the left.", look.colors.ink_soft));
        }
        ui.horizontal_wrapped(|ui| {
            for &column in columns {
                let name = named(&setup.sheets, &setup.draft, column);
                let said = format!("{}: {name}", part.name());
                // A column may be called "No".
                let shown = format!("\u{201c}{name}\u{201d}");
                if widgets::named_button(ui, look, &shown, &said).clicked() {
                    match part {
                        Part::Time => setup.draft.take_for_time(&setup.sheets, column),
                        _ => setup.draft.set(&setup.sheets, column, part, Reason::Person),
                    }
                }
            }
        });
        if matches!(part, Part::Role(Role::RawPressure)) {
            let text = "If reversed, unsafe flow would be hidden: check against the plant.";
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
    });
}

fn unit(ui: &mut Ui, look: Look, setup: &mut Setup, question: &Question, column: usize) {
    let Some(Part::Role(role)) = setup.draft.columns.get(column).map(|column| column.part) else {
        return;
    };
    card(ui, look, |ui| {
        paragraph(ui, look, &question.text(&setup.sheets, &setup.draft));
        if let Some((least, greatest)) = setup.sheets.columns.get(column).and_then(|one| one.span) {
            let text = format!("It reads {least} to {greatest}.");
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
        ui.horizontal_wrapped(|ui| {
            for unit in AnyUnit::of_role(role) {
                if widgets::button(ui, look, unit.symbol(), "").clicked()
                    && let Some(column) = setup.draft.columns.get_mut(column)
                {
                    column.unit = Some(unit);
                }
            }
        });
    });
}

/// What the words of a column mean, answered or not.
fn words(ui: &mut Ui, look: Look, setup: &mut Setup, column: usize) {
    let Some(drafted) = setup.draft.columns.get(column) else { return };
    let Part::Role(role) = drafted.part else { return };
    if drafted.words.is_empty() || role == Role::Product {
        return;
    }
    let words = drafted.words.clone();
    let name = named(&setup.sheets, &setup.draft, column);
    card(ui, look, |ui| {
        title(ui, look, &format!("Words of {name}"), None);
        for (place, word) in words.iter().enumerate() {
            let rows = case::plural(usize::try_from(word.rows).unwrap_or(usize::MAX), "row");
            let text = format!("{}: {rows}", word.word);
            let ink = if word.meaning.is_none() { look.colors.alert } else { look.colors.ink };
            ui.label(Type::Strong.text(text, ink));
            ui.horizontal_wrapped(|ui| {
                for meaning in Meaning::of(role) {
                    let name = format!("{}: {}", word.word, meaning.name());
                    let on = word.meaning == Some(meaning);
                    if widgets::choice(ui, look, on, meaning.name(), &name).clicked() {
                        setup.draft.say(column, place, meaning);
                    }
                }
            });
        }
    });
}

/// What each product is held to: a built-in row. Limits of the plant's own are set in the plant file.
fn products(ui: &mut Ui, look: Look, draft: &mut Draft) {
    const NOT_SAID: &str = "not stated: the strictest limit";
    card(ui, look, |ui| {
        title(ui, look, "Products", None);
        let field = |ui: &mut Ui| {
            ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover()).0
        };
        let Some(column) = draft.column(Part::Role(Role::Product)) else {
            let shown = draft.row.unwrap_or("us-milk-15s");
            let place = (field(ui), Id::unique("row"));
            choose(ui, place, "Limit of the product", shown, |ui| {
                for row in plant::ROWS {
                    let on = row.key == shown;
                    let label = ui.selectable_label(on, row.key);
                    if label.on_hover_text(::setup::row_in_words(row)).clicked() {
                        draft.row = Some(row.key);
                    }
                }
            });
            if let Some(row) = plant::row(shown) {
                ui.label(Type::Small.text(::setup::row_in_words(row), look.colors.ink_soft));
            }
            return;
        };
        let words = draft.columns.get(column).map_or_else(Vec::new, |column| column.words.clone());
        if words.is_empty() {
            let text = "The products are too many to list; each is held to the strictest limit until the \
                        plant file names it.";
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
        for (place, word) in words.iter().enumerate() {
            ui.label(Type::Strong.text(&word.word, look.colors.ink));
            let shown = word.meaning.map_or(NOT_SAID, Meaning::name);
            let name = format!("Limit of {}", word.word);
            let place_of_field = (field(ui), Id::unique(("product", place)));
            choose(ui, place_of_field, &name, shown, |ui| {
                for meaning in Meaning::of(Role::Product) {
                    let label = ui.selectable_label(word.meaning == Some(meaning), meaning.name());
                    let row = plant::row(meaning.name());
                    let label = match row {
                        Some(row) => label.on_hover_text(::setup::row_in_words(row)),
                        None => label,
                    };
                    if label.clicked() {
                        draft.say(column, place, meaning);
                    }
                }
            });
            if let Some(row) = plant::row(shown) {
                ui.label(Type::Small.text(::setup::row_in_words(row), look.colors.ink_soft));
            }
        }
    });
}

fn names(ui: &mut Ui, look: Look, draft: &mut Draft) {
    card(ui, look, |ui| {
        title(ui, look, "Plant", None);
        plain(ui, look, Id::unique("plant"), "The plant's name", &mut draft.plant);
        plain(ui, look, Id::unique("pasteurizer"), "The pasteurizer's name", &mut draft.unit);
        let zones = ::setup::zones_like(&draft.zone);
        let name = "Time zone of the logger's clock";
        offering(ui, look, Id::unique("zone"), name, &mut draft.zone, &zones);
        if !::setup::is_zone(draft.zone.trim()) {
            let text =
                "A city in the zone, such as Chicago; until it is chosen, times are shown in UTC.";
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
        let are_several = draft.loggers.len() > 1;
        for logger in &mut draft.loggers {
            let of = if are_several { format!(" of {}", logger.name) } else { String::new() };
            let text = format!("The clock{of} does not change to daylight saving time");
            check(ui, look, &mut logger.is_standard_clock, &text);
        }
    });
}
