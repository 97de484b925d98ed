//! What a draft begins with: what the names of the columns and their readings say.

use crate::draft::{Draft, DraftColumn, Part, Reason};
use crate::files::loggers;
use crate::forms::{day_numbers, rising, says_day_of_year, says_since, year_day_time};
use crate::looks::by_readings;
use crate::names::role_in_other_words;
use crate::sheets::Sheets;
use ingest::sheet::StampKind;
use std::collections::BTreeMap;
use trace::Role;

impl Draft {
    /// What names and readings of a file say.
    pub fn of(sheets: &Sheets) -> Self {
        let columns = sheets.columns.iter().map(|_| DraftColumn::default()).collect();
        let loggers = loggers(sheets);
        let mut draft = Self { loggers, columns, ..Self::default() };
        for logger in 0..sheets.loggers.len() {
            draft.stamps(sheets, logger);
        }
        draft.names(sheets);
        for (column, role, why) in by_readings(sheets, &draft) {
            draft.set(sheets, column, Part::Role(role), Reason::Readings(why));
        }
        draft
    }

    /// A logger's columns of date and time, as far as there is one of each.
    fn stamps(&mut self, sheets: &Sheets, logger: usize) {
        let of = |kind| {
            let columns = sheets.columns_of(logger);
            let mut columns =
                columns.filter(move |(_, column)| column.stamp == Some(kind) && column.is_named);
            match (columns.next(), columns.next()) {
                (Some((only, _)), None) => Some(only),
                _ => None,
            }
        };
        let why = |what: &str| Reason::Readings(format!("its cells read as {what}"));
        let is_apart = sheets.columns_of(logger).all(|(_, column)| {
            !matches!(column.stamp, Some(StampKind::DateAndTime | StampKind::Date))
        });
        if let Some(whole) = of(StampKind::DateAndTime) {
            self.set(sheets, whole, Part::Time, why("date and time"));
        } else if let (Some(date), Some(time)) = (of(StampKind::Date), of(StampKind::Time)) {
            self.set(sheets, date, Part::Date, why("dates"));
            self.set(sheets, time, Part::Time, why("times of day"));
        } else if let Some([year, day, time]) = year_day_time(sheets, logger)
            && is_apart
        {
            self.set(sheets, year, Part::Year, why("a year"));
            self.set(sheets, time, Part::Time, why("times of day"));
            // The twelfth of a month is a twelfth day of the year as well: that is asked.
            if sheets.columns.get(day).is_some_and(says_day_of_year) {
                self.set(sheets, day, Part::DayOfYear, why("days of a year"));
            }
        } else if sheets.columns_of(logger).all(|(_, column)| column.stamp.is_none()) {
            self.counts(sheets, logger);
        }
    }

    /// A logger's column that counts days, or the time since a start, where it has no other stamp.
    fn counts(&mut self, sheets: &Sheets, logger: usize) {
        let is_said = |&column: &usize| sheets.columns.get(column).is_some_and(says_since);
        let said: Vec<usize> = rising(sheets, logger).into_iter().filter(is_said).collect();
        if let ([only], []) = (said.as_slice(), day_numbers(sheets, logger).as_slice()) {
            self.set(sheets, *only, Part::SinceStart, Reason::Name);
        } else if let ([], [only]) = (said.as_slice(), day_numbers(sheets, logger).as_slice()) {
            let why = Reason::Readings("its cells read as a count of days".to_owned());
            self.set(sheets, *only, Part::Time, why);
        }
    }

