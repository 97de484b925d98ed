//! The list of observations: those to close first, one line each; those to note by kind, a thousand
//! of a kind in one line, which can be unfolded.

use crate::action::{Action, Actions};
use crate::commands::Command;
use crate::day::Day;
use crate::review::standing::{Mark, draw as draw_mark};
use crate::table;
use crate::theme::widgets::{self, Glyph};
use crate::theme::{Look, MARGIN, ROW, Type};
use crate::units::Units;
use ::review::Decision;
use case::sentence;
use egui::accesskit::Role as Access;
use egui::{Rect, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use std::collections::BTreeSet;
use std::ops::Range;
use trace::{Observation, ObservationKind, Rank};

/// What the user made of the list.
#[derive(Debug, Default)]
pub struct ObservationList {
    unfolded: BTreeSet<ObservationKind>,
    /// The kind that the next press of the key acknowledges.
    marked: Option<ObservationKind>,
    /// Whether the marked kind is to be brought into view.
    scroll: bool,
}

impl ObservationList {
    /// Marks the first kind that nobody acknowledged; `None` when there is none.
    pub fn mark_next(&mut self, day: &Day) -> Option<ObservationKind> {
        let noted =
            day.case.audit().observations.iter().filter(|one| one.kind.rank() == Rank::Note);
        let mut open = noted.filter(|one| !is_seen(day, one.kind));
        self.marked = open.next().map(|one| one.kind);
        self.scroll = true;
        self.marked
    }

    /// The marked kind, while it is not acknowledged.
    pub fn marked(&self, day: &Day) -> Option<ObservationKind> {
        self.marked.filter(|&kind| !is_seen(day, kind))
    }

    fn is_unfolded(&self, observations: &[Observation], kind: &Range<usize>) -> bool {
        observations.get(kind.start).is_some_and(|first| self.unfolded.contains(&first.kind))
    }
}

/// Whether a kind is acknowledged.
fn is_seen(day: &Day, kind: ObservationKind) -> bool {
    day.review.state().is_some_and(|state| state.acknowledged(kind.key()).is_some())
}

/// The decision that acknowledges a kind.
pub fn acknowledge(kind: ObservationKind) -> Decision {
    Decision::Acknowledged { observation: kind.key().to_owned(), note: String::new() }
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
        table::rows(ui, "Observations", lines.len(), |ui, place| {
            let chosen = match lines.get(place) {
                Some(&Line::ToClose(index)) => {
                    to_close(ui, look, day, units, index).then_some(index)
                }
                Some(Line::Kind(range)) => {
                    kind(ui, look, list, day, range.clone(), actions);
                    None
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
    let zone = day.case.plant().zone;
    match (observation.interval, &observation.position) {
        (Some(interval), _) if interval.duration().milliseconds() == 0 => {
            zone.clock(interval.start())
        }
        (Some(interval), _) => {
            format!("{} to {}", zone.clock(interval.start()), zone.clock(interval.end()))
        }
        (None, Some(position)) => format!("line {}", position.line),
        (None, None) => "whole record".to_owned(),
    }
}

fn kind(
    ui: &mut Ui,
    look: Look,
    list: &mut ObservationList,
    day: &Day,
    range: Range<usize>,
    actions: &mut Actions,
) {
    let observations = &day.case.audit().observations;
    let inside = observations.get(range).unwrap_or_default();
    let (Some(first), Some(last)) = (inside.first(), inside.last()) else { return };
    let colors = look.colors;
    let unfolded = list.unfolded.contains(&first.kind);
    let total: u64 = inside.iter().map(|one| one.count).sum();
    let many = match (inside.len(), total) {
        (1, 1) => "once".to_owned(),
        (1, total) => format!("once, {total} samples or rows"),
        (times, total) if times as u64 == total => format!("{times} times"),
        (times, total) => format!("{times} times, {total} samples or rows"),
    };
    let whence = if inside.len() == 1 {
        place(day, first)
    } else {
        format!("first {}, last {}", place(day, first), place(day, last))
    };
    let marked = list.marked(day) == Some(first.kind);
    let said = || {
        let state = if unfolded { "unfolded" } else { "folded" };
        let seen = if is_seen(day, first.kind) { "acknowledged" } else { "not acknowledged" };
        let text = format!("{}, {many}, {whence}, {seen}, {state}", first.kind.title());
        WidgetInfo::labeled(Access::DisclosureTriangle, true, text)
    };
    let response = table::row(ui, look, (marked, 0.0), said, |ui, rect| {
        let y = rect.center().y;
        let glyph = if unfolded { Glyph::Unfolded } else { Glyph::Folded };
        widgets::glyph(ui.painter(), pos2(rect.left() + MARGIN + 7.0, y), glyph, colors.ink_soft);
        review_of(ui, look, day, rect, (first.kind, marked), actions);
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
    if response.clicked() {
        if unfolded {
            list.unfolded.remove(&first.kind);
        } else {
            list.unfolded.insert(first.kind);
        }
    }
    // Once: a list that is lower than a row would scroll for ever.
    if marked && std::mem::take(&mut list.scroll) {
        response.scroll_to_me(None);
    }
}

/// A list below this width leaves out what its rows say elsewhere.
const NARROW: f32 = 760.0;

/// The width at the end of a kind's line for its acknowledgement.
const REVIEW: f32 = 132.0;

/// The end of a kind's line: a button to acknowledge it, or that it is acknowledged.
fn review_of(
    ui: &mut Ui,
    look: Look,
    day: &Day,
    line: Rect,
    (kind, marked): (ObservationKind, bool),
    actions: &mut Actions,
) {
    let left = line.right() - REVIEW + 8.0;
    let y = line.center().y;
    let Some(state) = day.review.state() else { return };
    let mark = Rect::from_center_size(pos2(left + 7.0, y), vec2(13.0, 13.0));
    if state.acknowledged(kind.key()).is_some() {
        draw_mark(ui.painter(), look, mark, Mark::Done);
        let (at, ink) = (pos2(left + 20.0, y), look.colors.ink);
        let text = "acknowledged";
        widgets::text_left(ui.painter(), at, text, Type::Body, ink, REVIEW);
        return;
    }
    draw_mark(ui.painter(), look, mark, Mark::Open);
    let room = Rect::from_min_max(
        pos2(left + 20.0, line.top() + 1.0),
        pos2(line.right() - 2.0, line.bottom() - 1.0),
    );
    let mut inner = ui.new_child(UiBuilder::new().max_rect(room).id_salt(("review", kind.key())));
    let name = format!("Acknowledge: {}", kind.title());
    let mut button = widgets::named_button(&mut inner, look, "Acknowledge", &name);
    if marked {
        button = button.on_hover_text(Command::Acknowledge.key_text(ui.ctx()));
    }
    if button.clicked() {
        actions.push(acknowledge(kind));
    }
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
        let at = Rect::from_center_size(pos2(right + 15.0, y), vec2(13.0, 13.0));
        draw_mark(painter, look, at, mark);
        let at = pos2(right + 28.0, y);
        widgets::text_left(painter, at, state, Type::Body, colors.ink, REVIEW);
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
