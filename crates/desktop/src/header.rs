//! The bar at the top: which record, the menu; and below it the verdict, first of all.

use crate::action::{Action, Actions};
use crate::commands::{Command, Group};
use crate::day::Day;
use crate::loading::Loader;
use crate::register::Register;
use crate::review::strip;
use crate::settings::Settings;
use crate::task::{file_name, record_name};
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Pattern, Type, fill_pattern};
use egui::accesskit::Role as Access;
use egui::{
    Align, Align2, Frame, Layout, Margin, Rect, Sense, Stroke, Ui, UiBuilder, WidgetInfo, vec2,
};
use std::path::PathBuf;
use trace::{PressureUnit, TemperatureUnit, Unit as _};

/// What the bar tells of.
pub struct Shown<'a> {
    /// The day that is open.
    pub day: Option<&'a Day>,
    /// The register that it was opened from, or that is open.
    pub register: Option<&'a Register>,
    /// What is remembered.
    pub settings: &'a Settings,
    /// Whether it belongs to the demo, so that nobody takes it for a plant's.
    pub is_demo: bool,
}

/// Draws the bar over a day, over the register of a folder, or over nothing.
pub fn bar(ui: &mut Ui, look: Look, shown: &Shown<'_>, actions: &mut Actions) {
    let Shown { day, register, settings, is_demo } = *shown;
    let frame = Frame::new().fill(look.colors.ground).inner_margin(Margin::symmetric(12, 7));
    egui::Panel::top("bar").frame(frame).resizable(false).show_separator_line(false).show(
        ui,
        |ui| {
            ui.horizontal(|ui| {
                mark(ui, look);
                ui.label(Type::Title.text("Holdtrace", look.colors.ink));
                if is_demo {
                    let text = Type::Strong.text("Demo, invented", look.colors.alert);
                    ui.label(text).on_hover_text("Plant, people, lots and readings are invented.");
                }
                ui.add_space(MARGIN);
                if register.is_some() {
                    ui.add_enabled_ui(day.is_some(), |ui| {
                        actions.button(ui, look, Command::ShowRegister, "Day log");
                    });
                }
                match (day, register.filter(|register| register.records.entries().len() > 1)) {
                    (None, _) => {}
                    (Some(day), Some(register)) => {
                        let place = register.records.current();
                        let offers = day.review.was_just_signed() || !register.is_left(place);
                        day_buttons(ui, look, register, offers, actions);
                        if offers {
                            next_on_list(ui, look, register, actions);
                        }
                    }
                    (Some(day), None) => {
                        ui.label(Type::Strong.text(&day.name, look.colors.ink));
                    }
                }
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    menu(ui, look, &settings.recent, actions);
                    actions.button(ui, look, Command::CommandList, "Commands");
                    actions.button(ui, look, Command::Help, "Help");
                    if let Some(day) = day {
                        units(ui, look, day, settings, actions);
                        let text = format!(
                            "{} \u{b7} {}",
                            day.case.plant().name,
                            day.case.record().unit()
                        );
                        let text = Type::Body.text(text, look.colors.ink_soft);
                        ui.add(egui::Label::new(text).truncate());
                    }
                });
            });
        },
    );
}

/// The sign of the program: a tube with a trace in it that dips below its line.
pub fn mark(ui: &mut Ui, look: Look) {
    let (rect, _) = ui.allocate_exact_size(vec2(26.0, 20.0), Sense::hover());
    draw_mark(ui.painter(), look, rect);
}

/// Draws the sign into `rect`.
pub fn draw_mark(painter: &egui::Painter, look: Look, rect: Rect) {
    let colors = look.colors;
    let at = |x: f32, y: f32| rect.left_top() + vec2(rect.width() * x, rect.height() * y);
    painter.rect_filled(rect, rect.height() * 0.28, colors.forward);
    let dash = Stroke::new(rect.height() * 0.06, colors.on_forward.gamma_multiply(0.75));
    painter.line_segment([at(0.1, 0.56), at(0.9, 0.56)], dash);
    let line = Stroke::new(rect.height() * 0.11, colors.on_forward);
    let points = vec![at(0.1, 0.34), at(0.38, 0.34), at(0.52, 0.76), at(0.64, 0.28), at(0.9, 0.28)];
    painter.line(points, line);
}

