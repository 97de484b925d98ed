//! Writes a specimen as a logger file in many dialects, apart from the simulator's writer.

use crate::random::Choices;
use crate::specimen::{Row, Specimen};
use plant::{Binding, DateOrder};
use trace::{Instant, Invalid, Reading, Role, Unit, ValveState};

/// How stamps are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stamps {
    /// `2026-03-03T01:06:40.123Z`
    Utc,
    /// `2026-03-02T19:06:40.123-06:00`
    Offset,
    /// `2026-03-02 19:06:40.123`, on the plant's clock.
    Local,
    /// `02.03.2026 19:06:40.123`, on the plant's clock.
    Dots,
    /// `3/2/2026 7:06:40.123 PM`, on the plant's clock.
    UnitedStates,
    /// `2026-03-02` and `19:06:40.123` in two columns, on the plant's clock.
    TwoColumns,
    /// Milliseconds since 1970.
    Epoch,
}

/// How characters become bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8
    Utf8,
    /// UTF-8 with a byte order mark.
    Utf8Mark,
    /// UTF-16, low byte first, with a byte order mark.
    Utf16Little,
    /// UTF-16, high byte first, with a byte order mark.
    Utf16Big,
    /// Windows-1252
    Windows1252,
}

/// All that can differ between two files with the same content.
#[derive(Debug, Clone, Copy)]
pub struct Dialect {
    /// Between cells.
    pub delimiter: char,
    /// Between whole and fractional digits.
    pub mark: char,
    /// Characters to bytes.
    pub encoding: Encoding,
    /// Between lines.
    pub newline: &'static str,
    /// Stamps.
    pub stamps: Stamps,
    /// Whether every cell stands in quotes.
    pub quoted: bool,
    /// Whether some lines stand before the header.
    pub preamble: bool,
    /// Whether a row of units stands under the header.
    pub units_row: bool,
    /// Stirs the order of columns.
    pub order: u64,
}

impl Dialect {
    /// Commas, dots, UTF-8, line feeds, UTC.
    pub const PLAIN: Self = Self {
        delimiter: ',',
        mark: '.',
        encoding: Encoding::Utf8,
        newline: "\n",
        stamps: Stamps::Utc,
        quoted: false,
        preamble: false,
        units_row: false,
        order: 0,
    };

    /// Some dialect.
    pub fn any(choices: &mut Choices) -> Self {
        Self {
            delimiter: choices.one_of(&[',', ';', '\t']),
            mark: choices.one_of(&['.', ',']),
            encoding: choices.one_of(&[
                Encoding::Utf8,
                Encoding::Utf8Mark,
                Encoding::Utf16Little,
                Encoding::Utf16Big,
                Encoding::Windows1252,
            ]),
            newline: choices.one_of(&["\n", "\r\n"]),
            stamps: choices.one_of(&[
                Stamps::Utc,
                Stamps::Offset,
                Stamps::Local,
                Stamps::Dots,
                Stamps::UnitedStates,
                Stamps::TwoColumns,
                Stamps::Epoch,
            ]),
            quoted: choices.chance(1, 4),
            preamble: choices.chance(1, 4),
            units_row: choices.chance(1, 4),
            order: choices.bits(),
        }
    }
}

/// The header of a role's column, without its unit.
const fn header(role: Role) -> &'static str {
    match role {
        Role::Valve => "FDD",
        Role::HoldingTemperature => "Hold",
        Role::RawPressure => "Raw side",
        Role::PasteurizedPressure => "Past side",
        Role::DifferentialPressure => "Difference",
        Role::RecorderTemperature => "Recorder",
        Role::FlowRate => "Meter",
        Role::RawTemperature => "Raw milk",
        Role::RegeneratedTemperature => "After regenerator",
        Role::HeatingWaterTemperature => "Hot water",
        Role::CooledTemperature => "After cooler",
        Role::CleaningReturnTemperature => "Lye back",
        Role::LeakDetect => "Leak",
        Role::TimingPump => "Pump",
        Role::BoosterPump => "Booster",
        Role::HighFlowAlarm => "High flow",
        Role::LowFlowAlarm => "Low flow",
        Role::HeatingMediumPressure => "Steam side",
        Role::CoolingMediumPressure => "Glycol side",
        Role::ModeSwitch => "Switch",
        Role::Product => "Product",
        Role::Lot => "Lot",
        Role::Mode => "Mode",
        _ => "Unused",
    }
}

