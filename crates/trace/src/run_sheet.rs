//! The run sheet: what was made when, as the operators wrote it down.
//!
//! A run begins with its start and ends before its end. Runs are kept as written, even when they
//! overlap; which product was in the line at an instant that two runs claim is not known.

use crate::decimal::Decimal;
use crate::instant::{Instant, Interval};
use crate::record::SourceFile;
use crate::text::TextChannel;
use crate::units::VolumeUnit;
use std::sync::Arc;

/// One run of a product and lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRun {
    /// From its start to its end.
    pub interval: Interval,
    /// The product; not blank.
    pub product: String,
    /// The lot; blank where none was written.
    pub lot: String,
    /// The tank that it went to; blank where none was written.
    pub tank: String,
    /// The quantity that was written down.
    pub quantity: Option<(Decimal, VolumeUnit)>,
    /// The line of the sheet, counted from 1.
    pub line: u64,
}

/// All runs of a sheet, in order of their starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunSheet {
    source: SourceFile,
    runs: Vec<SheetRun>,
}

impl RunSheet {
    /// A sheet from its runs in any order.
    pub fn new(source: SourceFile, mut runs: Vec<SheetRun>) -> Self {
        runs.sort_by_key(|run| (run.interval, run.line));
        Self { source, runs }
    }

    /// The name of the sheet's file.
    pub const fn file(&self) -> &Arc<str> {
        &self.source.name
    }

    /// The sheet's file.
    pub const fn source(&self) -> &SourceFile {
        &self.source
    }

    /// The runs, in order of their starts.
    pub fn runs(&self) -> &[SheetRun] {
        &self.runs
    }

    /// All runs that claim an instant.
    pub fn runs_at(&self, instant: Instant) -> impl Iterator<Item = &SheetRun> {
        self.runs
            .iter()
            .filter(move |run| run.interval.start() <= instant && instant < run.interval.end())
    }

    /// The run at an instant; `None` where there is none, or more than one.
    pub fn run_at(&self, instant: Instant) -> Option<&SheetRun> {
        let mut holding = self.runs_at(instant);
        match (holding.next(), holding.next()) {
            (Some(run), None) => Some(run),
            _ => None,
        }
    }

    /// The words of a record that has none of its own: product and lot at each instant.
    pub(crate) fn words(&self, instants: &[Instant]) -> (TextChannel, TextChannel) {
        let (mut products, mut lots) = (TextChannel::new(), TextChannel::new());
        // Between two borders nothing changes, so a run is looked up once for all samples there.
        let mut borders: Vec<Instant> =
            self.runs.iter().flat_map(|run| [run.interval.start(), run.interval.end()]).collect();
        borders.sort_unstable();
        let mut passed = usize::MAX;
        let mut run = None;
        for &instant in instants {
            let now = borders.partition_point(|&border| border <= instant);
            if now != passed {
                passed = now;
                run = self.run_at(instant);
            }
            products.push(run.map_or("", |run| &run.product));
            lots.push(run.map_or("", |run| &run.lot));
        }
        (products, lots)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(from: i64, to: i64, product: &str) -> SheetRun {
        let at = Instant::from_unix_milliseconds;
        SheetRun {
            interval: Interval::between(at(from), at(to)),
            product: product.to_owned(),
            lot: String::new(),
            tank: String::new(),
            quantity: None,
            line: 1,
        }
    }

    #[test]
    fn what_two_runs_claim_is_not_known() {
        let sheet = RunSheet::new(
            SourceFile { name: "sheet".into(), bytes: 0, rows: 2, sha256: [0; 32] },
            vec![run(20, 40, "cream"), run(0, 25, "milk")],
        );
        let instants: Vec<_> =
            [0, 19, 20, 25, 39, 40].into_iter().map(Instant::from_unix_milliseconds).collect();
        let (products, _) = sheet.words(&instants);
        let words: Vec<_> = (0..instants.len()).map(|sample| products.word(sample)).collect();
        assert_eq!(words, ["milk", "milk", "", "cream", "cream", ""]);
    }
}
