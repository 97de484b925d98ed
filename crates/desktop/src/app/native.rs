//! The window of the system: its size, its icon, and what is said where there is none.

use super::App;
use crate::error::Error;
use crate::settings::{Settings, Window};
use crate::surroundings::{Start, Surroundings};
use egui::{Ui, vec2};

/// The title of the window.
const TITLE: &str = "Holdtrace";

impl eframe::App for App {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        Self::ui(self, ui);
    }
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// See [`crate::run`].
pub fn run(start: Start, surroundings: Surroundings) -> Result<(), Error> {
    // The settings are read once more by the program itself; a broken file is left for it.
    let size = surroundings
        .settings
        .as_deref()
        .and_then(|path| std::fs::read_to_string(path).ok())
        .and_then(|text| toml::from_str::<Settings>(&text).ok())
        .map_or_else(Window::default, |settings| settings.window);
    let viewport = egui::ViewportBuilder::default()
        .with_title(TITLE)
        .with_app_id("holdtrace")
        .with_icon(icon())
        .with_inner_size(vec2(size.width.clamp(640.0, 8192.0), size.height.clamp(480.0, 8192.0)))
        .with_min_inner_size(vec2(820.0, 560.0));
    let options = eframe::NativeOptions { viewport, ..eframe::NativeOptions::default() };
    let create: eframe::AppCreator<'_> =
        Box::new(move |creation| Ok(Box::new(App::new(&creation.egui_ctx, start, surroundings))));
    eframe::run_native(TITLE, options, create).map_err(|cause| match cause {
        // A display without anything to draw with is as good as none.
        eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_) | eframe::Error::Wgpu(_) => {
            Error::NoDisplay(without_place(&cause.to_string()))
        }
        eframe::Error::AppCreation(_) => Error::Window(cause.to_string()),
    })
}

/// A message without the place in a library's source that it may begin with.
fn without_place(message: &str) -> String {
    let after = message.find(".rs:").and_then(|place| {
        let rest = message.get(place + 4..)?;
        rest.find(": ").and_then(|end| rest.get(end + 2..))
    });
    after.unwrap_or(message).trim_end_matches('.').to_owned()
}

/// The icon of the window: `assets/icon.rgba`, 64 pixels square.
fn icon() -> egui::IconData {
    let rgba = include_bytes!("../../../../assets/icon-64.rgba").to_vec();
    egui::IconData { rgba, width: 64, height: 64 }
}
