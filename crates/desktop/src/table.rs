//! The one table of the window: columns that share the room, headings that may sort, and rows of
//! which only those in view are laid out. A row says all of itself to a screen reader and comes into
//! view when the keyboard reaches it; text is cut with an ellipsis rather than run into its neighbour.

use crate::theme::{Look, MARGIN, ROW, Type, explained, widgets};
use egui::accesskit::Role as Access;
use egui::{
    Align2, Color32, Painter, Rect, Response, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use widgets::Glyph;

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Column<K> {
    /// What it shows.
    pub key: K,
    /// Its heading.
    pub title: &'static str,
    /// The width that it needs, in points.
    pub least: f32,
    /// Its share of the room that is left.
    pub share: f32,
    /// Whether its cells stand to the right.
    pub is_figure: bool,
}

/// Where a column stands.
#[derive(Debug, Clone, Copy)]
pub struct Place<K> {
    /// The column.
    pub column: Column<K>,
    /// Its left edge, in points.
    pub left: f32,
    /// Its width, in points.
    pub width: f32,
}

/// The column that sorts, and whether the greatest is first.
pub type Sort<K> = (K, bool);

/// A column narrower than two marks has no room for its name.
pub const MARK: f32 = 30.0;

/// What the scroll bar beside the rows takes: columns stand the same with and without it.
const SCROLL_BAR: f32 = 12.0;

/// What headings take that can be clicked.
pub const HEADINGS: f32 = 25.0;

/// The room of the columns in a table that takes what there is.
pub fn room(ui: &Ui) -> f32 {
    ui.available_width() - SCROLL_BAR - 2.0 * MARGIN
}

/// The columns beside one another from the margin on: what is left of the room is shared out, and
/// where there is too little every column gives up in proportion.
pub fn places<K: Copy>(columns: &[Column<K>], left: f32, room: f32) -> Vec<Place<K>> {
    let least: f32 = columns.iter().map(|column| column.least).sum();
    let shares: f32 = columns.iter().map(|column| column.share).sum();
    let spare = room - least;
    let shrink = if spare < 0.0 { room.max(40.0) / least } else { 1.0 };
    let mut left = left + MARGIN;
    let place = |&column: &Column<K>| {
        let width = column.least * shrink + spare.max(0.0) * column.share / shares;
        let place = Place { column, left, width };
        left += width;
        place
    };
    columns.iter().map(place).collect()
}

/// What stands beside the text of a cell.
const ASIDE: f32 = 14.0;

/// Columns as wide as their texts need, as far as there is room. What is left is shared out as they say; where
/// there is too little the widest give up first, so that no time or figure is cut beside a long text.
pub fn fitted<K: Copy>(
    ui: &Ui,
    columns: &[Column<K>],
    room: f32,
    needs: impl Fn(&Ui, usize) -> f32,
) -> Vec<Column<K>> {
    let heading = |column: &Column<K>| widgets::width(ui, column.title, Type::Small);
    let needed = columns
        .iter()
        .enumerate()
        .map(|(index, column)| (needs(ui, index).max(heading(column)) + ASIDE).ceil());
    let needed: Vec<f32> = needed.collect();
    let widest = widest(&needed, room);
    let column = |(&column, &needed): (&Column<K>, &f32)| Column {
        least: needed.min(widest),
        share: column.share.max(f32::EPSILON),
        ..column
    };
    columns.iter().zip(&needed).map(column).collect()
}

/// How wide a column may be so that all of them find room.
fn widest(needed: &[f32], room: f32) -> f32 {
    let mut sorted = needed.to_vec();
    sorted.sort_by(f32::total_cmp);
    let mut left = room;
    for (place, width) in sorted.iter().enumerate() {
        let even = left / (sorted.len() - place) as f32;
        if *width > even {
            return even;
        }
        left -= width;
    }
    f32::INFINITY
}

/// The widest of texts: of those with the most letters, since few letters are never wide.
pub fn widest_text<'a>(ui: &Ui, texts: impl Iterator<Item = &'a str>, step: Type) -> f32 {
    let longest = texts.max_by_key(|text| text.chars().count()).unwrap_or_default();
    widgets::width(ui, longest, step)
}