/// The record of the folder that is open, and those before and after it; in a narrow window only their keys
/// where the next on the work list is offered.
fn day_buttons(ui: &mut Ui, look: Look, register: &Register, offers: bool, actions: &mut Actions) {
    let has_room = !offers || ui.available_width() > NEIGHBOURS;
    let (entries, current) = (register.records.entries(), register.records.current());
    let name = entries.get(current).map_or_else(String::new, |entry| record_name(&entry.files));
    if has_room {
        ui.add_enabled_ui(current > 0, |ui| {
            actions.button(ui, look, Command::PreviousDay, "Previous day");
        });
    }
    let text = format!("{name}  {} of {}", current + 1, entries.len());
    let response = widgets::button(ui, look, &text, "\u{25bc}");
    egui::Popup::menu(&response).width(260.0).show(|ui| {
        egui::ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
            for (index, entry) in entries.iter().enumerate() {
                let label = Type::Body.text(record_name(&entry.files), look.colors.ink);
                if ui.selectable_label(index == current, label).clicked() {
                    actions.push(Action::Read(index));
                }
            }
        });
    });
    if has_room {
        ui.add_enabled_ui(current + 1 < entries.len(), |ui| {
            actions.button(ui, look, Command::NextDay, "Next day");
        });
    }
}

/// What is next on the work list once the day that is open is signed, or where nothing of it waits for the
/// person at work.
fn next_on_list(ui: &mut Ui, look: Look, register: &Register, actions: &mut Actions) {
    let place = Some(register.records.current());
    let Some(next) = register.next(place) else {
        ui.label(Type::Strong.text(nothing_left(register), look.colors.ink));
        return;
    };
    let text = format!("Next: {} \u{b7} {} left", next.name, register.left(place));
    actions.primary_button(ui, look, Command::NextOnList, &text);
}

/// What is said where no other record is left on the work list.
pub fn nothing_left(register: &Register) -> &'static str {
    if register.knows_person() {
        "Nothing else is waiting for you"
    } else {
        "No day is left to review"
    }
}

fn units(ui: &mut Ui, look: Look, day: &Day, settings: &Settings, actions: &mut Actions) {
    let units = settings.units;
    let pressure = units.pressure(day.case.record().differential().unit());
    let temperature = units.temperature(day.case.record().holding_temperature().unit());
    let other = match pressure {
        PressureUnit::Psi => "kPa",
        _ => "psi",
    };
    let tip = |recorded: &str, other: &str| {
        format!("Recorded in {recorded}. Show in {other}; the audit stays as recorded.")
    };
    let response = widgets::button(ui, look, pressure.symbol(), "")
        .on_hover_text(tip(day.case.record().differential().unit().symbol(), other));
    if response.clicked() {
        actions.push(Command::PressureUnit);
    }
    let other = match temperature {
        TemperatureUnit::Fahrenheit => "\u{b0}C",
        TemperatureUnit::Celsius => "\u{b0}F",
    };
    let recorded = day.case.record().holding_temperature().unit().symbol();
    let response =
        widgets::button(ui, look, temperature.symbol(), "").on_hover_text(tip(recorded, other));
    if response.clicked() {
        actions.push(Command::TemperatureUnit);
    }
}

/// The groups of each column of the menu.
const COLUMNS: [&[Group]; 3] =
    [&[Group::Record], &[Group::Find, Group::View], &[Group::Review, Group::Show]];