/// A column: its role and the symbol of its unit.
type Column = (Role, &'static str);

fn columns(specimen: &Specimen) -> Vec<Column> {
    let layout = specimen.layout;
    let mut columns =
        vec![(Role::Valve, ""), (Role::HoldingTemperature, layout.temperature.symbol())];
    if layout.pair {
        columns.push((Role::RawPressure, layout.pressure.symbol()));
        columns.push((Role::PasteurizedPressure, layout.pressure.symbol()));
    } else {
        columns.push((Role::DifferentialPressure, layout.pressure.symbol()));
    }
    for (there, role) in [
        (layout.recorder, Role::RecorderTemperature),
        (layout.raw_temperature, Role::RawTemperature),
        (layout.regenerated, Role::RegeneratedTemperature),
        (layout.heating_water, Role::HeatingWaterTemperature),
        (layout.cooled, Role::CooledTemperature),
        (layout.cleaning_return, Role::CleaningReturnTemperature),
    ] {
        if there {
            columns.push((role, layout.other_temperatures.symbol()));
        }
    }
    if let Some(unit) = layout.flow {
        columns.push((Role::FlowRate, unit.symbol()));
    }
    if let Some(unit) = layout.equipment {
        columns.push((Role::HeatingMediumPressure, unit.symbol()));
        columns.push((Role::CoolingMediumPressure, unit.symbol()));
    }
    let is_equipped = layout.equipment.is_some();
    for (there, role) in [
        (is_equipped, Role::BoosterPump),
        (is_equipped, Role::HighFlowAlarm),
        (is_equipped, Role::LowFlowAlarm),
        (is_equipped, Role::ModeSwitch),
        (layout.leak, Role::LeakDetect),
        (layout.pump, Role::TimingPump),
        (layout.product, Role::Product),
        (layout.lot, Role::Lot),
        (layout.mode, Role::Mode),
    ] {
        if there {
            columns.push((role, ""));
        }
    }
    columns
}

/// Leaves out of a specimen what a table of rows cannot say.
pub fn limit_to_rows(specimen: &mut Specimen) {
    specimen.lost.clear();
    specimen.doubles.clear();
    specimen.sheet = None;
    specimen.entries.clear();
    // Files that tell the position in less than half of their rows are refused.
    let is_unknown = |row: &&mut Row| row.valve == ValveState::Unknown;
    if specimen.rows.iter_mut().filter(is_unknown).count() * 2 >= specimen.rows.len() {
        specimen.rows.iter_mut().filter(is_unknown).for_each(|row| row.valve = ValveState::Travel);
    }
}

/// Binds the columns in the specimen's plant to the headers that the file will have.
pub fn bind(specimen: &mut Specimen, dialect: Dialect) {
    let two = dialect.stamps == Stamps::TwoColumns;
    specimen.plant.columns.date = two.then(|| "Day".to_owned());
    specimen.plant.columns.time = Some("Time".to_owned());
    specimen.plant.columns.roles = columns(specimen)
        .into_iter()
        .map(|(role, unit)| {
            let unit = (!unit.is_empty()).then(|| unit.to_owned());
            (role, Binding { column: header(role).to_owned(), unit, range: None })
        })
        .collect();
    specimen.plant.form.date_order = match dialect.stamps {
        Stamps::Dots => Some(DateOrder::DayFirst),
        Stamps::UnitedStates => Some(DateOrder::MonthFirst),
        _ => None,
    };
}

fn number(reading: Reading, dialect: Dialect, choices: &mut Choices) -> String {
    match reading {
        Reading::Valid(value) => value.to_string().replace('.', &dialect.mark.to_string()),
        Reading::Invalid(Invalid::Blank) => choices.one_of(&["", " "]).to_owned(),
        Reading::Invalid(Invalid::NotANumber) => {
            choices.one_of(&["BAD", "---", "#N/A", "NaN", "inf", "1:5"]).to_owned()
        }
        Reading::Invalid(Invalid::OutOfRange) => {
            choices.one_of(&["900000", "-900000", "1e999"]).to_owned()
        }
    }
}

fn state(state: Option<bool>, choices: &mut Choices) -> String {
    match state {
        Some(true) => choices.one_of(&["on", "1", " On "]),
        Some(false) => choices.one_of(&["off", "0"]),
        None => choices.one_of(&["", "?"]),
    }
    .to_owned()
}

fn cell(row: &Row, role: Role, dialect: Dialect, choices: &mut Choices) -> String {
    match role {
        Role::Valve => match row.valve {
            ValveState::Forward => choices.one_of(&["FWD", "forward", " Forward "]),
            ValveState::Divert => choices.one_of(&["DIV", "divert"]),
            ValveState::Travel => choices.one_of(&["TRV", "travel"]),
            ValveState::Unknown => choices.one_of(&["", "?", "fault"]),
        }
        .to_owned(),
        Role::HoldingTemperature => number(row.temperature, dialect, choices),
        Role::RawPressure | Role::DifferentialPressure => number(row.pressure, dialect, choices),
        Role::PasteurizedPressure => number(row.pasteurized, dialect, choices),
        Role::RecorderTemperature => number(row.recorder, dialect, choices),
        Role::FlowRate => number(row.flow, dialect, choices),
        Role::RawTemperature => number(row.raw_temperature, dialect, choices),
        Role::RegeneratedTemperature => number(row.regenerated, dialect, choices),
        Role::HeatingWaterTemperature => number(row.heating_water, dialect, choices),
        Role::CooledTemperature => number(row.cooled, dialect, choices),
        Role::CleaningReturnTemperature => number(row.equipment.cleaning_return, dialect, choices),
        Role::LeakDetect => state(row.leak, choices),
        Role::TimingPump => state(row.pump, choices),
        Role::BoosterPump => state(row.equipment.booster, choices),
        Role::HighFlowAlarm => state(row.equipment.alarms[0], choices),
        Role::LowFlowAlarm => state(row.equipment.alarms[1], choices),
        Role::HeatingMediumPressure => number(row.equipment.media[0], dialect, choices),
        Role::CoolingMediumPressure => number(row.equipment.media[1], dialect, choices),
        Role::ModeSwitch => row.equipment.switch.to_owned(),
        Role::Product => row.product.to_owned(),
        Role::Lot => row.lot.to_owned(),
        Role::Mode => row.mode.to_owned(),
        _ => String::new(),
    }
}

fn stamp(specimen: &Specimen, at: i64, stamps: Stamps) -> Vec<String> {
    let zone = specimen.plant.zone;
    let instant = Instant::from_unix_milliseconds(at);
    let local = zone.local(instant);
    let one = |format: &str| local.format(format).to_string();
    match stamps {
        Stamps::Utc => vec![plant::Zone::UTC.rfc3339(instant).replace("+00:00", "Z")],
        Stamps::Offset => vec![zone.rfc3339(instant)],
        Stamps::Local => vec![one("%Y-%m-%d %H:%M:%S%.3f")],
        Stamps::Dots => vec![one("%d.%m.%Y %H:%M:%S%.3f")],
        Stamps::UnitedStates => vec![one("%-m/%-d/%Y %-I:%M:%S%.3f %p")],
        Stamps::TwoColumns => vec![one("%Y-%m-%d"), one("%H:%M:%S%.3f")],
        Stamps::Epoch => vec![at.to_string()],
    }
}

fn line(cells: &[String], dialect: Dialect) -> String {
    let cells: Vec<String> = cells
        .iter()
        .map(|cell| {
            if dialect.quoted || cell.contains([dialect.delimiter, '"']) {
                format!("\"{}\"", cell.replace('"', "\"\""))
            } else {
                cell.clone()
            }
        })
        .collect();
    cells.join(&dialect.delimiter.to_string()) + dialect.newline
}

/// The rows of a specimen with their instants, so that they can be put in another order.
pub fn stamped(specimen: &Specimen) -> Vec<(i64, Row)> {
    let mut at = specimen.start;
    let one = |row: &Row| {
        at += row.step;
        (at, row.clone())
    };
    specimen.rows.iter().map(one).collect()
}

/// A file with these rows, in their order.
pub fn write(specimen: &Specimen, rows: &[(i64, Row)], dialect: Dialect, seed: u64) -> Vec<u8> {
    let choices = &mut Choices::new(seed);
    let mut columns = columns(specimen);
    let stir = &mut Choices::new(dialect.order);
    for index in (1..columns.len()).rev() {
        columns.swap(index, stir.between(0, index as i64) as usize);
    }
    let stamps = dialect.stamps;
    let mut head: Vec<String> = match stamps {
        Stamps::TwoColumns => vec!["Day".to_owned(), "Time".to_owned()],
        _ => vec!["Time".to_owned()],
    };
    let mut units = vec![String::new(); head.len()];
    for (role, unit) in &columns {
        let with_unit = !unit.is_empty() && !dialect.units_row && stir.chance(1, 2);
        let name = header(*role);
        head.push(if with_unit { format!("{name} ({unit})") } else { name.to_owned() });
        units.push((*unit).to_owned());
    }
    let mut text = String::new();
    if dialect.preamble {
        for words in ["Export of a logger (invented)", "", "Unit: HTST made up"] {
            text += words;
            text += dialect.newline;
        }
    }
    text += &line(&head, dialect);
    if dialect.units_row {
        text += &line(&units, dialect);
    }
    for (at, row) in rows {
        let mut cells = stamp(specimen, *at, stamps);
        cells.extend(columns.iter().map(|(role, _)| cell(row, *role, dialect, choices)));
        text += &line(&cells, dialect);
    }
    encode(&text, dialect.encoding)
}

fn encode(text: &str, encoding: Encoding) -> Vec<u8> {
    match encoding {
        Encoding::Utf8 => text.as_bytes().to_vec(),
        Encoding::Utf8Mark => [b"\xef\xbb\xbf", text.as_bytes()].concat(),
        Encoding::Utf16Little => {
            std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect()
        }
        Encoding::Utf16Big => {
            std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect()
        }
        // Of the characters beyond ASCII the files hold ° and ³ only, whose code is the byte.
        Encoding::Windows1252 => text.chars().map(|character| u32::from(character) as u8).collect(),
    }
}
