//! The small plots of things that are followed: to be looked at, not to be moved.

use egui::Vec2;
use egui_plot::Plot;

/// A plot that stays as it is drawn: no grid, no crosshair, nothing that the pointer moves.
pub fn still_plot(id: impl std::hash::Hash + std::fmt::Debug, size: Vec2) -> Plot<'static> {
    Plot::new(id)
        .width(size.x)
        .height(size.y)
        .show_grid(false)
        .show_background(false)
        .show_crosshair(false)
        .show_x(false)
        .show_y(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_drag(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
}
