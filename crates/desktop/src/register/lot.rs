//! The lots of all records, found by a part of a name, a product or a tank; of the chosen one its runs and
//! exceptions on one line of time, each of which leads to its minute.

use super::parts::{inner, note};
use crate::action::{Action, Actions, Spot};
use crate::table::{self, word};
use crate::theme::{self, GAP, Look, MARGIN, Type, fill_pattern, rule_pattern, widgets};
use analysis::Rule;
use daybook::{Entry, LotEventKind, LotRow, lot, lots, minute};
use egui::accesskit::Role as Access;
use egui::{Align2, Frame, Id, Key, Rect, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};
use trace::{Instant, Interval};

/// The page.
#[derive(Debug, Default)]
pub(super) struct Lot {
    typed: String,
    /// Whether the keyboard is to go to the field.
    pub(super) focus: bool,
    /// Worked out when the records change.
    rows: Vec<LotRow>,
    /// The lot that is shown.
    chosen: Option<Shown>,
}

/// A lot, in words.
#[derive(Debug)]
struct Shown {
    lot: String,
    events: Vec<Event>,
    /// From, to, what, tank, volume, disposition, record of each.
    cells: Vec<Vec<String>>,
    notes: Vec<String>,
}

/// A run or an exception of the lot.
#[derive(Debug)]
struct Event {
    interval: Option<Interval>,
    rule: Option<Rule>,
    /// Of an exception.
    id: Option<String>,
    /// The place of its record.
    place: usize,
}

const LOTS: [table::Column<()>; 7] = [
    word("Lot", 110.0, false),
    word("Product", 120.0, false),
    word("Tank", 80.0, false),
    word("From", 142.0, false),
    word("To", 142.0, false),
    word("Metered forward", 130.0, true),
    word("Exceptions", 160.0, false),
];

const EVENTS: [table::Column<()>; 7] = [
    word("From", 142.0, false),
    word("To", 142.0, false),
    word("What", 160.0, false),
    word("Tank", 80.0, false),
    word("Metered forward", 180.0, false),
    word("Disposition", 140.0, false),
    word("Record", 100.0, false),
];

/// The height of the list of lots while one is chosen: four rows below their headings.
const SHORT_LIST: f32 = 22.0 + 4.0 * theme::ROW;

/// The height of the line of time.
const LINE: f32 = 58.0;

impl Shown {
    fn of(wanted: &str, entries: &[Entry]) -> Self {
        let found = lot(entries, wanted);
        let (events, cells) = found
            .events()
            .into_iter()
            .map(|event| {
                let (start, end) = event.span();
                let date = event.entry.date().map(|date| date.to_string());
                let cells = vec![
                    minute(start),
                    minute(end),
                    event.name(),
                    event.tanks(),
                    event.volume(),
                    event.disposition(),
                    date.unwrap_or_else(|| event.entry.name()),
                ];
                let (rule, id) = match event.what {
                    LotEventKind::Run(_) => (None, None),
                    LotEventKind::Exception(one) => {
                        let rule = Rule::ALL.iter().find(|rule| rule.key() == one.rule);
                        (rule.copied(), Some(one.id.clone()))
                    }
                };
                let place = entries.iter().position(|one| std::ptr::eq(one, event.entry));
                let interval = event.interval();
                (Event { interval, rule, id, place: place.unwrap_or(0) }, cells)
            })
            .unzip();
        let mut notes: Vec<String> = Vec::new();
        for (entry, hole) in &found.holes {
            let hole = daybook::HoleRow { entry, hole };
            notes.push(format!("It may have run in a hole: {}", hole.in_words()));
        }
        if found.unnamed > 0 {
            let records = case::plural(found.unnamed, "record");
            notes.push(format!("{records} without any lot may hold it."));
        }
        for entry in &found.unreadable {
            notes.push(format!("{} can\u{2019}t be read and may hold it.", entry.name()));
        }
        Self { lot: found.lot.clone(), events, cells, notes }
    }
}

impl Event {
    fn action(&self) -> Option<Action> {
        let spot = Spot { exception: self.id.clone(), interval: self.interval? };
        Some(Action::ReadAt(self.place, spot))
    }
}

