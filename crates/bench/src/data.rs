//! Records to try the audit on: one long file, or a folder with a file a day.

use simulate::{BENCH_COLUMNS, bench_csv, bench_plant_file};
use std::error::Error;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes a long record, and beside it the plant file that reads it.
pub(crate) fn file(path: &Path, rows: u64, interval_ms: u64) -> Result<(), Box<dyn Error>> {
    bench_csv(&mut File::create(path)?, rows, i64::try_from(interval_ms)?, &BENCH_COLUMNS)?;
    std::fs::write(path.with_extension("plant.toml"), bench_plant_file(&BENCH_COLUMNS))?;
    Ok(())
}

/// Writes a folder with one record a day and the plant file that reads them.
pub(crate) fn folder(folder: &Path, days: u64, interval_ms: u64) -> Result<(), Box<dyn Error>> {
    std::fs::create_dir_all(folder)?;
    std::fs::write(folder.join("plant.toml"), bench_plant_file(&BENCH_COLUMNS))?;
    let folder = folder.to_owned();
    let (head, rest, date) = (Vec::new(), Vec::new(), Vec::new());
    let mut files = ByDate { folder, head, rest, date, file: None };
    let rows = days * 86_400_000 / interval_ms;
    bench_csv(&mut files, rows, i64::try_from(interval_ms)?, &BENCH_COLUMNS)?;
    files.flush()?;
    Ok(())
}

/// Cuts a long record into files by the date that each row begins with.
struct ByDate {
    folder: PathBuf,
    head: Vec<u8>,
    rest: Vec<u8>,
    date: Vec<u8>,
    file: Option<BufWriter<File>>,
}

impl Write for ByDate {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.rest.extend_from_slice(bytes);
        let whole = self.rest.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
        let rows: Vec<u8> = self.rest.drain(..whole).collect();
        for row in rows.split_inclusive(|byte| *byte == b'\n') {
            let date = row.get(..10).unwrap_or(row);
            if self.head.is_empty() {
                self.head = row.to_vec();
            } else if let Some(file) = self.file.as_mut().filter(|_| date == self.date) {
                file.write_all(row)?;
            } else {
                self.date = date.to_vec();
                let name = format!("{}.csv", String::from_utf8_lossy(date));
                let mut file = BufWriter::new(File::create(self.folder.join(name))?);
                file.write_all(&self.head)?;
                file.write_all(row)?;
                self.file = Some(file);
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.as_mut().map_or(Ok(()), BufWriter::flush)
    }
}
