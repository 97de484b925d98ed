//! How the files of several loggers make one record: which one leads, how the files of each are called, and how
//! far a reading may lie from its row.

use super::state::Setup;
use crate::review::words::plain;
use crate::theme::card::{card, title};
use crate::theme::{GAP, Look, Type};
use egui::{Id, Ui};

/// Draws the card.
pub(super) fn show(ui: &mut Ui, look: Look, setup: &mut Setup) {
    if !setup.sheets.are_several() {
        return;
    }
    let leading = setup.draft.leading(&setup.sheets);
    let small = |ui: &mut Ui, text: &str| {
        ui.label(Type::Small.text(text, look.colors.ink_soft));
    };
    card(ui, look, |ui| {
        title(ui, look, "Several loggers", None);
        let loggers = setup.draft.loggers.iter_mut().zip(&setup.sheets.loggers).enumerate();
        for (place, (logger, seen)) in loggers {
            if place > 0 {
                ui.add_space(GAP);
            }
            let file = seen.files.first().map_or("", |file| trace::file_name(file));
            ui.label(Type::Strong.text(&logger.name, look.colors.ink));
            small(ui, file);
            let name = format!("File names of {}", logger.name);
            plain(ui, look, Id::unique(("files", place)), &name, &mut logger.files);
            if leading == Some(place) {
                let text = "It has the position of the flow diversion device: its rows are the rows of the record.";
                small(ui, text);
                continue;
            }
            let name = format!("Largest distance of a reading of {} from its row", logger.name);
            plain(ui, look, Id::unique(("tolerance", place)), &name, &mut logger.tolerance);
        }
        ui.add_space(GAP);
        small(
            ui,
            "One * in a name stands for what differs from day to day. A reading is never further from its row than its own interval, such as 2 s; at most 15 s.",
        );
    });
}
