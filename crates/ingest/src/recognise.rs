//! Names of columns to roles, and the units that names carry.
//!
//! With a plant file the bound names are looked up. Without one the words of a name and its unit
//! are weighed: a name that says more about a role scores higher, and two names that score the
//! same for a role that the audit needs are an error, never a guess.

use crate::cells::trim;
use crate::error::Error;
use crate::input::text;
use crate::time_text::offset;
use plant::{AnyUnit, Plant, StampColumns, TimeUnit};
use std::borrow::Cow;
use std::collections::BTreeMap;
use trace::{DecimalMark, FlowUnit, PressureUnit, Quantity, Role, TemperatureUnit, Unit};

/// Which columns are used, by index.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Columns {
    pub(crate) date: Option<usize>,
    pub(crate) time: usize,
    /// More cells of the stamp, where the plant file names such.
    pub(crate) stamp: Option<Box<MoreOfStamp>>,
    pub(crate) roles: BTreeMap<Role, usize>,
    /// The offset from UTC in minutes that the name of the time column states.
    pub(crate) offset: Option<i16>,
    /// The zone that it names.
    pub(crate) zone: Option<&'static str>,
    /// There is only one position switch, and it takes the place of the `valve` column.
    pub(crate) single_switch: Option<Role>,
    /// Bound columns that this file does not have.
    pub(crate) missing: Vec<(Role, String)>,
    /// Roles that two columns could play equally well, so that none does.
    pub(crate) unclear: Vec<(Role, usize, usize)>,
    /// Whether the columns were recognised by their names.
    pub(crate) by_name: bool,
}

/// Cells of the stamp beside those of date and time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct MoreOfStamp {
    pub(crate) fraction: Option<(usize, TimeUnit)>,
    pub(crate) year_and_day: Option<(usize, usize)>,
    pub(crate) since_start: Option<Since>,
}

/// The time since a start; it stands in the column of the time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Since {
    pub(crate) unit: TimeUnit,
    /// The decimal mark that the plant file states.
    pub(crate) mark: Option<DecimalMark>,
    /// The instant of the start, once it is known.
    pub(crate) start: Option<i64>,
}

impl Columns {
    /// All columns of the stamp, each with its key in a plant file.
    pub(crate) fn of_stamp(&self) -> impl Iterator<Item = (usize, &'static str)> {
        let more = self.stamp.as_deref();
        let time = if more.is_some_and(|more| more.since_start.is_some()) {
            "since_start"
        } else {
            "time"
        };
        let fraction = more.and_then(|more| more.fraction).map(|(column, _)| (column, "fraction"));
        let (year, day) = more.and_then(|more| more.year_and_day).unzip();
        self.date
            .map(|date| (date, "date"))
            .into_iter()
            .chain([(self.time, time)])
            .chain(fraction)
            .chain(year.map(|year| (year, "year")))
            .chain(day.map(|day| (day, "day_of_year")))
    }
}

/// How well a line would do as a header.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Fitness {
    /// How many of the wanted columns it names.
    pub(crate) found: usize,
    /// Whether it names all that can be wanted of it.
    pub(crate) complete: bool,
}

/// How well `names` would do as a header.
pub(crate) fn fitness(names: &[String], plant: &Plant) -> Fitness {
    if plant.columns.is_bound() {
        let bound = plant.columns.roles.values().map(|binding| &binding.column);
        let StampColumns { fraction, year_and_day, since_start } = &plant.columns.stamp;
        let since = since_start.as_ref().map(|since| &since.column);
        let wanted: Vec<&String> = bound
            .chain(&plant.columns.time)
            .chain(&plant.columns.date)
            .chain(since)
            .chain(fraction.as_ref().map(|(column, _)| column))
            .chain(year_and_day.iter().flat_map(|(year, day)| [year, day]))
            .collect();
        let found = wanted.iter().filter(|name| !matching(names, name).is_empty()).count();
        let time = since.or(plant.columns.time.as_ref()).is_some() || time_columns(names).is_some();
        return Fitness { found, complete: time && found == wanted.len() };
    }
    let candidates = candidates(names);
    let has = |role| candidates.contains_key(&role);
    let time = time_columns(names).is_some();
    let complete = time
        && (has(Role::Valve) || has(Role::ValveForward) || has(Role::ValveDivert))
        && has(Role::HoldingTemperature)
        && (has(Role::DifferentialPressure)
            || has(Role::RawPressure) && has(Role::PasteurizedPressure));
    Fitness { found: candidates.len() + usize::from(time), complete }
}

/// So many names of a header, and letters of each, stand in a message.
const MOST_NAMES: usize = 100;
const MOST_LETTERS: usize = 100;

/// A header for messages.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Named<'a> {
    pub(crate) file: &'a str,
    pub(crate) line: u64,
    pub(crate) names: &'a [String],
}

impl Named<'_> {
    fn missing(&self, need: impl Into<String>, remedy: impl Into<String>) -> Error {
        let named = || self.names.iter().filter(|name| !name.is_empty());
        let short = |name: &String| name.chars().take(MOST_LETTERS).collect::<String>();
        let mut seen: Vec<String> =
            named().take(MOST_NAMES).map(|name| format!("{:?}", short(name))).collect();
        let more = named().count() - seen.len();
        if more > 0 {
            seen.push(format!("and {more} more"));
        }
        Error::MissingColumn {
            file: self.file.to_owned(),
            line: self.line,
            need: need.into(),
            seen,
            remedy: remedy.into(),
        }
    }

    /// Two columns for one use: the same name twice, or two names that fit equally well.
    fn two(&self, need: String, first: usize, second: usize) -> Error {
        let name = |column: usize| self.names.get(column).cloned().unwrap_or_default();
        let (file, line) = (self.file.to_owned(), self.line);
        if name(first).to_lowercase() == name(second).to_lowercase() {
            let columns = (first + 1, second + 1);
            return Error::DuplicateColumn { file, line, name: name(first), columns };
        }
        let columns = [(first + 1, name(first)), (second + 1, name(second))];
        Error::AmbiguousColumn { file, line, need, columns }
    }

    pub(crate) fn bound_nowhere(&self, role: Role, column: &str) -> Error {
        self.not_here(format!("the {}", role.name()), role.key(), column)
    }

    /// The plant file binds a name that the header does not have.
    fn not_here(&self, need: impl Into<String>, key: &str, column: &str) -> Error {
        let nearest = nearest(self.names, column);
        let nearest = nearest.map(|name| format!("; the nearest name is {name:?}"));
        self.missing(
            need,
            format!(
                "the plant file binds columns.{key} to {column:?}; correct the name there or in the \
                 logger's export{}",
                nearest.unwrap_or_default()
            ),
        )
    }
}

