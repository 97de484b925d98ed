//! What the record says of the run as a whole: process, runs and lots, instruments, whether
//! the record holds what it must, its diverts, and its cleanings. Each is a page of its own beside the lists.

mod cleanings;
mod completeness;
mod diverts;
mod operator_entries;
mod process;
mod tables;

use crate::action::Actions;
use crate::commands::Command;
use crate::day::Day;
use crate::theme::{GAP, Look, widgets};
use crate::units::Units;
use egui::Ui;

/// A page about the whole run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Page {
    /// Holding tube, lethality, trends.
    #[default]
    Process,
    /// The product account.
    Runs,
    /// Recorder, cut-ins and cut-outs.
    Instruments,
    /// What the record must hold.
    Completeness,
    /// Every divert with its cause.
    Diverts,
    /// Every cleaning.
    Cleanings,
}

impl Page {
    /// All pages, in order.
    pub const ALL: [Self; 6] = [
        Self::Process,
        Self::Runs,
        Self::Instruments,
        Self::Completeness,
        Self::Diverts,
        Self::Cleanings,
    ];

    /// The title.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Process => "Process",
            Self::Runs => "Runs and lots",
            Self::Instruments => "Instruments",
            Self::Completeness => "Required entries",
            Self::Diverts => "Diverts",
            Self::Cleanings => "Cleanings",
        }
    }

    /// The title where there is little room.
    const fn short(self) -> &'static str {
        match self {
            Self::Process => "Process",
            Self::Runs => "Runs",
            Self::Instruments => "Checks",
            Self::Completeness => "Entries",
            Self::Diverts => "Diverts",
            Self::Cleanings => "Cleaning",
        }
    }

    /// The command that shows it.
    pub const fn command(self) -> Command {
        match self {
            Self::Process => Command::ShowProcess,
            Self::Runs => Command::ShowRuns,
            Self::Instruments => Command::ShowInstruments,
            Self::Completeness => Command::ShowCompleteness,
            Self::Diverts => Command::ShowDiverts,
            Self::Cleanings => Command::ShowCleanings,
        }
    }
}

/// Draws the choice of pages, with shorter words where it is `narrow`.
pub fn pages(ui: &mut Ui, look: Look, shown: Page, narrow: bool, actions: &mut Actions) {
    for page in Page::ALL {
        let tip = format!("{}  {}", page.command().title(), page.command().key_text(ui.ctx()));
        let words = if narrow { page.short() } else { page.title() };
        let response = widgets::toggle_named(ui, look, page == shown, words, page.title());
        if response.on_hover_text(tip).clicked() {
            actions.push(page.command());
        }
    }
}

/// Draws a page into the rest of `ui`.
pub fn show(
    ui: &mut Ui,
    look: Look,
    day: &mut Day,
    (page, units): (Page, Units),
    actions: &mut Actions,
) {
    match page {
        Page::Process => process::show(ui, look, day, units),
        Page::Runs => tables::runs(ui, look, day, units),
        Page::Instruments => tables::instruments(ui, look, day, units),
        Page::Completeness => {
            // What the operators wrote down stands below what is asked for, which needs the room first.
            let room = ui.available_height() - operator_entries::BAR - 3.0 * GAP;
            let has_entries = !day.case.audit().entries.is_empty();
            if !has_entries && room < 3.0 * operator_entries::BAR {
                completeness::show(ui, look, day.case.audit(), (&mut day.review, actions));
                return;
            }
            let part = if has_entries { room / 2.0 } else { room };
            ui.allocate_ui(egui::vec2(ui.available_width(), part), |ui| {
                completeness::show(ui, look, day.case.audit(), (&mut day.review, actions));
            });
            ui.add_space(GAP);
            operator_entries::show(ui, look, day, actions);
        }
        Page::Diverts => diverts::show(ui, look, day, units, actions),
        Page::Cleanings => cleanings::show(ui, look, day, units, actions),
    }
}
