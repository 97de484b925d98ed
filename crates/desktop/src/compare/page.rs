//! The screen of two days: what they are, their figures below each other, and the plots of both.

use super::{Comparison, Side, plots};
use crate::action::Actions;
use crate::commands::Command;
use crate::settings::Settings;
use crate::theme::{GAP, Look, MARGIN, Type, card, explained, trace_mark, widgets};
use crate::units::Units;
use ::case::ProductDay;
use egui::accesskit::Role as Access;
use egui::{Align, Frame, Id, Label, Layout, Rect, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use trace::Role;

/// The height of a row of figures.
const ROW: f32 = 21.0;
/// The room of a day's name.
const NAME: f32 = 176.0;
/// What the figures are called.
const FIGURES: [&str; 8] = [
    "Start",
    "Forward for",
    "Forward",
    "Lowest temperature",
    "T over limit",
    "\u{394}P over limit",
    "Exceptions",
    "Diverts",
];

impl Comparison {
    /// Draws the screen.
    pub fn show(&mut self, ui: &mut Ui, look: Look, settings: &Settings, actions: &mut Actions) {
        let units = self.units(settings.units);
        let plain = Frame::new().fill(look.colors.ground);
        egui::Panel::top("two days").frame(plain).resizable(false).show(ui, |ui| {
            self.head(ui, look, actions);
            self.figures(ui, look, units);
        });
        egui::CentralPanel::default().frame(plain).show(ui, |ui| {
            plots::show(ui, look, self, (&settings.plots, units));
        });
    }

    /// What both days are, and what can be done.
    fn head(&mut self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        ui.add_space(2.0);
        ui.horizontal(|ui| {
            ui.add_space(MARGIN - GAP);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add_space(MARGIN);
                let escape = Command::DismissMessage.key_text(ui.ctx());
                if widgets::button(ui, look, "Back", &escape).clicked() {
                    actions.push(Command::DismissMessage);
                }
                actions.button(ui, look, Command::Compare, "Another day");
                let builder = UiBuilder::new()
                    .accessibility_role(Access::Banner)
                    .accessibility_label("Two days")
                    .layout(Layout::left_to_right(Align::Center));
                ui.scope_builder(builder, |ui| {
                    ui.add_space(MARGIN - GAP);
                    let text = Type::Title.text(self.sentence(), look.colors.ink);
                    ui.add(Label::new(text).truncate().selectable(true));
                });
            });
        });
        for lack in self.lacking() {
            ui.horizontal(|ui| {
                ui.add_space(MARGIN);
                card::alert(ui, look, &lack);
            });
        }
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            ui.label(Type::Small.text(::case::CAUTION, look.colors.ink_soft));
        });
        ui.horizontal(|ui| {
            ui.add_space(MARGIN);
            for (command, title) in [
                (Command::ShowShift, "Forward flow"),
                (Command::WholeDay, Command::WholeDay.title()),
                (Command::FiveMinutes, Command::FiveMinutes.title()),
                (Command::ZoomIn, Command::ZoomIn.title()),
                (Command::ZoomOut, Command::ZoomOut.title()),
            ] {
                actions.button(ui, look, command, title);
            }
            if self.products.len() > 1 {
                actions.button(ui, look, Command::NextProduct, Command::NextProduct.title());
            }
        });
        ui.add_space(GAP);
    }

    /// The figures of both days, those that differ stronger.
    fn figures(&self, ui: &mut Ui, look: Look, units: Units) {
        let colors = look.colors;
        let cells = self.sides.each_ref().map(|side| cells(side, units));
        let rest = ui.available_rect_before_wrap();
        let area = Rect::from_min_size(rest.min, vec2(rest.width(), 3.0 * ROW + GAP));
        ui.painter().rect_filled(area, 0.0, colors.surface);
        ui.spacing_mut().item_spacing.y = 0.0;
        let left = area.left() + NAME;
        // Each column as wide as its texts, and what is left shared out.
        let needs: [f32; FIGURES.len()] = std::array::from_fn(|column| {
            let title = widgets::width(ui, FIGURES[column], Type::Small);
            let texts = cells.iter().map(|own| widgets::width(ui, &own[column], Type::Strong));
            texts.fold(title, f32::max) + GAP
        });
        let spare = area.right() - MARGIN - left - needs.iter().sum::<f32>();
        let more = spare / FIGURES.len() as f32;
        let right = |column: usize| {
            let widths = needs.iter().take(column + 1);
            left + widths.map(|need| need + more).sum::<f32>()
        };
        let (titles, _) = ui.allocate_exact_size(vec2(area.width(), ROW), Sense::hover());
        for (column, title) in FIGURES.into_iter().enumerate() {
            let at = pos2(right(column), titles.center().y);
            let (style, ink) = (Type::Small, colors.ink_soft);
            let width = needs[column] + more;
            widgets::text_right(ui.painter(), at, title, style, ink, width);
            let place =
                Rect::from_min_max(pos2(at.x - width, titles.top()), pos2(at.x, titles.bottom()));
            let id = Id::unique(("figure of two days", title));
            explained(ui.interact(place, id, Sense::hover()), look, title);
        }
        for (rank, (side, own)) in self.sides.iter().zip(&cells).enumerate() {
            let (rect, response) = ui.allocate_exact_size(vec2(area.width(), ROW), Sense::hover());
            let said = FIGURES.iter().zip(own).map(|(title, cell)| format!("{title} {cell}"));
            let said = format!("{}: {}", side.name, said.collect::<Vec<_>>().join(", "));
            response.widget_info(|| WidgetInfo::labeled(Access::Row, true, &said));
            sample(ui, look, pos2(rect.left() + MARGIN, rect.center().y), rank);
            let at = pos2(rect.left() + MARGIN + 26.0, rect.center().y);
            let room = NAME - MARGIN - 26.0;
            widgets::text_left(ui.painter(), at, &side.name, Type::Strong, colors.ink, room);
            for (column, cell) in own.iter().enumerate() {
                let differs = cells.iter().any(|other| other[column] != *cell);
                let (style, ink) = if differs {
                    (Type::Strong, colors.ink)
                } else {
                    (Type::Body, colors.ink_soft)
                };
                let at = pos2(right(column), rect.center().y);
                widgets::text_right(ui.painter(), at, cell, style, ink, needs[column] + more);
            }
            response.on_hover_text(said);
        }
        ui.add_space(GAP);
    }
}

