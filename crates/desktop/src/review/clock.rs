//! The clock on the wall, which tests and pictures set to a time of their own; and the dialog that asks
//! first where it differs from that of the disk: an entry with a wrong date stays for ever.

use super::{Then, Work};
use crate::side::capital;
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use chrono::{DateTime, FixedOffset, NaiveDate};
use egui::{Frame, Id, Modal, Ui};
use journal::Stamp;
use plant::Zone;
use trace::Instant;

/// Where the time of an entry comes from.
#[derive(Debug, Clone, Copy)]
pub struct Clock(pub fn() -> Instant);

impl Default for Clock {
    fn default() -> Self {
        Self(|| Instant::from_unix_milliseconds(chrono::Utc::now().timestamp_millis()))
    }
}

impl Clock {
    /// Now.
    pub fn now(self) -> Instant {
        (self.0)()
    }

    /// Now, with the offset of this machine's clock.
    pub fn local(self) -> DateTime<FixedOffset> {
        let now = DateTime::from_timestamp_millis(self.now().unix_milliseconds());
        now.unwrap_or_default().with_timezone(&chrono::Local).fixed_offset()
    }

    /// Today, on this machine's clock.
    pub fn today(self) -> NaiveDate {
        self.local().date_naive()
    }

    /// Now, as the plant's clocks show it; `None` for a time that can't be written down.
    pub fn stamp(self, zone: Zone) -> Option<Stamp> {
        zone.rfc3339(self.now()).parse().ok()
    }
}

/// The dialog that asks whether this machine's clock is right.
pub struct AskClock {
    told: String,
    /// What is entered if it is.
    work: Option<(Work, Then)>,
}

impl AskClock {
    /// The dialog with what was found, about what was to be entered.
    pub const fn new(told: String, work: Work, then: Then) -> Self {
        Self { told, work: Some((work, then)) }
    }

    /// Draws the dialog: whether it stays, and what is entered after all.
    pub fn show(&mut self, ui: &Ui, look: Look) -> (bool, Option<(Work, Then)>) {
        let (mut stays, mut entered) = (true, None);
        let frame = Frame::popup(ui.style()).inner_margin(MARGIN);
        let modal = Modal::new(Id::unique("clock")).frame(frame).backdrop_color(look.colors.veil);
        let modal = modal.show(ui.ctx(), |ui| {
            ui.set_width(460.0);
            ui.label(Type::Title.text("Is this machine\u{2019}s clock right?", look.colors.ink));
            for text in [
                format!("{}.", capital(&self.told)),
                "An entry with a wrong date stays for ever. Set the clock right first, or enter it \
                 if this clock is the right one."
                    .to_owned(),
            ] {
                ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                if widgets::button(ui, look, "Enter anyway", "").clicked() {
                    entered = self.work.take();
                }
                let cancel = widgets::primary_button(ui, look, "Cancel", "Esc");
                if ui.ctx().memory(|memory| memory.focused().is_none()) {
                    cancel.request_focus();
                }
                if cancel.clicked() {
                    stays = false;
                }
            });
        });
        (stays && !modal.should_close() && entered.is_none(), entered)
    }
}
