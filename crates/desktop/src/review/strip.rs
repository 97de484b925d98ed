//! The line below the verdict: how far the work is, where the review stands, who is at work.

use super::standing::{Mark, draw as draw_mark};
use super::state::Review;
use crate::action::Actions;
use crate::commands::Command;
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use ::review::Progress;
use egui::accesskit::Role as Access;
use egui::{Align, Layout, Sense, Ui, WidgetInfo, vec2};

/// Below this width words are shorter, and buttons have no keys.
const NARROW: f32 = 1100.0;
/// The room that the undoing needs, without its key.
const UNDOING: f32 = 64.0;

/// Draws the line.
pub fn show(ui: &mut Ui, look: Look, review: &Review, person: &str, actions: &mut Actions) {
    let colors = look.colors;
    let narrow = ui.available_width() < NARROW;
    ui.horizontal(|ui| {
        ui.add_space(20.0);
        if let Some(state) = review.state() {
            let progress = state.progress();
            let done = if progress.is_complete() { Mark::Done } else { Mark::Open };
            let (rect, response) = ui.allocate_exact_size(vec2(13.0, 13.0), Sense::hover());
            draw_mark(ui.painter(), look, rect, done);
            let words = words(progress, narrow);
            response.widget_info(|| WidgetInfo::labeled(Access::Image, true, "Progress"));
            ui.label(Type::Strong.text(words, colors.ink));
            ui.label(Type::Strong.text("\u{b7}", colors.ink_soft));
        }
        let ink = if review.stage().is_alarming() {
            let (rect, response) = ui.allocate_exact_size(vec2(13.0, 13.0), Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(Access::Image, true, "Alert"));
            draw_mark(ui.painter(), look, rect, Mark::Fails);
            colors.alert
        } else {
            colors.ink
        };
        ui.label(Type::Strong.text(review.word(), ink));
        if let Some(open @ 1..) = review.state().map(::review::State::open_holds) {
            ui.label(Type::Strong.text("\u{b7}", colors.ink_soft));
            ui.label(Type::Strong.text(format!("{open} on hold"), colors.alert));
        }
        if review.is_slow() {
            ui.label(Type::Strong.text("\u{b7}", colors.ink_soft));
            ui.label(Type::Strong.text("Entering\u{2026}", colors.ink_soft));
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add_space(MARGIN - GAP);
            for (command, title) in
                [(Command::Sign, Command::Sign.title()), (Command::People, person)]
            {
                let key = if narrow { String::new() } else { command.key_text(ui.ctx()) };
                let response = widgets::button(ui, look, title, &key);
                if response.on_hover_text(command.title()).clicked() {
                    actions.push(command);
                }
            }
            // The left half of the line comes first; the key works in any width.
            let room = ui.available_width();
            if let Some(entered) = review.entered_last().filter(|_| room > UNDOING) {
                let (key, command) = (Command::TakeBack.key_text(ui.ctx()), Command::TakeBack);
                let key = if narrow { "" } else { key.as_str() };
                if widgets::button(ui, look, "Undo", key).on_hover_text(command.title()).clicked() {
                    actions.push(command);
                }
                let text = Type::Body.text(&entered, colors.ink_soft);
                let label = ui.add(egui::Label::new(text).truncate());
                label.on_hover_text(entered);
            }
        });
    });
}

/// What is done of what there is, in words.
fn words(progress: Progress, narrow: bool) -> String {
    let Progress { exceptions, closed, observations, entries } = progress;
    if [exceptions, closed, observations, entries].iter().all(|(_, all)| *all == 0) {
        return "Nothing to resolve".to_owned();
    }
    let part = |(done, all): (usize, usize), word: &str| {
        (all > 0).then(|| format!("{done} of {all} {word}"))
    };
    let (seen, entered) =
        if narrow { ("noted", "entered") } else { ("types acknowledged", "entries made") };
    let parts = [
        part(exceptions, "resolved"),
        part(closed, "closed"),
        part(observations, seen),
        part(entries, entered),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" \u{b7} ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_leave_out_what_there_is_none_of() {
        let progress = |exceptions, closed, observations| {
            words(Progress { exceptions, closed, observations, entries: (0, 0) }, true)
        };
        assert_eq!(progress((3, 7), (0, 0), (0, 0)), "3 of 7 resolved");
        assert_eq!(
            progress((0, 1), (0, 3), (1, 2)),
            "0 of 1 resolved \u{b7} 0 of 3 closed \u{b7} 1 of 2 noted"
        );
        assert_eq!(progress((0, 0), (0, 0), (0, 0)), "Nothing to resolve");
    }
}
