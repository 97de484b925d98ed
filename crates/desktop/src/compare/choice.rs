//! The dialog that asks which day the open one is set beside. The last day before it with the same product comes
//! first, as far as the day log of the folder tells; without one the other records of the folder are listed.

use super::reading::Reading;
use super::{Comparison, Record};
use crate::action::{Action, Actions};
use crate::day::Day;
use crate::job::Job;
use crate::register::Register;
use crate::task::record_name;
use crate::theme::{GAP, Look, Type, card, widgets};
use crate::why::Why;
use ::case::{ProductDay, ProductName};
use daybook::Entry;
use egui::accesskit::Role as Access;
use egui::{Id, Key, Modifiers, Rect, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// The height of a row.
const ROW: f32 = 24.0;

/// Another day of the folder.
struct Other {
    files: Vec<PathBuf>,
    name: String,
    about: String,
    /// What it is found by.
    words: String,
    /// Whether the product went forward on it; `None` where no day log tells.
    has_product: Option<bool>,
}

impl Other {
    fn new(
        files: Vec<PathBuf>,
        (name, about): (String, String),
        has_product: Option<bool>,
    ) -> Self {
        let words = format!("{name} {about}").to_lowercase();
        Self { files, name, about, words, has_product }
    }
}

/// What is asked for in the dialog.
pub struct Choice {
    this: Record,
    plant: Option<PathBuf>,
    product: ProductName,
    others: Vec<Other>,
    /// The folder's records, while nothing tells them yet.
    looking: Option<Job<Result<Vec<Other>, Why>>>,
    typed: String,
    marked: usize,
    reading: Option<(String, Reading)>,
    made: Option<Comparison>,
    message: Option<String>,
}

impl Choice {
    /// The dialog over a day, with the day log that it was opened from, if it was.
    pub fn new(day: &Day, register: Option<&Register>, context: &egui::Context) -> Self {
        let files = day.task.files.clone();
        let product = product_of(day);
        let others = register.map(|register| listed(register.records.entries(), &files, &product));
        let looking = others.is_none().then(|| {
            let (files, plant) = (files.clone(), day.case.plant().clone());
            Job::begin(context, move || in_folder(&files, &plant))
        });
        Self {
            this: Record { files, case: day.case.clone(), curves: day.curves.clone() },
            plant: day.task.plant.clone(),
            product,
            others: others.unwrap_or_default(),
            looking,
            typed: String::new(),
            marked: 0,
            reading: None,
            made: None,
            message: None,
        }
    }

    /// Whether the folder is looked through, or the other record is being read.
    pub const fn is_busy(&self) -> bool {
        self.looking.is_some() || self.reading.is_some()
    }

    /// Hands over both days, once the other one is read.
    pub const fn take_made(&mut self) -> Option<Comparison> {
        self.made.take()
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, actions: &mut Actions) {
        self.poll(ui.ctx(), actions);
        let mut closed = false;
        let screen = ui.ctx().content_rect().size();
        let ends = card::dialog(ui, look, "compare", 620.0_f32.min(screen.x - 60.0), |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            ui.label(Type::Title.text("Compare with another day", look.colors.ink));
            let text = format!(
                "Product: {}. Both days are aligned by the start of its forward flow.",
                self.product
            );
            card::paragraph(ui, look, &text);
            if let Some((name, reading)) = &self.reading {
                ui.label(Type::Strong.text(format!("Reading {name}\u{2026}"), look.colors.ink));
                widgets::progress_bar(ui, look, 260.0, reading.fraction(), "Progress of reading");
            } else {
                self.choose(ui, look, screen.y);
            }
            if let Some(message) = &self.message {
                card::alert(ui, look, message);
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                let can_choose = self.reading.is_none() && !self.found().is_empty();
                ui.add_enabled_ui(can_choose, |ui| {
                    if widgets::primary_button(ui, look, "Compare", "Enter").clicked() {
                        self.take(ui.ctx(), self.marked);
                    }
                });
                closed = widgets::button(ui, look, "Cancel", "Esc").clicked();
            });
        });
        if closed || ends {
            actions.push(Action::Close);
        }
    }

    /// The places of the days that what is typed stands in.
    fn found(&self) -> Vec<usize> {
        let typed = self.typed.to_lowercase();
        let is_meant =
            |other: &Other| typed.split_whitespace().all(|word| other.words.contains(word));
        let all = self.others.iter().enumerate();
        all.filter(|(_, other)| is_meant(other)).map(|(place, _)| place).collect()
    }

    fn choose(&mut self, ui: &mut Ui, look: Look, height: f32) {
        let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        if pressed(Key::ArrowDown) {
            self.marked += 1;
        }
        if pressed(Key::ArrowUp) {
            self.marked = self.marked.saturating_sub(1);
        }
        let hint = "Type a date or a product";
        let field = TextEdit::singleline(&mut self.typed)
            .hint_text(Type::Body.text(hint, look.colors.ink_soft))
            .desired_width(f32::INFINITY)
            .id(Id::unique("day to compare with"));
        let field = ui.add(field).accessible_name("Find a day");
        widgets::focus_ring(ui, look, &field, field.rect.expand(1.0));
        let entered = crate::review::words::is_entered(ui, &field);
        let focused = ui.ctx().memory(egui::Memory::focused);
        if entered || focused.is_none() {
            field.request_focus();
        }
        if field.changed() {
            (self.marked, self.message) = (0, None);
        }
        let found = self.found();
        self.marked = self.marked.min(found.len().saturating_sub(1));
        if found.is_empty() {
            let text = match (self.looking.is_some(), self.others.is_empty()) {
                (true, _) => "Looking through the folder\u{2026}",
                (false, true) => "The folder has no other record that can be read.",
                (false, false) => "No other day matches.",
            };
            ui.label(Type::Body.text(text, look.colors.ink_soft));
        }
        let mut chosen = entered.then_some(self.marked);
        let area = egui::ScrollArea::vertical().max_height((height - 330.0).max(120.0));
        area.auto_shrink([false, true]).id_salt("days").show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            for (index, other) in
                found.iter().filter_map(|&place| self.others.get(place)).enumerate()
            {
                if row(ui, look, other, index == self.marked) {
                    chosen = Some(index);
                }
            }
        });
        if let Some(index) = chosen {
            self.take(ui.ctx(), index);
        }
    }

    /// Begins to read the day at a place of the list.
    fn take(&mut self, context: &egui::Context, index: usize) {
        let found = self.found();
        let Some(other) = found.get(index).and_then(|&place| self.others.get(place)) else {
            return;
        };
        let reading = Reading::begin(context, other.files.clone(), self.plant.clone());
        self.message = None;
        self.reading = Some((other.name.clone(), reading));
    }

    fn poll(&mut self, context: &egui::Context, actions: &mut Actions) {
        let lost = || Why::from("the background task ended unexpectedly; please report this");
        match Job::take(&mut self.looking, context, lost) {
            Some(Ok(others)) => self.others = others,
            Some(Err(why)) => self.message = Some(why.into()),
            None => {}
        }
        let Some((name, reading)) = &mut self.reading else { return };
        match reading.poll(context) {
            Some(Ok(other)) => {
                let records = [self.this.clone(), other];
                self.made = Some(Comparison::new(records, self.product.clone()));
                self.reading = None;
                actions.push(Action::Compare);
            }
            Some(Err(why)) => {
                self.message = Some(format!("{name} could not be read: {why}"));
                self.reading = None;
            }
            None => {}
        }
    }
}

