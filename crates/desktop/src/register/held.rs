//! What is on hold across days and pasteurizers, the oldest first; a row leads to its record.

use super::parts::note;
use crate::table::{self, word};
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use chrono::NaiveDate;
use daybook::{Entry, Held, HeldRow};
use egui::accesskit::Role as Access;
use egui::{Frame, Ui, WidgetInfo, vec2};

/// The page.
#[derive(Debug, Default)]
pub(super) struct HeldPage {
    /// Worked out when the records change.
    rows: Vec<Row>,
    open: usize,
    /// Records whose journals can't be followed.
    unreadable: Vec<String>,
    /// Whether what was on hold is listed as well.
    all: bool,
}

/// A line of the list.
#[derive(Debug)]
struct Row {
    is_open: bool,
    cells: [String; 6],
    /// Everything, for whoever points at it.
    said: String,
    /// The place of its record.
    place: usize,
}

const COLUMNS: [table::Column<()>; 6] = [
    word("Hold", 150.0, false),
    word("Product", 250.0, false),
    word("Pasteurizer", 90.0, false),
    word("Record", 100.0, false),
    word("Days", 52.0, true),
    word("Status", 380.0, false),
];

impl HeldPage {
    /// How many holds are open.
    pub(super) const fn open(&self) -> usize {
        self.open
    }

    /// Takes the records in.
    pub(super) fn tell(&mut self, entries: &[Entry], today: NaiveDate) {
        let held = Held::of(entries.iter());
        let row = |row: HeldRow<'_>| {
            let HeldRow { entry, hold } = row;
            let date = entry.date().map_or_else(|| entry.name(), |date| date.to_string());
            let cells = [
                hold.name.clone(),
                hold.what(),
                entry.unit().to_owned(),
                date,
                row.days(today).to_string(),
                row.standing(),
            ];
            Row {
                is_open: hold.is_open(),
                cells,
                said: {
                    let tanks = held.tanks(&row).into_iter();
                    let tanks = tanks.map(|one| format!("\n{}", widgets::capital(&one.in_words())));
                    let tanks = tanks.collect::<String>();
                    format!("{}, record {}{tanks}", row.in_words(today), entry.name())
                },
                place: entries.iter().position(|one| std::ptr::eq(one, entry)).unwrap_or(0),
            }
        };
        self.rows = held.all().map(row).collect();
        self.open = held.open().count();
        self.unreadable = held.unreadable.iter().map(|entry| entry.name()).collect();
    }

    /// Draws the page; gives the record that was chosen.
    pub(super) fn show(&mut self, ui: &mut Ui, look: Look) -> Option<usize> {
        let mut chosen = None;
        let frame = Frame::new().fill(look.colors.surface);
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                ui.add_space(MARGIN);
                let count = match self.open {
                    0 => "Nothing is on hold.".to_owned(),
                    1 => "1 hold is open. A supervisor ends it in the review of its record.".to_owned(),
                    many => format!(
                        "{many} holds are open. A supervisor ends them in the reviews of their records."
                    ),
                };
                ui.label(Type::Strong.text(count, look.colors.ink));
                let ended = self.rows.len() - self.open;
                if ended > 0 {
                    let text = format!("Show the {ended} that have ended");
                    if widgets::toggle(ui, look, self.all, &text).clicked() {
                        self.all = !self.all;
                    }
                }
            });
            for name in &self.unreadable {
                let text = format!("The journal of {name} can\u{2019}t be read: there may be more.");
                note(ui, look, &text);
            }
            ui.add_space(GAP);
            let rows: Vec<&Row> = self.rows.iter().filter(|row| self.all || row.is_open).collect();
            if rows.is_empty() {
                return;
            }
            ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
            let places = table::titles(ui, look, (&COLUMNS, table::room(ui)), 22.0);
            egui::ScrollArea::vertical().auto_shrink(false).id_salt("on hold").show(ui, |ui| {
                table::rows(ui, "On hold", rows.len(), |ui, index| {
                    let Some(row) = rows.get(index) else { return };
                    let info = || WidgetInfo::labeled(Access::Row, true, &row.said);
                    let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
                        for (column, (place, cell)) in places.iter().zip(&row.cells).enumerate() {
                            let step = if column == 0 { Type::Strong } else { Type::Body };
                            let at = (rect.center().y, 0.0);
                            place.text(ui.painter(), at, cell, (step, look.colors.ink), 10.0);
                        }
                    });
                    if response.on_hover_text(&row.said).clicked() {
                        chosen = Some(row.place);
                    }
                });
            });
        });
        chosen
    }
}
