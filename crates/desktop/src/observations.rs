//! The list of observations: those to close first, one line each; those to note by kind, a thousand
//! of a kind in one line, which can be unfolded.

use crate::action::{Action, Actions};
use crate::day::Day;
use crate::review::standing::{Mark, draw as draw_mark};
use crate::table;
use crate::theme::widgets::{self, Glyph};
use crate::theme::{Look, MARGIN, ROW, Type};
use crate::units::Units;
use case::sentence;
use egui::accesskit::Role as Access;
use egui::{Painter, Rect, Ui, WidgetInfo, pos2, vec2};
use std::collections::BTreeSet;
use std::ops::Range;
use trace::{Observation, ObservationKind, Rank};

/// What the user made of the list.
#[derive(Debug, Default)]
pub struct ObservationList {
    unfolded: BTreeSet<ObservationKind>,
    /// Whether what is chosen is to be brought into view.
    scroll: bool,
}

impl ObservationList {
    /// Brings what is chosen into view.
    pub const fn reveal(&mut self) {
        self.scroll = true;
    }

    fn is_unfolded(&self, observations: &[Observation], kind: &Range<usize>) -> bool {
        observations.get(kind.start).is_some_and(|first| self.unfolded.contains(&first.kind))
    }
}

/// What all lines of the list take.
pub fn height(day: &Day, list: &ObservationList) -> f32 {
    let observations = &day.case.audit().observations;
    let lines = |kind: &Range<usize>| {
        if is_to_close(observations, kind) {
            kind.len()
        } else {
            1 + if list.is_unfolded(observations, kind) { kind.len() } else { 0 }
        }
    };
    let lines: usize = kinds(observations).iter().map(lines).sum();
    ROW * lines.max(1) as f32
}

enum Line {
    /// One that is to be closed.
    ToClose(usize),
    /// The heading of those of one kind to note.
    Kind(Range<usize>),
    One(usize),
}

/// The observations of each kind, in the audit's order.
fn kinds(observations: &[Observation]) -> Vec<Range<usize>> {
    let mut kinds = Vec::new();
    let mut first = 0;
    for chunk in observations.chunk_by(|one, next| one.kind == next.kind) {
        kinds.push(first..first + chunk.len());
        first += chunk.len();
    }
    kinds
}

/// Whether the observations of a range, all of one kind, are closed one by one.
fn is_to_close(observations: &[Observation], kind: &Range<usize>) -> bool {
    observations.get(kind.start).is_some_and(|first| first.kind.rank() == Rank::Close)
}

/// Draws the list; gives the observation that was chosen.
pub fn show(
    ui: &mut Ui,
    look: Look,
    list: &mut ObservationList,
    day: &Day,
    units: Units,
    actions: &mut Actions,
) {
    let observations = &day.case.audit().observations;
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    if observations.is_empty() {
        ui.add_space(MARGIN);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let text = "No observation in this record.";
            ui.label(Type::Body.text(text, look.colors.ink_soft));
        });
        return;
    }
    let mut lines = Vec::new();
    for range in kinds(observations) {
        if is_to_close(observations, &range) {
            lines.extend(range.map(Line::ToClose));
            continue;
        }
        let unfolded = list.is_unfolded(observations, &range);
        lines.push(Line::Kind(range.clone()));
        if unfolded {
            lines.extend(range.map(Line::One));
        }
    }
    let area = egui::ScrollArea::vertical()
        .auto_shrink(false)
        .min_scrolled_height(ROW)
        .id_salt("observations");
    area.show(ui, |ui| {
        let is_chosen = |line: &Line| match (line, day.noted) {
            (Line::ToClose(index) | Line::One(index), Some(chosen)) => *index == chosen,
            (Line::Kind(range), Some(chosen)) => range.contains(&chosen),
            (_, None) => false,
        };
        // Once: a list that is lower than a row would scroll for ever.
        if std::mem::take(&mut list.scroll)
            && let Some(place) = lines.iter().rposition(is_chosen)
        {
            table::scroll_to(ui, place);
        }
        table::rows(ui, "Observations", lines.len(), |ui, place| {
            let chosen = match lines.get(place) {
                Some(&Line::ToClose(index)) => {
                    to_close(ui, look, day, units, index).then_some(index)
                }
                Some(Line::Kind(range)) => {
                    kind(ui, look, list, day, range.clone()).then_some(range.start)
                }
                Some(&Line::One(index)) => one(ui, look, day, units, index).then_some(index),
                None => None,
            };
            if let Some(index) = chosen {
                actions.push(Action::Note(index));
            }
        });
    });
}

