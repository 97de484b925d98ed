//! A Parquet file (Apache Parquet format 2) as lines of tabs.
//!
//! What programs write for tables of readings is read: columns of single values, in any of the format's
//! encodings, as they are or packed by Snappy, gzip or Zstandard. Values become cells as a logger would
//! write them, digit by digit; a value that is null is a blank cell. The reader is our own: it holds no more
//! than a page of each column, believes no number of the file before it has seen as many bytes, and has a bound for
//! all that is taken out, so that no file can make it panic or take the memory.

mod bits;
mod fault;
mod kind;
mod page;
mod thrift;

use crate::bounds::MOST_ROWS;
use crate::cells::write_cell;
use crate::ods::SheetText;
use crate::progress::Progress;
use crate::thousands::may_be_thousands;
use fault::{Damaged, Why};
use kind::Kind;
use page::{Budget, Page, Source, Stored};
use thrift::Fields;

/// The first and the last bytes of a file.
pub(crate) const MAGIC: &[u8] = b"PAR1";

/// No longer description of a file is read (ours): that of a hundred columns takes some kilobytes.
const LARGEST_FOOTER: usize = 4 << 20;

/// As many columns as a sheet is looked at.
const MOST_COLUMNS: usize = 4096;

/// A column of the schema.
struct Column {
    name: String,
    stored: Stored,
    kind: Kind,
    has_nulls: bool,
}

/// A column as it is read in a group of rows.
struct Reading<'f> {
    source: Source<'f>,
    page: Option<Page<'f>>,
}

/// The text of a file, of at most so many bytes.
pub(crate) fn text(file: &[u8], most: u64, progress: &Progress) -> Result<SheetText, String> {
    let damaged = |_damaged: Damaged| Why::Damaged.words("");
    let (footer, pages) = footer(file)?;
    let (footer, _) = thrift::read(footer).map_err(damaged)?;
    if footer.get(8).is_some() {
        return Err("is a Parquet file that is encrypted".to_owned());
    }
    let columns = columns(&footer)?;
    let mut text = Vec::new();
    for column in &columns {
        write_cell(&mut text, column.name.as_bytes(), b'\t');
    }
    end_row(&mut text);
    let mut numbers_are_stored = true;
    let mut cell = Vec::new();
    let mut budget = Budget(most as usize);
    let mut rows_left = MOST_ROWS as u64;
    for group in footer.structs(4).map_err(damaged)? {
        let rows = group.count(3).map_err(damaged)? as u64;
        rows_left = rows_left.checked_sub(rows).ok_or("is a Parquet file of too many rows")?;
        let mut readings = readings(group, &columns, pages)?;
        for row in 0..rows {
            if row % 1024 == 0 && progress.is_cancelled() {
                return Err("is not read to its end".to_owned());
            }
            for (reading, column) in readings.iter_mut().zip(&columns) {
                cell.clear();
                let left = rows - row;
                reading
                    .cell(column, left, &mut budget, &mut cell)
                    .map_err(|why| why.words(&column.name))?;
                numbers_are_stored &= !column.is_text() || !may_be_thousands(&cell);
                write_cell(&mut text, &cell, b'\t');
                if text.len() as u64 > most {
                    return Err("is a Parquet file of more than 1 GiB as text".to_owned());
                }
            }
            end_row(&mut text);
        }
    }
    Ok(SheetText { text, numbers_are_stored })
}

/// No delimiter behind the last cell.
fn end_row(text: &mut Vec<u8>) {
    text.pop();
    text.push(b'\n');
}

/// The description of a file, and what stands before it.
fn footer(file: &[u8]) -> Result<(&[u8], &[u8]), String> {
    let damaged = || Why::Damaged.words("");
    let (rest, end) = file.split_last_chunk::<8>().ok_or_else(damaged)?;
    let (length, magic) = end.split_at(4);
    if magic != MAGIC {
        return Err(damaged());
    }
    let length = length.try_into().map_or(0, u32::from_le_bytes) as usize;
    if length > LARGEST_FOOTER {
        return Err("is a Parquet file whose description is larger than 4 MiB".to_owned());
    }
    let begin = rest.len().checked_sub(length).ok_or_else(damaged)?;
    let (pages, footer) = rest.split_at(begin);
    Ok((footer, pages))
}

/// The columns, in their order.
fn columns(footer: &Fields<'_>) -> Result<Vec<Column>, String> {
    let damaged = |_damaged: Damaged| Why::Damaged.words("");
    let elements = footer.structs(2).map_err(damaged)?;
    // The first is the row itself.
    let (_, columns) = elements.split_first().ok_or_else(|| damaged(Damaged))?;
    if columns.len() > MOST_COLUMNS || columns.is_empty() {
        return Err(format!("is a Parquet file of {} columns", columns.len()));
    }
    let column = |element: &&Fields<'_>| {
        let name = String::from_utf8_lossy(element.bytes(4).unwrap_or_default()).into_owned();
        let is_nested = element.int(5).unwrap_or(0) > 0 || element.int(3) == Some(2);
        if is_nested {
            return Err(format!(
                "is a Parquet file whose column {name:?} has several values a row (it is nested)"
            ));
        }
        let stored = match element.int(1) {
            Some(0) => Stored::Bool,
            Some(1) => Stored::Int32,
            Some(2) => Stored::Int64,
            Some(3) => Stored::Int96,
            Some(4) => Stored::Float,
            Some(5) => Stored::Double,
            Some(6) => Stored::Bytes,
            Some(7) => Stored::Fixed(element.count(2).map_err(damaged)?),
            _ => return Err(Why::Damaged.words("")),
        };
        let has_nulls = element.int(3) != Some(0);
        Ok(Column { name, stored, kind: Kind::of(element), has_nulls })
    };
    columns.iter().map(column).collect()
}

