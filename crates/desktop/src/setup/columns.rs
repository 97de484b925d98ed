//! The columns of the files: what each is taken for and why, what stands in it, its curve over the
//! whole file, and how many of its cells are not usable.

use crate::table::{self, Column};
use crate::theme::widgets::{choose, text_left};
use crate::theme::{Look, ROW, Type};
use ::setup::{Draft, DraftColumn, Part, Reason, Sheets};
use egui::accesskit::Role as Access;
use egui::{Id, Rect, ScrollArea, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};
use ingest::sheet::SheetColumn;
use plant::AnyUnit;

/// A column of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shown {
    Name,
    TakenFor,
    Unit,
    Cells,
    Curve,
    Unusable,
}

const COLUMNS: [Column<Shown>; 6] = [
    column(Shown::Name, "Column", 130.0, 1.0, false),
    column(Shown::TakenFor, "Used as", 214.0, 0.0, false),
    column(Shown::Unit, "Unit", 84.0, 0.0, false),
    column(Shown::Cells, "First cells", 150.0, 1.0, false),
    column(Shown::Curve, "Over the file", 140.0, 0.6, false),
    column(Shown::Unusable, "Unusable", 84.0, 0.0, true),
];

const fn column(
    key: Shown,
    title: &'static str,
    least: f32,
    share: f32,
    is_figure: bool,
) -> Column<Shown> {
    Column { key, title, least, share, is_figure }
}

/// The height of the headings.
const HEADINGS: f32 = 24.0;

/// A line of the list.
#[derive(Clone, Copy)]
enum Line {
    /// The name of a logger, of several.
    Logger(usize),
    Column(usize),
}

fn lines(sheets: &Sheets) -> Vec<Line> {
    let of = |logger: usize| {
        let heading = sheets.are_several().then_some(Line::Logger(logger));
        heading.into_iter().chain(sheets.columns_of(logger).map(|(column, _)| Line::Column(column)))
    };
    (0..sheets.loggers.len()).flat_map(of).collect()
}

/// What the whole list takes.
pub(super) fn height(sheets: &Sheets) -> f32 {
    HEADINGS + ROW * lines(sheets).len().max(1) as f32 + 4.0
}

/// Draws the list; gives whether something was said.
pub(super) fn show(ui: &mut Ui, look: Look, (sheets, draft): (&Sheets, &mut Draft)) -> bool {
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let whole = ui.available_rect_before_wrap();
    ui.painter().rect_filled(whole, 0.0, look.colors.surface);
    let room = table::room(ui);
    table::titles(ui, look, (&COLUMNS, room), HEADINGS);
    let mut said = None;
    ScrollArea::vertical().auto_shrink(false).id_salt("columns").show(ui, |ui| {
        let lines = lines(sheets);
        table::rows(ui, "Columns", lines.len(), |ui, place| {
            let index = match lines.get(place) {
                Some(&Line::Column(index)) => index,
                Some(&Line::Logger(logger)) => {
                    if let Some(logger) = draft.loggers.get(logger) {
                        heading(ui, look, &logger.name);
                    }
                    return;
                }
                None => return,
            };
            let (Some(seen), Some(column)) = (sheets.columns.get(index), draft.columns.get(index))
            else {
                return;
            };
            if let Some(what) = line(ui, look, (sheets, draft), (seen, column), (index, room)) {
                said = Some((index, what));
            }
        });
    });
    let Some((index, said)) = said else { return false };
    match said {
        Said::Part(part) => draft.set(sheets, index, part, Reason::Person),
        Said::Unit(unit) => {
            if let Some(column) = draft.columns.get_mut(index) {
                column.unit = Some(unit);
            }
        }
    }
    true
}

/// The name of a logger above its columns.
fn heading(ui: &mut Ui, look: Look, name: &str) {
    let info = || WidgetInfo::labeled(Access::Row, true, name);
    table::row(ui, look, (false, 0.0), info, |ui, rect| {
        let (at, room) = (pos2(rect.left() + 16.0, rect.center().y), rect.width() - 24.0);
        text_left(ui.painter(), at, name, Type::Small, look.colors.ink_soft, room);
    });
}

/// What was said of a column.
enum Said {
    Part(Part),
    Unit(AnyUnit),
}