/// All commands side by side, so that they fit into a low window, and the recent files and folders.
fn menu(ui: &mut Ui, look: Look, recent: &[PathBuf], actions: &mut Actions) {
    let response = widgets::button(ui, look, "Menu", "");
    let room = ui.ctx().content_rect().size();
    let recent = &recent[..recent.len().min(RECENT_IN_MENU)];
    let width = ((room.x - 48.0) / 3.0).min(MENU_COLUMN);
    egui::Popup::menu(&response).width(3.0 * width).show(|ui| {
        let height =
            ((room.y - MENU_AROUND) / most_rows(recent.len()) as f32).clamp(LEAST_ROW, MENU_ROW);
        let most = room.y - MENU_AROUND + GAP;
        let area = egui::ScrollArea::vertical().max_height(most).min_scrolled_height(most);
        area.show(ui, |ui| {
            ui.horizontal_top(|ui| {
                ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
                for (place, groups) in COLUMNS.into_iter().enumerate() {
                    ui.vertical(|ui| {
                        ui.set_width(width);
                        for &group in groups {
                            of_group(ui, look, group, height, actions);
                        }
                        if place == 0 && !recent.is_empty() {
                            of_recent(ui, look, recent, height, actions);
                        }
                    });
                }
            });
        });
    });
}

/// So much room is needed from there on for the days before and after beside what is next on the work list.
const NEIGHBOURS: f32 = 1000.0;

/// How many rows the longest column of the menu has.
fn most_rows(recent: usize) -> usize {
    let of = |group: &Group| {
        1 + Command::ALL.into_iter().filter(|command| command.group() == *group).count()
    };
    let rows = COLUMNS.map(|groups| groups.iter().map(of).sum::<usize>());
    let [first, second, third] = rows;
    (first + 1 + recent).max(second).max(third)
}

fn menu_heading(ui: &mut Ui, look: Look, title: &str, height: f32) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let at = rect.left_center() + vec2(GAP, 0.0);
    widgets::text_left(ui.painter(), at, title, Type::Small, look.colors.ink_soft, rect.width());
}

fn of_group(ui: &mut Ui, look: Look, group: Group, height: f32, actions: &mut Actions) {
    menu_heading(ui, look, group.title(), height);
    for command in Command::ALL.into_iter().filter(|one| one.group() == group) {
        let key = command.key_text(ui.ctx());
        if row(ui, look, (command.title(), &key), false, height).clicked() {
            actions.push(command);
            ui.close();
        }
    }
}

fn of_recent(ui: &mut Ui, look: Look, recent: &[PathBuf], height: f32, actions: &mut Actions) {
    menu_heading(ui, look, "Recent", height);
    for path in recent {
        let response = row(ui, look, (&file_name(path), ""), false, height);
        if response.on_hover_text(path.display().to_string()).clicked() {
            actions.push(Action::Open(vec![path.clone()]));
            ui.close();
        }
    }
}

/// How many recent files and folders the menu shows.
const RECENT_IN_MENU: usize = 5;
/// The greatest width of a column of the menu.
const MENU_COLUMN: f32 = 310.0;
/// What of the height of the window is not the menu's.
const MENU_AROUND: f32 = 66.0;
/// The height of a row of a menu where there is room.
const MENU_ROW: f32 = 25.0;
/// The least height of one.
const LEAST_ROW: f32 = 17.0;

/// A command with its key, as a row of a menu.
pub fn command_row(ui: &mut Ui, look: Look, command: Command, marked: bool) -> egui::Response {
    let key = command.key_text(ui.ctx());
    row(ui, look, (command.title(), &key), marked, MENU_ROW)
}

/// A row of a menu with a key at its end.
fn row(
    ui: &mut Ui,
    look: Look,
    (title, key): (&str, &str),
    marked: bool,
    height: f32,
) -> egui::Response {
    let colors = look.colors;
    let size = vec2(ui.available_width(), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Access::MenuItem, true, title));
    if marked {
        ui.painter().rect_filled(rect, 3.0, colors.selected);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, 3.0, colors.hovered);
    }
    let y = rect.center().y;
    let left = egui::pos2(rect.left() + 8.0, y);
    let right = egui::pos2(rect.right() - 8.0, y);
    let painter = ui.painter();
    let used = widgets::text_right(painter, right, key, Type::Small, colors.ink_soft, 120.0);
    let room = rect.width() - used - 28.0;
    widgets::text_left(painter, left, title, Type::Body, colors.ink, room);
    widgets::focus_ring(ui, look, &response, rect);
    response
}