/// Finds the columns of a header.
pub(crate) fn columns(header: Named<'_>, plant: &Plant) -> Result<Columns, Error> {
    let mut columns =
        if plant.columns.is_bound() { bound(header, plant)? } else { by_name(header)? };
    one_role_each(header, &columns)?;
    let has = |columns: &Columns, role| columns.roles.contains_key(&role);
    if has(&columns, Role::RawPressure) && has(&columns, Role::PasteurizedPressure) {
        columns.roles.remove(&Role::DifferentialPressure);
    } else if has(&columns, Role::DifferentialPressure) {
        columns.roles.remove(&Role::RawPressure);
        columns.roles.remove(&Role::PasteurizedPressure);
    }
    if has(&columns, Role::Valve) {
        columns.roles.remove(&Role::ValveForward);
        columns.roles.remove(&Role::ValveDivert);
    }
    Ok(columns)
}

/// A column that plays two roles would vouch for itself.
fn one_role_each(header: Named<'_>, columns: &Columns) -> Result<(), Error> {
    let role = |role: &Role| format!("{} (columns.{})", role.name(), role.key());
    let mut taken: BTreeMap<usize, String> = BTreeMap::new();
    let time = columns.of_stamp().map(|(column, key)| {
        let name = key.replace('_', " ");
        (column, format!("{name} (columns.{key})"))
    });
    for (column, need) in time.chain(columns.roles.iter().map(|(key, &column)| (column, role(key))))
    {
        if let Some(before) = taken.insert(column, need.clone()) {
            return Err(Error::TwoRoles {
                file: header.file.to_owned(),
                line: header.line,
                column: column + 1,
                name: header.names.get(column).cloned().unwrap_or_default(),
                roles: Box::new([before, need]),
            });
        }
    }
    Ok(())
}

/// Whether a text is the one that `lower` writes in lower case. All columns are looked at for each
/// name that is wanted, and most need no copy for that.
pub(crate) fn is_same(text: &str, lower: &str) -> bool {
    if text.is_ascii() { text.eq_ignore_ascii_case(lower) } else { text.to_lowercase() == lower }
}

/// The columns that match a bound name: the whole text, or the text without its unit.
fn matching(names: &[String], wanted: &str) -> Vec<usize> {
    let wanted = wanted.trim().to_lowercase();
    let positions = |holds: &dyn Fn(&str) -> bool| -> Vec<usize> {
        (0..names.len())
            .filter(|&column| names.get(column).is_some_and(|name| holds(name)))
            .collect()
    };
    let whole = positions(&|name| is_same(name.trim(), &wanted));
    if whole.is_empty() {
        positions(&|name| unit_in_name(name).is_some_and(|hint| is_same(&hint.rest, &wanted)))
    } else {
        whole
    }
}

fn bound(header: Named<'_>, plant: &Plant) -> Result<Columns, Error> {
    let names = header.names;
    let find = |wanted: &str, need: &dyn Fn() -> String| -> Result<Option<usize>, Error> {
        match matching(names, wanted).as_slice() {
            [] => Ok(None),
            [column] => Ok(Some(*column)),
            [first, second, ..] => Err(header.two(need(), *first, *second)),
        }
    };
    let required = |wanted: &str, key: &str, what: &str| {
        find(wanted, &|| format!("{what} (columns.{key})"))?
            .ok_or_else(|| header.not_here(what, key, wanted))
    };
    let date = match &plant.columns.date {
        Some(date) => Some(required(date, "date", "date")?),
        None => None,
    };
    let StampColumns { fraction, year_and_day, since_start } = &plant.columns.stamp;
    let (date, time) = match (&plant.columns.time, since_start) {
        (_, Some(since)) => {
            (None, required(&since.column, "since_start", "the time since the start")?)
        }
        (Some(time), None) => (date, required(time, "time", "time")?),
        (None, None) => {
            let (found, time) = time_or_error(header)?;
            (date.or(found), time)
        }
    };
    let offset = offset_of(header, time)?;
    let zone = names.get(time).and_then(|name| zone_in_name(name)).map(|(zone, _)| zone);
    let more = MoreOfStamp {
        fraction: match fraction {
            Some((column, unit)) => {
                Some((required(column, "fraction", "the fraction of the second")?, *unit))
            }
            None => None,
        },
        year_and_day: match year_and_day {
            Some((year, day)) => Some((
                required(year, "year", "the year")?,
                required(day, "day_of_year", "the day of the year")?,
            )),
            None => None,
        },
        since_start: since_start.as_ref().map(|since| Since {
            unit: since.unit,
            mark: plant.form.decimal_mark,
            start: None,
        }),
    };
    let stamp = (more != MoreOfStamp::default()).then(|| Box::new(more));
    let mut columns = Columns { date, time, stamp, offset, zone, ..Columns::default() };
    for (&role, binding) in &plant.columns.roles {
        let need = || format!("{} (columns.{})", role.name(), role.key());
        match find(&binding.column, &need)? {
            Some(column) => {
                columns.roles.insert(role, column);
            }
            None => columns.missing.push((role, binding.column.clone())),
        }
    }
    let switches = [Role::ValveForward, Role::ValveDivert];
    let binds = |role: &Role| plant.columns.roles.contains_key(role);
    if !binds(&Role::Valve)
        && let [only] = switches.into_iter().filter(binds).collect::<Vec<_>>().as_slice()
        && let Some(column) = columns.roles.remove(only)
    {
        columns.single_switch = Some(*only);
        columns.roles.insert(Role::Valve, column);
    }
    let lacks = |role: Role| -> Option<Error> {
        // What no column is bound to may stand in the files of another logger.
        if columns.roles.contains_key(&role) || plant.columns.are_part && !binds(&role) {
            return None;
        }
        Some(match plant.columns.roles.get(&role) {
            Some(binding) => header.bound_nowhere(role, &binding.column),
            None => header.missing(
                format!("the {}", role.name()),
                format!("bind it in the plant file under [columns] as {}", role.key()),
            ),
        })
    };
    let valve = match lacks(Role::Valve) {
        None => None,
        Some(error) if binds(&Role::Valve) || !switches.iter().any(binds) => Some(error),
        Some(_) => switches.into_iter().filter(binds).find_map(lacks),
    };
    let pair = [Role::RawPressure, Role::PasteurizedPressure];
    let pressure = if columns.roles.contains_key(&Role::DifferentialPressure)
        || pair.iter().all(|role| columns.roles.contains_key(role))
    {
        None
    } else if pair.iter().any(|role| plant.columns.roles.contains_key(role)) {
        pair.into_iter().find_map(lacks)
    } else {
        lacks(Role::DifferentialPressure)
    };
    match valve.or_else(|| lacks(Role::HoldingTemperature)).or(pressure) {
        Some(error) => Err(error),
        None => Ok(columns),
    }
}

