//! Where something stands in a plant file, and how its tables are reached, however they are written:
//! under a heading of their own, within braces, or one of several.

use std::ops::Range;
use toml_edit::{ArrayOfTables, InlineTable, Item, Table, TableLike, Value};

/// Where a value stands: the path of its table with full stops between its parts, which one of the tables
/// on it of which there are several, and the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The table, such as `columns.valve`; empty for the head of the file.
    pub table: &'static str,
    /// Which of the tables of that name, where there can be several.
    pub index: Option<usize>,
    /// The key.
    pub key: &'static str,
}

impl Place {
    /// The parts of the path of a table.
    fn parts(table: &'static str) -> impl Iterator<Item = &'static str> {
        table.split('.').filter(|part| !part.is_empty())
    }

    /// The table that a place is in, where it is there.
    pub(super) fn table_of(self, root: &Table) -> Option<&dyn TableLike> {
        let mut table: &dyn TableLike = root;
        for part in Self::parts(self.table) {
            let item = table.get(part)?;
            table = match self.index.filter(|_| is_list(item)) {
                Some(index) => one_of(item, index)?,
                None => item.as_table_like()?,
            };
        }
        Some(table)
    }

    /// What stands at the place.
    pub(super) fn item_of(self, root: &Table) -> Option<&Item> {
        self.table_of(root)?.get(self.key).filter(|item| !item.is_none())
    }

    /// The table that a place is in, made where it is not there; `None` where something else has its
    /// name.
    pub(super) fn table_for(self, root: &mut Table) -> Option<&mut dyn TableLike> {
        let mut table: &mut dyn TableLike = root;
        // What is bound to a column stands within braces, as in a file that is written by hand.
        let mut is_column = false;
        for part in Self::parts(self.table) {
            let made = match (is_column, table.get(part)) {
                (_, Some(item)) if !item.is_none() => None,
                (true, _) => Some(Item::Value(Value::InlineTable(InlineTable::new()))),
                (false, _) => Some(Item::Table(headed())),
            };
            if let Some(made) = made {
                table.insert(part, made);
            }
            is_column = part == "columns";
            let item = table.get_mut(part)?;
            table = match self.index.filter(|_| is_list(item)) {
                Some(index) => one_of_mut(item, index)?,
                None => item.as_table_like_mut()?,
            };
        }
        Some(table)
    }
}

/// Whether there can be several tables of that name.
fn is_list(item: &Item) -> bool {
    item.is_array_of_tables() || item.is_array()
}

/// A table under a heading of its own, a line apart from what stands above it.
fn headed() -> Table {
    let mut table = Table::new();
    table.decor_mut().set_prefix("\n");
    table
}

/// How many tables of a name there are.
pub(super) fn count(root: &Table, name: &str) -> usize {
    match root.get(name) {
        Some(Item::ArrayOfTables(tables)) => tables.len(),
        Some(Item::Value(Value::Array(tables))) => tables.len(),
        _ => 0,
    }
}

fn one_of(item: &Item, index: usize) -> Option<&dyn TableLike> {
    match item {
        Item::ArrayOfTables(tables) => tables.get(index).map(|table| table as &dyn TableLike),
        Item::Value(Value::Array(tables)) => {
            tables.get(index)?.as_inline_table().map(|table| table as &dyn TableLike)
        }
        _ => None,
    }
}

fn one_of_mut(item: &mut Item, index: usize) -> Option<&mut dyn TableLike> {
    match item {
        Item::ArrayOfTables(tables) => {
            tables.get_mut(index).map(|table| table as &mut dyn TableLike)
        }
        Item::Value(Value::Array(tables)) => {
            tables.get_mut(index)?.as_inline_table_mut().map(|table| table as &mut dyn TableLike)
        }
        _ => None,
    }
}

/// Adds an empty table of a name behind those that are there; gives its index.
pub(super) fn add(root: &mut Table, name: &str) -> usize {
    let index = count(root, name);
    match root.get_mut(name) {
        Some(Item::ArrayOfTables(tables)) => tables.push(headed()),
        Some(Item::Value(Value::Array(tables))) => tables.push(InlineTable::new()),
        _ => {
            let mut tables = ArrayOfTables::new();
            tables.push(headed());
            root.insert(name, Item::ArrayOfTables(tables));
        }
    }
    index
}

/// Removes one of the tables of a name.
pub(super) fn remove(root: &mut Table, name: &str, index: usize) {
    if index >= count(root, name) {
        return;
    }
    match root.get_mut(name) {
        Some(Item::ArrayOfTables(tables)) => {
            tables.remove(index);
        }
        Some(Item::Value(Value::Array(tables))) => {
            tables.remove(index);
        }
        _ => {}
    }
    if count(root, name) == 0 {
        root.remove(name);
    }
}

/// Where a value stands in the text that was read, in bytes.
pub(super) fn span(place: Place, root: &Table) -> Option<Range<usize>> {
    place.item_of(root)?.span()
}