    /// The columns whose names say what they are, where one says it best.
    fn names(&mut self, sheets: &Sheets) {
        let mut found: BTreeMap<Role, (u8, Vec<(usize, Reason)>)> = BTreeMap::new();
        for (index, column) in sheets.columns.iter().enumerate() {
            if self.columns.get(index).is_none_or(|one| one.part != Part::Unused)
                || !column.is_named
            {
                continue;
            }
            let plain = column.suggested.map(|suggestion| (suggestion, Reason::Name));
            let foreign = || Some((role_in_other_words(column)?, Reason::ForeignName));
            let Some(((role, weight), reason)) = plain.or_else(foreign) else { continue };
            let entry = found.entry(role).or_default();
            if weight > entry.0 {
                *entry = (weight, Vec::new());
            }
            if weight == entry.0 {
                entry.1.push((index, reason));
            }
        }
        // What is made and where it goes is said by the logger that has the position of the device.
        let leading =
            [Role::Valve, Role::ValveForward, Role::ValveDivert].iter().find_map(|role| {
                let (_, columns) = found.get(role)?;
                let [(only, _)] = columns.as_slice() else { return None };
                Some(sheets.logger_of(*only))
            });
        for role in [Role::Product, Role::Lot, Role::Mode] {
            if let (Some(leading), Some((_, columns))) = (leading, found.get_mut(&role)) {
                columns.retain(|(column, _)| sheets.logger_of(*column) == leading);
            }
        }
        let has = |role: &Role| found.contains_key(role);
        // One pair of channels tells the differential, and one kind of position the device's.
        let pair = has(&Role::RawPressure) && has(&Role::PasteurizedPressure);
        let valve = has(&Role::Valve);
        for (role, (_, columns)) in found {
            let is_spare = match role {
                Role::DifferentialPressure => pair,
                Role::ValveForward | Role::ValveDivert => valve,
                _ => false,
            };
            if let [(column, reason)] = columns.as_slice()
                && !is_spare
            {
                self.set(sheets, *column, Part::Role(role), reason.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::looks::tests::sheet;
    use plant::AnyUnit;

    fn parts(draft: &Draft) -> Vec<&'static str> {
        draft.columns.iter().map(|column| column.part.name()).collect()
    }

    #[test]
    fn names_in_the_trades_words_need_nobody() {
        let sheet = sheet("Time,FDV position,Hold Temp (\u{b0}F),Raw psi,Past psi,Flow (gpm),Note");
        assert_eq!(
            parts(&Draft::of(&sheet)),
            [
                "time",
                "flow diversion device",
                "holding temperature",
                "raw pressure",
                "pasteurized pressure",
                "flow",
                "not used"
            ]
        );
    }

    #[test]
    fn names_in_other_languages_are_understood() {
        for (header, roles) in [
            (
                "Zeitstempel;Umschaltventil;Hei\u{df}halter Temperatur [\u{b0}C];Druck roh [bar];\
                 Druck past. [bar]",
                [
                    Role::Valve,
                    Role::HoldingTemperature,
                    Role::RawPressure,
                    Role::PasteurizedPressure,
                ],
            ),
            (
                "Horodatage;Vanne de d\u{e9}viation;Temp\u{e9}rature chambrage (\u{b0}C);\
                 Pression lait cru (kPa);Pression lait pasteuris\u{e9} (kPa)",
                [
                    Role::Valve,
                    Role::HoldingTemperature,
                    Role::RawPressure,
                    Role::PasteurizedPressure,
                ],
            ),
            (
                "Fecha y hora;V\u{e1}lvula de desv\u{ed}o;Temperatura de retenci\u{f3}n (\u{b0}C);\
                 Presi\u{f3}n cruda (bar);Presi\u{f3}n pasteurizada (bar)",
                [
                    Role::Valve,
                    Role::HoldingTemperature,
                    Role::RawPressure,
                    Role::PasteurizedPressure,
                ],
            ),
            (
                "Data e ora;Valvola di deviazione;Temperatura di sosta (\u{b0}C);\
                 Pressione crudo (bar);Pressione pastorizzato (bar)",
                [
                    Role::Valve,
                    Role::HoldingTemperature,
                    Role::RawPressure,
                    Role::PasteurizedPressure,
                ],
            ),
        ] {
            let draft = Draft::of(&sheet(header));
            let found: Vec<_> = draft.columns.iter().skip(1).map(|column| column.part).collect();
            assert_eq!(found, roles.map(Part::Role), "{header}");
        }
    }

    #[test]
    fn two_that_fit_equally_well_are_taken_for_none() {
        let sheet = sheet("Time,FDV,Hold Temp A (\u{b0}F),Hold Temp B (\u{b0}F),dP (psi)");
        let draft = Draft::of(&sheet);
        assert_eq!(draft.column(Part::Role(Role::HoldingTemperature)), None);
        assert!(draft.has(Role::DifferentialPressure));
    }

    #[test]
    fn one_part_has_one_column() {
        let sheet = sheet("Time,FDV,Hold Temp (\u{b0}F),Other (\u{b0}F),dP (psi)");
        let mut draft = Draft::of(&sheet);
        draft.set(&sheet, 3, Part::Role(Role::HoldingTemperature), Reason::Person);
        assert_eq!(draft.columns[2].part, Part::Unused);
        assert_eq!(draft.columns[3].unit.map(AnyUnit::symbol), Some("\u{b0}F"));
    }
}