/// The columns of a group of rows, each at its first page.
fn readings<'f>(
    group: &Fields<'_>,
    columns: &[Column],
    pages: &'f [u8],
) -> Result<Vec<Reading<'f>>, String> {
    let damaged = |_damaged: Damaged| Why::Damaged.words("");
    let chunks = group.structs(1).map_err(damaged)?;
    if chunks.len() != columns.len() {
        return Err(Why::Damaged.words(""));
    }
    let reading = |(chunk, column): (&&Fields<'_>, &Column)| {
        if chunk.get(1).is_some() {
            return Err("is a Parquet file whose columns lie in other files".to_owned());
        }
        let own = chunk.fields(3).ok_or_else(|| Why::Damaged.words(""))?;
        let data = own.count(9).map_err(damaged)?;
        // Some write 0 where there is no dictionary.
        let dictionary = own.count(11).ok().filter(|at| *at > 0);
        let begin = dictionary.map_or(data, |dictionary| dictionary.min(data));
        let codec = own.int(4).unwrap_or(0);
        let source = Source::new((pages, begin), codec, column.stored, column.has_nulls);
        Ok(Reading { source, page: None })
    };
    chunks.iter().zip(columns).map(reading).collect()
}

impl Column {
    /// Whether its values are words and no numbers.
    fn is_text(&self) -> bool {
        self.stored == Stored::Bytes && !matches!(self.kind, Kind::Decimal(_))
    }
}

impl Reading<'_> {
    /// Writes the cell of the next row, of which there are so many with it.
    fn cell(
        &mut self,
        column: &Column,
        left: u64,
        budget: &mut Budget,
        cell: &mut Vec<u8>,
    ) -> Result<(), Why> {
        let Self { source, page } = self;
        let page = match page {
            Some(page) if page.left > 0 => page,
            _ => {
                *page = None;
                page.insert(source.page(left, budget)?)
            }
        };
        if let Some(value) = page.next(source)?
            && !column.kind.write(column.stored, value, cell)
        {
            // Beyond what can be written: no reading, and no stamp.
            cell.clear();
            cell.push(b'?');
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn lines(file: &[u8]) -> Result<String, String> {
        let text = text(file, 1 << 20, &Progress::default())?.text;
        Ok(String::from_utf8_lossy(&text).into_owned())
    }

    /// Small files of other programs, which are a corpus as well.
    fn files() -> Vec<(String, Vec<u8>)> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/fuzz/corpus/parquet");
        let files = std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{error}"));
        let name =
            |path: &Path| path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let read = |path: &Path| std::fs::read(path).unwrap_or_else(|error| panic!("{error}"));
        files.flatten().map(|file| (name(&file.path()), read(&file.path()))).collect()
    }

    #[test]
    fn a_file_is_a_table_of_text() {
        let files = files();
        let (_, plain) = files.iter().find(|(name, _)| name == "plain").unwrap_or_else(|| panic!());
        let text = lines(plain).unwrap_or_else(|error| panic!("{error}"));
        let expected = "Time\tFDV\tHold temp (\u{b0}F)\tdP (psi)\tLot\n\
                        2026-11-24 04:00:00Z\tFWD\t161.1\t-4\t0324-0\n\
                        2026-11-24 04:00:00.500Z\tFWD\t\t-1\t0324-0\n";
        assert!(text.starts_with(expected), "{text}");
        assert_eq!(text.lines().count(), 13);
    }

    /// With any byte changed, and cut off anywhere.
    #[test]
    fn damage_is_read_or_refused() {
        let files = files();
        assert!(files.len() >= 8, "{}", files.len());
        let mut refused = 0;
        for (_, file) in files {
            for at in 0..file.len() {
                for byte in [0, 0xff, file[at].wrapping_add(1), file[at] ^ 0x80] {
                    let mut changed = file.clone();
                    changed[at] = byte;
                    refused += usize::from(lines(&changed).is_err());
                }
                assert!(lines(&file[..at]).is_err());
            }
        }
        assert!(refused > 1000, "{refused}");
    }

    /// A dictionary, a page and a count of rows that say a thousand times what they hold take nothing.
    #[test]
    fn more_than_is_taken_out_is_refused() {
        let files = files();
        let (_, plain) = files.iter().find(|(name, _)| name == "plain").unwrap_or_else(|| panic!());
        let small = text(plain, 300, &Progress::default());
        assert!(small.is_err_and(|why| why.contains("more than 1 GiB")));
        let stopped = Progress::default();
        stopped.cancel();
        assert!(text(plain, 1 << 20, &stopped).is_err());
    }
}
