//! The tanks that took what passed in the chosen exception: which lots are in them beside the form in which the
//! product is disposed of, and below it every run that went in, on whatever day and pasteurizer.

use crate::day::Day;
use crate::theme::card::{card, paragraph, title};
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, Type};
use daybook::{RecordTank, TankRun};
use egui::{Label, Ui};

/// So many lots are named beside the form; all runs stand below it.
const LOTS: usize = 8;
/// So many runs of a tank are listed.
const RUNS: usize = 40;

/// Draws which lots are in the tanks.
pub fn briefly(ui: &mut Ui, look: Look, day: &Day, exception: usize) {
    let mut is_any = false;
    for one in day.tanks().of_exception(exception) {
        paragraph(ui, look, &format!("{}.", capital(&one.account.briefly(LOTS))));
        is_any = true;
    }
    if is_any {
        looked_at(ui, look, day);
    }
}

/// Draws every run that went into each of them.
pub fn show(ui: &mut Ui, look: Look, day: &Day, exception: usize) {
    for one in day.tanks().of_exception(exception) {
        card(ui, look, |ui| tank(ui, look, one));
    }
}

fn tank(ui: &mut Ui, look: Look, one: &RecordTank) {
    let name = case::named("tank", &one.account.tank);
    title(ui, look, &format!("What went into {name}"), None);
    let (runs, more) = one.nearest(RUNS);
    for one in runs {
        let TankRun { record, unit, is_own, run } = one;
        ui.add_space(2.0);
        let record = if *is_own { "this record" } else { record };
        let whence = format!("{}, {unit}, {record}", one.times());
        ui.add(Label::new(Type::Small.text(whence, look.colors.ink_soft)).wrap());
        let lot = match run.lot.as_str() {
            "" => "no lot named".to_owned(),
            lot => format!("lot {lot}"),
        };
        let stated = match run.stated.as_str() {
            "" => String::new(),
            stated => format!(", {stated} stated"),
        };
        let step = if *is_own { Type::Strong } else { Type::Body };
        let text = format!("{}, {lot}{stated}", run.product);
        ui.add(Label::new(step.text(text, look.colors.ink)).wrap().selectable(true));
    }
    if more > 0 {
        let text = format!("The runs nearest in time are listed; there are {more} more.");
        ui.label(Type::Small.text(text, look.colors.ink_soft));
    }
    ui.add_space(GAP);
    paragraph(ui, look, &format!("{}.", capital(&one.account.until())));
}

/// Which run sheets that is taken from.
fn looked_at(ui: &mut Ui, look: Look, day: &Day) {
    let (text, ink) = if day.review.is_looking_around() {
        ("The run sheets of the other records are being read.".to_owned(), look.colors.ink_soft)
    } else {
        let looked_at = day.tanks().looked_at;
        let colors = look.colors;
        let ink = if looked_at.is_alone() { colors.ink } else { colors.ink_soft };
        (looked_at.in_words(), ink)
    };
    ui.add(Label::new(Type::Small.text(text, ink)).wrap().selectable(true));
}
