//! `[columns]`: what the logger's columns are bound to.

use super::{
    RawColumns, RawFraction, RawMode, RawReading, RawSinceStart, RawSwitch, RawText, RawValve,
    Reader, Text,
};
use crate::bounds::Beyond;
use crate::columns::{
    AnyUnit, Binding, Columns, ModeWords, SinceStart, StampColumns, SwitchWords, TimeUnit,
    ValveWords,
};
use crate::error::Error;
use std::collections::BTreeMap;
use trace::Role;

impl Reader<'_> {
    pub(super) fn columns(&self, raw: RawColumns) -> Result<Columns, Error> {
        // Destructured, so that a new role can't be forgotten here.
        let RawColumns {
            date,
            time,
            fraction,
            year,
            day_of_year,
            since_start,
            valve,
            valve_forward,
            valve_divert,
            holding_temperature,
            raw_pressure,
            pasteurized_pressure,
            differential_pressure,
            recorder_temperature,
            flow_rate,
            raw_temperature,
            regenerated_temperature,
            heating_water_temperature,
            cooled_temperature,
            cleaning_return_temperature,
            heating_medium_pressure,
            cooling_medium_pressure,
            leak_detect,
            timing_pump,
            booster_pump,
            high_flow_alarm,
            low_flow_alarm,
            product,
            lot,
            mode,
            mode_switch,
        } = raw;
        let mut roles = BTreeMap::new();
        let mut bound = Vec::new();
        let mut named = |key: &'static str, column: Text| {
            let name = column.get_ref().clone();
            bound.push((key, column));
            name
        };
        let stamp = self.stamp_columns(
            (date.as_ref(), time.as_ref()),
            (fraction.as_ref(), year.as_ref(), day_of_year.as_ref(), since_start.as_ref()),
        )?;
        let date = date.map(|column| named("date", column));
        let time = time.map(|column| named("time", column));
        for (key, column) in [
            ("fraction", fraction.map(|fraction| fraction.column)),
            ("year", year),
            ("day_of_year", day_of_year),
            ("since_start", since_start.map(|since| since.column)),
        ] {
            column.map(|column| named(key, column));
        }
        let plain = |column| Binding { column, unit: None, range: None };
        let mut valve_words = ValveWords::default();
        if let Some(RawValve { column, forward, divert, travel }) = valve {
            // Words that a plant gives replace the built-in ones altogether.
            if forward.is_some() || divert.is_some() || travel.is_some() {
                valve_words = ValveWords {
                    forward: forward.unwrap_or_default(),
                    divert: divert.unwrap_or_default(),
                    travel: travel.unwrap_or_default(),
                };
            }
            roles.insert(Role::Valve, plain(named(Role::Valve.key(), column)));
        }
        let mut mode_words = ModeWords::default();
        if let Some(RawMode { column, production, water, cleaning }) = mode {
            if production.is_some() || water.is_some() || cleaning.is_some() {
                mode_words = ModeWords {
                    production: production.unwrap_or_default(),
                    water: water.unwrap_or_default(),
                    cleaning: cleaning.unwrap_or_default(),
                };
            }
            roles.insert(Role::Mode, plain(named(Role::Mode.key(), column)));
        }
        for (role, switch) in [
            (Role::ValveForward, valve_forward),
            (Role::ValveDivert, valve_divert),
            (Role::LeakDetect, leak_detect),
            (Role::TimingPump, timing_pump),
            (Role::BoosterPump, booster_pump),
            (Role::HighFlowAlarm, high_flow_alarm),
            (Role::LowFlowAlarm, low_flow_alarm),
        ] {
            if let Some(RawSwitch { column }) = switch {
                roles.insert(role, plain(named(role.key(), column)));
            }
        }
        for (role, text) in
            [(Role::Product, product), (Role::Lot, lot), (Role::ModeSwitch, mode_switch)]
        {
            if let Some(RawText { column }) = text {
                roles.insert(role, plain(named(role.key(), column)));
            }
        }
        for (role, reading) in [
            (Role::HoldingTemperature, holding_temperature),
            (Role::RawPressure, raw_pressure),
            (Role::PasteurizedPressure, pasteurized_pressure),
            (Role::DifferentialPressure, differential_pressure),
            (Role::RecorderTemperature, recorder_temperature),
            (Role::FlowRate, flow_rate),
            (Role::RawTemperature, raw_temperature),
            (Role::RegeneratedTemperature, regenerated_temperature),
            (Role::HeatingWaterTemperature, heating_water_temperature),
            (Role::CooledTemperature, cooled_temperature),
            (Role::CleaningReturnTemperature, cleaning_return_temperature),
            (Role::HeatingMediumPressure, heating_medium_pressure),
            (Role::CoolingMediumPressure, cooling_medium_pressure),
        ] {
            if let Some(reading) = reading {
                let binding = self.reading(role, &reading)?;
                roles
                    .insert(role, Binding { column: named(role.key(), reading.column), ..binding });
            }
        }
        self.one_role_each(bound)?;
        Ok(Columns {
            date,
            time,
            stamp,
            roles,
            valve_words,
            switch_words: SwitchWords::default(),
            mode_words,
            are_part: false,
        })
    }

    /// The columns of the stamp beside those of date and time.
    fn stamp_columns(
        &self,
        (date, time): (Option<&Text>, Option<&Text>),
        (fraction, year, day, since): (
            Option<&RawFraction>,
            Option<&Text>,
            Option<&Text>,
            Option<&RawSinceStart>,
        ),
    ) -> Result<StampColumns, Error> {
        let unit = |text: &Text, key: &str, units: &[TimeUnit], words: &str| {
            let unit = TimeUnit::from_word(text.get_ref()).filter(|unit| units.contains(unit));
            unit.ok_or_else(|| self.wrong(text, key, format!("the unit is {words}")))
        };
        if let Some(RawSinceStart { column, unit: word, start }) = since {
            let others = [date, time, fraction.map(|one| &one.column), year, day];
            if let Some(other) = others.into_iter().flatten().next() {
                let message = "the time since the start is the whole stamp: leave this one out";
                return Err(self.wrong(other, "columns.since_start", message));
            }
            if start.get_ref().trim().is_empty() {
                let message = "start says how the line above the header begins that has date and time of \
                               the start, such as \"Start time\"";
                return Err(self.wrong(start, "columns.since_start", message));
            }
            let all = [
                TimeUnit::Second,
                TimeUnit::Millisecond,
                TimeUnit::Microsecond,
                TimeUnit::Minute,
                TimeUnit::Hour,
            ];
            let unit = unit(word, "columns.since_start", &all, "h, min, s, ms or us")?;
            let start = start.get_ref().trim().to_owned();
            let since_start = Some(SinceStart { column: column.get_ref().clone(), unit, start });
            return Ok(StampColumns { since_start, ..StampColumns::default() });
        }
        let year_and_day = match (year, day) {
            (None, None) => None,
            (Some(year), Some(day)) => {
                if let Some(date) = date {
                    let message = "year and day_of_year are the date: leave this one out";
                    return Err(self.wrong(date, "columns.date", message));
                }
                Some((year.get_ref().clone(), day.get_ref().clone()))
            }
            (Some(alone), None) | (None, Some(alone)) => {
                return Err(self.wrong(alone, "columns.year", "year and day_of_year go together"));
            }
        };
        if let (None, Some(one)) = (time, year.or(fraction.map(|one| &one.column))) {
            return Err(self.wrong(one, "columns.time", "needs the column of the time beside it"));
        }
        let parts = [TimeUnit::Second, TimeUnit::Millisecond, TimeUnit::Microsecond];
        let fraction = match fraction {
            None => None,
            Some(RawFraction { column, unit: word }) => {
                let unit = unit(word, "columns.fraction", &parts, "s, ms or us")?;
                Some((column.get_ref().clone(), unit))
            }
        };
        Ok(StampColumns { fraction, year_and_day, since_start: None })
    }

    /// One column plays one role: a thermometer that is bound as the recorder's as well would
    /// vouch for itself.
    fn one_role_each(&self, mut bound: Vec<(&'static str, Text)>) -> Result<(), Error> {
        bound.sort_by_key(|(_, column)| column.span().start);
        // Names are looked for in the header without case and without the blanks around them.
        let mut taken: BTreeMap<String, (&'static str, Text)> = BTreeMap::new();
        for (key, column) in bound {
            let name = column.get_ref().trim().to_lowercase();
            // Some loggers leave the column of the time without a name.
            let nameless = column.get_ref().is_empty() && matches!(key, "time" | "date");
            if name.is_empty() && !nameless {
                return Err(self.wrong(
                    &column,
                    &format!("columns.{key}"),
                    "needs a column's name",
                ));
            }
            if let Some((other, first)) = taken.get(&name) {
                let (line, _) = self.position(&first.span());
                return Err(self.wrong(
                    &column,
                    &format!("columns.{key}"),
                    format!(
                        "{:?} is bound to {other} already (line {line}), and one column plays one \
                         role; name the column of {key}, or leave one of the two out",
                        column.get_ref()
                    ),
                ));
            }
            taken.insert(name, (key, column));
        }
        Ok(())
    }

    /// A column of readings with its unit and its physical range.
    fn reading(&self, role: Role, raw: &RawReading) -> Result<Binding, Error> {
        let key = format!("columns.{}", role.key());
        let unit = match &raw.unit {
            None => None,
            Some(word) => Some(AnyUnit::from_word(role, word.get_ref()).ok_or_else(|| {
                self.wrong(
                    word,
                    &key,
                    format!(
                        "{:?} is no unit for this role; use degF or degC, psi, kPa, bar, mbar or \
                         MPa, L/h, L/min, m3/h, gal/min or gal/h",
                        word.get_ref()
                    ),
                )
            })?),
        };
        let range = match &raw.range {
            None => None,
            Some([least_text, greatest_text]) => {
                let least = self.decimal(least_text, least_text.get_ref(), &key)?;
                let greatest = self.decimal(greatest_text, greatest_text.get_ref(), &key)?;
                if least >= greatest {
                    return Err(self.wrong(
                        least_text,
                        &key,
                        "the range's first figure must be less than its second",
                    ));
                }
                let Some(unit) = unit else {
                    return Err(self.wrong(
                        least_text,
                        &key,
                        "a range needs the unit of its figures: write unit = \"…\" beside it",
                    ));
                };
                let (lowest, highest) = unit.physical_range(role);
                if least < lowest || greatest > highest {
                    let symbol = unit.symbol();
                    self.goes_beyond(
                        least_text,
                        Beyond {
                            key: format!("{key}.range"),
                            set: format!("{least} to {greatest} {symbol}"),
                            bound: format!("within {lowest} to {highest} {symbol}"),
                            reason:
                                "a reading outside it is the sensor's fault, and must not pass \
                                     for a measurement"
                                    .to_owned(),
                        },
                    );
                }
                Some((least, greatest))
            }
        };
        Ok(Binding {
            column: raw.column.get_ref().clone(),
            unit: raw.unit.as_ref().map(|word| word.get_ref().clone()),
            range,
        })
    }
}
