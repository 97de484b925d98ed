//! How the files of a logger are written, as far as only a person can say it: what a row is, from when days or
//! seconds are counted, in which order dates stand. Each can be changed once it is answered.

use super::state::Setup;
use crate::review::words::plain;
use crate::theme::card::{card, paragraph};
use crate::theme::{Look, Type, widgets};
use ::setup::{DraftLogger, Part, Question, Reason, lengths, symbol};
use egui::{Id, Ui};
use plant::{DateOrder, DayNumbers};

/// Draws the cards of one logger.
pub(super) fn show(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    day_of_year(ui, look, setup, logger);
    since_start(ui, look, setup, logger);
    changes(ui, look, setup, logger);
    day_numbers(ui, look, setup, logger);
    dates(ui, look, setup, logger);
}

/// What is asked of a logger in words, if it is.
fn asked(setup: &Setup, is_it: impl Fn(&Question) -> bool) -> Option<String> {
    let question = setup.asked.iter().find(|one| is_it(one))?;
    Some(question.brief(&setup.sheets, &setup.draft))
}

/// Answers beside each other; gives the one that is chosen now.
fn answers<T: PartialEq + Copy>(
    ui: &mut Ui,
    look: Look,
    now: Option<T>,
    answers: impl IntoIterator<Item = (T, String)>,
) -> Option<T> {
    let mut chosen = None;
    ui.horizontal_wrapped(|ui| {
        for (answer, text) in answers {
            if widgets::choice(ui, look, now == Some(answer), &text, &text).clicked() {
                chosen = Some(answer);
            }
        }
    });
    chosen
}

fn said(setup: &mut Setup, logger: usize) -> Option<&mut DraftLogger> {
    setup.draft.loggers.get_mut(logger)
}

/// Whether days are counted in the year.
fn day_of_year(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    let column = setup.asked.iter().find_map(|asked| match asked {
        Question::DayOfYear(column) if setup.sheets.logger_of(*column) == logger => Some(*column),
        _ => None,
    });
    let Some(column) = column else { return };
    let Some(text) = asked(setup, |one| *one == Question::DayOfYear(column)) else { return };
    card(ui, look, |ui| {
        paragraph(ui, look, &text);
        if widgets::button(ui, look, "It is the day of the year", "").clicked() {
            setup.draft.set(&setup.sheets, column, Part::DayOfYear, Reason::Person);
        }
    });
}

/// In which unit a column counts, and from which start.
fn since_start(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    let Some(column) = setup.draft.column_of(&setup.sheets, logger, Part::SinceStart) else {
        return;
    };
    let [unit, start] = [Question::Since(column), Question::Start(column)]
        .map(|question| asked(setup, |one| *one == question));
    let starts: Vec<(usize, String)> =
        setup.sheets.loggers.get(logger).map_or_else(Vec::new, |one| {
            let starts = one.sheet.starts.iter().enumerate();
            starts
                .map(|(place, start)| (place, format!("{}, {}", start.label, start.text)))
                .collect()
        });
    let labels = |setup: &Setup, place: usize| {
        let starts = setup.sheets.loggers.get(logger).map(|one| &one.sheet.starts);
        starts.and_then(|starts| starts.get(place)).map(|start| start.label.clone())
    };
    card(ui, look, |ui| {
        paragraph(ui, look, unit.as_deref().unwrap_or("Length of the file, by time unit"));
        let now = said(setup, logger).and_then(|said| said.since);
        let units = setup.sheets.columns.get(column).map_or_else(Vec::new, lengths).into_iter();
        let units = units.map(|(unit, length)| (unit, format!("{}: {length}", symbol(unit))));
        if let (Some(unit), Some(said)) = (answers(ui, look, now, units), said(setup, logger)) {
            said.since = Some(unit);
        }
        paragraph(ui, look, start.as_deref().unwrap_or("The start time is above the header"));
        let now = said(setup, logger).and_then(|said| said.start.clone());
        let now = (0..starts.len()).find(|&place| labels(setup, place) == now);
        if let Some(place) = answers(ui, look, now, starts) {
            let label = labels(setup, place);
            if let Some(said) = said(setup, logger) {
                said.start = label;
            }
        }
    });
}

/// Whether rows stand only where something changed, where it looks so.
fn changes(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    let text =
        asked(setup, |one| matches!(one, Question::OnChange { logger: of, .. } if *of == logger));
    let Some(DraftLogger { logging, .. }) = said(setup, logger) else { return };
    if text.is_none() && logging.is_on_change.is_none() {
        return;
    }
    card(ui, look, |ui| {
        paragraph(ui, look, text.as_deref().unwrap_or("What a row contains"));
        let ways = [(false, "each row has all readings"), (true, "only what changed")];
        let ways = ways.map(|(means, text)| (means, text.to_owned()));
        if let Some(means) = answers(ui, look, logging.is_on_change, ways) {
            logging.is_on_change = Some(means);
            if logging.step.is_empty() {
                "1 s".clone_into(&mut logging.step);
            }
        }
        if logging.is_on_change == Some(true) {
            let name = "Longest time a reading is valid";
            plain(ui, look, Id::unique(("longest hold", logger)), name, &mut logging.longest_hold);
            let name = "Scan interval of the system";
            plain(ui, look, Id::unique(("step", logger)), name, &mut logging.step);
            let text = "Such as 10 min and 1 s; see the manual of the system. A reading kept valid for too long counts as measured when nothing was.";
            ui.label(Type::Small.text(text, look.colors.ink_soft));
        }
    });
}

/// What a count of days begins with.
fn day_numbers(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    let time = setup.draft.column_of(&setup.sheets, logger, Part::Time);
    let text = time.and_then(|time| asked(setup, |one| *one == Question::DayNumbers(time)));
    let Some(said) = said(setup, logger) else { return };
    if text.is_none() && said.day_numbers.is_none() {
        return;
    }
    card(ui, look, |ui| {
        paragraph(ui, look, text.as_deref().unwrap_or("Days are counted"));
        let ways = [(DayNumbers::From1900, "from 1900"), (DayNumbers::From1904, "from 1904")];
        let ways = ways.map(|(from, text)| (from, text.to_owned()));
        if let Some(from) = answers(ui, look, said.day_numbers, ways) {
            said.day_numbers = Some(from);
        }
    });
}

/// The order of day and month, where the files do not tell.
fn dates(ui: &mut Ui, look: Look, setup: &mut Setup, logger: usize) {
    let is_it =
        |one: &&Question| matches!(one, Question::DateOrder { logger: of, .. } if *of == logger);
    let by_reading = setup.asked_by_reading.iter().find(is_it);
    let question = by_reading.or_else(|| setup.asked.iter().find(is_it)).cloned();
    let text = question.as_ref().map(|question| question.text(&setup.sheets, &setup.draft));
    let Some(said) = said(setup, logger) else { return };
    if question.is_none() && said.date_order.is_none() {
        return;
    }
    card(ui, look, |ui| {
        paragraph(ui, look, text.as_deref().unwrap_or("Dates are read"));
        let orders = match question {
            Some(Question::DateOrder { orders, .. }) => orders,
            _ => vec![DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst],
        };
        let orders = orders.into_iter().map(|order| (order, order.words().to_owned()));
        if let Some(order) = answers(ui, look, said.date_order, orders) {
            said.date_order = Some(order);
        }
    });
}
