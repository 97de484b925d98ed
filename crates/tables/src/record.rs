//! A run record as a data frame: a row a sample.

use crate::decimals::survives;
use crate::error::Error;
use crate::names;
use polars::prelude::{
    Column, DataFrame, Int64Chunked, IntoColumn, NewChunkedArray, TimeUnit, TimeZone,
};
use trace::{ChannelView, Instant, Reading, Role, RunRecord, TextChannel};

/// The record as a data frame.
///
/// Columns: `unit`, `instant` (milliseconds, UTC), `valve`; for each channel its readings, named
/// like `holding_temperature_degf`, null where invalid, with `holding_temperature_invalid` (the
/// reason) if any is and `holding_temperature_exact` (the digits) if a binary number can't hold
/// them all; the differential is there whether it was recorded or worked out; then `leak_detect`,
/// `timing_pump`, `booster_pump`, `high_flow_alarm`, `low_flow_alarm`, `product`, `lot`, `mode` and
/// `mode_switch` where the record has them, null where blank.
///
/// Polars prints instants with a zone only when it is built with its feature `timezones`, which
/// this crate does not ask for; written to Parquet they carry the zone for every other tool.
///
/// # Errors
/// When the columns make no data frame.
pub fn record_frame(record: &RunRecord) -> Result<DataFrame, Error> {
    let mut columns = vec![
        text(names::UNIT, vec![record.unit(); record.samples()]),
        instants(names::INSTANT, record.instants().iter().copied().map(Some)),
        text(Role::Valve.key(), record.valve().iter().map(|state| state.name()).collect()),
    ];
    for (role, channel) in record.channels() {
        push_channel(&mut columns, role, channel);
    }
    for role in Role::SWITCHES {
        let states = record.switch(role);
        columns.extend(states.map(|states| Column::new(role.key().into(), states)));
    }
    for role in Role::TEXTS {
        let words = record.text(role);
        columns.extend(words.map(|words| Column::new(role.key().into(), cells(words))));
    }
    DataFrame::new(record.samples(), columns).map_err(Error::Frame)
}

fn push_channel(columns: &mut Vec<Column>, role: Role, channel: ChannelView<'_>) {
    let readings = || (0..channel.mantissas().len()).map(|sample| channel.reading(sample));
    let values: Vec<Option<f64>> =
        readings().map(|reading| reading.valid().map(trace::Decimal::to_f64)).collect();
    columns.push(Column::new(names::readings(role, channel).into(), values));

    let reason = |reading| match reading {
        Reading::Valid(_) => None,
        Reading::Invalid(reason) => Some(reason.name()),
    };
    if readings().any(|reading| reason(reading).is_some()) {
        let reasons: Vec<Option<&str>> = readings().map(reason).collect();
        columns.push(Column::new(names::reasons(role).into(), reasons));
    }

    let inexact = |reading: Reading| reading.valid().filter(|&decimal| !survives(decimal));
    if readings().any(|reading| inexact(reading).is_some()) {
        let digits: Vec<Option<String>> =
            readings().map(|reading| inexact(reading).map(|decimal| decimal.to_string())).collect();
        columns.push(Column::new(names::exact(role).into(), digits));
    }
}

/// A column of instants in milliseconds, UTC.
pub(crate) fn instants(name: &str, instants: impl Iterator<Item = Option<Instant>>) -> Column {
    let milliseconds = instants.map(|instant| instant.map(Instant::unix_milliseconds));
    Int64Chunked::from_iter_options(name.into(), milliseconds)
        .into_datetime(TimeUnit::Milliseconds, Some(TimeZone::UTC))
        .into_column()
}

fn text(name: &str, words: Vec<&str>) -> Column {
    Column::new(name.into(), words)
}

fn cells(words: &TextChannel) -> Vec<Option<&str>> {
    (0..words.len())
        .map(|sample| Some(words.word(sample)).filter(|word| !word.is_empty()))
        .collect()
}
