//! The help of a screen: what to do next, what its signs mean, which keys it has, and what its figures
//! are. What is chosen, or has the keyboard, is explained first.

use crate::action::Actions;
use crate::commands::{Command, Group, Place};
use crate::register;
use crate::review::standing::{Mark, draw as draw_mark};
use crate::terms::Term;
use crate::theme::card::{explanation, paragraph, title};
use crate::theme::{self, fill_pattern, widgets};
use crate::theme::{GAP, Look, MARGIN, Type, rule_pattern, swatch, trace_mark, valve_pattern};
use ::review::Stage;
use analysis::Rule;
use egui::accesskit::Role as Access;
use egui::{Align, Color32, Context, Id, Key, Layout, Margin, Modal, Modifiers, Rect, Sense};
use egui::{Shape, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use trace::ValveState;

/// What is to be done on a screen.
pub struct Step {
    /// Whether it is done; `None` where that is not known.
    pub is_done: Option<bool>,
    /// What it is, in a sentence.
    pub text: String,
    /// The command that leads to it.
    pub command: Option<Command>,
}

impl Step {
    /// One of which it is not known whether it is done.
    pub fn new(text: &str, command: Option<Command>) -> Self {
        Self { is_done: None, text: text.to_owned(), command }
    }
}

/// A sign of a screen.
#[derive(Debug, Clone, Copy)]
pub enum Sign {
    /// The pattern and the letters of a rule.
    Rule(Rule),
    /// A position of the device in its ribbon.
    Position(ValveState),
    /// The square of the review.
    Mark(Mark),
    /// How far the review of a record is.
    Stage(Stage),
    /// The light part of a band.
    Outer,
    /// A limit in a plot.
    Limit,
    /// The span of a chosen observation.
    Observation,
    /// A trace that goes on beyond the scale.
    Beyond,
    /// Where a shift begins.
    Shift,
    /// The second trace of a plot and those after it.
    Trace,
    /// A day below its limit, in the trends.
    Cross,
    /// The first or the other of two days side by side.
    OfTwo(usize),
    /// Where both days start.
    Aligned,
}

impl Sign {
    /// The signs of a day's plots and lists.
    pub fn of_day() -> Vec<Self> {
        let rules = Rule::ALL.iter().copied().map(Self::Rule);
        let positions =
            [ValveState::Forward, ValveState::Divert, ValveState::Travel, ValveState::Unknown];
        let rest = [
            Self::Outer,
            Self::Limit,
            Self::Observation,
            Self::Beyond,
            Self::Shift,
            Self::Trace,
            Self::Mark(Mark::Open),
            Self::Mark(Mark::SentBack),
            Self::Mark(Mark::Done),
            Self::Mark(Mark::Fails),
        ];
        rules.chain(positions.map(Self::Position)).chain(rest).collect()
    }

    /// The signs of two days side by side.
    pub fn of_two_days() -> Vec<Self> {
        let two = [Self::OfTwo(0), Self::OfTwo(1), Self::Aligned, Self::Beyond];
        two.into_iter().chain(Rule::ALL.iter().copied().map(Self::Rule)).collect()
    }

    /// What it means, with its source where it has one.
    fn meaning(self) -> (String, String) {
        let plain = |text: &str| (text.to_owned(), String::new());
        match self {
            Self::Rule(rule) => {
                let of = rule.definition();
                let text = format!("{}: {} {}", widgets::capital(of.name), of.asks, of.why);
                (text, of.source.to_owned())
            }
            Self::Position(ValveState::Forward) => plain("The flow diversion device is forward."),
            Self::Position(ValveState::Divert) => plain("It is diverted."),
            Self::Position(ValveState::Travel) => {
                plain("It is between its positions. Product can go both ways.")
            }
            Self::Position(ValveState::Unknown) => {
                plain("Its position is not known, which never counts as diverted.")
            }
            Self::Mark(Mark::Open) => plain("Open: still to do."),
            Self::Mark(Mark::SentBack) => plain("Returned with a comment: to do again."),
            Self::Mark(Mark::Done) => plain("Done: resolved, closed, acknowledged or entered."),
            Self::Mark(Mark::Fails) => plain("Failed: a signature or a digest does not verify."),
            Self::Stage(stage) => plain(&format!("The review is: {}.", stage.name())),
            Self::Outer => {
                plain("The light part of a band is the outer bound, the longest it can have been.")
            }
            Self::Limit => plain(
                "A limit, with its figure at the right edge. Hold the pointer over it for its source.",
            ),
            Self::Observation => {
                plain("The span of the selected observation, with its name above the plots.")
            }
            Self::Beyond => plain("The trace continues beyond the scale."),
            Self::Shift => plain("A shift begins, with its name above the plots."),
            Self::Trace => plain(
                "The second, third and fourth trace of a plot. The same mark is beside the name.",
            ),
            Self::OfTwo(0) => plain(
                "The first day: a strong line, its exceptions in the upper half of a plot, its limits in long dashes.",
            ),
            Self::OfTwo(_) => plain(
                "The other day: a thin line with squares, its exceptions in the lower half, limits of its own dotted.",
            ),
            Self::Aligned => plain("The start of forward flow, by which both days are aligned."),
            Self::Cross => plain("A day on which the figure was below its limit."),
        }
    }

    fn draw(self, ui: &Ui, look: Look, rect: Rect) {
        let (painter, colors) = (ui.painter_at(rect), look.colors);
        let middle = rect.center();
        let across = [pos2(rect.left(), middle.y), pos2(rect.right(), middle.y)];
        let upright = [pos2(middle.x, rect.top()), pos2(middle.x, rect.bottom())];
        let square = Rect::from_center_size(middle, vec2(13.0, 13.0));
        match self {
            Self::Rule(rule) => {
                swatch(&painter, rect, rule_pattern(rule), look.rule(rule));
                let plate = Rect::from_center_size(middle, vec2(22.0, 13.0));
                painter.rect_filled(plate, 2.0, colors.surface);
                let (center, ink) = (egui::Align2::CENTER_CENTER, look.rule(rule));
                widgets::text_in(&painter, middle, center, rule.code(), Type::Small, ink, 24.0);
            }
            Self::Position(ValveState::Forward) => {
                painter.rect_filled(rect, 0.0, colors.forward);
            }
            Self::Position(state) => {
                let lines = match state {
                    ValveState::Unknown => look.rule(Rule::UNVERIFIABLE),
                    _ => colors.line_strong,
                };
                fill_pattern(&painter, rect, valve_pattern(state), lines);
                let edge = Stroke::new(1.0, colors.line);
                painter.rect_stroke(rect, 0.0, edge, StrokeKind::Inside);
            }
            Self::Mark(mark) => draw_mark(&painter, look, square, mark),
            Self::Stage(stage) => register::stage_bar(ui, look, rect, stage),
            Self::Outer => {
                let ink = look.rule(Rule::TEMPERATURE);
                painter.rect_filled(rect, 0.0, ink.gamma_multiply(0.11));
                let half = Rect::from_center_size(middle, vec2(rect.width() / 2.0, rect.height()));
                painter.rect_filled(half, 0.0, ink.gamma_multiply(0.16));
                fill_pattern(&painter, half, rule_pattern(Rule::TEMPERATURE), ink);
            }
            Self::Limit => {
                let line = Stroke::new(1.4, look.rule(Rule::TEMPERATURE));
                painter.extend(Shape::dashed_line(&across, line, 7.0, 4.0));
            }
            Self::Observation => {
                painter.rect_filled(square, 0.0, colors.ink.gamma_multiply(0.06));
                let line = Stroke::new(1.5, colors.ink);
                for x in [square.left(), square.right()] {
                    let ends = [pos2(x, rect.top()), pos2(x, rect.bottom())];
                    painter.extend(Shape::dashed_line(&ends, line, 2.0, 3.0));
                }
            }
            Self::Beyond => {
                let corners = vec![
                    pos2(middle.x, rect.top() + 4.0),
                    pos2(middle.x - 4.5, rect.top() + 11.0),
                    pos2(middle.x + 4.5, rect.top() + 11.0),
                ];
                painter.add(Shape::convex_polygon(corners, colors.ink, Stroke::NONE));
                painter.hline(rect.x_range(), rect.top() + 2.0, look.hairline());
            }
            Self::Shift => {
                let line = Stroke::new(1.4, colors.accent);
                painter.extend(Shape::dashed_line(&upright, line, 2.0, 3.0));
            }
            Self::Trace => {
                for rank in 1..4 {
                    let x = rect.left() + rect.width() * (rank as f32 - 0.5) / 3.0;
                    let at = pos2(x, middle.y);
                    trace_mark(&painter, at, rank, look.trace(rank), colors.surface);
                }
            }
            Self::OfTwo(rank) => {
                let width = if rank == 0 { 2.2 } else { 1.2 };
                painter.line_segment(across, Stroke::new(width, look.trace(rank)));
                trace_mark(&painter, middle, rank, look.trace(rank), colors.surface);
            }
            Self::Aligned => {
                painter.line_segment(upright, Stroke::new(1.6, colors.accent));
            }
            Self::Cross => {
                let line = Stroke::new(1.6, colors.alert);
                let at = |x: f32, y: f32| middle + vec2(x, y);
                painter.line_segment([at(-4.0, -4.0), at(4.0, 4.0)], line);
                painter.line_segment([at(-4.0, 4.0), at(4.0, -4.0)], line);
            }
        }
    }
}

/// What is chosen on a screen: its name, and what there is to say of it, each part with what it is about.
pub struct Chosen {
    /// What it is called.
    pub name: String,
    /// The parts.
    pub parts: Vec<(&'static str, &'static str)>,
}

/// What there is to say of a screen.
pub struct Screen {
    /// What it is called.
    pub name: &'static str,
    /// What is to be done.
    pub next: Vec<Step>,
    /// Its signs.
    pub signs: Vec<Sign>,
    /// What its commands act on, the most important first.
    pub places: Vec<Place>,
    /// What is chosen.
    pub chosen: Option<Chosen>,
}

/// The help while it is open.
#[derive(Debug)]
pub struct Help {
    /// What had the keyboard when it was asked for.
    focused: Option<Id>,
    /// The figures that were on the screen then.
    terms: Vec<&'static Term>,
}

/// The greatest width.
const WIDTH: f32 = 980.0;
/// The width of a sign.
const SIGN: f32 = 34.0;
/// The room between columns.
const BETWEEN: f32 = 24.0;
/// How far an arrow scrolls.
const LINE: f32 = 48.0;

impl Help {
    /// Opens it over what is on the screen.
    pub fn open(context: &Context) -> Self {
        let focused = context.memory(egui::Memory::focused);
        Self { focused, terms: theme::on_screen(context, focused) }
    }

    /// What had the keyboard when it was asked for.
    pub const fn focused(&self) -> Option<Id> {
        self.focused
    }

    /// Draws it; whether it stays open.
    pub fn show(&self, ui: &Ui, look: Look, screen: &Screen, actions: &mut Actions) -> bool {
        let room = ui.ctx().content_rect().size();
        let frame = egui::Frame::popup(ui.style()).inner_margin(Margin::same(MARGIN as i8));
        let id = Id::unique("help");
        let mut chosen = None;
        let mut is_closed = ui.input_mut(|input| {
            let mut pressed = |key| input.consume_key(Modifiers::NONE, key);
            pressed(Key::F1) || pressed(Key::Questionmark)
        });
        let modal = Modal::new(id).frame(frame).backdrop_color(look.colors.veil);
        let shown = modal.show(ui.ctx(), |ui| {
            ui.set_width((room.x - 72.0).min(WIDTH));
            let name = format!("Help: {}", screen.name);
            is_closed |= title(ui, look, &name, Some("Close the help"));
            let keys = "Esc or F1 closes \u{b7} \u{2191} \u{2193} Page up, Page down scroll \u{b7} \
                        Ctrl+K finds every command by what it does";
            ui.label(Type::Small.text(keys, look.colors.ink_soft));
            ui.add_space(GAP);
            let area = egui::ScrollArea::vertical().auto_shrink([false, true]);
            let height = room.y - 150.0;
            area.max_height(height).min_scrolled_height(height).show(ui, |ui| {
                scroll(ui, room.y - 200.0);
                chosen = self.content(ui, look, screen);
            });
        });
        is_closed |= shown.should_close() || chosen.is_some();
        if let Some(command) = chosen {
            actions.push(command);
        }
        !is_closed
    }

    /// What there is to say; gives the command that was chosen.
    fn content(&self, ui: &mut Ui, look: Look, screen: &Screen) -> Option<Command> {
        let mut command = None;
        let builder =
            UiBuilder::new().accessibility_role(Access::Document).accessibility_label("Help");
        ui.scope_builder(builder, |ui| {
            ui.spacing_mut().item_spacing.x = BETWEEN;
            ui.columns(2, |columns| {
                let [left, right] = columns else { return };
                left.with_layout(Layout::top_down(Align::Min), |ui| {
                    ui.spacing_mut().item_spacing.x = GAP;
                    command = told(ui, look, screen);
                });
                command = keys(right, look, &screen.places).or(command);
            });
            if !self.terms.is_empty() {
                heading(ui, look, "Figures on this screen");
                figures(ui, look, &self.terms);
            }
        });
        command
    }
}

/// What to do next, what is chosen and the signs; gives the command that was chosen.
fn told(ui: &mut Ui, look: Look, screen: &Screen) -> Option<Command> {
    let mut command = None;
    heading(ui, look, "What to do next");
    for step in &screen.next {
        command = self::step(ui, look, step).or(command);
    }
    if let Some(chosen) = &screen.chosen {
        heading(ui, look, &chosen.name);
        for (about, text) in &chosen.parts {
            explanation(ui, look, about, text);
        }
    }
    if !screen.signs.is_empty() {
        heading(ui, look, "Signs");
    }
    for &sign in &screen.signs {
        self::sign(ui, look, sign);
    }
    command
}

/// Scrolls by the keys.
fn scroll(ui: &Ui, page: f32) {
    let by = ui.input_mut(|input| {
        let mut pressed = |key| f32::from(u8::from(input.consume_key(Modifiers::NONE, key)));
        LINE * (pressed(Key::ArrowDown) - pressed(Key::ArrowUp))
            + page * (pressed(Key::PageDown) - pressed(Key::PageUp))
    });
    if by != 0.0 {
        ui.scroll_with_delta(vec2(0.0, -by));
    }
}

fn heading(ui: &mut Ui, look: Look, text: &str) {
    ui.add_space(GAP);
    ui.label(Type::Strong.text(text, look.colors.ink));
}

/// Draws a step; gives its command when it was chosen.
fn step(ui: &mut Ui, look: Look, step: &Step) -> Option<Command> {
    let mut chosen = None;
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(16.0, 19.0), Sense::hover());
        let square = Rect::from_center_size(rect.center(), vec2(12.0, 12.0));
        match step.is_done {
            Some(true) => draw_mark(ui.painter(), look, square, Mark::Done),
            Some(false) => draw_mark(ui.painter(), look, square, Mark::Open),
            None => {
                ui.painter().circle_filled(square.center(), 2.0, look.colors.ink_soft);
            }
        }
        ui.vertical(|ui| {
            paragraph(ui, look, &step.text);
            if let Some(command) = step.command.filter(|_| step.is_done != Some(true)) {
                let key = command.key_text(ui.ctx());
                if widgets::button(ui, look, command.title(), &key).clicked() {
                    chosen = Some(command);
                }
            }
        });
    });
    chosen
}

