//! What the record says of the run as a whole: process, runs and lots, instruments, and whether
//! the record holds what it must. Each is a page of its own beside the lists.

mod completeness;
mod process;
mod tables;

use crate::action::Actions;
use crate::commands::Command;
use crate::day::Day;
use crate::theme::{Look, widgets};
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
}

impl Page {
    /// All pages, in order.
    pub const ALL: [Self; 4] = [Self::Process, Self::Runs, Self::Instruments, Self::Completeness];

    /// The title.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Process => "Process",
            Self::Runs => "Runs and lots",
            Self::Instruments => "Instruments",
            Self::Completeness => "Required entries",
        }
    }

    /// The title where there is little room.
    const fn short(self) -> &'static str {
        match self {
            Self::Process => "Process",
            Self::Runs => "Runs",
            Self::Instruments => "Instruments",
            Self::Completeness => "Required",
        }
    }

    /// The command that shows it.
    pub const fn command(self) -> Command {
        match self {
            Self::Process => Command::ShowProcess,
            Self::Runs => Command::ShowRuns,
            Self::Instruments => Command::ShowInstruments,
            Self::Completeness => Command::ShowCompleteness,
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
            completeness::show(ui, look, day.case.audit(), (&mut day.review, actions));
        }
    }
}