impl Lot {
    /// Takes the records in.
    pub(super) fn tell(&mut self, entries: &[Entry]) {
        self.rows = lots(entries);
        self.chosen = self.chosen.take().map(|shown| Shown::of(&shown.lot, entries));
    }

    /// Draws the page.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        entries: &[Entry],
        actions: &mut Actions,
    ) {
        let frame = Frame::new().fill(look.colors.surface).inner_margin(inner());
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            let listed = self.field(ui, look, entries);
            ui.add_space(GAP);
            if listed.is_empty() {
                let none = match (self.rows.is_empty(), self.typed.trim()) {
                    (true, _) => "No record names a lot.".to_owned(),
                    (false, typed) => {
                        format!("No lot, product or tank has \u{201c}{typed}\u{201d} in its name.")
                    }
                };
                return note(ui, look, &none);
            }
            ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
            let room = ui.available_height();
            let height = if self.chosen.is_some() {
                (22.0 + listed.len() as f32 * theme::ROW + 4.0).min(SHORT_LIST)
            } else {
                room
            };
            ui.allocate_ui(vec2(ui.available_width(), height), |ui| {
                ui.set_min_height(height);
                self.list(ui, look, &listed, entries);
            });
            if let Some(shown) = &self.chosen {
                show_lot(ui, look, shown, actions);
            }
        });
    }

    /// The field, and the places of the lots that it lists. `Enter` chooses the first of them.
    fn field(&mut self, ui: &mut Ui, look: Look, entries: &[Entry]) -> Vec<usize> {
        ui.horizontal(|ui| {
            let label = ui.label(Type::Strong.text("Lot", look.colors.ink));
            // A message that appears above must not take the keyboard away.
            let field = TextEdit::singleline(&mut self.typed)
                .id(Id::unique("lot"))
                .desired_width(260.0)
                .hint_text("part of a lot, product or tank");
            let field = ui.add(field).labelled_by(label.id);
            if std::mem::take(&mut self.focus) {
                field.request_focus();
            }
            let listed = self.listed();
            let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
            let one = if field.changed() && listed.len() == 1 { listed.first() } else { None };
            let first = listed.first().filter(|_| entered);
            if let Some(row) = one.or(first).and_then(|&place| self.rows.get(place)) {
                self.chosen = Some(Shown::of(&row.lot, entries));
            } else if field.changed() {
                self.chosen = None;
            }
            ui.add_space(GAP);
            let count = match (listed.len(), self.rows.len()) {
                (some, all) if some < all => format!("{some} of {}", case::plural(all, "lot")),
                (_, all) => case::plural(all, "lot"),
            };
            ui.label(Type::Small.text(count, look.colors.ink_soft));
            listed
        })
        .inner
    }

    fn listed(&self) -> Vec<usize> {
        let is_listed = |row: &LotRow| row.matches(&self.typed);
        (0..self.rows.len()).filter(|&at| self.rows.get(at).is_some_and(is_listed)).collect()
    }

    fn list(&mut self, ui: &mut Ui, look: Look, listed: &[usize], entries: &[Entry]) {
        let places = table::titles(ui, look, (&LOTS, table::room(ui)), 22.0);
        let mut chosen = None;
        egui::ScrollArea::vertical().auto_shrink(false).id_salt("lots").show(ui, |ui| {
            table::rows(ui, "Lots", listed.len(), |ui, index| {
                let Some(row) = listed.get(index).and_then(|&at| self.rows.get(at)) else { return };
                let is_chosen = self.chosen.as_ref().is_some_and(|shown| shown.lot == row.lot);
                let cells = [
                    row.lot.clone(),
                    LotRow::listed(&row.products),
                    LotRow::listed(&row.tanks),
                    minute(&row.first),
                    minute(&row.last),
                    row.volume(),
                    row.standing(),
                ];
                let said = table::said(&LOTS, &cells);
                let info = || WidgetInfo::selected(Access::Row, true, is_chosen, &said);
                let response = table::row(ui, look, (is_chosen, 4.0), info, |ui, rect| {
                    table::cells(ui, look, rect, (&places, &cells), |column| column == 0);
                });
                if response.on_hover_text(&said).clicked() {
                    chosen = Some(row.lot.clone());
                }
            });
        });
        if let Some(lot) = chosen {
            self.chosen = Some(Shown::of(&lot, entries));
        }
    }
}

