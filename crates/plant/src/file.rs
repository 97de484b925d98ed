//! Reading a plant file: TOML, strictly, each mistake with its line and column.

mod cleaning;
mod columns;
mod limits;
mod loggers;
mod plain;
mod products;
#[cfg(test)]
mod tests;

use crate::bounds::{Accepted, Beyond};
use crate::columns::{Columns, DateOrder, DayNumbers, LongForm, Times};
use crate::completeness::{self, Evidence, LISTS, RequiredItem};
use crate::equipment::{EquipmentTest, TestPlan};
use crate::error::Error;
use crate::limit::{Provenance, Source};
use crate::loggers::{FileForm, OnChange, all_columns};
use crate::plant::{Plant, PlantFile, Thermometer};
use crate::review::{Retention, RetentionUnit, Review};
use crate::shift::Shift;
use crate::tube::{Certificate, Flow, Geometry, Tube};
use crate::zone::{LoggerClock, Zone};
use chrono::{NaiveDate, NaiveTime};
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use std::cell::RefCell;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use trace::{Decimal, DecimalMark, Duration, FlowUnit, Role, TemperatureUnit, Unit};

/// The only version of the format so far.
const SCHEMA: i64 = 1;

/// No text in a plant file has more characters (ours). Names and sources are said again with every
/// exception and every limit, so their length must not multiply with the length of a record.
const LONGEST_TEXT: usize = 500;

/// No list in a plant file has more entries, that of the products excepted (ours): each word of a
/// record is held against the words of the plant, each exception against its shifts.
const LONGEST_LIST: usize = 100;

/// No reading holds for longer (ours), as none is frozen for longer without doubt.
const LONGEST_HOLD: Duration = Duration::from_milliseconds(3_600_000);

/// No logger of these plants looks more often (ours); a record has a row for each look.
const SHORTEST_STEP: Duration = Duration::from_milliseconds(100);

type Text = Spanned<String>;