/// A piece of the trace of a day, beside its name.
pub(super) fn sample(ui: &Ui, look: Look, left: egui::Pos2, rank: usize) {
    let color = look.trace(rank);
    let line = [left, left + vec2(18.0, 0.0)];
    ui.painter().line_segment(line, plots::stroke(look, rank));
    trace_mark(ui.painter(), left + vec2(9.0, 0.0), rank, color, look.colors.surface);
}

/// The figures of a day in words; all are of the product that is compared.
fn cells(side: &Side, units: Units) -> [String; FIGURES.len()] {
    let none = || "\u{2013}".to_owned();
    let Some(product) = &side.product else { return std::array::from_fn(|_| none()) };
    let case = &side.record.case;
    let over = |value: Option<f64>, role: Role| {
        let shown = value.zip(case.record().channel(role));
        shown.map_or_else(none, |(value, channel)| units.of(channel).difference(value))
    };
    let lowest = product.lowest.zip(case.record().channel(Role::HoldingTemperature));
    [
        side.start().map_or_else(none, |start| case.clock(start)),
        product.forward_time.to_string(),
        forward(product),
        lowest.map_or_else(none, |((lowest, _), channel)| {
            units.of(channel).reading(trace::Reading::Valid(lowest))
        }),
        over(product.temperature_margin, Role::HoldingTemperature),
        over(product.differential_margin, Role::DifferentialPressure),
        product.exceptions.to_string(),
        product.diverts.to_string(),
    ]
}

/// What went forward.
fn forward(product: &ProductDay) -> String {
    let at_least = if product.incomplete { "at least " } else { "" };
    product.forward.map_or_else(
        || "not metered".to_owned(),
        |volume| format!("{at_least}{}", ::case::plain_volume(volume, product.unit)),
    )
}