/// Where an observation is, in words.
pub fn place(day: &Day, observation: &Observation) -> String {
    match (observation.interval, &observation.position) {
        (Some(interval), _) if interval.duration().milliseconds() == 0 => {
            day.case.clock(interval.start())
        }
        (Some(interval), _) => {
            format!("{} to {}", day.case.clock(interval.start()), day.case.clock(interval.end()))
        }
        (None, Some(position)) => format!("line {}", position.line),
        (None, None) => "whole record".to_owned(),
    }
}

/// The line of a kind, which unfolds where there are several of it; whether the first of them is chosen.
fn kind(
    ui: &mut Ui,
    look: Look,
    list: &mut ObservationList,
    day: &Day,
    range: Range<usize>,
) -> bool {
    let observations = &day.case.audit().observations;
    let is_chosen = day.noted.is_some_and(|index| range.contains(&index));
    let inside = observations.get(range).unwrap_or_default();
    let (Some(first), Some(last)) = (inside.first(), inside.last()) else { return false };
    let colors = look.colors;
    let unfolded = list.unfolded.contains(&first.kind);
    let total: u64 = inside.iter().map(|one| one.count).sum();
    let many = match (inside.len(), total) {
        (1, 1) => "once".to_owned(),
        (1, total) => format!("once, {} samples or rows", case::count(total as usize)),
        (times, total) if times as u64 == total => format!("{} times", case::count(times)),
        (times, total) => {
            format!("{} times, {} samples or rows", case::count(times), case::count(total as usize))
        }
    };
    let whence = if inside.len() == 1 {
        place(day, first)
    } else {
        format!("first {}, last {}", place(day, first), place(day, last))
    };
    let is_seen = day.is_acknowledged(first.kind);
    let said = || {
        let state = if unfolded { "expanded" } else { "collapsed" };
        let seen = if is_seen { "acknowledged" } else { "not acknowledged" };
        let text = format!("{}, {many}, {whence}, {seen}, {state}", first.kind.title());
        WidgetInfo::labeled(Access::DisclosureTriangle, true, text)
    };
    let response = table::row(ui, look, (is_chosen, 0.0), said, |ui, rect| {
        let y = rect.center().y;
        let glyph = if unfolded { Glyph::Unfolded } else { Glyph::Folded };
        widgets::glyph(ui.painter(), pos2(rect.left() + MARGIN + 7.0, y), glyph, colors.ink_soft);
        let (mark, state) =
            if is_seen { (Mark::Done, "acknowledged") } else { (Mark::Open, "to acknowledge") };
        standing(ui.painter(), look, rect, (mark, state));
        // A narrow list leaves out how often; the row unfolds.
        let (left, right) = (rect.left() + MARGIN + 22.0, rect.right() - MARGIN - REVIEW);
        let narrow = rect.width() < NARROW;
        let half = 0.5 * (rect.width() - REVIEW) - 22.0;
        let room = if narrow { half } else { 300.0 };
        let (painter, title) = (ui.painter(), widgets::capital(first.kind.title()));
        widgets::text_left(painter, pos2(left, y), &title, Type::Strong, colors.ink, room);
        let room = if narrow { 0.46 * (rect.width() - REVIEW) - MARGIN } else { 340.0 };
        let (at, ink) = (pos2(right, y), colors.ink_soft);
        let used = widgets::text_right(painter, at, &whence, Type::Body, ink, room);
        if !narrow {
            let (at, room) = (pos2(left + 310.0, y), right - used - 20.0 - (left + 310.0));
            widgets::text_left(painter, at, &many, Type::Body, colors.ink, room);
        }
    });
    if response.clicked() && unfolded {
        list.unfolded.remove(&first.kind);
    } else if response.clicked() {
        list.unfolded.insert(first.kind);
    }
    response.clicked() && !unfolded
}

