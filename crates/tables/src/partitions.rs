//! Tables of a daybook as folders of Parquet files, divided by pasteurizer and month the way Hive
//! names folders (`unit=U/month=2026-03`), so that any engine that reads columns finds its way.

use crate::error::{Error, in_file};
use crate::frames::table_frame;
use crate::parquet::write_parquet;
use case::{Column, Table};
use disk::WholeFolder;
use std::collections::BTreeSet;
use std::fs::create_dir_all;
use std::path::{Path, PathBuf};

/// What stands for no value in the name of a folder. Hive's own word for it is read as null, which
/// pandas 3.1 can't put into a column of categories.
const NO_VALUE: &str = "unknown";

/// Writes each table into a folder of its name in the new folder `path`, whole or not at all.
///
/// # Errors
/// When `path` is there already, or a file can't be written; then nothing is left of it.
pub fn write_partitions(tables: &[(&str, &Table)], path: &Path) -> Result<(), Error> {
    let whole = WholeFolder::begin(path).map_err(in_file(path))?;
    for (name, table) in tables {
        write_table(table, &whole.folder().join(name))?;
    }
    whole.finish().map_err(in_file(path))
}

fn write_table(table: &Table, folder: &Path) -> Result<(), Error> {
    create_dir_all(folder).map_err(in_file(folder))?;
    for (unit, month) in partitions(table) {
        let part = table.rows_where("unit", |text| text == unit);
        let part = part.rows_where("date", |text| text.get(..7).unwrap_or("") == month);
        let folder = divided(folder, "unit", &unit);
        let folder = divided(&folder, "month", &month);
        create_dir_all(&folder).map_err(in_file(&folder))?;
        // The unit is told by the folder's name; some engines refuse to be told twice.
        let mut frame = table_frame(&part)?.drop("unit")?;
        write_parquet(&mut frame, &new_part(&folder))?;
    }
    Ok(())
}

/// The first part that is not there yet: two names may lead to one folder, as a unit that is called
/// what stands for no value, or where the file system makes no difference between cases.
fn new_part(folder: &Path) -> PathBuf {
    let mut number = 0_u32;
    loop {
        let part = folder.join(format!("part-{number}.parquet"));
        if !part.exists() {
            return part;
        }
        number += 1;
    }
}

/// Each unit and month that the rows of a table have.
fn partitions(table: &Table) -> BTreeSet<(String, String)> {
    let texts = |wanted: &str| {
        table.columns().iter().find_map(|(name, values)| match values {
            Column::Text(texts) if name == wanted => Some(texts),
            _ => None,
        })
    };
    let (Some(units), Some(dates)) = (texts("unit"), texts("date")) else {
        return BTreeSet::new();
    };
    let rows = units.iter().zip(dates).map(|(unit, date)| {
        let month = date.as_deref().and_then(|date| date.get(..7)).unwrap_or("");
        (unit.clone().unwrap_or_default(), month.to_owned())
    });
    rows.collect()
}

fn divided(folder: &Path, name: &str, value: &str) -> PathBuf {
    let value = if value.is_empty() { NO_VALUE.to_owned() } else { escaped(value) };
    folder.join(format!("{name}={value}"))
}

/// A value as part of a folder's name: whatever is no letter, digit, `-`, `_` or `.` as `%XX` for
/// each byte of its UTF-8, as RFC 3986 has it and readers of such folders take back.
fn escaped(value: &str) -> String {
    let mut name = String::new();
    for byte in value.bytes() {
        if byte.is_ascii_alphanumeric()
            || matches!(byte, b'-' | b'_')
            || (byte == b'.' && !name.is_empty())
        {
            name.push(char::from(byte));
        } else {
            let code = format!("%{byte:02X}");
            name.push_str(&code);
        }
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_value_leaves_its_folder() {
        assert_eq!(escaped("HTST-1"), "HTST-1");
        assert_eq!(escaped("../x y"), "%2E.%2Fx%20y");
        assert_eq!(escaped("Milch\u{fc}"), "Milch%C3%BC");
        assert_eq!(divided(Path::new("x"), "unit", ""), Path::new("x/unit=unknown"));
    }

    #[test]
    fn two_names_of_one_folder_lose_no_row() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let first = new_part(folder.path());
        assert_eq!(first, folder.path().join("part-0.parquet"));
        std::fs::write(&first, "")?;
        assert_eq!(new_part(folder.path()), folder.path().join("part-1.parquet"));
        Ok(())
    }
}
