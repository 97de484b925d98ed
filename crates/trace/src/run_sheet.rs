//! The run sheet: what was made when, as the operators wrote it down.
//!
//! A run begins with its start and ends before its end. Runs are kept as written, even when they
//! overlap; which product was in the line at an instant that two runs claim is not known.

use crate::decimal::Decimal;
use crate::instant::{Instant, Interval};
use crate::source_file::SourceFile;
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
    /// When the tank was empty after it; `None` where that was not written down.
    pub emptied: Option<Instant>,
    /// The line of the sheet, counted from 1.
    pub line: u64,
}

/// All runs of a sheet, in order of their starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunSheet {
    source: SourceFile,
    runs: Vec<SheetRun>,
    /// A tree over the runs: the latest end of those below each node. Runs may overlap, so their
    /// starts alone do not tell where to stop looking, and a sheet may be as long as a record.
    latest: Vec<Instant>,
}

impl RunSheet {
    /// A sheet from its runs in any order.
    pub fn new(source: SourceFile, mut runs: Vec<SheetRun>) -> Self {
        runs.sort_by_key(|run| (run.interval, run.line));
        let leaves = runs.len().next_power_of_two();
        let mut latest = vec![Instant::from_unix_milliseconds(i64::MIN); leaves];
        latest.extend(runs.iter().map(|run| run.interval.end()));
        latest.resize(2 * leaves, Instant::from_unix_milliseconds(i64::MIN));
        for node in (1..leaves).rev() {
            latest[node] = latest[2 * node].max(latest[2 * node + 1]);
        }
        Self { source, runs, latest }
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

    /// All runs that claim an instant, in order of their starts.
    pub fn runs_at(&self, instant: Instant) -> impl Iterator<Item = &SheetRun> {
        self.reaching(instant, instant).filter(move |run| instant < run.interval.end())
    }

    /// All runs that share an instant with an interval, their own ends included, in order of their
    /// starts.
    pub fn runs_touching(&self, interval: Interval) -> impl Iterator<Item = &SheetRun> {
        self.reaching(interval.start(), interval.end())
    }

    /// The runs that begin no later than `until` and end no sooner than `from`: a walk through the
    /// tree that leaves out what ends before.
    fn reaching(&self, from: Instant, until: Instant) -> impl Iterator<Item = &SheetRun> {
        let leaves = self.latest.len() / 2;
        let mut open = vec![1];
        std::iter::from_fn(move || {
            while let Some(node) = open.pop() {
                if self.latest.get(node).is_none_or(|&end| end < from) {
                    continue;
                }
                match node.checked_sub(leaves) {
                    Some(leaf) => {
                        // In order of their starts: what follows begins later still.
                        let run = self.runs.get(leaf).filter(|run| run.interval.start() <= until);
                        if run.is_none() {
                            open.clear();
                        }
                        return run;
                    }
                    None => open.extend([2 * node + 1, 2 * node]),
                }
            }
            None
        })
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
            emptied: None,
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

    /// Against a look at every run, whatever their number and however they overlap.
    #[test]
    fn the_tree_finds_what_a_look_at_every_run_finds() {
        for count in 0..20_i64 {
            let runs: Vec<_> = (0..count)
                .map(|one| {
                    let from = one * 7 % 30;
                    run(from, from + 1 + one * one % 17, "milk")
                })
                .collect();
            let source = SourceFile { name: "sheet".into(), bytes: 0, rows: 0, sha256: [0; 32] };
            let sheet = RunSheet::new(source, runs);
            for at in -1..50 {
                let instant = Instant::from_unix_milliseconds(at);
                let holds = |run: &&SheetRun| {
                    run.interval.start() <= instant && instant < run.interval.end()
                };
                let expected: Vec<_> = sheet.runs().iter().filter(holds).collect();
                assert_eq!(sheet.runs_at(instant).collect::<Vec<_>>(), expected, "{count} {at}");
                let three = Interval::between(instant, Instant::from_unix_milliseconds(at + 3));
                let touches = |run: &&SheetRun| {
                    run.interval.start() <= three.end() && three.start() <= run.interval.end()
                };
                let expected: Vec<_> = sheet.runs().iter().filter(touches).collect();
                let found: Vec<_> = sheet.runs_touching(three).collect();
                assert_eq!(found, expected, "{count} {at}");
            }
        }
    }
}