/// The runs and exceptions of the chosen lot.
fn show_lot(ui: &mut Ui, look: Look, shown: &Shown, actions: &mut Actions) {
    ui.add_space(GAP);
    ui.horizontal(|ui| {
        ui.label(Type::Verdict.text(format!("Lot {}", shown.lot), look.colors.ink));
        ui.add_space(MARGIN);
        if widgets::button(ui, look, "Summary of this lot\u{2026}", "").clicked() {
            actions.push(Action::SummaryOf(shown.lot.clone()));
        }
    });
    ui.add_space(GAP);
    line(ui, look, shown, actions);
    for text in &shown.notes {
        table::note(ui, look, text);
    }
    egui::ScrollArea::vertical().auto_shrink(false).id_salt("lot").show(ui, |ui| {
        let name = "Runs and exceptions of the lot";
        let clicked = table::words(ui, look, name, &EVENTS, &shown.cells);
        let event = clicked.and_then(|index| shown.events.get(index));
        if let Some(action) = event.and_then(Event::action) {
            actions.push(action);
        }
    });
}

/// Runs below, exceptions above them, from the first to the last minute of the lot.
fn line(ui: &mut Ui, look: Look, shown: &Shown, actions: &mut Actions) {
    let spans = || shown.events.iter().filter_map(|event| event.interval);
    let Some(whole) = spans().reduce(Interval::hull) else { return };
    let width = ui.available_width() - 2.0 * MARGIN;
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), LINE), Sense::hover());
    let left = rect.left() + MARGIN;
    let length = whole.duration().milliseconds().max(1) as f32;
    let x = |at: Instant| left + width * (at.since(whole.start()).milliseconds() as f32 / length);
    let painter = ui.painter().clone();
    let track =
        Rect::from_min_max(pos2(left, rect.top() + 16.0), pos2(left + width, rect.bottom() - 16.0));
    painter.rect_filled(track, 0.0, look.colors.sunken);
    for (index, (event, cells)) in shown.events.iter().zip(&shown.cells).enumerate() {
        let Some(span) = event.interval else { continue };
        let (from, to) = (x(span.start()), x(span.end()).max(x(span.start()) + 5.0));
        let bar = match event.rule {
            None => Rect::from_x_y_ranges(from..=to, track.top() + 8.0..=track.bottom()),
            Some(_) => Rect::from_x_y_ranges(from..=to, track.top()..=track.bottom() - 8.0),
        };
        let said = table::said(&EVENTS, cells);
        let response = ui.interact(bar, ui.make_persistent_id(("lot line", index)), Sense::click());
        response.widget_info(|| WidgetInfo::labeled(Access::Button, true, &said));
        match event.rule {
            None => {
                painter.rect_filled(bar.shrink2(vec2(0.5, 0.0)), 2.0, look.colors.forward);
                let tank = cells.get(3).map_or("", String::as_str);
                let (at, ink) = (bar.left_center() + vec2(6.0, 2.0), look.colors.on_forward);
                let room = bar.width() - 10.0;
                if room > 30.0 {
                    let anchor = Align2::LEFT_CENTER;
                    widgets::text_in(&painter, at, anchor, tank, Type::Small, ink, room);
                }
            }
            Some(rule) => {
                painter.rect_filled(bar, 0.0, look.colors.surface);
                fill_pattern(&painter, bar, rule_pattern(rule), look.rule(rule));
            }
        }
        widgets::focus_ring(ui, look, &response, bar);
        if response.on_hover_text(said).clicked()
            && let Some(action) = event.action()
        {
            actions.push(action);
        }
    }
    let both = || shown.events.iter().zip(&shown.cells);
    let first = both().find(|(event, _)| event.interval.is_some());
    let last = both().max_by_key(|(event, _)| event.interval.map(Interval::end));
    let soft = look.colors.ink_soft;
    let label = |at, anchor, text: Option<&String>| {
        let text = text.map_or("", String::as_str);
        widgets::text_in(&painter, at, anchor, text, Type::Small, soft, width / 2.0);
    };
    label(track.left_bottom(), Align2::LEFT_TOP, first.and_then(|(_, cells)| cells.first()));
    label(track.right_bottom(), Align2::RIGHT_TOP, last.and_then(|(_, cells)| cells.get(1)));
}