fn by_name(header: Named<'_>) -> Result<Columns, Error> {
    let (date, time) = time_or_error(header)?;
    let mut columns = Columns {
        date,
        time,
        offset: offset_of(header, time)?,
        zone: header.names.get(time).and_then(|name| zone_in_name(name)).map(|(zone, _)| zone),
        by_name: true,
        ..Columns::default()
    };
    let mut candidates = candidates(header.names);
    // A position switch alone says where the device is only by its name; a valve column says more.
    if !candidates.contains_key(&Role::Valve) {
        let forward = candidates.contains_key(&Role::ValveForward);
        let divert = candidates.contains_key(&Role::ValveDivert);
        columns.single_switch = match (forward, divert) {
            (true, false) => Some(Role::ValveForward),
            (false, true) => Some(Role::ValveDivert),
            _ => None,
        };
        if let Some(only) = columns.single_switch
            && let Some(found) = candidates.remove(&only)
        {
            candidates.insert(Role::Valve, found);
        }
    }
    let pair = candidates.contains_key(&Role::RawPressure)
        && candidates.contains_key(&Role::PasteurizedPressure);
    let valve_alone = candidates.contains_key(&Role::Valve);
    for (role, found) in candidates {
        let needed = match role {
            Role::HoldingTemperature | Role::Valve => true,
            Role::ValveForward | Role::ValveDivert => !valve_alone,
            Role::RawPressure | Role::PasteurizedPressure => pair,
            Role::DifferentialPressure => !pair,
            _ => false,
        };
        match found.as_slice() {
            [] => {}
            [column] => {
                columns.roles.insert(role, *column);
            }
            [first, second, ..] if needed => {
                let need = format!("{} (columns.{})", role.name(), role.key());
                return Err(header.two(need, *first, *second));
            }
            [first, second, ..] => columns.unclear.push((role, *first, *second)),
        }
    }
    let has = |role| columns.roles.contains_key(&role);
    let remedy = |example: &str, key: &str| {
        format!(
            "name it so that it can be recognised, such as {example:?}, or bind it in a plant file \
             under [columns] as {key}"
        )
    };
    if !(has(Role::Valve) || has(Role::ValveForward) && has(Role::ValveDivert)) {
        return Err(header.missing(
            "the position of the flow diversion device",
            remedy("FDV position", "valve"),
        ));
    }
    if !has(Role::HoldingTemperature) {
        return Err(header.missing(
            "the holding temperature",
            remedy("Holding temperature (°F)", "holding_temperature"),
        ));
    }
    if !(has(Role::DifferentialPressure)
        || has(Role::RawPressure) && has(Role::PasteurizedPressure))
    {
        return Err(header.missing(
            "the regenerator's raw and pasteurized pressure or their difference",
            remedy("Raw pressure (psi)", "raw_pressure and pasteurized_pressure"),
        ));
    }
    Ok(columns)
}

fn time_or_error(header: Named<'_>) -> Result<(Option<usize>, usize), Error> {
    match time_columns(header.names) {
        Some(TimeColumns::Found { date, time }) => Ok((date, time)),
        Some(TimeColumns::Two(first, second)) => {
            Err(header.two("time (columns.time)".to_owned(), first, second))
        }
        None => Err(header.missing(
            "the time",
            "name it \"Time\" or \"Date\" and \"Time\", or bind it in a plant file under [columns] \
             as time",
        )),
    }
}

/// The places of date and time in a header: as the plant file names them, or by their names.
pub(crate) fn time_places(names: &[String], plant: &Plant) -> Option<(Option<usize>, usize)> {
    let bound = |name: &Option<String>| match name {
        Some(name) => matching(names, name).first().copied().map(Some),
        None => Some(None),
    };
    let date = bound(&plant.columns.date)?;
    match bound(&plant.columns.time)? {
        Some(time) => Some((date, time)),
        None => match time_columns(names)? {
            TimeColumns::Found { date: found, time } => Some((date.or(found), time)),
            TimeColumns::Two(..) => None,
        },
    }
}

enum TimeColumns {
    Found { date: Option<usize>, time: usize },
    Two(usize, usize),
}

fn offset_of(header: Named<'_>, time: usize) -> Result<Option<i16>, Error> {
    let name = header.names.get(time).map_or("", String::as_str);
    stated_offset(name).map_or(Ok(None), |stated| {
        stated.offset.map(Some).ok_or_else(|| Error::HeaderOffset {
            file: header.file.to_owned(),
            line: header.line,
            name: name.to_owned(),
        })
    })
}

