//! A run record back from its data frame.
//!
//! A cell that no run record holds is an error, not a guess. A null without a reason is a blank
//! reading; where a reason stands beside a number, the reason holds.

use crate::decimals::from_binary;
use crate::error::Error;
use crate::names;
use polars::prelude::{Column, DataFrame, DataType, TimeUnit, TimeZone};
use trace::{
    Channel, Decimal, Differential, Instant, Invalid, PressureUnit, Reading, Role, RunRecord,
    RunRecordParts, SourceFile, TextChannel, Unit, ValveState,
};

/// The physical range of a role in the unit with a symbol: a reading outside is invalid.
pub type Range<'a> = &'a dyn Fn(Role, &str) -> (Decimal, Decimal);

/// The run record that [`crate::record_frame`] made the data frame from.
///
/// The `sources` are those of the record, or the file that the data frame was read from. With the
/// `range` that the record was made with, every reading comes back the same.
///
/// # Errors
/// When a column is missing, or a column or a cell holds what no run record holds.
pub fn record_from_frame(
    frame: &DataFrame,
    sources: Vec<SourceFile>,
    range: Range<'_>,
) -> Result<RunRecord, Error> {
    let table = Table { frame, range };
    let pressure = |role| table.channel::<PressureUnit>(role);
    let differential = match (pressure(Role::RawPressure)?, pressure(Role::PasteurizedPressure)?) {
        (Some((raw_name, raw)), Some((name, pasteurized))) => {
            if raw.unit() != pasteurized.unit() {
                return Err(Error::Units { columns: [raw_name, name] });
            }
            Differential::Pair { raw, pasteurized }
        }
        _ => Differential::Direct(required(
            pressure(Role::DifferentialPressure)?,
            Role::DifferentialPressure,
        )?),
    };
    let holding_temperature =
        required(table.channel(Role::HoldingTemperature)?, Role::HoldingTemperature)?;
    let parts = RunRecordParts {
        unit: table.unit()?,
        sources,
        instants: table.instants()?,
        valve: table.valve()?,
        holding_temperature,
        differential,
        recorder_temperature: table.optional(Role::RecorderTemperature)?,
        flow_rate: table.optional(Role::FlowRate)?,
        raw_temperature: table.optional(Role::RawTemperature)?,
        regenerated_temperature: table.optional(Role::RegeneratedTemperature)?,
        heating_water_temperature: table.optional(Role::HeatingWaterTemperature)?,
        cooled_temperature: table.optional(Role::CooledTemperature)?,
        cleaning_return_temperature: table.optional(Role::CleaningReturnTemperature)?,
        heating_medium_pressure: table.optional(Role::HeatingMediumPressure)?,
        cooling_medium_pressure: table.optional(Role::CoolingMediumPressure)?,
        leak_detect: table.states(Role::LeakDetect)?,
        timing_pump: table.states(Role::TimingPump)?,
        booster_pump: table.states(Role::BoosterPump)?,
        high_flow_alarm: table.states(Role::HighFlowAlarm)?,
        low_flow_alarm: table.states(Role::LowFlowAlarm)?,
        product: table.words(Role::Product)?,
        lot: table.words(Role::Lot)?,
        mode: table.words(Role::Mode)?,
        mode_switch: table.words(Role::ModeSwitch)?,
        unplaced: Vec::new(),
        double_spans: Vec::new(),
    };
    RunRecord::new(parts).map_err(Error::Record)
}

type Named<U> = (String, Channel<U>);

fn required<U>(channel: Option<Named<U>>, role: Role) -> Result<Channel<U>, Error> {
    let missing = || Error::NoColumn { column: format!("{}_…", role.key()) };
    channel.map(|(_, channel)| channel).ok_or_else(missing)
}

struct Table<'a> {
    frame: &'a DataFrame,
    range: Range<'a>,
}

