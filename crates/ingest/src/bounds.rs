//! How much a record may hold (docs/file-formats.md): what is read is held in memory. The bounds are ours.

/// No record has more rows: 194 a second for a day.
pub(crate) const MOST_ROWS: usize = 1 << 24;

/// A sheet of a workbook has so many rows, and so many columns (ECMA-376; taken for OpenDocument as well).
pub(crate) const SHEET_ROWS: usize = 1 << 20;
pub(crate) const SHEET_COLUMNS: usize = 1 << 14;

/// The rows of a sheet are filled up with blank cells to no more columns.
pub(crate) const FILLED_COLUMNS: usize = 1 << 10;

/// No column has more different words: a lot of its own every tenth of a second of a day.
pub(crate) const MOST_WORDS: usize = 1_000_000;