/// `Time (CST)`: the zone, and the name without it.
fn zone_in_name(name: &str) -> Option<(&'static str, String)> {
    const ZONES: [&str; 36] = [
        "ACDT", "ACST", "ADT", "AEDT", "AEST", "AKDT", "AKST", "AST", "AWST", "BST", "CDT", "CEST",
        "CET", "CST", "EDT", "EEST", "EET", "EST", "HST", "IST", "JST", "MDT", "MESZ", "MEZ",
        "MSK", "MST", "NDT", "NST", "NZDT", "NZST", "PDT", "PST", "SAST", "WEST", "WET", "WIB",
    ];
    ZONES.into_iter().find_map(|zone| {
        let rest = name.trim_end().strip_suffix([')', ']'])?.strip_suffix(zone)?;
        Some((zone, rest.strip_suffix(['(', '['])?.to_owned()))
    })
}

/// The offset from UTC that a name states.
struct StatedOffset {
    /// In minutes; `None` where it can't be read.
    offset: Option<i16>,
    /// The name without it.
    rest: String,
}

/// `Time (GMT-04:00)`, `Time UTC-6`, `utc_time`, `Time (+01:00)`.
fn stated_offset(name: &str) -> Option<StatedOffset> {
    let lower = name.to_ascii_lowercase();
    let starts_word = |at: usize| {
        let before = name[..at].chars().next_back();
        before.is_none_or(|before| {
            !before.is_alphabetic()
                || before.is_lowercase() && name[at..].starts_with(char::is_uppercase)
        })
    };
    let word = ["utc", "gmt", "zulu"].into_iter().find_map(|word| {
        let at = lower.find(word).filter(|&at| starts_word(at))?;
        let behind = &name[at + word.len()..];
        (!behind.starts_with(char::is_alphabetic)).then_some((at, at + word.len()))
    });
    let (start, behind) = match word {
        Some(found) => found,
        // Without a word, a sign in brackets.
        None => {
            let at = name.find(['(', '['])?;
            let inside = &name[at + 1..];
            (at, inside.starts_with(['+', '-', '\u{2212}']).then_some(at + 1)?)
        }
    };
    let figures = name[behind..].trim_start();
    let figures = if figures.starts_with(['+', '-', '\u{2212}']) { figures } else { "" };
    let end = figures
        .char_indices()
        .skip(1)
        .find(|(_, character)| !character.is_ascii_digit() && *character != ':')
        .map_or(figures.len(), |(at, _)| at);
    let figures = &figures[..end];
    let offset = offset(format!("UTC{figures}").as_bytes());
    let end = if figures.is_empty() { behind } else { name.find(figures)? + figures.len() };
    Some(StatedOffset { offset, rest: format!("{} {}", &name[..start], &name[end..]) })
}

/// The columns for date and time.
fn time_columns(names: &[String]) -> Option<TimeColumns> {
    const OTHERS: &[&str] = &[
        "local",
        "iso",
        "8601",
        "log",
        "logged",
        "logger",
        "recorded",
        "recording",
        "sample",
        "sampled",
        "epoch",
        "unix",
        "ms",
        "s",
        "sec",
        "seconds",
        "milliseconds",
        "of",
        "day",
        "and",
        "clock",
        "plant",
        "record",
        "tz",
    ];
    let mut whole = Vec::new();
    let mut dates = Vec::new();
    let mut times = Vec::new();
    for (column, name) in names.iter().enumerate() {
        let rest = stated_offset(name).map(|stated| stated.rest);
        let rest = rest.or_else(|| zone_in_name(name).map(|(_, rest)| rest));
        let words = words(rest.as_deref().unwrap_or(name));
        let has = |wanted: &[&str]| words.iter().any(|word| wanted.contains(&word.as_str()));
        let stamp = has(&["timestamp", "datetime", "stamp", "ts", "epoch", "unix"]);
        let (date, time) = (has(&["date"]), has(&["time"]));
        let other = words.iter().any(|word| {
            !matches!(word.as_str(), "timestamp" | "datetime" | "stamp" | "ts" | "date" | "time")
                && !OTHERS.contains(&word.as_str())
        });
        if other {
            continue;
        }
        match (stamp || (date && time), date, time) {
            (true, ..) => whole.push(column),
            (false, true, false) => dates.push(column),
            (false, false, true) => times.push(column),
            _ => {}
        }
    }
    let found = |date, time| Some(TimeColumns::Found { date, time });
    match (whole.as_slice(), dates.as_slice(), times.as_slice()) {
        ([first, second, ..], ..) => Some(TimeColumns::Two(*first, *second)),
        ([], _, [first, second, ..]) | ([], [first, second, ..], _) => {
            Some(TimeColumns::Two(*first, *second))
        }
        ([], [date], [time]) => found(Some(*date), *time),
        ([time], ..) | ([], [], [time]) | ([], [time], []) => found(None, *time),
        ([], [], []) => None,
    }
}

/// The columns of a header that has one reading a row: one names the channel, one holds the reading.
pub(crate) fn long_form(names: &[String]) -> Option<(String, String)> {
    const CHANNEL: &[&str] = &[
        "tag",
        "tagname",
        "point",
        "variable",
        "signal",
        "parameter",
        "channel",
        "sensor",
        "item",
    ];
    const READING: &[&str] = &["value", "val", "reading", "wert", "valeur", "valor", "valore"];
    const BESIDE: &[&str] =
        &["name", "id", "no", "number", "code", "process", "measured", "actual", "numeric"];
    let find = |wanted: &[&str]| {
        let fits = |name: &&String| {
            let words = words(name);
            words.iter().any(|word| wanted.contains(&word.as_str()))
                && words
                    .iter()
                    .all(|word| wanted.contains(&word.as_str()) || BESIDE.contains(&word.as_str()))
        };
        names.iter().find(fits).cloned()
    };
    find(CHANNEL).zip(find(READING))
}

