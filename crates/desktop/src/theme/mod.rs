//! The one visual language: colours, type scale, spacing and patterns, which all else uses.
//!
//! A screen asks for a [`Look`] and takes colours from it by meaning ("the rule temperature"),
//! never by value. Rules and states always come with a pattern and a word as well, so that grey
//! print and colour-blind eyes lose nothing.

pub mod card;
mod colors;
mod contrast;
mod explained;
mod fonts;
mod mark;
mod pattern;
mod plot;
pub mod widgets;

pub use colors::{ALL, Colors};
pub use contrast::ratio;
pub use explained::{explained, on_screen};
pub use mark::trace_mark;
pub use pattern::{Pattern, fill_pattern, swatch};
pub use plot::still_plot;

use analysis::Rule;
use egui::style::{Selection, WidgetVisuals};
use egui::{Color32, CornerRadius, FontFamily, FontId, Margin, Stroke, TextStyle, Theme, vec2};
use trace::ValveState;

/// Space between things that belong together.
pub const GAP: f32 = 6.0;
/// Space between groups, and at the edge of panels.
pub const MARGIN: f32 = 12.0;
/// The width of the column to the left of the plots: names and readings.
pub const GUTTER: f32 = 196.0;
/// The width of the column to the right of the plots: scales.
pub const SCALE_WIDTH: f32 = 58.0;
/// The height of a row in a list.
pub const ROW: f32 = 27.0;

/// A step of the type scale. All figures are tabular.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// The verdict: to be read from two metres.
    Verdict,
    /// Titles of panels.
    Title,
    /// Running text and figures.
    Body,
    /// Figures and names that carry the row.
    Strong,
    /// Labels of axes and columns.
    Small,
}

impl Type {
    /// The font of this step.
    pub fn font(self) -> FontId {
        match self {
            Self::Verdict => FontId::new(27.0, FontFamily::Name("semibold".into())),
            Self::Title => FontId::new(15.0, FontFamily::Name("semibold".into())),
            Self::Body => FontId::new(13.0, FontFamily::Proportional),
            Self::Strong => FontId::new(13.0, FontFamily::Name("medium".into())),
            Self::Small => FontId::new(11.5, FontFamily::Proportional),
        }
    }

    /// Text of this step in `color`.
    pub fn text(self, text: impl Into<String>, color: Color32) -> egui::RichText {
        egui::RichText::new(text).font(self.font()).color(color)
    }
}

/// The appearance in force: what a screen draws with.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// The colours.
    pub colors: &'static Colors,
    /// Whether lines are drawn stronger.
    pub high_contrast: bool,
}

impl Look {
    /// The appearance for a theme.
    pub const fn new(theme: Theme, high_contrast: bool) -> Self {
        let colors = match (theme, high_contrast) {
            (Theme::Light, false) => &colors::LIGHT,
            (Theme::Dark, false) => &colors::DARK,
            (Theme::Light, true) => &colors::LIGHT_HIGH,
            (Theme::Dark, true) => &colors::DARK_HIGH,
        };
        Self { colors, high_contrast }
    }

    /// The ink of a rule.
    pub const fn rule(self, rule: Rule) -> Color32 {
        self.colors.rules[rule.place()]
    }

    /// The ink of the trace with this rank in its plot.
    pub const fn trace(self, rank: usize) -> Color32 {
        match rank {
            0 => self.colors.ink,
            1 => self.colors.second,
            2 => self.colors.third,
            _ => self.colors.fourth,
        }
    }

    /// The ink of the trace with this rank where it is so dense that it fills an area: lighter, so
    /// that the area does not outweigh limits and bands, and still at least 3 to 1 on the surface.
    pub fn dense(self, rank: usize) -> Color32 {
        let share = if self.high_contrast { 0.0 } else { 0.22 };
        self.trace(rank).lerp_to_gamma(self.colors.surface, share)
    }

    /// The ring around what has the keyboard focus.
    pub fn focus(self) -> Stroke {
        Stroke::new(if self.high_contrast { 3.0 } else { 2.0 }, self.colors.accent)
    }

    /// A hairline.
    pub fn hairline(self) -> Stroke {
        Stroke::new(1.0, self.colors.line)
    }
}

