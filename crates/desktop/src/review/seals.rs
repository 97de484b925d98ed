//! The card of the equipment: tests that are overdue, failed or were never entered, a
//! holding tube of which the register says another thing than the plant file, and seals that were
//! broken while the record ran, of which somebody says what that means before it is approved.

use super::standing::{Mark, draw as draw_mark};
use super::state::Review;
use super::words;
use crate::action::Actions;
use crate::clock::minute;
use crate::theme::card::{card, figure, paragraph, title};
use crate::theme::widgets::capital;
use crate::theme::{Look, Type, widgets};
use ::review::{Decision, Made, TubeOnDay, TubeUsed, broken_seals};
use case::Case;
use egui::{Id, Sense, Ui, vec2};
use signers::TestStanding;

/// A broken seal: its number, the seal in words, and what was said of it.
type Broken = (String, String, Option<Made>);

/// Draws the card, where the plant's register has anything to say of the pasteurizer.
pub fn show(ui: &mut Ui, look: Look, (review, actions): (&mut Review, &mut Actions), case: &Case) {
    let Some((wanting, broken)) = told(review, case) else { return };
    if wanting.is_empty() && broken.is_empty() {
        return;
    }
    card(ui, look, |ui| {
        title(ui, look, "Equipment", None);
        for line in &wanting {
            paragraph(ui, look, &capital(line));
        }
        for (seal, words, noted) in broken {
            ui.horizontal(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
                let mark = if noted.is_some() { Mark::Done } else { Mark::Open };
                draw_mark(ui.painter(), look, rect, mark);
                ui.label(Type::Strong.text(format!("Seal {seal} broken"), look.colors.ink));
            });
            paragraph(ui, look, &capital(&words));
            if let Some(made) = noted {
                let who = format!("{}, {}", review.name_of(&made.mark.by), minute(made.mark.at));
                figure(ui, look, "Noted", &who);
                figure(ui, look, "What it means", &made.value);
                continue;
            }
            let mut reason = review.typed.seal(&seal);
            let id = Id::unique(("seal", &seal));
            let name = "What it means for this record";
            if words::plain(ui, look, id, name, &mut reason).changed() {
                review.typed.set_seal(&seal, reason.clone());
            }
            ui.add_space(2.0);
            if widgets::primary_button(ui, look, "Note the broken seal", "").clicked() {
                actions.push(Decision::SealNoted { seal, reason: reason.trim().to_owned() });
            }
        }
    });
}

/// What is wanting of the tests, and the broken seals; `None` without a register.
fn told(review: &Review, case: &Case) -> Option<(Vec<String>, Vec<Broken>)> {
    let seen = review.seen()?;
    let (register, state) = (seen.register()?, &seen.state);
    let unit = case.record().unit();
    let on = case.plant().zone.local(case.record().interval().start()).date_naive();
    let equipment = register.equipment();
    let plan = &case.plant().tests;
    let standings = equipment.standings(unit, on, plan);
    let wanting = standings.iter().filter(|one| one.is_wanting).map(TestStanding::in_words);
    let broken = broken_seals(register, state.subject()).into_iter().map(|seal| {
        let number = seal.sealed.seal.clone();
        let noted = state.seal_noted(&number).cloned();
        (number, seal.in_words(), noted)
    });
    let used = TubeUsed::of(case.plant());
    let tube = TubeOnDay::of(equipment, (unit, on), used.as_ref()).filter(TubeOnDay::is_wanting);
    Some((wanting.chain(tube.map(|tube| tube.words)).collect(), broken.collect()))
}