/// The column of a header in the long form that tells the quality of each reading.
pub(crate) fn quality(names: &[String]) -> Option<String> {
    const QUALITY: [&str; 7] =
        ["quality", "qualit\u{e4}t", "qualit\u{e9}", "calidad", "qualit\u{e0}", "status", "opc"];
    let is_one = |name: &&String| words(name).iter().any(|word| QUALITY.contains(&word.as_str()));
    names.iter().find(is_one).cloned()
}

/// For each role the columns that score best for it; more than one when they score the same.
fn candidates(names: &[String]) -> BTreeMap<Role, Vec<usize>> {
    let mut best: BTreeMap<Role, (u8, Vec<usize>)> = BTreeMap::new();
    for (column, name) in names.iter().enumerate() {
        let Some((role, score)) = role_of(name) else { continue };
        let entry = best.entry(role).or_default();
        if score > entry.0 {
            *entry = (score, vec![column]);
        } else if score == entry.0 {
            entry.1.push(column);
        }
    }
    best.into_iter().map(|(role, (_, columns))| (role, columns)).collect()
}

/// The column whose name has most words in common with another one.
fn nearest<'a>(names: &'a [String], wanted: &str) -> Option<&'a str> {
    let wanted = words(wanted);
    let common = |name: &&String| words(name).iter().filter(|word| wanted.contains(word)).count();
    names.iter().rev().max_by_key(common).filter(|name| common(name) > 0).map(String::as_str)
}

