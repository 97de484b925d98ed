//! What a draft begins with: what the names of the columns and their readings say.

use crate::draft::{Draft, DraftColumn, Part, Reason};
use crate::forms::day_numbers;
use crate::looks::by_readings;
use crate::names::role_in_other_words;
use ingest::sheet::{Sheet, StampKind};
use std::collections::BTreeMap;
use trace::Role;

impl Draft {
    /// What names and readings of a file say.
    pub fn of(sheet: &Sheet) -> Self {
        let columns = sheet.columns.iter().map(|_| DraftColumn::default()).collect();
        let mut draft = Self { columns, ..Self::default() };
        draft.stamps(sheet);
        draft.names(sheet);
        for (column, role, why) in by_readings(sheet, &draft) {
            draft.set(sheet, column, Part::Role(role), Reason::Readings(why));
        }
        draft
    }

    /// The columns of date and time, as far as there is one of each.
    fn stamps(&mut self, sheet: &Sheet) {
        let of = |kind| {
            let columns = sheet.columns.iter().enumerate();
            let mut columns =
                columns.filter(move |(_, column)| column.stamp == Some(kind) && column.is_named);
            match (columns.next(), columns.next()) {
                (Some((only, _)), None) => Some(only),
                _ => None,
            }
        };
        let why = |what: &str| Reason::Readings(format!("its cells read as {what}"));
        if let Some(whole) = of(StampKind::DateAndTime) {
            self.set(sheet, whole, Part::Time, why("date and time"));
        } else if let (Some(date), Some(time)) = (of(StampKind::Date), of(StampKind::Time)) {
            self.set(sheet, date, Part::Date, why("dates"));
            self.set(sheet, time, Part::Time, why("times of day"));
        } else if let [only] = day_numbers(sheet).as_slice()
            && sheet.columns.iter().all(|column| column.stamp.is_none())
        {
            self.set(sheet, *only, Part::Time, why("a count of days"));
        }
    }

    /// The columns whose names say what they are, where one says it best.
    fn names(&mut self, sheet: &Sheet) {
        let mut found: BTreeMap<Role, (u8, Vec<(usize, Reason)>)> = BTreeMap::new();
        for (index, column) in sheet.columns.iter().enumerate() {
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
                self.set(sheet, *column, Part::Role(role), reason.clone());
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
