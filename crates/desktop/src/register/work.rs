//! The work list: what waits for whom, across pasteurizers, what waits for the person at work first; a
//! row leads to its record.

use super::parts::note;
use crate::commands::Command;
use crate::table;
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use chrono::NaiveDate;
use daybook::{Entry, WaitsFor, WorkList, WorkRow};
use egui::accesskit::Role as Access;
use egui::{Frame, Ui, WidgetInfo, vec2};

/// The page, and the round that the key goes through.
#[derive(Debug, Default)]
pub(super) struct WorkPage {
    /// Worked out when the records or the person change.
    rows: Vec<Row>,
    /// The records to go through, in order.
    round: Vec<Next>,
    /// The printed name of the person at work; `None` where no register knows them.
    person: Option<String>,
    shown: Shown,
    /// Whether the first row is to get the keyboard.
    pub(super) focus: bool,
}

/// A record to go on to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    /// The place of the record.
    pub place: usize,
    /// Its date and its pasteurizer.
    pub name: String,
    /// What it waits for.
    pub waits_for: WaitsFor,
}

/// Which rows are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Shown {
    #[default]
    All,
    Mine,
    Overdue,
    Waiting(WaitsFor),
}

impl Shown {
    fn holds(self, row: &Row) -> bool {
        match self {
            Self::All => true,
            Self::Mine => row.is_mine,
            Self::Overdue => row.is_overdue,
            Self::Waiting(waits_for) => row.waits_for == waits_for,
        }
    }
}

/// A line of the list.
#[derive(Debug)]
struct Row {
    is_mine: bool,
    is_overdue: bool,
    waits_for: WaitsFor,
    cells: [String; 7],
    /// The place of its record.
    place: usize,
}

const COLUMNS: [table::Column<()>; 7] = [
    column("For", 84.0, 0.0),
    column("Status", 136.0, 0.0),
    column("Date", 94.0, 0.0),
    column("Pasteurizer", 92.0, 0.3),
    column("Scope", 100.0, 0.3),
    column("Review due", 94.0, 0.0),
    column("Done so far", 300.0, 1.0),
];

/// A column with its share of what room is left: dates need no more than they take.
const fn column(title: &'static str, least: f32, share: f32) -> table::Column<()> {
    table::Column { key: (), title, least, share, is_figure: false }
}

impl WorkPage {
    /// Takes the records in.
    pub(super) fn tell(&mut self, entries: &[Entry], person: &str, today: NaiveDate) {
        let list = WorkList::of(entries, person, today);
        self.person = list.person().map(str::to_owned);
        self.rows = list.rows().iter().map(Row::of).collect();
        self.round = list.round().into_iter().map(Next::of).collect();
    }

    /// The printed name of the person at work; `None` where no register knows them.
    pub(super) fn person(&self) -> Option<&str> {
        self.person.as_deref()
    }

    /// How many lines wait for the person at work.
    pub(super) fn mine(&self) -> usize {
        self.rows.iter().filter(|row| row.is_mine).count()
    }

    /// The records to go through, in order.
    pub(super) fn round(&self) -> &[Next] {
        &self.round
    }

    /// How many records wait for something.
    pub(super) fn count(&self, waits_for: WaitsFor) -> usize {
        self.rows.iter().filter(|row| row.waits_for == waits_for).count()
    }

    /// Draws the page; gives the record that was chosen.
    pub(super) fn show(&mut self, ui: &mut Ui, look: Look) -> Option<usize> {
        let frame = Frame::new().fill(look.colors.surface);
        egui::CentralPanel::default().frame(frame).show(ui, |ui| self.content(ui, look)).inner
    }