fn sign(ui: &mut Ui, look: Look, sign: Sign) {
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(SIGN, 17.0), Sense::hover());
        sign.draw(ui, look, rect);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            let (text, source) = sign.meaning();
            ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
            if !source.is_empty() {
                let text = format!("Source: {source}");
                ui.add(egui::Label::new(Type::Small.text(text, look.colors.ink_soft)).wrap());
            }
        });
    });
}

/// The keys of what acts on these places; gives the command that was chosen.
fn keys(ui: &mut Ui, look: Look, places: &[Place]) -> Option<Command> {
    let mut chosen = None;
    ui.spacing_mut().item_spacing.y = 1.0;
    for &place in places {
        for group in Group::ALL {
            let of = |command: &Command| command.group() == group && command.place() == place;
            let mut commands = Command::ALL.into_iter().filter(of).peekable();
            if commands.peek().is_none() {
                continue;
            }
            heading(ui, look, &format!("Keys: {}", group.title()));
            for command in commands {
                if key(ui, look, command) {
                    chosen = Some(command);
                }
            }
        }
    }
    chosen
}

fn key(ui: &mut Ui, look: Look, command: Command) -> bool {
    let size = vec2(ui.available_width(), 19.0);
    // The pointer alone reaches it: the key itself is quicker than Tab.
    let (rect, response) = ui.allocate_exact_size(size, Sense::CLICK - Sense::FOCUSABLE);
    let key = command.key_text(ui.ctx());
    let said = format!("{}: {key}", command.title());
    response.widget_info(|| WidgetInfo::labeled(Access::Label, true, &said));
    if response.hovered() {
        ui.painter().rect_filled(rect, 3.0, look.colors.hovered);
    }
    let (painter, colors) = (ui.painter(), look.colors);
    let text = |at: f32, text: &str, ink: Color32, room: f32| {
        let at = pos2(rect.left() + at, rect.center().y);
        widgets::text_left(painter, at, text, Type::Body, ink, room);
    };
    text(0.0, &key, colors.ink, 108.0);
    text(114.0, command.title(), colors.ink_soft, rect.width() - 116.0);
    response.clicked()
}

/// What the figures are, in two columns.
fn figures(ui: &mut Ui, look: Look, terms: &[&'static Term]) {
    ui.columns(2, |columns| {
        let half = terms.len().div_ceil(2);
        for (column, terms) in columns.iter_mut().zip(terms.chunks(half.max(1))) {
            for Term { name, text, source } in terms {
                let builder = UiBuilder::new().layout(Layout::top_down(Align::Min));
                column.scope_builder(builder, |ui| {
                    ui.spacing_mut().item_spacing.y = 1.0;
                    ui.label(Type::Strong.text(widgets::capital(name), look.colors.ink));
                    ui.add(egui::Label::new(Type::Body.text(*text, look.colors.ink)).wrap());
                    let source = format!("Source: {source}");
                    let source = Type::Small.text(source, look.colors.ink_soft);
                    ui.add(egui::Label::new(source).wrap());
                    ui.add_space(GAP);
                });
            }
        }
    });
}