/// The font of the verdict: a little smaller where that keeps it on one line, and in a low window.
fn fitting(ui: &Ui, text: &str) -> egui::FontId {
    let usual = Type::Verdict.font();
    let width = |font: &egui::FontId| {
        ui.painter()
            .layout_no_wrap(text.to_owned(), font.clone(), ui.visuals().text_color())
            .size()
            .x
    };
    let room = ui.available_width();
    let smaller = egui::FontId::new(0.86 * usual.size, usual.family.clone());
    if ui.ctx().content_rect().height() < 640.0 {
        let low = egui::FontId::new(0.74 * usual.size, usual.family.clone());
        let lowest = egui::FontId::new(0.62 * usual.size, usual.family);
        return if width(&low) > room && width(&lowest) <= room { lowest } else { low };
    }
    if width(&usual) > room && width(&smaller) <= room { smaller } else { usual }
}

/// Draws the verdict, large, and below it how far the review is. `person` is who is at work.
pub fn verdict(ui: &mut Ui, look: Look, day: &Day, person: &str, actions: &mut Actions) {
    let colors = look.colors;
    let frame = Frame::new().fill(colors.ground).inner_margin(Margin {
        left: 12,
        right: 12,
        top: 2,
        bottom: 8,
    });
    egui::Panel::top("verdict").frame(frame).resizable(false).show_separator_line(false).show(
        ui,
        |ui| {
            let builder =
                UiBuilder::new().accessibility_role(Access::Banner).accessibility_label("Verdict");
            ui.scope_builder(builder, |ui| {
                let whole = ui.available_rect_before_wrap();
                ui.horizontal_top(|ui| {
                    ui.add_space(20.0);
                    ui.vertical(|ui| {
                        ui.spacing_mut().item_spacing.y = 3.0;
                        let words = day.verdict.clone();
                        let font = fitting(ui, &words);
                        let text = egui::RichText::new(words).font(font).color(colors.ink);
                        ui.add(egui::Label::new(text).wrap().selectable(true));
                        ui.label(Type::Small.text(case::CAUTION, colors.ink_soft));
                    });
                });
                let bottom = ui.min_rect().bottom();
                let bar = Rect::from_min_max(
                    whole.left_top() + vec2(0.0, 4.0),
                    egui::pos2(whole.left() + 9.0, bottom),
                );
                let (pattern, color) = if !day.case.audit().exceptions.is_empty() {
                    (Pattern::Cross, colors.alert)
                } else if !day.case.audit().observations.is_empty() {
                    (Pattern::Level, colors.ink_soft)
                } else {
                    (Pattern::Plain, colors.line_strong)
                };
                ui.painter().rect_filled(bar, 2.0, color.gamma_multiply(0.25));
                fill_pattern(&ui.painter_at(bar), bar, pattern, color);
            });
            strip::show(ui, look, &day.review, person, actions);
        },
    );
}

/// Draws how far reading has come.
pub fn progress(ui: &mut Ui, look: Look, loader: &Loader, actions: &mut Actions) {
    let Some((name, fraction, waiting)) = loader.status() else { return };
    let colors = look.colors;
    widgets::overlay(ui, "progress", Align2::CENTER_TOP, |ui| {
        ui.horizontal(|ui| {
            let text = format!("Reading and auditing {name}");
            ui.label(Type::Body.text(text, colors.ink));
            widgets::progress_bar(ui, look, 200.0, fraction, "Progress of reading");
            ui.label(Type::Body.text(format!("{:.0} %", fraction * 100.0), colors.ink));
            if waiting > 0 {
                let text = format!("{waiting} waiting");
                ui.label(Type::Small.text(text, colors.ink_soft));
            }
            ui.add_space(GAP);
            actions.button(ui, look, Command::Cancel, "Cancel reading");
        });
    });
}
