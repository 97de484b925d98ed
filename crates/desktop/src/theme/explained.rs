//! Explains figures under the pointer, and remembers which were drawn, for the help of the screen that they
//! stand on.

use super::{Look, Type};
use crate::terms::{TERMS, Term, term};
use egui::{Context, Id, Response};

/// The terms that were drawn in a pass, each with what it stands on.
#[derive(Debug, Clone, Default)]
struct Drawn {
    pass: u64,
    terms: Vec<(&'static str, Id)>,
}

fn memory() -> Id {
    Id::unique("terms on the screen")
}

/// Explains a figure under the pointer, and in the help of this screen.
pub fn explained(response: Response, look: Look, name: &str) -> Response {
    let Some(term) = term(name) else { return response };
    let context = &response.ctx;
    let pass = context.cumulative_pass_nr();
    context.data_mut(|data| {
        let drawn = data.get_temp_mut_or_default::<Drawn>(memory());
        if drawn.pass != pass {
            *drawn = Drawn { pass, terms: Vec::new() };
        }
        drawn.terms.push((term.name, response.id));
    });
    response.on_hover_ui(|ui| {
        ui.label(Type::Body.text(term.text, look.colors.ink));
        ui.label(Type::Small.text(format!("Source: {}", term.source), look.colors.ink_soft));
    })
}

/// The terms on the screen, in the order of the list; first the one that has the keyboard.
pub fn on_screen(context: &Context, focused: Option<Id>) -> Vec<&'static Term> {
    let drawn: Drawn = context.data(|data| data.get_temp(memory())).unwrap_or_default();
    let is_drawn = |term: &&Term| drawn.terms.iter().any(|(name, _)| *name == term.name);
    let has_focus = |term: &&'static Term| {
        drawn.terms.iter().any(|(name, id)| *name == term.name && Some(*id) == focused)
    };
    let mut terms: Vec<&'static Term> = TERMS.iter().filter(is_drawn).collect();
    if let Some(place) = terms.iter().position(has_focus) {
        let first = terms.remove(place);
        terms.insert(0, first);
    }
    terms
}