    fn content(&mut self, ui: &mut Ui, look: Look) -> Option<usize> {
        ui.add_space(GAP);
        ui.horizontal_wrapped(|ui| {
            ui.add_space(MARGIN);
            ui.label(Type::Strong.text(self.sentence(ui), look.colors.ink));
        });
        ui.horizontal_wrapped(|ui| {
            ui.add_space(MARGIN - GAP);
            self.filters(ui, look);
        });
        ui.add_space(GAP);
        let rows: Vec<&Row> = self.rows.iter().filter(|row| self.shown.holds(row)).collect();
        if rows.is_empty() {
            note(ui, look, "Nothing is waiting.");
            return None;
        }
        let mut chosen = None;
        let focus = std::mem::take(&mut self.focus);
        ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
        let places = table::titles(ui, look, (&COLUMNS, table::room(ui)), 22.0);
        egui::ScrollArea::vertical().auto_shrink(false).id_salt("work").show(ui, |ui| {
            table::rows(ui, "Work list", rows.len(), |ui, index| {
                let Some(row) = rows.get(index) else { return };
                let said = table::said(&COLUMNS, &row.cells);
                let info = || WidgetInfo::labeled(Access::Row, true, &said);
                let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
                    for (column, (place, cell)) in places.iter().zip(&row.cells).enumerate() {
                        // What waits for the person at work, and what is late, stands out.
                        let is_late = column == 1 && row.is_overdue;
                        let is_strong = is_late || column == 0 && row.is_mine;
                        let step = if is_strong { Type::Strong } else { Type::Body };
                        let ink = if is_late { look.colors.alert } else { look.colors.ink };
                        place.text(ui.painter(), (rect.center().y, 0.0), cell, (step, ink), 10.0);
                    }
                });
                if focus && index == 0 {
                    response.request_focus();
                }
                if response.on_hover_text(&said).clicked() {
                    chosen = Some(row.place);
                }
            });
        });
        chosen
    }

    /// How much there is for whom.
    fn sentence(&self, ui: &Ui) -> String {
        let mine = self.mine();
        let all = self.rows.len();
        let key = Command::NextOnList.key_text(ui.ctx());
        match &self.person {
            Some(person) if mine == 0 => {
                format!("Nothing is waiting for you, {person}; {all} waiting for others.")
            }
            Some(person) => {
                format!("{mine} of {all} are for you, {person}. {key} opens the next one.")
            }
            None => format!(
                "{all} in total. To see yours first, open a record and press {} to choose who is at work.",
                Command::People.key_text(ui.ctx())
            ),
        }
    }

    /// What can be shown of the list, with how many there are of each.
    fn filters(&mut self, ui: &mut Ui, look: Look) {
        let waiting = WaitsFor::ALL.map(|one| (Shown::Waiting(one), one.name()));
        let first = [(Shown::All, "all"), (Shown::Mine, "mine")];
        for (shown, name) in first.into_iter().chain(waiting).chain([(Shown::Overdue, "overdue")]) {
            let count = self.rows.iter().filter(|row| shown.holds(row)).count();
            if count == 0 && shown != Shown::All && shown != self.shown {
                continue;
            }
            let text = format!("{} {count}", widgets::capital(name));
            if widgets::toggle(ui, look, self.shown == shown, &text).clicked() {
                self.shown = shown;
            }
        }
    }
}

impl Row {
    fn of(row: &WorkRow<'_>) -> Self {
        let role = if row.is_mine { "you".to_owned() } else { row.role_in_words() };
        let scopes = match row.scopes_in_words() {
            scopes if scopes.is_empty() => "whole record".to_owned(),
            scopes => scopes,
        };
        Self {
            is_mine: row.is_mine,
            is_overdue: row.is_overdue,
            waits_for: row.waits_for,
            cells: [
                role,
                row.waits_in_words(),
                row.date.map_or_else(|| row.record.clone(), |date| date.to_string()),
                row.unit.to_owned(),
                scopes,
                row.due.map_or_else(String::new, |due| due.to_string()),
                row.standing_in_words(),
            ],
            place: row.place,
        }
    }
}

impl Next {
    fn of(row: &WorkRow<'_>) -> Self {
        let date = row.date.map(|date| date.format("%-d %B").to_string());
        let date = date.unwrap_or_else(|| row.record.clone());
        let name = if row.unit.is_empty() { date } else { format!("{date}, {}", row.unit) };
        Self { place: row.place, name, waits_for: row.waits_for }
    }
}