/// The pattern of a rule's bands.
pub const fn rule_pattern(rule: Rule) -> Pattern {
    colors::RULE_PATTERNS[rule.place()]
}

/// The pattern of a valve position in the ribbon; `None` is a plain fill.
pub const fn valve_pattern(valve: ValveState) -> Pattern {
    match valve {
        ValveState::Forward => Pattern::Plain,
        ValveState::Divert => Pattern::Level,
        ValveState::Travel => Pattern::Dots,
        ValveState::Unknown => Pattern::Cross,
    }
}

/// Sets fonts and the styles of both themes. Call once, and again when the contrast changes.
pub fn install(context: &egui::Context, high_contrast: bool) {
    fonts::install(context);
    restyle(context, high_contrast);
}

/// Sets the styles of both themes.
pub fn restyle(context: &egui::Context, high_contrast: bool) {
    for theme in [Theme::Light, Theme::Dark] {
        context.set_style_of(theme, style(theme, Look::new(theme, high_contrast)));
    }
}

fn style(theme: Theme, look: Look) -> egui::Style {
    let colors = look.colors;
    let mut style = theme.default_style();
    style.text_styles = [
        (TextStyle::Heading, Type::Title.font()),
        (TextStyle::Body, Type::Body.font()),
        (TextStyle::Button, Type::Body.font()),
        (TextStyle::Monospace, Type::Body.font()),
        (TextStyle::Small, Type::Small.font()),
    ]
    .into();
    style.animation_time = 0.0;
    style.interaction.selectable_labels = false;
    style.interaction.tooltip_delay = 0.4;
    style.spacing.item_spacing = vec2(GAP, GAP);
    style.spacing.button_padding = vec2(9.0, 4.0);
    style.spacing.interact_size = vec2(24.0, 24.0);
    style.spacing.window_margin = Margin::same(MARGIN as i8);
    style.spacing.menu_margin = Margin::same(GAP as i8);
    style.spacing.scroll.floating = false;
    style.spacing.scroll.bar_width = 8.0;
    // The handle takes the edge's colour rather than that of text, which would outweigh the list.
    style.spacing.scroll.foreground_color = false;
    style.spacing.tooltip_width = 380.0;

    let visuals = &mut style.visuals;
    visuals.override_text_color = None;
    visuals.weak_text_color = Some(colors.ink_soft);
    visuals.hyperlink_color = colors.accent;
    visuals.faint_bg_color = colors.hovered;
    visuals.extreme_bg_color = colors.sunken;
    visuals.text_edit_bg_color = Some(colors.sunken);
    visuals.code_bg_color = colors.sunken;
    visuals.warn_fg_color = colors.alert;
    visuals.error_fg_color = colors.alert;
    visuals.panel_fill = colors.ground;
    visuals.window_fill = colors.surface;
    visuals.window_stroke = Stroke::new(1.0, colors.line_strong);
    visuals.window_corner_radius = CornerRadius::same(6);
    visuals.menu_corner_radius = CornerRadius::same(4);
    visuals.window_shadow.color = colors.veil;
    visuals.popup_shadow.color = colors.veil;
    visuals.text_cursor.stroke = Stroke::new(2.0, colors.accent);
    visuals.text_cursor.blink = false;
    visuals.selection =
        Selection { bg_fill: colors.selected, stroke: Stroke::new(1.0, colors.ink) };
    let widget = |fill: Color32, edge: Stroke, ink: Color32| WidgetVisuals {
        bg_fill: colors.line_strong,
        weak_bg_fill: fill,
        bg_stroke: edge,
        corner_radius: CornerRadius::same(4),
        fg_stroke: Stroke::new(1.0, ink),
        expansion: 0.0,
    };
    let edge = Stroke::new(1.0, colors.line_strong);
    visuals.widgets.noninteractive = widget(colors.surface, look.hairline(), colors.ink);
    visuals.widgets.inactive = widget(colors.surface, edge, colors.ink);
    visuals.widgets.hovered = widget(colors.hovered, Stroke::new(1.0, colors.accent), colors.ink);
    visuals.widgets.active = widget(colors.hovered, look.focus(), colors.ink);
    visuals.widgets.open = widget(colors.hovered, edge, colors.ink);
    style
}