fn line(
    ui: &mut Ui,
    look: Look,
    (sheets, draft): (&Sheets, &Draft),
    (seen, column): (&SheetColumn, &DraftColumn),
    (index, room): (usize, f32),
) -> Option<Said> {
    let colors = look.colors;
    let name = named(sheets, draft, index);
    let own = own_name(sheets, index);
    let cells = first_cells(sheets, index);
    let unusable = seen.unusable(sheets.rows_of(index));
    let why = column.reason.words();
    let words = || {
        let unit = column.unit.map_or_else(String::new, |unit| format!(", {}", unit.symbol()));
        let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
        let bad = if seen.is_numeric() { format!(", {unusable} unusable") } else { String::new() };
        format!("{name}: {}{unit}{why}. First cells {cells}{bad}", column.part.name())
    };
    let mut said = None;
    let mut fields = (None, None);
    let info = || WidgetInfo::labeled(Access::Row, true, words());
    let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
        let y = rect.center().y;
        let soft = column.part == Part::Unused;
        for place in table::places(&COLUMNS, rect.left(), room) {
            let field = Rect::from_min_size(
                pos2(place.left, rect.top() + 2.0),
                vec2(place.width - 8.0, ROW - 5.0),
            );
            let text = match place.column.key {
                Shown::Name => &own,
                Shown::Cells => &cells,
                Shown::TakenFor => {
                    fields.0 = Some(field);
                    continue;
                }
                Shown::Unit => {
                    fields.1 = Some(field);
                    continue;
                }
                Shown::Curve => {
                    let color = if soft { colors.ink_soft } else { colors.ink };
                    curve(ui, field.shrink2(vec2(0.0, 1.0)), seen, color);
                    continue;
                }
                Shown::Unusable if seen.is_numeric() => &unusable.to_string(),
                Shown::Unusable => "",
            };
            let step = if place.column.key == Shown::Name { Type::Strong } else { Type::Body };
            let ink = match place.column.key {
                Shown::Unusable if unusable > 0 => colors.alert,
                Shown::Cells => colors.ink_soft,
                _ if soft => colors.ink_soft,
                _ => colors.ink,
            };
            place.text(ui.painter(), (y, 0.0), text, (step, ink), 12.0);
        }
    });
    response.on_hover_text(words());
    if let Some(field) = fields.0 {
        let text = column.part.name();
        choose(ui, (field, Id::unique(("part", index))), &format!("Used as: {name}"), text, |ui| {
            for part in Part::all() {
                if ui.selectable_label(part == column.part, part.name()).clicked() {
                    said = Some(Said::Part(part));
                }
            }
        });
    }
    if let (Some(field), Part::Role(role)) = (fields.1, column.part) {
        let units = AnyUnit::of_role(role);
        if !units.is_empty() {
            let text = column.unit.map_or("required", AnyUnit::symbol);
            choose(
                ui,
                (field, Id::unique(("unit", index))),
                &format!("Unit: {name}"),
                text,
                |ui| {
                    for unit in units {
                        if ui.selectable_label(column.unit == Some(unit), unit.symbol()).clicked() {
                            said = Some(Said::Unit(unit));
                        }
                    }
                },
            );
        }
    }
    said
}

/// The name of a column, or its place where it has none; of several loggers with whose it is.
pub(super) fn named(sheets: &Sheets, draft: &Draft, index: usize) -> String {
    let name = own_name(sheets, index);
    match draft.loggers.get(sheets.logger_of(index)).filter(|_| sheets.are_several()) {
        Some(logger) => format!("{}: {name}", logger.name),
        None => name,
    }
}

fn own_name(sheets: &Sheets, index: usize) -> String {
    match sheets.columns.get(index) {
        Some(column) if !column.name.is_empty() => column.name.clone(),
        _ => format!("(column {})", index + 1),
    }
}

fn first_cells(sheets: &Sheets, index: usize) -> String {
    let cells = sheets.first_cells_of(index).map(|(_, cell)| cell);
    cells.filter(|cell| !cell.is_empty()).take(3).collect::<Vec<_>>().join(" \u{b7} ")
}

/// Draws a column over the file: of each step the span of its numbers, so that nothing short is lost.
fn curve(ui: &Ui, field: Rect, column: &SheetColumn, color: egui::Color32) {
    let Some((least, greatest)) = column.span.filter(|_| column.is_numeric()) else { return };
    let height = (greatest - least).max(f64::MIN_POSITIVE);
    let y = |value: f64| field.bottom() - ((value - least) / height) as f32 * field.height();
    let step = field.width() / column.curve.len().max(1) as f32;
    let painter = ui.painter_at(field.expand(1.0));
    let line = Stroke::new(1.0, color);
    let mut points = Vec::new();
    for (place, span) in column.curve.iter().enumerate() {
        let x = field.left() + step * (place as f32 + 0.5);
        match *span {
            Some((low, high)) => points.extend([pos2(x, y(high)), pos2(x, y(low))]),
            None => {
                painter.add(Shape::line(std::mem::take(&mut points), line));
            }
        }
    }
    painter.add(Shape::line(points, line));
    // Where there is nothing but a point, a line has no length.
    if column.curve.len() < 2 {
        painter.circle_filled(field.center(), 1.5, color);
    }
}
