//! The exceptions of a case as a data frame.

use crate::error::Error;
use crate::record::instants;
use analysis::{Exception, Shortfall, UnplacedCount, Volume, Worst};
use case::Case;
use polars::prelude::{Column, DataFrame};
use trace::{Interval, RunRecord};

/// Text that a cell of several words is joined with.
const AND: &str = " + ";

/// The exceptions of a case, a row each, in the audit's order.
///
/// `start` and `end` are the estimate's, `unit` is the pasteurizer; `first_sample` and
/// `last_sample` count the rows of [`crate::record_frame`] from 0. `causes` and `positions` are keys
/// joined by `+`; `unplaced_rows` counts rows without a place in time, `unplaced_rows_short` those of
/// them in forward flow short of a limit. What is unknown is null.
///
/// # Errors
/// When the columns make no data frame.
pub fn exceptions_frame(case: &Case) -> Result<DataFrame, Error> {
    let mut rows = Rows::default();
    for exception in &case.audit().exceptions {
        rows.push(exception);
    }
    rows.into_frame(case.record())
}

/// The columns, one element an exception.
#[derive(Default)]
struct Rows {
    id: Vec<String>,
    rule: Vec<&'static str>,
    causes: Vec<String>,
    positions: Vec<String>,
    unplaced: Vec<UnplacedCount>,
    first_sample: Vec<u64>,
    last_sample: Vec<u64>,
    estimate: Vec<Interval>,
    observed: Vec<Interval>,
    outer: Vec<Interval>,
    worst: Vec<Option<Worst>>,
    shortfall: Vec<Option<Shortfall>>,
    volume: Vec<Volume>,
    product: Vec<Option<String>>,
    lot: Vec<Option<String>>,
    tank: Vec<Option<String>>,
    shift: Vec<Option<String>>,
    mode: Vec<&'static str>,
    within_response: Vec<bool>,
    outside_production: Vec<bool>,
    cleaning: Vec<Option<u64>>,
    episode: Vec<u64>,
}

impl Rows {
    fn push(&mut self, exception: &Exception) {
        let Exception {
            id,
            rule,
            causes,
            positions,
            unplaced,
            samples: (first, last),
            observed,
            outer,
            estimate,
            worst,
            shortfall,
            // Never beside an exception (method, section 7).
            volume,
            products,
            lots,
            tanks,
            shift,
            mode,
            within_response,
            outside_production,
            cleaning,
            episode,
        } = exception;
        let joined = |words: &[String]| (!words.is_empty()).then(|| words.join(AND));
        self.id.push(id.clone());
        self.rule.push(rule.key());
        self.causes.push(keys(causes.iter().map(|cause| cause.key())));
        self.positions.push(keys(positions.iter().map(|position| position.name())));
        self.unplaced.push(*unplaced);
        self.first_sample.push(*first as u64);
        self.last_sample.push(*last as u64);
        self.estimate.push(*estimate);
        self.observed.push(*observed);
        self.outer.push(*outer);
        self.worst.push(*worst);
        self.shortfall.push(*shortfall);
        self.volume.push(*volume);
        self.product.push(joined(products));
        self.lot.push(joined(lots));
        self.tank.push(joined(tanks));
        self.shift.push(shift.clone());
        self.mode.push(mode.name());
        self.within_response.push(*within_response);
        self.outside_production.push(*outside_production);
        self.cleaning.push(cleaning.map(|number| number as u64));
        self.episode.push(*episode as u64);
    }

    fn into_frame(self, record: &RunRecord) -> Result<DataFrame, Error> {
        let rows = self.id.len();
        let mut columns = vec![
            Column::new("id".into(), self.id),
            Column::new("unit".into(), vec![record.unit(); rows]),
            Column::new("rule".into(), self.rule),
            Column::new("causes".into(), self.causes),
            Column::new("positions".into(), self.positions),
            Column::new("unplaced_rows".into(), each(&self.unplaced, |one| one.rows)),
            Column::new("unplaced_rows_short".into(), each(&self.unplaced, |one| one.short)),
            Column::new("first_sample".into(), self.first_sample),
            Column::new("last_sample".into(), self.last_sample),
        ];
        for (start, end, duration, intervals) in [
            ("start", "end", "duration_ms", &self.estimate),
            ("observed_start", "observed_end", "observed_duration_ms", &self.observed),
            ("outer_start", "outer_end", "outer_duration_ms", &self.outer),
        ] {
            columns.push(instants(start, intervals.iter().map(|one| Some(one.start()))));
            columns.push(instants(end, intervals.iter().map(|one| Some(one.end()))));
            let durations: Vec<i64> =
                intervals.iter().map(|one| one.duration().milliseconds()).collect();
            columns.push(Column::new(duration.into(), durations));
        }
        let worst = self.worst;
        let shortfall = self.shortfall;
        let volume = self.volume;
        columns.extend([
            Column::new(
                "worst_value".into(),
                each(&worst, |one| one.map(|one| one.value.to_f64())),
            ),
            Column::new("worst_limit".into(), each(&worst, |one| one.map(|one| one.limit))),
            Column::new("worst_unit".into(), each(&worst, |one| one.map(|one| one.unit))),
            instants("worst_at", worst.iter().map(|one| one.map(|one| one.at))),
            Column::new("shortfall".into(), each(&shortfall, |one| one.map(|one| one.value))),
            Column::new("shortfall_unit".into(), each(&shortfall, |one| one.map(|one| one.unit))),
            Column::new("volume".into(), each(&volume, |one| one.value)),
            Column::new("outer_volume".into(), each(&volume, |one| one.outer_value)),
            Column::new("volume_unit".into(), each(&volume, |one| one.unit.symbol())),
            Column::new("volume_basis".into(), each(&volume, |one| one.basis.key())),
            Column::new("product".into(), self.product),
            Column::new("lot".into(), self.lot),
            Column::new("tank".into(), self.tank),
            Column::new("shift".into(), self.shift),
            Column::new("mode".into(), self.mode),
            Column::new("within_response".into(), self.within_response),
            Column::new("outside_production".into(), self.outside_production),
            Column::new("cleaning".into(), self.cleaning),
            Column::new("episode".into(), self.episode),
        ]);
        DataFrame::new(rows, columns).map_err(Error::Frame)
    }
}

/// Keys of one cell.
fn keys(keys: impl Iterator<Item = &'static str>) -> String {
    keys.collect::<Vec<_>>().join("+")
}

fn each<T: Copy, V>(items: &[T], of: impl Fn(T) -> V) -> Vec<V> {
    items.iter().map(|&item| of(item)).collect()
}