impl Table<'_> {
    fn find(&self, name: &str) -> Option<&Column> {
        self.frame.columns().iter().find(|column| column.name() == name)
    }

    fn need(&self, name: &str) -> Result<&Column, Error> {
        self.find(name).ok_or_else(|| Error::NoColumn { column: name.to_owned() })
    }

    fn unit(&self) -> Result<String, Error> {
        let units = text(self.need(names::UNIT)?)?;
        match units.first() {
            Some(&Some(unit)) => match units.iter().position(|&other| other != Some(unit)) {
                None => Ok(unit.to_owned()),
                Some(row) => Err(cell(names::UNIT, row, "the same pasteurizer in all rows")),
            },
            Some(None) => Err(cell(names::UNIT, 0, "the name of a pasteurizer")),
            None => Err(Error::Record(trace::Error::NoSamples)),
        }
    }

    fn instants(&self) -> Result<Vec<Instant>, Error> {
        let column = self.need(names::INSTANT)?;
        let milliseconds = DataType::Datetime(TimeUnit::Milliseconds, Some(TimeZone::UTC));
        let wrong = || kind(column, "instants in milliseconds, UTC");
        if *column.dtype() != milliseconds {
            return Err(wrong());
        }
        let instants = column.datetime().map_err(|_unlike| wrong())?;
        let instant = |(row, milliseconds): (usize, Option<i64>)| {
            milliseconds
                .map(Instant::from_unix_milliseconds)
                .ok_or_else(|| cell(names::INSTANT, row, "an instant"))
        };
        instants.physical().iter().enumerate().map(instant).collect()
    }

    fn valve(&self) -> Result<Vec<ValveState>, Error> {
        let name = Role::Valve.key();
        let state = |(row, word): (usize, Option<&str>)| {
            ValveState::ALL
                .into_iter()
                .find(|state| Some(state.name()) == word)
                .ok_or_else(|| cell(name, row, "divert, travel, unknown or forward"))
        };
        text(self.need(name)?)?.into_iter().enumerate().map(state).collect()
    }

    fn states(&self, role: Role) -> Result<Option<Vec<Option<bool>>>, Error> {
        let read = |column: &Column| match column.bool() {
            Ok(cells) => Ok(cells.iter().collect()),
            Err(_unlike) => Err(kind(column, "true, false or nothing")),
        };
        self.find(role.key()).map(read).transpose()
    }

    fn words(&self, role: Role) -> Result<Option<TextChannel>, Error> {
        let Some(column) = self.find(role.key()) else {
            return Ok(None);
        };
        let mut words = TextChannel::new();
        for word in text(column)? {
            words.push(word.unwrap_or_default());
        }
        Ok(Some(words))
    }

    fn optional<U: Unit>(&self, role: Role) -> Result<Option<Channel<U>>, Error> {
        Ok(self.channel(role)?.map(|(_, channel)| channel))
    }

    /// The channel of a role with the name of its column, if there is one.
    fn channel<U: Unit>(&self, role: Role) -> Result<Option<Named<U>>, Error> {
        let prefix = format!("{}_", role.key());
        let mut columns = self.frame.columns().iter().filter_map(|column| {
            U::from_word(column.name().strip_prefix(prefix.as_str())?).map(|unit| (column, unit))
        });
        let Some((column, unit)) = columns.next() else {
            return Ok(None);
        };
        let name = column.name().to_string();
        if let Some((other, _)) = columns.next() {
            return Err(Error::Units { columns: [name, other.name().to_string()] });
        }

        let rows = self.frame.height();
        let values = column.f64().map_err(|_unlike| kind(column, "numbers (64-bit float)"))?;
        let reasons_name = names::reasons(role);
        let exact_name = names::exact(role);
        let beside = |name: &str| match self.find(name) {
            Some(column) => text(column),
            None => Ok(vec![None; rows]),
        };
        let (reasons, exact) = (beside(&reasons_name)?, beside(&exact_name)?);

        let range = (self.range)(role, unit.symbol());
        let mut channel = Channel::new(unit, range, role.worse()).with_capacity(rows);
        for (row, ((value, reason), digits)) in values.iter().zip(reasons).zip(exact).enumerate() {
            let reading = match (reason, digits, value) {
                (Some(word), ..) => [Invalid::Blank, Invalid::NotANumber, Invalid::OutOfRange]
                    .into_iter()
                    .find(|reason| reason.name() == word)
                    .map(Reading::Invalid)
                    .ok_or_else(|| {
                        cell(&reasons_name, row, "blank, not a number or out of range")
                    })?,
                (None, Some(digits), _) => digits
                    .parse()
                    .map(Reading::Valid)
                    .map_err(|_unlike| cell(&exact_name, row, "a decimal number"))?,
                (None, None, None) => Reading::Invalid(Invalid::Blank),
                (None, None, Some(value)) if value.is_finite() => {
                    from_binary(value, channel.scale())
                        .map_or(Reading::Invalid(Invalid::OutOfRange), Reading::Valid)
                }
                (None, None, Some(_)) => Reading::Invalid(Invalid::NotANumber),
            };
            channel.push(reading);
        }
        Ok(Some((name, channel)))
    }
}

fn text(column: &Column) -> Result<Vec<Option<&str>>, Error> {
    match column.str() {
        Ok(words) => Ok(words.iter().collect()),
        Err(_unlike) => Err(kind(column, "text")),
    }
}

fn kind(column: &Column, expected: &'static str) -> Error {
    let found = column.dtype().to_string();
    Error::Kind { column: column.name().to_string(), expected, found }
}

fn cell(column: &str, row: usize, expected: &'static str) -> Error {
    Error::Cell { column: column.to_owned(), row: row + 1, expected }
}