/// The product that is compared: that at the crosshair where it went forward, else the one that did for longest.
fn product_of(day: &Day) -> ProductName {
    let days = day.case.product_days();
    let went = |one: &&ProductDay| one.forward_flow.is_some();
    let at = day.crosshair_sample().map(|sample| day.case.product_at(sample));
    let at = days.iter().filter(went).find(|one| Some(&one.name) == at.as_ref());
    let longest = || days.iter().filter(went).max_by_key(|one| one.forward_time);
    at.or_else(longest).or(days.first()).map_or_else(ProductName::default, |one| one.name.clone())
}

/// The other days of a day log, the likeliest first.
fn listed(entries: &[Entry], files: &[PathBuf], product: &ProductName) -> Vec<Other> {
    let found = daybook::comparable(entries, files, product);
    let other = |one: &daybook::Comparable| {
        let entry = entries.get(one.place)?;
        let runs = entry.day.iter().flat_map(|day| &day.runs).filter(|run| run.forward_ms > 0);
        let mut known = BTreeSet::new();
        let products: Vec<String> = runs
            .map(|run| ProductName::new(&run.product))
            .filter(|name| !name.is_blank() && known.insert(name.clone()))
            .map(|name| name.to_string())
            .collect();
        let products = products.join(", ");
        let exceptions = entry.day.as_ref().map_or(0, |day| day.in_production().count());
        let exceptions = case::plural(exceptions, "exception");
        let parts = [entry.unit(), &products, &exceptions];
        let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        let name = entry.date().map_or_else(|| entry.name(), |date| date.to_string());
        let about = parts.join(" \u{b7} ");
        Some(Other::new(entry.files.clone(), (name, about), Some(one.has_product)))
    };
    found.iter().filter_map(other).collect()
}