impl<K> Place<K> {
    /// Draws a cell, `indent` points in; gives what the text took.
    pub fn text(
        &self,
        painter: &Painter,
        (y, indent): (f32, f32),
        text: &str,
        (step, ink): (Type, Color32),
        spare: f32,
    ) -> f32 {
        let (at, anchor) = if self.column.is_figure {
            (pos2(self.left + self.width - 8.0, y), Align2::RIGHT_CENTER)
        } else {
            (pos2(self.left + 4.0 + indent, y), Align2::LEFT_CENTER)
        };
        widgets::text_in(painter, at, anchor, text, step, ink, self.width - spare - indent)
    }
}

/// Draws headings on which a click sorts. The figures of `greatest_first` begin with the greatest.
pub fn headings<K: Copy + PartialEq>(
    ui: &mut Ui,
    look: Look,
    (columns, room): (&[Column<K>], f32),
    sort: &mut Sort<K>,
    greatest_first: impl Fn(K) -> bool,
) {
    let colors = look.colors;
    let (rect, _) =
        ui.allocate_exact_size(vec2(ui.available_width(), HEADINGS - 1.0), Sense::hover());
    for place in places(columns, rect.left(), room) {
        let (column, width) = (place.column, place.width);
        let cell = Rect::from_min_size(pos2(place.left, rect.top()), vec2(width, rect.height()));
        let id = ui.make_persistent_id(("sort", column.title));
        let response = ui.interact(cell, id, Sense::click());
        let (sorting, descending) = *sort;
        let is_sorting = sorting == column.key;
        response.widget_info(|| {
            let order = match (is_sorting, descending) {
                (false, _) => "",
                (true, false) => ", lowest first",
                (true, true) => ", highest first",
            };
            let text = format!("Sort by {}{order}", column.title.to_lowercase());
            WidgetInfo::selected(Access::Button, true, is_sorting, text)
        });
        if response.clicked() {
            let down = if is_sorting { !descending } else { greatest_first(column.key) };
            *sort = (column.key, down);
        }
        if response.hovered() {
            ui.painter().rect_filled(cell.shrink(1.0), 3.0, colors.hovered);
        }
        if width >= 2.0 * MARK {
            let (y, ink) = (cell.center().y, if is_sorting { colors.ink } else { colors.ink_soft });
            let used = place.text(ui.painter(), (y, 0.0), column.title, (Type::Small, ink), 18.0);
            if is_sorting {
                let glyph = if descending { Glyph::Down } else { Glyph::Up };
                let x = if column.is_figure {
                    cell.right() - 16.0 - used
                } else {
                    cell.left() + 12.0 + used
                };
                widgets::glyph(ui.painter(), pos2(x, y), glyph, ink);
            }
        }
        widgets::focus_ring(ui, look, &response, cell.shrink(1.0));
        explained(response, look, column.title);
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), look.hairline());
}

/// Draws headings that only name their columns; gives where those stand.
pub fn titles<K: Copy>(
    ui: &mut Ui,
    look: Look,
    (columns, room): (&[Column<K>], f32),
    height: f32,
) -> Vec<Place<K>> {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let places = places(columns, rect.left(), room);
    for place in &places {
        let soft = (Type::Small, look.colors.ink_soft);
        let title = place.column.title;
        place.text(ui.painter(), (rect.center().y, 0.0), title, soft, 10.0);
        let cell = Rect::from_min_size(pos2(place.left, rect.top()), vec2(place.width, height));
        let id = ui.make_persistent_id(("title", title));
        explained(ui.interact(cell, id, Sense::hover()), look, title);
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), look.hairline());
    places
}

/// Rows below one another, each drawn by its place; only those in view, and one more at each end
/// for the keyboard to go on to.
pub fn rows(ui: &mut Ui, name: &str, count: usize, mut draw: impl FnMut(&mut Ui, usize)) {
    let size = vec2(ui.available_width(), ROW * count as f32);
    let (all, _) = ui.allocate_exact_size(size, Sense::hover());
    let shown = ui.clip_rect();
    let first = ((shown.top() - all.top()) / ROW).floor().max(1.0) as usize - 1;
    let last = (((shown.bottom() - all.top()) / ROW).ceil().max(0.0) as usize + 1).min(count);
    let role = UiBuilder::new().accessibility_role(Access::Table).accessibility_label(name);
    ui.scope_builder(role.id_salt(name).max_rect(all), |ui| {
        for place in first..last {
            let corner = pos2(all.left(), all.top() + ROW * place as f32);
            let room = Rect::from_min_size(corner, vec2(all.width(), ROW));
            ui.scope_builder(UiBuilder::new().id_salt(place).max_rect(room), |ui| {
                draw(ui, place);
            });
        }
    });
}