/// The words of a name, in lower case; `HoldTemp_2` is hold, temp, 2.
fn words(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut before = ' ';
    for character in name.chars() {
        // dP is one word.
        let difference = before == 'd' && character == 'P';
        let starts = (before.is_lowercase() && character.is_uppercase() && !difference)
            || (before.is_alphabetic() && character.is_ascii_digit())
            || (before.is_ascii_digit() && character.is_alphabetic());
        if !character.is_alphanumeric() || starts {
            words.push(String::new());
        }
        if character.is_alphanumeric()
            && let Some(word) = words.last_mut()
        {
            word.extend(character.to_lowercase());
        }
        before = character;
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The word of a name that says that the column holds averages.
pub(crate) fn average_word(name: &str) -> Option<String> {
    const WORDS: [&str; 7] = ["avg", "ave", "aver", "average", "averages", "averaged", "mean"];
    words(name).into_iter().find(|word| WORDS.contains(&word.as_str()))
}

/// The role that a name suggests and how much it says about it, from 1 to 3.
pub(crate) fn role_of(name: &str) -> Option<(Role, u8)> {
    let hint = unit_in_name(name);
    let rest = hint.as_ref().map_or(name, |hint| hint.rest.as_str());
    let words = words(rest);
    let has = |wanted: &[&str]| words.iter().any(|word| wanted.contains(&word.as_str()));
    let only = |wanted: &[&str]| words.iter().all(|word| wanted.contains(&word.as_str()));
    let quantity = match hint.as_ref().map(|hint| hint.unit) {
        Some(AnyUnit::Temperature(_)) => Some(Quantity::Temperature),
        Some(AnyUnit::Pressure(_)) => Some(Quantity::Pressure),
        Some(AnyUnit::Flow(_)) => Some(Quantity::Flow),
        None => None,
    };
    let says_temperature = has(&["temp", "temperature", "tmp", "thermometer", "t"]);
    let says_pressure = has(&["pressure", "press", "pres", "p", "dp", "dpt"]);
    let contradicts = match quantity {
        Some(Quantity::Temperature) => says_pressure,
        Some(Quantity::Pressure | Quantity::Flow) => says_temperature,
        _ => says_temperature && says_pressure,
    };
    // Not the reading itself, but something about it.
    let about = has(&[
        "setpoint",
        "sp",
        "set",
        "target",
        "alarm",
        "alm",
        "avg",
        "average",
        "mean",
        "min",
        "max",
        "minimum",
        "maximum",
        "deviation",
        "output",
        "percent",
        "pct",
        "quality",
        "error",
        "total",
        "totalizer",
        "totaliser",
        "count",
        "counter",
        "command",
        "cmd",
        "request",
        "duration",
    ]);
    if contradicts || about {
        return None;
    }
    match quantity {
        None if !says_temperature && !says_pressure => {
            if let Some(found) = state_or_text(&words) {
                return Some(found);
            }
        }
        _ => {}
    }
    let inlet = has(&["in", "inlet", "entering", "entrance"]);
    let pasteurized = has(&["past", "pasteurized", "pasteurised"]);
    if quantity == Some(Quantity::Temperature) || (quantity.is_none() && says_temperature) {
        if has(&["hot", "heating", "heater", "hotwater"]) {
            let water = has(&["water", "medium", "hotwater"]);
            return water.then_some((Role::HeatingWaterTemperature, 3));
        }
        if has(&["cip"]) && has(&["return", "returning"]) {
            return Some((Role::CleaningReturnTemperature, 3));
        }
        if has(&["water", "glycol", "steam", "cip", "ambient", "limit"]) {
            return None;
        }
        if has(&["recorder", "recording", "record", "stlr"]) {
            return Some((Role::RecorderTemperature, 3));
        }
        if has(&["regen", "regenerator", "regenerated", "regeneration", "preheat", "preheated"]) {
            return match (pasteurized, inlet) {
                (true, _) => None,
                (false, true) => Some((Role::RawTemperature, 2)),
                (false, false) => Some((Role::RegeneratedTemperature, 3)),
            };
        }
        if has(&["hold", "holding", "indicating", "ht"]) {
            return (!inlet).then_some((Role::HoldingTemperature, 3));
        }
        if has(&["pasteurization", "pasteurisation", "pasteurizing", "pasteurising"]) {
            return (!inlet).then_some((Role::HoldingTemperature, 2));
        }
        if has(&["cooled", "cooler", "chilled", "finished"]) {
            return (!inlet).then_some((Role::CooledTemperature, 3));
        }
        return (has(&["raw"]) && !pasteurized).then_some((Role::RawTemperature, 3));
    }
    if has(&["water", "steam", "air", "cip", "glycol", "homogenizer", "homogeniser", "limit"]) {
        return None;
    }
    let difference = has(&["diff", "differential", "difference", "delta", "dp", "dpt", "δp", "δ"]);
    let flow = has(&["flow", "flowrate"]);
    match quantity {
        Some(Quantity::Flow) => Some((Role::FlowRate, if flow { 3 } else { 2 })),
        Some(Quantity::Pressure) | None if difference => Some((Role::DifferentialPressure, 3)),
        None if !says_pressure => (flow
            && only(&["flow", "flowrate", "rate", "meter", "product", "milk", "raw"]))
        .then_some((Role::FlowRate, 2)),
        _ => match (has(&["raw"]), pasteurized) {
            (true, false) => Some((Role::RawPressure, 3)),
            (false, true) => Some((Role::PasteurizedPressure, 3)),
            _ => None,
        },
    }
}

/// Roles whose columns have no unit.
fn state_or_text(words: &[String]) -> Option<(Role, u8)> {
    let has = |wanted: &[&str]| words.iter().any(|word| wanted.contains(&word.as_str()));
    let only = |wanted: &[&str]| words.iter().all(|word| wanted.contains(&word.as_str()));
    if has(&["leak", "leakage"]) {
        return Some((Role::LeakDetect, 3));
    }
    let about_pump =
        ["timing", "metering", "pump", "running", "run", "state", "status", "on", "motor", "no"];
    if has(&["pump"]) && has(&["timing", "metering"]) && only(&about_pump) {
        return Some((Role::TimingPump, 3));
    }
    let forward = has(&["forward", "fwd"]);
    let divert = has(&["divert", "diverted", "div"]);
    let device = has(&["fdv", "fdd", "diversion"]);
    let divert_valve = words.windows(2).any(|pair| {
        matches!(pair[0].as_str(), "divert" | "diverted")
            && matches!(pair[1].as_str(), "valve" | "device")
    });
    match (forward, divert) {
        (true, true) => return Some((Role::Valve, 3)),
        (true, false) => return Some((Role::ValveForward, 3)),
        (false, true) if divert_valve => return Some((Role::Valve, 3)),
        (false, true) => return Some((Role::ValveDivert, 3)),
        (false, false) => {}
    }
    if device {
        return Some((Role::Valve, 3));
    }
    if has(&["valve"]) && only(&["valve", "position", "pos", "state", "status", "flow", "word"]) {
        return Some((Role::Valve, 2));
    }
    if has(&["product", "recipe"]) && only(&["product", "recipe", "name", "code", "id", "type"]) {
        return Some((Role::Product, if has(&["product"]) { 3 } else { 2 }));
    }
    if has(&["lot", "batch"]) && only(&["lot", "batch", "no", "nr", "number", "id", "code"]) {
        return Some((Role::Lot, if has(&["lot"]) { 3 } else { 2 }));
    }
    let about_mode =
        ["mode", "operating", "operation", "run", "unit", "process", "system", "plant"];
    (has(&["mode"]) && only(&about_mode)).then_some((Role::Mode, 3))
}

/// A unit in a name, and the name without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct UnitInName {
    pub(crate) unit: AnyUnit,
    /// It stands in brackets.
    pub(crate) bracketed: bool,
    pub(crate) rest: String,
}

/// The unit of `role` that a word of the units row or of a plant file names.
pub(crate) fn unit_word(role: Role, word: &str) -> Option<AnyUnit> {
    AnyUnit::from_word(role, word).or_else(|| {
        // A degree sign that went through a wrong encoding.
        let ascii: String =
            word.chars().filter(|&character| character.is_ascii() && character != '?').collect();
        let damaged = ascii.len() < word.len() && ascii.chars().any(char::is_alphabetic);
        let temperature = role.quantity() == Quantity::Temperature;
        (damaged && temperature).then(|| AnyUnit::from_word(role, &ascii)).flatten()
    })
}

/// A cell that holds a number and its unit, such as `163.4 F`: both apart.
pub(crate) fn number_and_unit(cell: &[u8]) -> Option<(&[u8], String)> {
    let cell = trim(cell);
    let text = text(cell);
    let at = match text.find(char::is_whitespace) {
        Some(at) => at,
        None => text.rfind(|one: char| one.is_ascii_digit())? + 1,
    };
    let (number, word) = text.split_at(at);
    let word = word.trim();
    if word.is_empty() || !number.ends_with(|one: char| one.is_ascii_digit()) {
        return None;
    }
    let bytes = match text {
        Cow::Borrowed(_) => at,
        // Windows-1252 has a byte for each letter.
        Cow::Owned(_) => number.chars().count(),
    };
    Some((cell.get(..bytes)?, word.to_owned()))
}

/// The unit of whatever quantity that a word names.
pub(crate) fn any_unit(word: &str) -> Option<AnyUnit> {
    TemperatureUnit::from_word(word)
        .map(AnyUnit::Temperature)
        .or_else(|| PressureUnit::from_word(word).map(AnyUnit::Pressure))
        .or_else(|| FlowUnit::from_word(word).map(AnyUnit::Flow))
        .or_else(|| unit_word(Role::HoldingTemperature, word))
}

/// No unit at the end of a name takes more bytes.
const LONGEST_UNIT: usize = 64;

/// `Hold Temp (°F)`, `flow [L/h]`, `hold_temp_degf`, `Flow gal/min`.
pub(crate) fn unit_in_name(name: &str) -> Option<UnitInName> {
    let name = name.trim();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let Some(start) = name.rfind(open)
            && let Some(length) = name[start..].find(close)
            && let Some(unit) = any_unit(&name[start + 1..start + length])
        {
            let rest = format!("{} {}", name[..start].trim(), name[start + length + 1..].trim());
            return Some(UnitInName { unit, bracketed: true, rest: rest.trim().to_owned() });
        }
    }
    // The longest ending that is a unit, cut where a word begins. Units are short: in a name as long
    // as a page not every ending is looked at.
    let mut from = name.len().saturating_sub(LONGEST_UNIT);
    while !name.is_char_boundary(from) {
        from += 1;
    }
    let mut before = name[..from].chars().next_back();
    for (at, character) in name[from..].char_indices() {
        let at = from + at;
        let starts = before.is_some_and(|before| {
            (!before.is_alphanumeric() && before != '°')
                || (before.is_lowercase() && character.is_uppercase())
        });
        before = Some(character);
        if !starts {
            continue;
        }
        let ending = &name[at..];
        let unit = any_unit(ending)
            .or_else(|| any_unit(&ending.replace(['_', ' '], "/")))
            .or_else(|| any_unit(&ending.replace(['_', ' '], "")));
        let Some(unit) = unit else { continue };
        let rest = name[..at].trim_end_matches(|character: char| !character.is_alphanumeric());
        if !rest.is_empty() {
            return Some(UnitInName { unit, bracketed: false, rest: rest.to_owned() });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(header: &str) -> Vec<String> {
        header.split(',').map(|name| name.trim().to_owned()).collect()
    }

    #[test]
    fn names_suggest_roles() {
        for (name, role) in [
            ("FDV position", Some(Role::Valve)),
            ("FDD", Some(Role::Valve)),
            ("valve", Some(Role::Valve)),
            ("Flow diversion valve state", Some(Role::Valve)),
            ("Divert valve", Some(Role::Valve)),
            ("Forward/Divert", Some(Role::Valve)),
            ("FDV forward", Some(Role::ValveForward)),
            ("valve_forward", Some(Role::ValveForward)),
            ("FDV Divert LS", Some(Role::ValveDivert)),
            ("valve_divert", Some(Role::ValveDivert)),
            ("Steam valve", None),
            ("Steam valve (%)", None),
            ("Hold Temp (°F)", Some(Role::HoldingTemperature)),
            ("HoldTempF", Some(Role::HoldingTemperature)),
            ("hold_temp_degf", Some(Role::HoldingTemperature)),
            ("holding_temperature_c", Some(Role::HoldingTemperature)),
            ("Holding tube outlet temperature [degC]", Some(Role::HoldingTemperature)),
            ("Indicating thermometer", Some(Role::HoldingTemperature)),
            ("Hold temp setpoint (°F)", None),
            ("Holding tube inlet temp", None),
            ("Hold time (s)", None),
            ("Recorder Temp (°F)", Some(Role::RecorderTemperature)),
            ("STLR temp", Some(Role::RecorderTemperature)),
            ("Raw Pressure (psi)", Some(Role::RawPressure)),
            ("raw_psi", Some(Role::RawPressure)),
            ("Raw side [kPa]", Some(Role::RawPressure)),
            ("Past. press. psi", Some(Role::PasteurizedPressure)),
            ("pasteurized_pressure", Some(Role::PasteurizedPressure)),
            ("Regen diff pressure (psi)", Some(Role::DifferentialPressure)),
            ("dP", Some(Role::DifferentialPressure)),
            ("dp_kpa", Some(Role::DifferentialPressure)),
            ("differential_pressure", Some(Role::DifferentialPressure)),
            ("Flow (L/h)", Some(Role::FlowRate)),
            ("flow_gpm", Some(Role::FlowRate)),
            ("Flow gal/min", Some(Role::FlowRate)),
            ("flow_l_h", Some(Role::FlowRate)),
            ("flow_rate", Some(Role::FlowRate)),
            ("Raw milk temp °C", Some(Role::RawTemperature)),
            ("raw_temperature", Some(Role::RawTemperature)),
            ("regenerated_temperature", Some(Role::RegeneratedTemperature)),
            ("Raw regen outlet temp", Some(Role::RegeneratedTemperature)),
            ("Hot water temp", Some(Role::HeatingWaterTemperature)),
            ("heating_water_temperature", Some(Role::HeatingWaterTemperature)),
            ("Cooling water temp", None),
            ("cooled_temperature", Some(Role::CooledTemperature)),
            ("CIP return temp (°F)", Some(Role::CleaningReturnTemperature)),
            ("CIP supply temp (°F)", None),
            ("CIP return pressure (psi)", None),
            ("CIP return", None),
            ("Return temp (°F)", None),
            ("Cooler outlet (°F)", Some(Role::CooledTemperature)),
            ("leak_detect", Some(Role::LeakDetect)),
            ("Leak detect valve", Some(Role::LeakDetect)),
            ("timing_pump", Some(Role::TimingPump)),
            ("Metering pump running", Some(Role::TimingPump)),
            ("Timing Pump Status", Some(Role::TimingPump)),
            ("Timing pump speed", None),
            ("Timing pump pressure (psi)", None),
            ("Booster pump", None),
            ("product", Some(Role::Product)),
            ("Product temp", None),
            ("Lot No.", Some(Role::Lot)),
            ("Batch", Some(Role::Lot)),
            ("Mode", Some(Role::Mode)),
            ("Operator", None),
        ] {
            assert_eq!(role_of(name).map(|(role, _)| role), role, "{name}");
        }
    }

    #[test]
    fn the_nearest_name_shares_a_word() {
        let names = ["Time", "Hold Temp A", "Raw"].map(ToOwned::to_owned);
        assert_eq!(nearest(&names, "HoldTemp"), Some("Hold Temp A"));
        assert_eq!(nearest(&names, "raw (psi)"), Some("Raw"));
        assert_eq!(nearest(&names, "Spare"), None);
    }

    #[test]
    fn units_in_names() {
        for (name, symbol, rest) in [
            ("Hold Temp (°F)", "°F", "Hold Temp"),
            ("[psi]", "psi", ""),
            ("Hold Temp (\u{fffd}F)", "°F", "Hold Temp"),
            ("Hold Temp (Â°C)", "°C", "Hold Temp"),
            ("hold_temp_degf", "°F", "hold_temp"),
            ("hold_temp_deg_f", "°F", "hold_temp"),
            ("Flow m³/h", "m³/h", "Flow"),
            ("flow_m3_h", "m³/h", "flow"),
            ("Pressure, kPa", "kPa", "Pressure"),
            ("Temp °C", "°C", "Temp"),
            ("TempC", "°C", "Temp"),
        ] {
            let hint = unit_in_name(name);
            let shown = hint.as_ref().map(|hint| (hint.unit.symbol(), hint.rest.as_str()));
            assert_eq!(shown, Some((symbol, rest)), "{name}");
        }
        let long = format!("{} (old) psi", "pressure ".repeat(20_000));
        assert_eq!(unit_in_name(&long).map(|hint| hint.unit.symbol()), Some("psi"));
        for name in ["Valve", "psi", "C", "Hold Temp (1)", "Hold Temp (", "", "°", "T°"] {
            assert_eq!(unit_in_name(name), None, "{name}");
        }
    }

    #[test]
    fn averages_are_known_by_whole_words() {
        for (name, word) in [
            ("Hold Temp Avg (°F)", Some("avg")),
            ("HoldTempAVG", Some("avg")),
            ("mean_flow", Some("mean")),
            ("1 min average", Some("average")),
            ("Hold Temp (°F)", None),
            ("Raw meaning", None),
            ("Average-1", Some("average")),
            ("Avenue 5", None),
        ] {
            assert_eq!(average_word(name).as_deref(), word, "{name}");
        }
    }

    fn by_names(header: &str) -> Result<Columns, String> {
        let names = names(header);
        let header = Named { file: "f.csv", line: 3, names: &names };
        columns(header, &Plant::assumed()).map_err(|error| error.to_string())
    }

    #[test]
    fn a_full_set_is_recognised() {
        let found = by_names(
            "Date, Time, FDV, Hold Temp (°F), Raw psi, Past psi, Regen dP (psi), Flow (gpm), Note",
        );
        let Ok(found) = found else { panic!("{found:?}") };
        assert_eq!((found.date, found.time), (Some(0), 1));
        let roles: Vec<_> =
            found.roles.iter().map(|(role, column)| (role.key(), *column)).collect();
        assert_eq!(
            roles,
            [
                ("valve", 2),
                ("holding_temperature", 3),
                ("raw_pressure", 4),
                ("pasteurized_pressure", 5),
                ("flow_rate", 7),
            ]
        );
    }

    #[test]
    fn what_is_missing_or_unclear_is_said() {
        for (header, part) in [
            (
                "Time, Hold Temp (°F), dP (psi)",
                "f.csv:3: no column for the position of the flow diversion device; the columns are \"Time\", \"Hold Temp (°F)\", \"dP (psi)\"; name it",
            ),
            ("Time, FDV, dP (psi)", "no column for the holding temperature"),
            ("Time, FDV, Hold Temp (°F), Raw psi", "no column for the regenerator's"),
            ("FDV, Hold Temp (°F), dP (psi)", "no column for the time"),
            (
                "Time, FDV, Hold Temp A (°F), Hold Temp B (°F), dP (psi)",
                "f.csv:3:4: column 3 \"Hold Temp A (°F)\" and column 4",
            ),
            (
                "Time, FDV, Hold (°F), hold (°f), dP (psi)",
                "f.csv:3:4: columns 3 and 4 are both named \"Hold (°F)\"",
            ),
            ("Time, Timestamp, Datetime, FDV, Hold (°F), dP (psi)", "could both be the time"),
        ] {
            let error = by_names(header).err().unwrap_or_default();
            assert!(error.contains(part), "{header}: {error}");
        }
    }

    #[test]
    fn one_limit_switch_alone_takes_the_place_of_the_valve() {
        let found = by_names("Time, FDV forward, Hold Temp (°F), dP (psi)");
        assert_eq!(found.map(|found| found.single_switch), Ok(Some(Role::ValveForward)));
        let both = by_names("Time, FDV forward, FDV divert, Hold Temp (°F), dP (psi)");
        assert_eq!(both.map(|found| found.single_switch), Ok(None));
    }

    #[test]
    fn bound_names_are_looked_up() {
        let text = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n[columns]\n\
                    time = \"Stamp\"\nvalve = { column = \"V\" }\n\
                    holding_temperature = { column = \"TT 1\" }\n\
                    differential_pressure = { column = \"PD\", unit = \"psi\" }\n\
                    flow_rate = { column = \"F\" }\n";
        let Ok(plant) = Plant::parse("p", text) else { panic!("a valid plant file") };
        let look = |header: &str| {
            let names = names(header);
            let header = Named { file: "f.csv", line: 1, names: &names };
            columns(header, &plant).map_err(|error| error.to_string())
        };
        let found = look("stamp, v, tt 1 (°F), PD, F (L/h), F");
        let Ok(found) = found else { panic!("{found:?}") };
        assert_eq!(found.roles.get(&Role::HoldingTemperature), Some(&2));
        // The whole name goes before the name without its unit.
        assert_eq!(found.roles.get(&Role::FlowRate), Some(&5));
        let Ok(found) = look("stamp, v, tt 1 (°F), PD") else { panic!("flow is not needed") };
        assert_eq!(found.missing, [(Role::FlowRate, "F".to_owned())]);
        for (header, part) in [
            ("stamp, tt 1 (°F), PD", "binds columns.valve to \"V\""),
            ("v, tt 1 (°F), PD", "binds columns.time to \"Stamp\""),
            ("stamp, v, tt 1 (°F), tt 1 (°C), PD", "column 3 \"tt 1 (°F)\" and column 4"),
            ("stamp, v, v, tt 1 (°F), PD", "columns 2 and 3 are both named \"v\""),
            ("stamp, v, tt 1 (°F)", "binds columns.differential_pressure to \"PD\""),
        ] {
            let error = look(header).err().unwrap_or_default();
            assert!(error.contains(part), "{header}: {error}");
        }
    }
}
