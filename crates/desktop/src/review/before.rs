//! The hole before the open record: looked for in the record's folder on another thread, shown until
//! somebody closes it. Until it is known whether there is one, nothing is signed.

use super::{Ask, Focus, Mark, Review, Seen, draw_mark, minute, words};
use crate::Surroundings;
use crate::job::{Job, Progress};
use crate::loading::Task;
use crate::side::{card, figure, paragraph};
use crate::theme::{Look, Type, widgets};
use ::review::{Decision, HoleBefore};
use archive::{Files, Neighbours};
use egui::{Context, Id, Sense, Ui, vec2};

/// How far the search is.
#[derive(Default)]
pub enum Before {
    /// It is to begin.
    #[default]
    NotBegun,
    /// It goes on.
    Searching(Job<Result<Option<HoleBefore>, String>>),
    /// It is done; what was found is with the desk.
    Known,
    /// It could not be done, and why.
    Failed(String),
}

impl Before {
    /// Why nothing can be signed yet; `None` when the search is done.
    pub fn holds_up(&self) -> Option<String> {
        match self {
            Self::Known => None,
            Self::NotBegun | Self::Searching(_) => {
                Some("the folder is being looked through for the record before this one".to_owned())
            }
            Self::Failed(why) => Some(format!(
                "it is not known which record came before this one, so that a hole between them could \
                 not be seen: {why}"
            )),
        }
    }
}

impl Review {
    /// Begins the search, and takes its result in.
    pub fn find_before(&mut self, context: &Context, task: &Task, around: &Surroundings) {
        let Some(desk) = &mut self.desk else { return };
        match &self.before {
            Before::NotBegun => {
                // Only here: this is asked in every frame.
                let Task { files: logger, plant } = task.clone();
                let files = Files { logger, plant, run_sheet: None };
                let (cache, trust) = (around.cache.clone(), around.trust());
                self.before = Before::Searching(Job::begin(context, move || {
                    let found = Neighbours::new(cache, trust).hole_before(&files, None);
                    found.map_err(|cause| cause.to_string())
                }));
            }
            Before::Searching(job) => match job.poll(context) {
                Progress::Running => {}
                Progress::Done(Ok(hole)) => {
                    let now = around.clock.now();
                    desk.comes_after(hole, now);
                    self.seen = Ok(Box::new(Seen::of(desk, now)));
                    self.before = Before::Known;
                }
                Progress::Done(Err(why)) => self.before = Before::Failed(why),
                Progress::Lost => {
                    self.before = Before::Failed(
                        "the background task ended unexpectedly. Please report this".to_owned(),
                    );
                }
            },
            Before::Known | Before::Failed(_) => {}
        }
    }
}

/// What the reason for closing the hole is typed under.
pub(super) const TYPED: &str = "hole before the record";

/// Draws the hole before the record, where there is one.
pub fn show(ui: &mut Ui, look: Look, review: &mut Review) {
    let Some((hole, closed)) = review.seen().and_then(|seen| {
        let hole = seen.hole.as_ref()?;
        Some((hole.clone(), seen.state.hole_closed(hole).cloned()))
    }) else {
        return;
    };
    card(ui, look, |ui| {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
            draw_mark(
                ui.painter(),
                look,
                rect,
                if closed.is_some() { Mark::Done } else { Mark::Open },
            );
            ui.label(Type::Title.text("Hole before this record", look.colors.ink));
        });
        let text = format!("There is {}.", hole.in_words());
        paragraph(ui, look, &text);
        if let Some(made) = closed {
            let who = format!("{}, {}", review.name_of(&made.mark.by), minute(made.mark.at));
            figure(ui, look, "Closed", &who);
            figure(ui, look, "Reason", &made.value);
            return;
        }
        let mut reason = review.typed.reason(TYPED);
        let field = words::plain(ui, look, Id::unique(TYPED), "Reason", &mut reason);
        if review.focus == Some(Focus::Hole) {
            review.focus = None;
            field.request_focus();
        }
        if field.changed() {
            review.typed.set_reason(TYPED, reason.clone());
        }
        ui.add_space(2.0);
        if widgets::primary_button(ui, look, "Close the hole", "").clicked() {
            let (reason, note) = (reason.trim().to_owned(), String::new());
            review.asked.push(Ask::decide(Decision::HoleClosed { hole, reason, note }));
        }
    });
}
