//! The list of observations: a thousand of a kind in one line, which can be unfolded.

use crate::day::Day;
use crate::theme::widgets::{self, Glyph};
use crate::theme::{Look, MARGIN, ROW, Type};
use egui::accesskit::Role as Access;
use egui::{Align2, Sense, Ui, WidgetInfo, pos2, vec2};
use std::collections::BTreeSet;
use std::ops::Range;
use trace::{Observation, ObservationKind};

/// What the user made of the list.
#[derive(Debug, Default)]
pub struct ObservationList {
    unfolded: BTreeSet<ObservationKind>,
}

impl ObservationList {
    fn is_unfolded(&self, observations: &[Observation], kind: &Range<usize>) -> bool {
        observations.get(kind.start).is_some_and(|first| self.unfolded.contains(&first.kind))
    }
}

/// What all lines of the list take.
pub fn height(day: &Day, list: &ObservationList) -> f32 {
    let observations = &day.audit.observations;
    let lines =
        |kind: &Range<usize>| 1 + if list.is_unfolded(observations, kind) { kind.len() } else { 0 };
    let lines: usize = kinds(observations).iter().map(lines).sum();
    ROW * lines.max(1) as f32
}

enum Line {
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

/// Draws the list; gives the observation that was chosen.
pub fn show(ui: &mut Ui, look: Look, list: &mut ObservationList, day: &Day) -> Option<usize> {
    let observations = &day.audit.observations;
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    if observations.is_empty() {
        ui.add_space(MARGIN);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            let text = "Nothing else in this record needs a look.";
            ui.label(Type::Body.text(text, look.colors.ink_soft));
        });
        return None;
    }
    let mut lines = Vec::new();
    for range in kinds(observations) {
        let unfolded = list.is_unfolded(observations, &range);
        lines.push(Line::Kind(range.clone()));
        if unfolded {
            lines.extend(range.map(Line::One));
        }
    }
    let mut chosen = None;
    let builder = egui::UiBuilder::new()
        .accessibility_role(Access::Table)
        .accessibility_label("Observations");
    ui.scope_builder(builder, |ui| {
        let area = egui::ScrollArea::vertical()
            .auto_shrink(false)
            .min_scrolled_height(ROW)
            .id_salt("observations");
        area.show_rows(ui, ROW, lines.len(), |ui, range| {
            for line in lines.get(range).unwrap_or(&[]) {
                match line {
                    Line::Kind(range) => kind(ui, look, list, day, range.clone()),
                    Line::One(index) => {
                        if one(ui, look, day, *index) {
                            chosen = Some(*index);
                        }
                    }
                }
            }
        });
    });
    chosen
}

/// Where an observation is, in words.
pub fn place(day: &Day, observation: &Observation) -> String {
    let zone = day.plant.zone;
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

fn kind(ui: &mut Ui, look: Look, list: &mut ObservationList, day: &Day, range: Range<usize>) {
    let observations = &day.audit.observations;
    let Some(inside) = observations.get(range) else { return };
    let (Some(first), Some(last)) = (inside.first(), inside.last()) else { return };
    let colors = look.colors;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
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
    response.widget_info(|| {
        let state = if unfolded { "unfolded" } else { "folded" };
        let text = format!("{}, {many}, {whence}, {state}", first.kind.title());
        WidgetInfo::labeled(Access::DisclosureTriangle, true, text)
    });
    if response.clicked() {
        if unfolded {
            list.unfolded.remove(&first.kind);
        } else {
            list.unfolded.insert(first.kind);
        }
    }
    if response.hovered() {
        ui.painter().rect_filled(rect, 0.0, colors.hovered);
    }
    let y = rect.center().y;
    let glyph = if unfolded { Glyph::Unfolded } else { Glyph::Folded };
    widgets::glyph(ui.painter(), pos2(rect.left() + MARGIN + 7.0, y), glyph, colors.ink_soft);
    let left = rect.left() + MARGIN + 22.0;
    let painter = ui.painter();
    // A narrow list leaves out how often; the row unfolds.
    let narrow = rect.width() < 760.0;
    let mut title = first.kind.title().to_owned();
    if let Some(letter) = title.get(..1) {
        title = letter.to_uppercase() + title.get(1..).unwrap_or("");
    }
    widgets::text_in(
        painter,
        pos2(left, y),
        Align2::LEFT_CENTER,
        &title,
        Type::Strong,
        colors.ink,
        if narrow { 0.48 * rect.width() - 22.0 } else { 300.0 },
    );
    let right = rect.right() - MARGIN;
    let used = widgets::text_in(
        painter,
        pos2(right, y),
        Align2::RIGHT_CENTER,
        &whence,
        Type::Body,
        colors.ink_soft,
        if narrow { 0.48 * rect.width() - MARGIN } else { 340.0 },
    );
    let room = right - used - 20.0 - (left + 310.0);
    if !narrow {
        widgets::text_in(
            painter,
            pos2(left + 310.0, y),
            Align2::LEFT_CENTER,
            &many,
            Type::Body,
            colors.ink,
            room,
        );
    }
    painter.hline(rect.x_range(), rect.bottom() - 0.5, look.hairline());
    widgets::focus_ring(ui, look, &response, rect);
}

fn one(ui: &mut Ui, look: Look, day: &Day, index: usize) -> bool {
    let Some(observation) = day.audit.observations.get(index) else { return false };
    let colors = look.colors;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    let whence = place(day, observation);
    let chosen = day.noted == Some(index);
    response.widget_info(|| {
        WidgetInfo::selected(
            Access::Row,
            true,
            chosen,
            format!("{whence}: {}", observation.message),
        )
    });
    if chosen {
        ui.painter().rect_filled(rect, 0.0, colors.selected);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, 0.0, colors.hovered);
    }
    let y = rect.center().y;
    let left = rect.left() + MARGIN + 22.0;
    let painter = ui.painter();
    widgets::text_in(
        painter,
        pos2(left, y),
        Align2::LEFT_CENTER,
        &whence,
        Type::Body,
        colors.ink_soft,
        150.0,
    );
    let room = rect.right() - MARGIN - (left + 166.0);
    widgets::text_in(
        painter,
        pos2(left + 166.0, y),
        Align2::LEFT_CENTER,
        &observation.message,
        Type::Body,
        colors.ink,
        room,
    );
    painter.hline(rect.x_range(), rect.bottom() - 0.5, look.hairline());
    widgets::focus_ring(ui, look, &response, rect);
    response.clicked()
}