/// A list below this width leaves out what its rows say elsewhere.
const NARROW: f32 = 760.0;

/// The width at the end of a line for where its review stands.
const REVIEW: f32 = 132.0;

/// Draws where the review of a line stands, at its end.
fn standing(painter: &Painter, look: Look, line: Rect, (mark, words): (Mark, &str)) {
    let at = pos2(line.right() - REVIEW + 15.0, line.center().y);
    draw_mark(painter, look, Rect::from_center_size(at, vec2(13.0, 13.0)), mark);
    let at = at + vec2(13.0, 0.0);
    widgets::text_left(painter, at, words, Type::Body, look.colors.ink, REVIEW - 30.0);
}

/// The line of an observation that is to be closed: what it is, what it says, where, and whether it
/// is closed.
fn to_close(ui: &mut Ui, look: Look, day: &Day, units: Units, index: usize) -> bool {
    let Some(observation) = day.case.audit().observations.get(index) else { return false };
    let colors = look.colors;
    let (whence, chosen) = (place(day, observation), day.noted == Some(index));
    let text = sentence(observation, day.case.plant().zone, units.of_observations());
    let (mark, state) =
        if day.is_closed(index) { (Mark::Done, "closed") } else { (Mark::Open, "to close") };
    let title = widgets::capital(observation.kind.title());
    let said = || {
        let text = format!("{title}, {whence}: {text}, {state}");
        WidgetInfo::selected(Access::Row, true, chosen, text)
    };
    let response = table::row(ui, look, (chosen, 0.0), said, |ui, rect| {
        let (painter, y) = (ui.painter(), rect.center().y);
        let (left, right) = (rect.left() + MARGIN + 22.0, rect.right() - REVIEW);
        let narrow = rect.width() < NARROW;
        let room = if narrow { right - left - MARGIN } else { 300.0 };
        widgets::text_left(painter, pos2(left, y), &title, Type::Strong, colors.ink, room);
        if !narrow {
            let (end, ink) = (right - MARGIN, colors.ink_soft);
            let used = widgets::text_right(painter, pos2(end, y), &whence, Type::Body, ink, 190.0);
            let (at, room) = (pos2(left + 310.0, y), end - used - 20.0 - (left + 310.0));
            widgets::text_left(painter, at, &text, Type::Body, colors.ink, room);
        }
        standing(painter, look, rect, (mark, state));
    });
    response.clicked()
}

fn one(ui: &mut Ui, look: Look, day: &Day, units: Units, index: usize) -> bool {
    let Some(observation) = day.case.audit().observations.get(index) else { return false };
    let colors = look.colors;
    let (whence, chosen) = (place(day, observation), day.noted == Some(index));
    let text = sentence(observation, day.case.plant().zone, units.of_observations());
    let said = || WidgetInfo::selected(Access::Row, true, chosen, format!("{whence}: {text}"));
    let response = table::row(ui, look, (chosen, 0.0), said, |ui, rect| {
        let (y, left) = (rect.center().y, rect.left() + MARGIN + 22.0);
        let (painter, ink) = (ui.painter(), colors.ink_soft);
        widgets::text_left(painter, pos2(left, y), &whence, Type::Body, ink, 150.0);
        let (at, room) = (pos2(left + 166.0, y), rect.right() - MARGIN - (left + 166.0));
        widgets::text_left(painter, at, &text, Type::Body, colors.ink, room);
    });
    response.clicked()
}
