//! The dialog that is open over a day.

use crate::action::Actions;
use crate::compare::choice::Choice;
use crate::day::Day;
use crate::review::accept::Accept;
use crate::review::clock::AskClock;
use crate::review::entries::{self, Entries};
use crate::review::links::Links;
use crate::review::people::{self, People};
use crate::review::prove::Prove;
use crate::review::sign::{self, Sign};
use crate::review::state::Review;
use crate::settings::Settings;
use crate::summary::Summary;
use crate::surroundings::Surroundings;
use crate::theme::Look;
use egui::Ui;

/// The dialog that is open.
#[derive(Default)]
pub(super) enum Dialog {
    #[default]
    Nothing,
    People(Box<People>),
    Sign(Box<Sign>),
    Prove(Box<Prove>),
    Accept(Box<Accept>),
    Clock(Box<AskClock>),
    Summary(Box<Summary>),
    Entries(Box<Entries>),
    Links(Box<Links>),
    Compare(Box<Choice>),
}

impl Dialog {
    pub(super) const fn is_open(&self) -> bool {
        !matches!(self, Self::Nothing)
    }

    pub(super) fn is_busy(&self) -> bool {
        match self {
            Self::People(people) => people.is_busy(),
            Self::Sign(sign) => sign.is_busy(),
            Self::Prove(prove) => prove.is_busy(),
            Self::Accept(accept) => accept.is_busy(),
            Self::Summary(summary) => summary.is_busy(),
            Self::Entries(entries) => entries.is_busy(),
            Self::Links(links) => links.is_busy(),
            Self::Compare(choice) => choice.is_busy(),
            Self::Nothing | Self::Clock(_) => false,
        }
    }

    /// Whether what is asked for is drawn in a moment, so that what is typed now is meant for it.
    pub(super) fn asks_soon(&self, review: &Review) -> bool {
        matches!(self, Self::Sign(sign) if sign.asks_soon(review))
    }

    pub(super) fn show(
        &mut self,
        ui: &Ui,
        look: Look,
        day: &mut Day,
        (settings, around): (&Settings, &Surroundings),
        actions: &mut Actions,
    ) {
        let (keys, clock, zone) = (around.keys(), around.clock, day.case.plant().zone);
        let review = &mut day.review;
        let signer = review.signer(&settings.person).cloned();
        match self {
            Self::Nothing => {}
            Self::People(dialog) => {
                let person = signer.as_ref().map(|signer| signer.id().as_str());
                let (trust, disk) = (around.trust(), around.disk_clock);
                let plant = day.case.plant();
                let about = people::About { review, person, keys, clock, zone, plant, trust, disk };
                dialog.show(ui, look, &about, actions);
            }
            Self::Sign(_) | Self::Prove(_) if signer.is_none() => *self = Self::Nothing,
            Self::Sign(dialog) => {
                if let Some(signer) = &signer {
                    let mut about = sign::About { review, signer, keys, clock, zone };
                    dialog.show(ui, look, &mut about, actions);
                }
            }
            Self::Prove(dialog) => {
                if let Some(signer) = &signer {
                    let about = sign::About { review, signer, keys, clock, zone };
                    dialog.show(ui, look, &about, actions);
                }
            }
            Self::Accept(dialog) => dialog.show(ui, look, &around.trust(), actions),
            Self::Clock(dialog) => dialog.show(ui, look, actions),
            Self::Summary(dialog) => dialog.show(ui, look, day, around, actions),
            Self::Links(dialog) => dialog.show(ui, look, day, around, actions),
            Self::Compare(dialog) => dialog.show(ui, look, actions),
            Self::Entries(dialog) => {
                let books = review.seen();
                let books = books.map(|seen| (seen.register_path.clone(), &seen.entries_signed));
                let (trust, disk) = (around.trust(), around.disk_clock);
                let case = &day.case;
                let about = entries::About { case, books, keys, clock, trust, disk };
                dialog.show(ui, look, &about, actions);
            }
        }
    }
}