const LENGTHS: &[(&str, f64)] = &[("m", 1.0), ("mm", 0.001), ("in", 0.0254), ("ft", 0.3048)];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPlant {
    schema: Spanned<i64>,
    plant: Text,
    unit: Text,
    zone: Text,
    default_product: Option<Text>,
    nominal_flow: Option<Text>,
    recorder: Option<String>,
    holding_temperature_is: Option<Text>,
    retention: Option<Text>,
    retention_source: Option<Text>,
    completeness: Option<RawCompleteness>,
    equipment: Option<RawEquipment>,
    #[serde(default)]
    cleaning: RawCleaning,
    #[serde(default)]
    amounts: RawAmounts,
    #[serde(default)]
    review: RawReview,
    #[serde(default)]
    files: RawFiles,
    #[serde(default)]
    columns: RawColumns,
    #[serde(default)]
    loggers: Vec<Spanned<RawLogger>>,
    #[serde(default)]
    limits: RawLimits,
    #[serde(default)]
    products: Vec<RawProduct>,
    #[serde(default)]
    shifts: Vec<RawShift>,
    tube: Option<Spanned<RawTube>>,
    accepted: Option<RawAccepted>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAccepted {
    by: Text,
    document: Text,
    date: Text,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct RawEquipment {
    tests: Vec<Text>,
    months: Option<Spanned<i64>>,
    holding_time_months: Option<Spanned<i64>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawAmounts {
    tolerance: Option<Text>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawCleaning {
    temperature: Option<Text>,
    minimum_time: Option<Text>,
    longest_production_run: Option<Text>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the plant file")]
struct RawReview {
    causes: Vec<Text>,
    actions: Vec<Text>,
    dispositions: Vec<Text>,
    same_person_may_approve: bool,
    technician_ends_holds: bool,
    release_after_approval: bool,
    corrective_action_in_parts: bool,
    within_working_days: Option<Spanned<i64>>,
    within_source: Option<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCompleteness {
    list: Text,
    #[serde(default)]
    extra: Vec<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawFiles {
    date_order: Option<Text>,
    decimal_mark: Option<Text>,
    clock: Option<Text>,
    sheet: Option<String>,
    long: Option<RawLong>,
    day_numbers: Option<Text>,
    times: Option<Text>,
    logging: Option<Text>,
    longest_hold: Option<Text>,
    step: Option<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLogger {
    name: Text,
    files: Text,
    tolerance: Option<Text>,
    clock_ahead: Option<Text>,
    clock_behind: Option<Text>,
    #[serde(default)]
    form: RawFiles,
    columns: RawColumns,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLong {
    tag: String,
    value: String,
    quality: Option<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawColumns {
    date: Option<Text>,
    time: Option<Text>,
    fraction: Option<RawFraction>,
    year: Option<Text>,
    day_of_year: Option<Text>,
    since_start: Option<RawSinceStart>,
    valve: Option<RawValve>,
    valve_forward: Option<RawSwitch>,
    valve_divert: Option<RawSwitch>,
    holding_temperature: Option<RawReading>,
    raw_pressure: Option<RawReading>,
    pasteurized_pressure: Option<RawReading>,
    differential_pressure: Option<RawReading>,
    recorder_temperature: Option<RawReading>,
    flow_rate: Option<RawReading>,
    raw_temperature: Option<RawReading>,
    regenerated_temperature: Option<RawReading>,
    heating_water_temperature: Option<RawReading>,
    cooled_temperature: Option<RawReading>,
    cleaning_return_temperature: Option<RawReading>,
    heating_medium_pressure: Option<RawReading>,
    cooling_medium_pressure: Option<RawReading>,
    leak_detect: Option<RawSwitch>,
    timing_pump: Option<RawSwitch>,
    booster_pump: Option<RawSwitch>,
    high_flow_alarm: Option<RawSwitch>,
    low_flow_alarm: Option<RawSwitch>,
    product: Option<RawText>,
    lot: Option<RawText>,
    mode: Option<RawMode>,
    mode_switch: Option<RawText>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFraction {
    column: Text,
    unit: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSinceStart {
    column: Text,
    unit: Text,
    start: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawReading {
    column: Text,
    unit: Option<Text>,
    range: Option<[Text; 2]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawText {
    column: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawValve {
    column: Text,
    forward: Option<Vec<String>>,
    divert: Option<Vec<String>>,
    travel: Option<Vec<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSwitch {
    column: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMode {
    column: Text,
    production: Option<Vec<String>>,
    water: Option<Vec<String>>,
    cleaning: Option<Vec<String>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawLimits {
    differential: Option<Text>,
    differential_source: Option<Text>,
    differential_at_all_times: Option<bool>,
    response: Option<Text>,
    episode: Option<Text>,
    gap: Option<Text>,
    travel: Option<Text>,
    record_interval: Option<Text>,
    frozen: Option<Text>,
    repeated: Option<Text>,
    diverted_hole: Option<Text>,
    low_flow: Option<Text>,
    high_flow_alarm: Option<Text>,
    low_flow_alarm: Option<Text>,
    booster_differential: Option<Text>,
    zero_check: Option<Text>,
    recorder_difference: Option<Text>,
    cooled_maximum: Option<Text>,
    raw_maximum: Option<Text>,
    regeneration_minimum: Option<Text>,
    temperature_slew: Option<Text>,
    pressure_slew: Option<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawProduct {
    name: Text,
    row: Option<Text>,
    temperature: Option<Text>,
    minimum_time: Option<Text>,
    source: Option<String>,
    factor: Option<Text>,
    #[serde(default)]
    cooled_exempt: bool,
    #[serde(default)]
    judged_by_recorder: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawShift {
    name: String,
    start: Text,
    end: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTube {
    test_flow: Option<Text>,
    test_time: Option<Text>,
    tested_on: Option<Text>,
    tested_by: Option<String>,
    length: Option<Text>,
    inner_diameter: Option<Text>,
    density: Option<Text>,
    viscosity: Option<Text>,
}

impl Plant {
    /// The most bytes that are read of a plant file (ours): a hundred times a long one.
    pub const LARGEST_FILE: u64 = 1 << 20;

    /// Reads the plant file at `path`; it may be a link.
    ///
    /// # Errors
    /// When it can't be read or is no file, is too large, is not TOML, has an unknown key, or a value makes no sense; with
    /// file, line, column and what would be right.
    pub fn read(path: &Path) -> Result<Self, Error> {
        Self::parse(&path.display().to_string(), &Self::text_of(path)?)
    }

    /// The text of the plant file at `path`; it may be a link.
    ///
    /// # Errors
    /// When it can't be read or is no file, is too large, or is not UTF-8.
    pub fn text_of(path: &Path) -> Result<String, Error> {
        let file = path.display().to_string();
        let bytes = disk::read(path, Self::LARGEST_FILE, disk::Links::Follow)
            .map_err(|cause| Error::Read { file: file.clone(), cause: Arc::new(cause) })?;
        String::from_utf8(bytes).map_err(|_not_utf8| Error::NotText { file })
    }

    /// Reads the text of a plant file; `file` is its name for messages.
    ///
    /// # Errors
    /// As [`Plant::read`].
    pub fn parse(file: &str, text: &str) -> Result<Self, Error> {
        let bytes = text.as_bytes();
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let reader = Reader { file, text, bytes, beyond: RefCell::default() };
        let raw: RawPlant = toml::from_str(text).map_err(|cause| {
            let (line, column) = reader.position(&cause.span().unwrap_or(0..0));
            Error::Syntax {
                file: file.to_owned(),
                line,
                column,
                message: plain::words(cause.message().trim_end()),
            }
        })?;
        reader.bounded(DeTable::parse(text).ok().map(Spanned::into_inner).as_ref())?;
        reader.plant(raw)
    }
}

/// Line and column of a byte of a text, both counted from 1.
pub fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let before = text.get(..byte).unwrap_or(text);
    let line = before.bytes().filter(|&byte| byte == b'\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}

/// Knows file and text, to say where a mistake is.
struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    /// The file as it is, with its mark of byte order.
    bytes: &'a [u8],
    /// The limits beyond their bounds, with their places in the text.
    beyond: RefCell<Vec<(Range<usize>, Beyond)>>,
}

/// The thermometers' unit, as far as the plant file says it: a limit is compared in the channel's.
fn thermometer_unit(columns: &Columns) -> Option<TemperatureUnit> {
    let word = columns.roles.get(&Role::HoldingTemperature)?.unit.as_deref()?;
    TemperatureUnit::from_word(word)
}

impl Reader<'_> {
    fn position(&self, span: &Range<usize>) -> (usize, usize) {
        line_and_column(self.text, span.start)
    }

    fn wrong<T>(&self, at: &Spanned<T>, key: &str, message: impl Into<String>) -> Error {
        let (line, column) = self.position(&at.span());
        Error::Value {
            file: self.file.to_owned(),
            line,
            column,
            key: key.to_owned(),
            message: message.into(),
        }
    }

    /// Refuses texts and lists that are longer than any plant needs.
    fn bounded(&self, table: Option<&DeTable<'_>>) -> Result<(), Error> {
        let mut open: Vec<(&str, &Spanned<DeValue<'_>>)> = table
            .into_iter()
            .flatten()
            .map(|(key, value)| (key.get_ref().as_ref(), value))
            .collect();
        while let Some((key, value)) = open.pop() {
            match value.get_ref() {
                DeValue::String(text) if text.chars().nth(LONGEST_TEXT).is_some() => {
                    let message = format!("is a text of at most {LONGEST_TEXT} characters");
                    return Err(self.wrong(value, key, message));
                }
                DeValue::Array(list) => {
                    let is_product = key == "products";
                    if !is_product && list.len() > LONGEST_LIST {
                        let message =
                            format!("is a list of at most {LONGEST_LIST}, and has {}", list.len());
                        return Err(self.wrong(value, key, message));
                    }
                    open.extend(list.iter().map(|one| (key, one)));
                }
                DeValue::Table(table) => {
                    open.extend(table.iter().map(|(key, one)| (key.get_ref().as_ref(), one)));
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn plant(&self, raw: RawPlant) -> Result<Plant, Error> {
        if *raw.schema.get_ref() != SCHEMA {
            return Err(self.wrong(
                &raw.schema,
                "schema",
                format!("this program reads schema {SCHEMA}; get a newer program or correct it"),
            ));
        }
        let zone = raw
            .zone
            .get_ref()
            .parse::<Zone>()
            .map_err(|unknown| self.wrong(&raw.zone, "zone", unknown.to_string()))?;
        for (key, text) in [("plant", &raw.plant), ("unit", &raw.unit)] {
            if text.get_ref().trim().is_empty() {
                return Err(self.wrong(text, key, "needs a name"));
            }
        }
        let accepted = raw.accepted.map(|raw| self.accepted(raw)).transpose()?;
        let form = self.file_form(raw.files)?;
        let columns = self.columns(raw.columns)?;
        let alone = form == FileForm::default() && columns == Columns::default();
        let loggers = self.loggers(raw.loggers, alone)?;
        let columns = if loggers.is_empty() { columns } else { all_columns(&loggers) };
        let thermometer = thermometer_unit(&columns);
        let limits = self.limits(&raw.limits, thermometer)?;
        let products = self.products(raw.products, raw.default_product, thermometer)?;
        let thermometer = self.thermometer(raw.holding_temperature_is.as_ref(), &columns)?;
        let mut plant = Plant {
            name: raw.plant.into_inner(),
            unit: raw.unit.into_inner(),
            zone,
            form,
            loggers,
            columns,
            limits,
            products,
            shifts: self.shifts(raw.shifts)?,
            nominal_flow: raw
                .nominal_flow
                .map(|text| self.flow(&text, "nominal_flow"))
                .transpose()?,
            tube: raw.tube.map(|tube| self.tube(&tube)).transpose()?,
            recorder: raw.recorder,
            thermometer,
            required: self.required(raw.completeness, thermometer)?,
            review: self.review(raw.review)?,
            retention: self.retention(raw.retention, raw.retention_source)?,
            tests: raw.equipment.map_or_else(|| Ok(TestPlan::default()), |raw| self.tests(raw))?,
            cleaning: self.cleaning(&raw.cleaning)?,
            amount_tolerance: raw
                .amounts
                .tolerance
                .map(|text| self.rate(&text, "amounts.tolerance", "%"))
                .transpose()?,
            accepted,
            beyond: Vec::new(),
            file: Some(PlantFile {
                name: self.file.to_owned(),
                sha256: Sha256::digest(self.bytes).into(),
            }),
        };
        self.low_flow(&plant, raw.limits.low_flow.as_ref());
        plant.beyond = self.answered_for(plant.accepted.as_ref())?;
        Ok(plant)
    }

    /// Notes that a limit lies beyond its bound.
    fn goes_beyond<T>(&self, at: &Spanned<T>, beyond: Beyond) {
        self.beyond.borrow_mut().push((at.span(), beyond));
    }

    /// The limits beyond their bounds in the order of the file, where somebody answers for them.
    fn answered_for(&self, accepted: Option<&Accepted>) -> Result<Vec<Beyond>, Error> {
        let mut found = self.beyond.take();
        found.sort_by_key(|(place, _)| place.start);
        if accepted.is_none()
            && let Some((place, Beyond { key, set, bound, reason })) = found.first()
        {
            let (line, column) = self.position(place);
            let more = match found.len() - 1 {
                0 => String::new(),
                1 => " (one more limit of this file is beyond its bound)".to_owned(),
                more => format!(" ({more} more limits of this file are beyond their bounds)"),
            };
            return Err(Error::Value {
                file: self.file.to_owned(),
                line,
                column,
                key: key.clone(),
                message: format!(
                    "{set:?} is beyond its bound, {bound}: {reason}; correct it, or say under \
                     [accepted] by whom (by), in which document (document) and when (date) it was \
                     accepted{more}"
                ),
            });
        }
        Ok(found.into_iter().map(|(_, beyond)| beyond).collect())
    }

    fn accepted(&self, raw: RawAccepted) -> Result<Accepted, Error> {
        let RawAccepted { by, document, date } = raw;
        for (text, key, needs) in [
            (&by, "accepted.by", "needs the name of who accepted the limits"),
            (&document, "accepted.document", "needs the document that accepts the limits"),
        ] {
            if text.get_ref().trim().is_empty() {
                return Err(self.wrong(text, key, needs));
            }
        }
        Ok(Accepted {
            by: by.into_inner(),
            document: document.into_inner(),
            date: self.date(&date, "accepted.date")?,
        })
    }

    fn date(&self, text: &Text, key: &str) -> Result<NaiveDate, Error> {
        NaiveDate::parse_from_str(text.get_ref().trim(), "%Y-%m-%d")
            .map_err(|_no_date| self.wrong(text, key, "is a date such as \"2026-01-14\""))
    }

    fn retention(
        &self,
        time: Option<Text>,
        source: Option<Text>,
    ) -> Result<Option<Retention>, Error> {
        let (time, source) = match (time, source) {
            (None, None) => return Ok(None),
            (Some(time), Some(source)) if !source.get_ref().trim().is_empty() => (time, source),
            (Some(time), _) => {
                return Err(self.wrong(
                    &time,
                    "retention",
                    "needs a retention_source beside it: who asks for it, and where",
                ));
            }
            (None, Some(source)) => {
                return Err(self.wrong(
                    &source,
                    "retention_source",
                    "needs a retention beside it, such as \"2 years\"",
                ));
            }
        };
        let (figure, word) = split(time.get_ref());
        match (figure.parse::<u32>(), RetentionUnit::from_word(word)) {
            // A hundred years in days is the longest that anybody could mean.
            (Ok(count @ 1..=36_525), Some(unit)) => Ok(Some(Retention {
                count,
                unit,
                source: Source::new(source.into_inner(), Provenance::Plant),
            })),
            _ => Err(self.wrong(
                &time,
                "retention",
                "is a whole number of days, months or years, such as \"2 years\"",
            )),
        }
    }

    fn review(&self, raw: RawReview) -> Result<Review, Error> {
        let RawReview {
            causes,
            actions,
            dispositions,
            same_person_may_approve,
            technician_ends_holds,
            release_after_approval,
            corrective_action_in_parts,
            within_working_days,
            within_source,
        } = raw;
        let built_in = Review::default();
        let (within_working_days, within_source) = match (within_working_days, within_source) {
            (None, None) => (built_in.within_working_days, built_in.within_source),
            (None, Some(source)) => {
                return Err(self.wrong(
                    &source,
                    "review.within_source",
                    "needs within_working_days beside it",
                ));
            }
            (Some(days), source) => match u32::try_from(*days.get_ref()) {
                Ok(count @ 1..=365) => (
                    count,
                    source.map_or_else(Source::plant, |source| {
                        Source::new(source.into_inner(), Provenance::Plant)
                    }),
                ),
                _ => {
                    return Err(self.wrong(
                        &days,
                        "review.within_working_days",
                        "is a whole number of working days from 1 to 365",
                    ));
                }
            },
        };
        let words = |key: &str, words: Vec<Text>| {
            let word = |text: Text| match text.get_ref().trim() {
                "" => Err(self.wrong(&text, key, "needs words")),
                _ => Ok(text.into_inner()),
            };
            words.into_iter().map(word).collect::<Result<Vec<_>, _>>()
        };
        Ok(Review {
            causes: words("review.causes", causes)?,
            actions: words("review.actions", actions)?,
            dispositions: words("review.dispositions", dispositions)?,
            same_person_may_approve,
            technician_ends_holds,
            release_after_approval,
            corrective_action_in_parts,
            within_working_days,
            within_source,
        })
    }

    /// `[equipment]`.
    fn tests(&self, raw: RawEquipment) -> Result<TestPlan, Error> {
        let RawEquipment { tests, months, holding_time_months } = raw;
        let usual = TestPlan::default();
        let count = |key: &str, months: Option<Spanned<i64>>, usual: u32| match months {
            None => Ok(usual),
            Some(months) => match u32::try_from(*months.get_ref()) {
                Ok(count @ 1..=24) => Ok(count),
                _ => Err(self.wrong(&months, key, "is a whole number of months from 1 to 24")),
            },
        };
        let tests = tests.into_iter().map(|key| {
            let keys = EquipmentTest::ALL.map(EquipmentTest::key).join(", ");
            let named = EquipmentTest::from_key(key.get_ref());
            let unknown = || self.wrong(&key, "equipment.tests", format!("is none of {keys}"));
            named.ok_or_else(unknown)
        });
        Ok(TestPlan {
            tests: tests.collect::<Result<_, _>>()?,
            months: count("equipment.months", months, usual.months)?,
            holding_time_months: count(
                "equipment.holding_time_months",
                holding_time_months,
                usual.holding_time_months,
            )?,
        })
    }

    fn thermometer(&self, text: Option<&Text>, columns: &Columns) -> Result<Thermometer, Error> {
        let Some(text) = text else { return Ok(Thermometer::Indicating) };
        let key = "holding_temperature_is";
        match text.get_ref().as_str() {
            "indicating" => Ok(Thermometer::Indicating),
            "recorder" if columns.roles.contains_key(&Role::RecorderTemperature) => Err(self.wrong(
                text,
                key,
                "leaves nothing for recorder_temperature to be: bind the indicating thermometer as \
                 holding_temperature, or leave recorder_temperature out",
            )),
            "recorder" => Ok(Thermometer::Recorder),
            _ => Err(self.wrong(text, key, "is \"indicating\" or \"recorder\"")),
        }
    }

    /// Where the recorder's thermometer is judged, the readings of the indicating one are asked for whatever
    /// the list.
    fn required(
        &self,
        raw: Option<RawCompleteness>,
        thermometer: Thermometer,
    ) -> Result<Vec<RequiredItem>, Error> {
        let mut items = raw.map_or_else(|| Ok(Vec::new()), |raw| self.listed(raw))?;
        let asked = completeness::indicating_reading();
        let is_asked = items.iter().any(|item| item.item == asked.item);
        if thermometer == Thermometer::Recorder && !is_asked {
            items.push(asked);
        }
        Ok(items)
    }

    fn listed(&self, raw: RawCompleteness) -> Result<Vec<RequiredItem>, Error> {
        let mut items = completeness::list(raw.list.get_ref()).ok_or_else(|| {
            self.wrong(
                &raw.list,
                "completeness.list",
                format!("is no built-in list; the lists are {}", LISTS.join(", ")),
            )
        })?;
        items.extend(raw.extra.into_iter().map(|item| RequiredItem {
            item,
            evidence: Evidence::Entry,
            source: Source::new("the plant's own list", Provenance::Plant),
        }));
        Ok(items)
    }

    /// `[files]`, or `form` of a logger.
    fn file_form(&self, raw: RawFiles) -> Result<FileForm, Error> {
        let RawFiles {
            date_order,
            decimal_mark,
            clock,
            sheet,
            long,
            day_numbers,
            times,
            logging,
            longest_hold,
            step,
        } = raw;
        let long = long.map(|RawLong { tag, value, quality }| LongForm { tag, value, quality });
        Ok(FileForm {
            logger_clock: clock.map_or(Ok(LoggerClock::Local), |text| self.logger_clock(&text))?,
            date_order: date_order.map(|text| self.date_order(&text)).transpose()?,
            decimal_mark: decimal_mark.map(|text| self.mark(&text)).transpose()?,
            sheet,
            long,
            day_numbers: day_numbers.map(|text| self.day_numbers(&text)).transpose()?,
            times: times.map(|text| self.times(&text)).transpose()?,
            on_change: self.on_change(logging, longest_hold, step)?,
        })
    }

    fn day_numbers(&self, text: &Text) -> Result<DayNumbers, Error> {
        match text.get_ref().as_str() {
            "1900" => Ok(DayNumbers::From1900),
            "1904" => Ok(DayNumbers::From1904),
            _ => Err(self.wrong(
                text,
                "files.day_numbers",
                "is the year from which the spreadsheet counts days, \"1900\" or \"1904\"",
            )),
        }
    }

    fn times(&self, text: &Text) -> Result<Times, Error> {
        match text.get_ref().as_str() {
            "unpadded" => Ok(Times::Unpadded),
            "hours" => Ok(Times::Hours),
            _ => Err(self.wrong(
                text,
                "files.times",
                "is \"unpadded\" for times such as 6:5:3, or \"hours\" for such as 6; left out for \
                 others",
            )),
        }
    }

    /// `logging = "on change"`, with what belongs to it.
    fn on_change(
        &self,
        logging: Option<Text>,
        longest_hold: Option<Text>,
        step: Option<Text>,
    ) -> Result<Option<OnChange>, Error> {
        let Some(logging) = logging else {
            let (alone, key) = match (longest_hold, step) {
                (Some(hold), _) => (hold, "files.longest_hold"),
                (None, Some(step)) => (step, "files.step"),
                (None, None) => return Ok(None),
            };
            return Err(self.wrong(&alone, key, "needs logging = \"on change\" beside it"));
        };
        if logging.get_ref() != "on change" {
            let message =
                "is \"on change\", or left out for a logger that writes a row at each step";
            return Err(self.wrong(&logging, "files.logging", message));
        }
        let needed = |text: Option<Text>, key: &str, what: &str| {
            text.ok_or_else(|| self.wrong(&logging, key, what))
        };
        let hold = needed(
            longest_hold,
            "files.longest_hold",
            "says how long a reading holds until the logger writes it again, such as \"10 min\"",
        )?;
        let step = needed(
            step,
            "files.step",
            "says how often the logger looks whether something changed, such as \"1 s\"",
        )?;
        let longest_hold = self.duration(&hold, "files.longest_hold")?;
        if longest_hold > LONGEST_HOLD {
            let message = "is at most 1 h: what was not written for longer is not known";
            return Err(self.wrong(&hold, "files.longest_hold", message));
        }
        let every = self.duration(&step, "files.step")?;
        if every < SHORTEST_STEP || every > longest_hold {
            let message = "is at least 100 ms, and no longer than longest_hold";
            return Err(self.wrong(&step, "files.step", message));
        }
        Ok(Some(OnChange { longest_hold, step: every }))
    }

    fn date_order(&self, text: &Text) -> Result<DateOrder, Error> {
        [DateOrder::YearFirst, DateOrder::MonthFirst, DateOrder::DayFirst]
            .into_iter()
            .find(|order| order.name() == text.get_ref())
            .ok_or_else(|| {
                self.wrong(
                    text,
                    "files.date_order",
                    "is \"year-first\", \"month-first\" or \"day-first\"",
                )
            })
    }

    fn logger_clock(&self, text: &Text) -> Result<LoggerClock, Error> {
        [LoggerClock::Local, LoggerClock::Standard]
            .into_iter()
            .find(|clock| clock.name() == text.get_ref())
            .ok_or_else(|| {
                self.wrong(
                    text,
                    "files.clock",
                    "is \"local\", or \"standard\" for a logger that does not change to daylight saving time",
                )
            })
    }

    fn mark(&self, text: &Text) -> Result<DecimalMark, Error> {
        match text.get_ref().as_str() {
            "." => Ok(DecimalMark::Dot),
            "," => Ok(DecimalMark::Comma),
            _ => Err(self.wrong(text, "files.decimal_mark", "is \".\" or \",\"")),
        }
    }

    fn shifts(&self, raw: Vec<RawShift>) -> Result<Vec<Shift>, Error> {
        let mut shifts = Vec::new();
        for RawShift { name, start, end } in raw {
            let time = |text: &Text| {
                NaiveTime::parse_from_str(text.get_ref(), "%H:%M").map_err(|_unreadable| {
                    self.wrong(text, "shifts", "is a time of day such as \"06:00\"")
                })
            };
            shifts.push(Shift { name, start: time(&start)?, end: time(&end)? });
        }
        Ok(shifts)
    }

    fn tube(&self, raw: &Spanned<RawTube>) -> Result<Tube, Error> {
        let RawTube {
            test_flow,
            test_time,
            tested_on,
            tested_by,
            length,
            inner_diameter,
            density,
            viscosity,
        } = raw.get_ref();
        let certificate = match (test_flow, test_time) {
            (Some(flow), Some(time)) => {
                let test_time = self.duration(time, "tube.test_time")?;
                if test_time == Duration::ZERO {
                    return Err(self.wrong(time, "tube.test_time", "must be above 0"));
                }
                Some(Certificate {
                    test_flow: self.flow(flow, "tube.test_flow")?,
                    test_time,
                    tested_on: match tested_on {
                        None => None,
                        Some(text) => {
                            self.date(text, "tube.tested_on")?;
                            Some(text.get_ref().trim().to_owned())
                        }
                    },
                    tested_by: tested_by.clone(),
                })
            }
            (None, None) => None,
            _ => return Err(self.wrong(raw, "tube", "test_flow and test_time go together")),
        };
        let geometry = match (length, inner_diameter, density, viscosity) {
            (Some(length), Some(diameter), Some(density), Some(viscosity)) => Some(Geometry {
                length_metres: self.measure(length, "tube.length", LENGTHS)?,
                inner_diameter_metres: self.measure(diameter, "tube.inner_diameter", LENGTHS)?,
                density_kilograms_per_cubic_metre: self.measure(
                    density,
                    "tube.density",
                    &[("kg/m3", 1.0), ("kg/m³", 1.0)],
                )?,
                viscosity_pascal_seconds: self.measure(
                    viscosity,
                    "tube.viscosity",
                    &[("mPa.s", 0.001), ("mPa·s", 0.001), ("cP", 0.001), ("Pa.s", 1.0)],
                )?,
            }),
            (None, None, None, None) => None,
            _ => {
                return Err(self.wrong(
                    raw,
                    "tube",
                    "length, inner_diameter, density and viscosity go together",
                ));
            }
        };
        match (certificate, geometry) {
            (Some(certificate), None) => Ok(Tube::Certified(certificate)),
            (None, Some(geometry)) => Ok(Tube::Measured(geometry)),
            (Some(certificate), Some(geometry)) => Ok(Tube::Both(certificate, geometry)),
            (None, None) => Err(self.wrong(
                raw,
                "tube",
                "needs test_flow and test_time, or length, inner_diameter, density and viscosity",
            )),
        }
    }

    /// A figure above 0 with one of the given units, in the base unit.
    fn measure(&self, text: &Text, key: &str, units: &[(&str, f64)]) -> Result<f64, Error> {
        let (figure, word) = split(text.get_ref());
        let value = self.decimal(text, figure, key)?;
        let unit = units.iter().find(|(unit, _)| *unit == word);
        match unit {
            Some((_, factor)) if value > Decimal::ZERO => Ok(value.to_f64() * factor),
            _ => {
                let words: Vec<&str> = units.iter().map(|(unit, _)| *unit).collect();
                Err(self.wrong(text, key, format!("is a figure above 0 in {}", words.join(" or "))))
            }
        }
    }

    fn flow(&self, text: &Text, key: &str) -> Result<Flow, Error> {
        let (value, unit) = self.quantity::<FlowUnit>(text, key)?;
        if value <= Decimal::ZERO {
            return Err(self.wrong(text, key, "must be above 0"));
        }
        Ok(Flow { value, unit })
    }

    fn decimal(&self, at: &Text, figure: &str, key: &str) -> Result<Decimal, Error> {
        let value: Decimal = figure.trim().parse().map_err(|_not_a_decimal| {
            self.wrong(at, key, format!("{figure:?} is not a number such as \"72.5\""))
        })?;
        // Nobody sets a limit to more digits, and exact arithmetic with them always fits.
        if value.mantissa().unsigned_abs() >= 1_000_000_000 || value.scale() > 9 {
            return Err(self.wrong(at, key, format!("{figure:?} has more than nine digits")));
        }
        Ok(value)
    }

    /// A figure and a unit, such as `2 psi`.
    fn quantity<U: Unit>(&self, text: &Text, key: &str) -> Result<(Decimal, U), Error> {
        let (figure, word) = split(text.get_ref());
        let value = self.decimal(text, figure, key)?;
        let unit = U::from_word(word).ok_or_else(|| {
            self.wrong(
                text,
                key,
                format!("{word:?} is no unit here; write a figure and a unit, such as \"2 psi\""),
            )
        })?;
        Ok((value, unit))
    }

    fn duration(&self, text: &Text, key: &str) -> Result<Duration, Error> {
        let (figure, word) = split(text.get_ref());
        let value = self.decimal(text, figure, key)?;
        let factor = match word {
            "ms" => 1,
            "s" => 1000,
            "min" => 60_000,
            "h" => 3_600_000,
            _ => {
                return Err(self.wrong(
                    text,
                    key,
                    format!(
                        "{word:?} is no unit of time; write \"1.0 s\", \"500 ms\" or \"2 min\""
                    ),
                ));
            }
        };
        let scaled = value.mantissa() * factor;
        let divisor = trace::power_of_ten(value.scale());
        if scaled % divisor != 0 {
            return Err(self.wrong(text, key, "is finer than a millisecond"));
        }
        let milliseconds = scaled / divisor;
        if !(0..=1_000_000_000_000).contains(&milliseconds) {
            return Err(self.wrong(text, key, "must not be negative, nor longer than 30 years"));
        }
        Ok(Duration::from_milliseconds(milliseconds))
    }

    fn rate(&self, text: &Text, key: &str, unit: &str) -> Result<Decimal, Error> {
        let (figure, word) = split(text.get_ref());
        let value = self.decimal(text, figure, key)?;
        if word != unit || value <= Decimal::ZERO {
            return Err(self.wrong(text, key, format!("is a figure above 0 in {unit}")));
        }
        Ok(value)
    }
}

/// `2 psi` as `2` and `psi`; the blank between them may be missing.
fn split(text: &str) -> (&str, &str) {
    let text = text.trim();
    let end = text
        .find(|character: char| {
            !(character.is_ascii_digit() || matches!(character, '.' | ',' | '-' | '+'))
        })
        .unwrap_or(text.len());
    (text[..end].trim(), text[end..].trim())
}