/// The other records of the folder of a record, the latest name first: nothing tells what is in them.
fn in_folder(files: &[PathBuf], plant: &plant::Plant) -> Result<Vec<Other>, Why> {
    let first = files.first().ok_or_else(|| Why::from("the record has no file"))?;
    let folder = first.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.map_or_else(|| PathBuf::from("."), PathBuf::from);
    let records = ingest::records(ingest::contents(&folder)?.days, Some(plant));
    let others = records.into_iter().rev().filter(|others| !others.contains(first));
    let other = |files: Vec<PathBuf>| {
        let name = record_name(&files);
        Other::new(files, (name, String::new()), None)
    };
    Ok(others.map(other).collect())
}

/// Draws a day; gives whether it was chosen.
fn row(ui: &mut Ui, look: Look, other: &Other, marked: bool) -> bool {
    let colors = look.colors;
    // `Tab` passes it by: the arrows lead to it.
    let sense = Sense::CLICK - Sense::FOCUSABLE;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), sense);
    let lacks = if other.has_product == Some(false) { "not this product" } else { "" };
    let said = [other.name.as_str(), &other.about, lacks];
    let said: Vec<&str> = said.into_iter().filter(|part| !part.is_empty()).collect();
    let said = said.join(", ");
    response.widget_info(|| WidgetInfo::selected(Access::ListBoxOption, true, marked, &said));
    if marked {
        ui.painter().rect_filled(rect, 3.0, colors.selected);
        response.scroll_to_me(None);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, 3.0, colors.hovered);
    }
    if !ui.is_rect_visible(rect) {
        return false;
    }
    let inside = Rect::from_min_max(rect.min + vec2(8.0, 0.0), rect.max - vec2(8.0, 0.0));
    let (left, right, y) = (inside.left(), inside.right(), rect.center().y);
    let painter = ui.painter();
    let ink = colors.ink_soft;
    let end = widgets::text_right(painter, pos2(right, y), lacks, Type::Small, ink, 120.0);
    let name =
        widgets::text_left(painter, pos2(left, y), &other.name, Type::Strong, colors.ink, 220.0);
    let at = pos2(left + name + 12.0, y);
    let room = right - at.x - end - 12.0;
    widgets::text_left(painter, at, &other.about, Type::Body, colors.ink, room);
    response.on_hover_text(said).clicked()
}