/// Brings a row into view that may not be laid out yet; called where its [`rows`] follow.
pub fn scroll_to(ui: &Ui, place: usize) {
    let corner = ui.cursor().min + vec2(0.0, ROW * place as f32);
    let row = Rect::from_min_size(corner, vec2(ui.available_width(), ROW));
    ui.scroll_to_rect(row, None);
}

/// A row as wide as there is room: whether it is chosen, with a bar of some width at its beginning.
/// What stands in it is drawn by `draw` before the line that ends it.
pub fn row(
    ui: &mut Ui,
    look: Look,
    (chosen, bar): (bool, f32),
    said: impl Fn() -> WidgetInfo,
    draw: impl FnOnce(&mut Ui, Rect),
) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    response.widget_info(said);
    let painter = ui.painter();
    if chosen {
        painter.rect_filled(rect, 0.0, look.colors.selected);
        if bar > 0.0 {
            let bar = Rect::from_min_size(rect.left_top(), vec2(bar, rect.height()));
            painter.rect_filled(bar, 0.0, look.colors.accent);
        }
    } else if response.hovered() {
        painter.rect_filled(rect, 0.0, look.colors.hovered);
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    draw(ui, rect);
    ui.painter().hline(rect.x_range(), rect.bottom() - 0.5, look.hairline());
    widgets::focus_ring(ui, look, &response, rect);
    response
}

/// The cells of a row in words, those strong that are said to be.
pub fn cells(
    ui: &Ui,
    look: Look,
    row: Rect,
    (places, cells): (&[Place<()>], &[String]),
    is_strong: impl Fn(usize) -> bool,
) {
    for (index, (place, cell)) in places.iter().zip(cells).enumerate() {
        let step = if is_strong(index) { Type::Strong } else { Type::Body };
        place.text(ui.painter(), (row.center().y, 0.0), cell, (step, look.colors.ink), 10.0);
    }
}

/// What a row says: each cell that is not blank with the title of its column.
pub fn said(columns: &[Column<()>], cells: &[String]) -> String {
    let cells = columns.iter().zip(cells).filter(|(_, cell)| !cell.is_empty());
    let cells: Vec<String> =
        cells.map(|(column, cell)| format!("{} {cell}", column.title)).collect();
    cells.join(", ")
}

/// A plain table: rows of words below their headings. Tells the row that was clicked.
pub fn words(
    ui: &mut Ui,
    look: Look,
    name: &str,
    columns: &[Column<()>],
    all: &[Vec<String>],
) -> Option<usize> {
    let mut clicked = None;
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    let cell = |ui: &Ui, index: usize| {
        let step = if index == 0 { Type::Strong } else { Type::Body };
        let texts = all.iter().filter_map(|row| row.get(index)).map(String::as_str);
        widest_text(ui, texts, step)
    };
    let columns = &fitted(ui, columns, room(ui), cell)[..];
    let places = titles(ui, look, (columns, room(ui)), 22.0);
    rows(ui, name, all.len(), |ui, index| {
        let Some(texts) = all.get(index) else { return };
        let info = || WidgetInfo::labeled(Access::Row, true, said(columns, texts));
        let response = row(ui, look, (false, 0.0), info, |ui, rect| {
            cells(ui, look, rect, (&places, texts), |index| index == 0);
        });
        if response.on_hover_text(said(columns, texts)).clicked() {
            clicked = Some(index);
        }
    });
    clicked
}

/// A column of a plain table, which takes of the room in proportion to its width.
pub const fn word(title: &'static str, width: f32, is_figure: bool) -> Column<()> {
    Column { key: (), title, least: width, share: width, is_figure }
}

/// A sentence in place of a table, or above one.
pub fn note(ui: &mut Ui, look: Look, text: &str) {
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        ui.add_space(MARGIN);
        ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap().selectable(true));
    });
    ui.add_space(6.0);
}

#[cfg(test)]
mod tests {
    use super::widest;

    #[test]
    fn the_widest_column_gives_up_first() {
        // 60 + 60 + 80 of 200 fit; of 180 the widest has what the others leave; of 90 each a third.
        for (room, expected) in [(200.0, 1000.0), (180.0, 60.0), (90.0, 30.0)] {
            let found = widest(&[60.0, 80.0, 60.0], room).min(1000.0);
            assert!((found - expected).abs() < 0.01, "{room}: {found}");
        }
    }
}
