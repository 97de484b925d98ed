//! `[[loggers]]`: what several loggers record together.

use super::{RawLogger, Reader, Text};
use crate::bounds::LONGEST_GAP;
use crate::columns::AnyUnit;
use crate::error::Error;
use crate::loggers::{FilePattern, Logger};
use std::collections::{BTreeMap, BTreeSet};
use toml::Spanned;
use trace::{Duration, Quantity, Role};

/// A clock that is set wrong by more is of another day.
const GREATEST_OFFSET: Duration = Duration::from_milliseconds(86_400_000);

/// What only the leading logger records: it says in which row what is made, and where it goes.
const OF_LEADING: [Role; 7] = [
    Role::Valve,
    Role::ValveForward,
    Role::ValveDivert,
    Role::Product,
    Role::Lot,
    Role::Mode,
    Role::ModeSwitch,
];

impl Reader<'_> {
    /// The leading one first. `alone` says whether the file has `[files]` or `[columns]` beside them.
    pub(super) fn loggers(
        &self,
        raw: Vec<Spanned<RawLogger>>,
        alone: bool,
    ) -> Result<Vec<Logger>, Error> {
        let Some(first) = raw.first().map(Spanned::span) else { return Ok(Vec::new()) };
        let at = |span: std::ops::Range<usize>| Spanned::new(span, ());
        if !alone {
            let message = "with [[loggers]] there is no [files] and no [columns]: write what they say \
                           into each logger, as form = { … } and [loggers.columns]";
            return Err(self.wrong(&at(first), "loggers", message));
        }
        let mut loggers = Vec::new();
        let mut names = BTreeSet::new();
        let mut leading: Option<usize> = None;
        for raw in raw {
            let span = at(raw.span());
            let raw = raw.into_inner();
            let leads = raw.columns.valve.is_some()
                || raw.columns.valve_forward.is_some()
                || raw.columns.valve_divert.is_some();
            if !names.insert(raw.name.get_ref().trim().to_lowercase()) {
                return Err(self.wrong(
                    &raw.name,
                    "loggers.name",
                    "each logger needs its own name",
                ));
            }
            if leads && leading.replace(loggers.len()).is_some() {
                let message = "two loggers have the position of the flow diversion device; bind it for \
                               the one whose rows are the rows of the record";
                return Err(self.wrong(&span, "loggers", message));
            }
            let logger = self.logger(raw, leads)?;
            if let Some(role) =
                OF_LEADING.iter().find(|role| logger.columns.roles.contains_key(role))
                && !leads
            {
                let message = format!(
                    "the {} is recorded by the logger that has the position of the flow diversion \
                     device",
                    role.name()
                );
                return Err(self.wrong(&span, &format!("loggers.columns.{}", role.key()), message));
            }
            loggers.push((span, logger));
        }
        let Some(leading) = leading else {
            let message = "no logger has the position of the flow diversion device; bind valve, or its \
                           position switches, for the one whose rows are the rows of the record";
            return Err(self.wrong(&at(first), "loggers", message));
        };
        loggers[..=leading].rotate_right(1);
        self.what_an_audit_needs(&loggers)?;
        Ok(loggers.into_iter().map(|(_, logger)| logger).collect())
    }

    fn logger(&self, raw: RawLogger, leads: bool) -> Result<Logger, Error> {
        let RawLogger { name, files, tolerance, clock_ahead, clock_behind, form, columns } = raw;
        if name.get_ref().trim().is_empty() {
            return Err(self.wrong(&name, "loggers.name", "needs a name"));
        }
        let pattern = FilePattern::new(files.get_ref()).ok_or_else(|| {
            let message = "is the name of its files with one * for what differs from day to day, such as \
                           \"*-pressures.csv\"";
            self.wrong(&files, "loggers.files", message)
        })?;
        let clock_ahead = self.clock_ahead(leads, clock_ahead, clock_behind)?;
        let tolerance = self.tolerance(leads, tolerance, &name)?;
        let mut columns = self.columns(columns)?;
        columns.are_part = true;
        let is_number = |role: &Role| !matches!(role.quantity(), Quantity::State | Quantity::Text);
        let unitless =
            columns.roles.iter().find(|(role, binding)| is_number(role) && binding.unit.is_none());
        if let Some((role, _)) = unitless {
            return Err(self.wrong(
                &name,
                &format!("loggers.columns.{}", role.key()),
                "needs its unit here: a day may lack the files of this logger",
            ));
        }
        let (form, name) = (self.file_form(form)?, name.into_inner());
        Ok(Logger { name, files: pattern, form, columns, tolerance, clock_ahead })
    }

    fn tolerance(&self, leads: bool, text: Option<Text>, name: &Text) -> Result<Duration, Error> {
        let key = "loggers.tolerance";
        match text {
            None if leads => Ok(Duration::ZERO),
            None => Err(self.wrong(
                name,
                key,
                "says how far a reading of this logger may lie from the row that takes it, such as \
                 \"2 s\"",
            )),
            Some(text) if leads => Err(self.wrong(
                &text,
                key,
                "belongs to the other loggers: the rows of this one, which has the position of the flow \
                 diversion device, are the rows of the record",
            )),
            Some(text) => {
                let tolerance = self.duration(&text, key)?;
                if tolerance > LONGEST_GAP {
                    return Err(self.wrong(
                        &text,
                        key,
                        "is at most 15 s: in more a whole parcel passes through the holding tube",
                    ));
                }
                Ok(tolerance)
            }
        }
    }

    fn clock_ahead(
        &self,
        leads: bool,
        ahead: Option<Text>,
        behind: Option<Text>,
    ) -> Result<i64, Error> {
        let (text, key, sign) = match (ahead, behind) {
            (None, None) => return Ok(0),
            (Some(ahead), None) => (ahead, "loggers.clock_ahead", 1),
            (None, Some(behind)) => (behind, "loggers.clock_behind", -1),
            (Some(ahead), Some(_)) => {
                let message = "a clock is ahead or behind: leave one of the two out";
                return Err(self.wrong(&ahead, "loggers.clock_ahead", message));
            }
        };
        if leads {
            let message = "belongs to the other loggers: the clock of this one, which has the position of \
                           the flow diversion device, is the clock of the record";
            return Err(self.wrong(&text, key, message));
        }
        let by = self.duration(&text, key)?;
        if by > GREATEST_OFFSET {
            return Err(self.wrong(&text, key, "is at most 24 h"));
        }
        Ok(sign * by.milliseconds())
    }

    /// Refuses loggers that together lack what an audit needs, or disagree about units.
    fn what_an_audit_needs(&self, loggers: &[(Spanned<()>, Logger)]) -> Result<(), Error> {
        let mut units: BTreeMap<Role, AnyUnit> = BTreeMap::new();
        let mut found = BTreeSet::new();
        for (span, logger) in loggers {
            for (&role, binding) in &logger.columns.roles {
                found.insert(role);
                let unit = binding.unit.as_deref();
                let Some(unit) = unit.and_then(|word| AnyUnit::from_word(role, word)) else {
                    continue;
                };
                let pair = match role {
                    Role::RawPressure => Role::PasteurizedPressure,
                    Role::PasteurizedPressure => Role::RawPressure,
                    other => other,
                };
                let before = [role, pair].into_iter().find_map(|role| units.get(&role).copied());
                if before.is_some_and(|before| before != unit) {
                    let message = "has another unit than in the other logger: their readings are \
                                   compared as recorded";
                    let key = format!("loggers.columns.{}", role.key());
                    return Err(self.wrong(span, &key, message));
                }
                units.insert(role, unit);
            }
        }
        let pair = [Role::RawPressure, Role::PasteurizedPressure];
        let missing = if !found.contains(&Role::HoldingTemperature) {
            Some("holding_temperature")
        } else if !found.contains(&Role::DifferentialPressure)
            && !pair.iter().all(|role| found.contains(role))
        {
            Some("raw_pressure and pasteurized_pressure, or differential_pressure")
        } else {
            None
        };
        match (missing, loggers.first()) {
            (Some(missing), Some((span, _))) => {
                Err(self.wrong(span, "loggers", format!("none of them binds {missing}")))
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::Plant;
    use trace::Role;

    const LEADING: &str = "[[loggers]]\nname = \"valve\"\nfiles = \"*-v.csv\"\n[loggers.columns]\n\
        valve = { column = \"V\", forward = [\"F\"], divert = [\"D\"] }\n\
        holding_temperature = { column = \"T\", unit = \"degF\" }\n";
    const OTHER: &str = "[[loggers]]\nname = \"pressures\"\nfiles = \"*-p.csv\"\n\
        tolerance = \"2 s\"\nclock_ahead = \"12 s\"\nform = { decimal_mark = \",\", clock = \"standard\" }\n\
        [loggers.columns]\ndifferential_pressure = { column = \"P\", unit = \"psi\" }\n";

    fn parse(text: &str) -> Result<Plant, String> {
        let head = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n";
        Plant::parse("p", &format!("{head}{text}")).map_err(|error| error.to_string())
    }

    #[test]
    fn the_logger_with_the_valve_leads() {
        let plant = parse(&format!("{OTHER}{LEADING}")).unwrap_or_else(|error| panic!("{error}"));
        let names: Vec<&str> = plant.loggers.iter().map(|logger| logger.name.as_str()).collect();
        assert_eq!(names, ["valve", "pressures"]);
        assert_eq!(plant.columns.roles.len(), 3);
        assert_eq!(plant.columns.valve_words.forward, ["F"]);
        let other = &plant.loggers[1];
        assert_eq!((other.tolerance.milliseconds(), other.clock_ahead), (2000, 12_000));
        let of_other = plant.of_logger(other);
        assert!(of_other.form.decimal_mark.is_some() && of_other.columns.are_part);
        assert!(!of_other.columns.roles.contains_key(&Role::Valve));
        let behind = OTHER.replace("clock_ahead", "clock_behind");
        let plant = parse(&format!("{LEADING}{behind}")).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(plant.loggers[1].clock_ahead, -12_000);
    }

    #[test]
    fn each_mistake_is_told() {
        let both = format!("{LEADING}{OTHER}");
        for (from, to, part) in [
            ("", "[files]\nclock = \"standard\"\n", "there is no [files] and no [columns]"),
            ("", "[columns]\ntime = \"Time\"\n", "there is no [files] and no [columns]"),
            (LEADING, "", "no logger has the position of the flow diversion device"),
            ("\"pressures\"", "\"Valve\"", "each logger needs its own name"),
            ("\"pressures\"", "\" \"", "needs a name"),
            ("*-p.csv", "p.csv", "loggers.files: is the name of its files with one *"),
            ("tolerance = \"2 s\"\n", "", "loggers.tolerance: says how far"),
            ("tolerance = \"2 s\"", "tolerance = \"16 s\"", "is at most 15 s"),
            ("tolerance = \"2 s\"", "tolerance = \"2\"", "is no unit of time"),
            ("clock_ahead = \"12 s\"", "clock_ahead = \"25 h\"", "is at most 24 h"),
            (
                "clock_ahead = \"12 s\"",
                "clock_ahead = \"1 s\"\nclock_behind = \"1 s\"",
                "a clock is ahead or behind",
            ),
            (
                "*-v.csv\"",
                "*-v.csv\"\ntolerance = \"1 s\"",
                "belongs to the other loggers: the rows",
            ),
            (
                "*-v.csv\"",
                "*-v.csv\"\nclock_ahead = \"1 s\"",
                "belongs to the other loggers: the clock",
            ),
            (", unit = \"psi\"", "", "differential_pressure: needs its unit here"),
            ("\"psi\" }", "\"psi\" }\nvalve = { column = \"W\" }", "two loggers have the position"),
            (
                "\"psi\" }",
                "\"psi\" }\nlot = { column = \"L\" }",
                "the lot is recorded by the logger",
            ),
            (
                "\"psi\" }",
                "\"psi\" }\nholding_temperature = { column = \"H\", unit = \"degC\" }",
                "has another unit than in the other logger",
            ),
            ("differential_pressure", "raw_pressure", "none of them binds raw_pressure and past"),
            (
                "holding_temperature",
                "recorder_temperature",
                "none of them binds holding_temperature",
            ),
        ] {
            let text = if from.is_empty() { format!("{to}{both}") } else { both.replace(from, to) };
            let error = parse(&text).err().unwrap_or_default();
            assert!(error.starts_with("p:") && error.contains(part), "{to}: {error}");
        }
    }
}
