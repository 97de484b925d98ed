//! Reading a plant file: TOML, strictly, each mistake with its line and column.

use crate::columns::{AnyUnit, Binding, Columns, DateOrder, ModeWords, SwitchWords, ValveWords};
use crate::completeness::{self, Evidence, LISTS, RequiredItem};
use crate::error::Error;
use crate::limit::{PressureLimit, Provenance, Source, TemperatureLimit};
use crate::plant::{Limits, Plant, PlantFile};
use crate::products::{Product, Products};
use crate::review::Review;
use crate::rows::{ROWS, row};
use crate::shift::Shift;
use crate::tube::{Certificate, Flow, Geometry, Tube};
use crate::zone::Zone;
use chrono::NaiveTime;
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;
use trace::{Decimal, DecimalMark, Duration, FlowUnit, PressureUnit, Role, TemperatureUnit, Unit};

/// The only version of the format so far.
const SCHEMA: i64 = 1;

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
    completeness: Option<RawCompleteness>,
    #[serde(default)]
    review: RawReview,
    #[serde(default)]
    files: RawFiles,
    #[serde(default)]
    columns: RawColumns,
    #[serde(default)]
    limits: RawLimits,
    #[serde(default)]
    products: Vec<RawProduct>,
    #[serde(default)]
    shifts: Vec<RawShift>,
    tube: Option<Spanned<RawTube>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct RawReview {
    causes: Vec<Text>,
    actions: Vec<Text>,
    dispositions: Vec<Text>,
    same_person_may_approve: bool,
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
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawColumns {
    date: Option<String>,
    time: Option<String>,
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
    leak_detect: Option<RawSwitch>,
    product: Option<RawText>,
    lot: Option<RawText>,
    mode: Option<RawMode>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawReading {
    column: String,
    unit: Option<Text>,
    range: Option<[Text; 2]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawText {
    column: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawValve {
    column: String,
    forward: Option<Vec<String>>,
    divert: Option<Vec<String>>,
    travel: Option<Vec<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSwitch {
    column: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMode {
    column: String,
    production: Option<Vec<String>>,
    water: Option<Vec<String>>,
    cleaning: Option<Vec<String>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawLimits {
    differential: Option<Text>,
    differential_source: Option<String>,
    response: Option<Text>,
    episode: Option<Text>,
    gap: Option<Text>,
    travel: Option<Text>,
    record_interval: Option<Text>,
    frozen: Option<Text>,
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
    tested_on: Option<String>,
    tested_by: Option<String>,
    length: Option<Text>,
    inner_diameter: Option<Text>,
    density: Option<Text>,
    viscosity: Option<Text>,
}

impl Plant {
    /// Reads the plant file at `path`.
    ///
    /// # Errors
    /// When it can't be read, is not TOML, has an unknown key, or a value makes no sense; with
    /// file, line, column and what would be right.
    pub fn read(path: &Path) -> Result<Self, Error> {
        let file = path.display().to_string();
        let bytes = std::fs::read(path)
            .map_err(|cause| Error::Read { file: file.clone(), cause: Arc::new(cause) })?;
        match String::from_utf8(bytes) {
            Ok(text) => Self::parse(&file, &text),
            Err(_not_utf8) => Err(Error::NotText { file }),
        }
    }

    /// Reads the text of a plant file; `file` is its name for messages.
    ///
    /// # Errors
    /// As [`Plant::read`].
    pub fn parse(file: &str, text: &str) -> Result<Self, Error> {
        let bytes = text.as_bytes();
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let reader = Reader { file, text, bytes };
        let raw: RawPlant = toml::from_str(text).map_err(|cause| {
            let (line, column) = reader.position(&cause.span().unwrap_or(0..0));
            Error::Syntax {
                file: file.to_owned(),
                line,
                column,
                message: cause.message().trim_end().to_owned(),
            }
        })?;
        reader.plant(raw)
    }
}

/// Knows file and text, to say where a mistake is.
struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    /// The file as it is, with its mark of byte order.
    bytes: &'a [u8],
}

impl Reader<'_> {
    fn position(&self, span: &Range<usize>) -> (usize, usize) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line = before.bytes().filter(|&byte| byte == b'\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
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
            .map_err(|message| self.wrong(&raw.zone, "zone", message))?;
        for (key, text) in [("plant", &raw.plant), ("unit", &raw.unit)] {
            if text.get_ref().trim().is_empty() {
                return Err(self.wrong(text, key, "needs a name"));
            }
        }
        Ok(Plant {
            name: raw.plant.into_inner(),
            unit: raw.unit.into_inner(),
            zone,
            date_order: raw.files.date_order.map(|text| self.date_order(&text)).transpose()?,
            decimal_mark: raw.files.decimal_mark.map(|text| self.mark(&text)).transpose()?,
            columns: self.columns(raw.columns)?,
            limits: self.limits(raw.limits)?,
            products: self.products(raw.products, raw.default_product)?,
            shifts: self.shifts(raw.shifts)?,
            nominal_flow: raw
                .nominal_flow
                .map(|text| self.flow(&text, "nominal_flow"))
                .transpose()?,
            tube: raw.tube.map(|tube| self.tube(&tube)).transpose()?,
            recorder: raw.recorder,
            required: raw.completeness.map_or_else(|| Ok(Vec::new()), |raw| self.required(raw))?,
            review: self.review(raw.review)?,
            file: Some(PlantFile {
                name: self.file.to_owned(),
                sha256: Sha256::digest(self.bytes).into(),
            }),
        })
    }

    fn review(&self, raw: RawReview) -> Result<Review, Error> {
        let RawReview { causes, actions, dispositions, same_person_may_approve } = raw;
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
        })
    }

    fn required(&self, raw: RawCompleteness) -> Result<Vec<RequiredItem>, Error> {
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

    fn mark(&self, text: &Text) -> Result<DecimalMark, Error> {
        match text.get_ref().as_str() {
            "." => Ok(DecimalMark::Dot),
            "," => Ok(DecimalMark::Comma),
            _ => Err(self.wrong(text, "files.decimal_mark", "is \".\" or \",\"")),
        }
    }

    fn columns(&self, raw: RawColumns) -> Result<Columns, Error> {
        // Destructured, so that a new role can't be forgotten here.
        let RawColumns {
            date,
            time,
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
            leak_detect,
            product,
            lot,
            mode,
        } = raw;
        let mut roles = BTreeMap::new();
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
            roles.insert(Role::Valve, plain(column));
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
            roles.insert(Role::Mode, plain(column));
        }
        for (role, switch) in [
            (Role::ValveForward, valve_forward),
            (Role::ValveDivert, valve_divert),
            (Role::LeakDetect, leak_detect),
        ] {
            if let Some(RawSwitch { column }) = switch {
                roles.insert(role, plain(column));
            }
        }
        for (role, text) in [(Role::Product, product), (Role::Lot, lot)] {
            if let Some(RawText { column }) = text {
                roles.insert(role, plain(column));
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
        ] {
            if let Some(reading) = reading {
                roles.insert(role, self.reading(role, reading)?);
            }
        }
        Ok(Columns {
            date,
            time,
            roles,
            valve_words,
            switch_words: SwitchWords::default(),
            mode_words,
        })
    }

    fn reading(&self, role: Role, raw: RawReading) -> Result<Binding, Error> {
        let key = format!("columns.{}", role.key());
        if let Some(unit) = &raw.unit
            && AnyUnit::from_word(role, unit.get_ref()).is_none()
        {
            return Err(self.wrong(
                unit,
                &key,
                format!(
                    "{:?} is no unit for this role; use degF or degC, psi, kPa, bar, mbar or MPa, \
                     L/h, L/min, m3/h, gal/min or gal/h",
                    unit.get_ref()
                ),
            ));
        }
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
                Some((least, greatest))
            }
        };
        Ok(Binding { column: raw.column, unit: raw.unit.map(Spanned::into_inner), range })
    }

    fn limits(&self, raw: RawLimits) -> Result<Limits, Error> {
        let mut limits = Limits::default();
        if let Some(text) = &raw.differential {
            let (value, unit) = self.quantity::<PressureUnit>(text, "limits.differential")?;
            limits.differential = PressureLimit::Single(value, unit);
            limits.differential_source = Source::new("plant file", Provenance::Plant);
        }
        if let Some(citation) = raw.differential_source {
            limits.differential_source = Source::new(citation, Provenance::Plant);
        }
        for (text, key, place) in [
            (&raw.response, "limits.response", &mut limits.response_allowance),
            (&raw.episode, "limits.episode", &mut limits.merge_time),
            (&raw.travel, "limits.travel", &mut limits.travel_allowance),
            (&raw.record_interval, "limits.record_interval", &mut limits.record_interval),
            (&raw.frozen, "limits.frozen", &mut limits.frozen_after),
        ] {
            if let Some(text) = text {
                *place = self.duration(text, key)?;
            }
        }
        if let Some(text) = &raw.gap {
            limits.gap = Some(self.duration(text, "limits.gap")?);
        }
        if let Some(text) = &raw.recorder_difference {
            let (value, unit) =
                self.quantity::<TemperatureUnit>(text, "limits.recorder_difference")?;
            // A difference of temperatures has no zero point: 1 °F is 5/9 °C. Both figures are
            // kept to twelve digits, cut to the stricter side.
            let other = match unit {
                TemperatureUnit::Fahrenheit => value.to_f64() / 1.8,
                TemperatureUnit::Celsius => value.to_f64() * 1.8,
            };
            let other = Decimal::new((other * 1e12).floor() as i64, 12);
            limits.recorder_difference = match unit {
                TemperatureUnit::Fahrenheit => {
                    TemperatureLimit::Printed { fahrenheit: value, celsius: other }
                }
                TemperatureUnit::Celsius => {
                    TemperatureLimit::Printed { fahrenheit: other, celsius: value }
                }
            };
        }
        for (text, key, place) in [
            (&raw.cooled_maximum, "limits.cooled_maximum", &mut limits.cooled_maximum),
            (&raw.raw_maximum, "limits.raw_maximum", &mut limits.raw_maximum),
        ] {
            if let Some(text) = text {
                let (value, unit) = self.quantity::<TemperatureUnit>(text, key)?;
                *place = TemperatureLimit::Single(value, unit);
            }
        }
        if let Some(text) = &raw.regeneration_minimum {
            limits.regeneration_minimum =
                Some(self.rate(text, "limits.regeneration_minimum", "%")?);
        }
        if let Some(text) = &raw.temperature_slew {
            limits.slew.celsius_per_second =
                self.rate(text, "limits.temperature_slew", "degC/s")?;
        }
        if let Some(text) = &raw.pressure_slew {
            limits.slew.kilopascal_per_second = self.rate(text, "limits.pressure_slew", "kPa/s")?;
        }
        Ok(limits)
    }

    fn products(&self, raw: Vec<RawProduct>, default: Option<Text>) -> Result<Products, Error> {
        let mut products: Vec<Product> = Vec::new();
        for one in raw {
            let name = one.name.get_ref().trim().to_owned();
            if name.is_empty() {
                return Err(self.wrong(&one.name, "products.name", "needs a name"));
            }
            let same = |product: &Product| product.name.to_lowercase() == name.to_lowercase();
            if products.iter().any(same) {
                return Err(self.wrong(&one.name, "products.name", "is named twice"));
            }
            products.push(self.product(one, name)?);
        }
        let mut rest = products.into_iter();
        let Some(first) = rest.next() else {
            return match default {
                None => Ok(Products::default()),
                Some(text) => Err(self.wrong(
                    &text,
                    "default_product",
                    "names no product; add it under [[products]]",
                )),
            };
        };
        let products = Products::new(first, rest.collect(), 0);
        let Some(text) = default else {
            return Ok(products);
        };
        let Some(default) = products.find(text.get_ref()).map(|product| product.name.clone())
        else {
            let names: Vec<_> = products.iter().map(|product| product.name.as_str()).collect();
            return Err(self.wrong(
                &text,
                "default_product",
                format!("names no product; the products are {}", names.join(", ")),
            ));
        };
        let index = products.iter().position(|product| product.name == default).unwrap_or(0);
        let mut all: Vec<_> = products.iter().cloned().collect();
        let first = all.remove(0);
        Ok(Products::new(first, all, index))
    }

    fn product(&self, raw: RawProduct, name: String) -> Result<Product, Error> {
        let mut product = match (&raw.row, &raw.temperature) {
            (Some(key), None) => {
                let row = row(key.get_ref()).ok_or_else(|| {
                    let keys: Vec<_> = ROWS.iter().map(|row| row.key).collect();
                    self.wrong(
                        key,
                        "products.row",
                        format!("is no built-in row; the rows are {}", keys.join(", ")),
                    )
                })?;
                if let Some(time) = &raw.minimum_time {
                    return Err(self.wrong(
                        time,
                        "products.minimum_time",
                        "the row sets it; give temperature, minimum_time and source for a row of \
                         your own",
                    ));
                }
                Product::from_row(name, row)
            }
            (None, Some(text)) => {
                let (value, unit) =
                    self.quantity::<TemperatureUnit>(text, "products.temperature")?;
                let Some(time) = &raw.minimum_time else {
                    return Err(self.wrong(
                        text,
                        "products.temperature",
                        "needs a minimum_time beside it, such as \"15 s\"",
                    ));
                };
                let Some(source) = raw.source.filter(|source| !source.trim().is_empty()) else {
                    return Err(self.wrong(
                        text,
                        "products.temperature",
                        "a row of your own needs a source: who allows it, and where",
                    ));
                };
                Product {
                    name,
                    limit: TemperatureLimit::Single(value, unit),
                    minimum_time: self.duration(time, "products.minimum_time")?,
                    factor: Decimal::whole(1),
                    source: Source::new(source, Provenance::Plant),
                }
            }
            _ => {
                return Err(self.wrong(
                    &raw.name,
                    "products",
                    "needs either a row, or temperature, minimum_time and source",
                ));
            }
        };
        if let Some(text) = &raw.factor {
            product.factor = self.decimal(text, text.get_ref(), "products.factor")?;
            if product.factor <= Decimal::ZERO || product.factor > Decimal::whole(2) {
                return Err(self.wrong(text, "products.factor", "is above 0 and at most 2"));
            }
        }
        Ok(product)
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
                    tested_on: tested_on.clone(),
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
        figure.trim().parse().map_err(|_not_a_decimal| {
            self.wrong(at, key, format!("{figure:?} is not a number such as \"72.5\""))
        })
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
        let milliseconds = (value.to_f64() * f64::from(factor)).round();
        if !(0.0..=1e12).contains(&milliseconds) {
            return Err(self.wrong(text, key, "must not be negative, nor longer than 30 years"));
        }
        Ok(Duration::from_milliseconds(milliseconds as i64))
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

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"America/Chicago\"\n";

    fn parse(rest: &str) -> Result<Plant, Error> {
        Plant::parse("plant.toml", &format!("{HEAD}{rest}"))
    }

    fn message(rest: &str) -> String {
        parse(rest).map_or_else(|error| error.to_string(), |_plant| "no error".to_owned())
    }

    #[test]
    fn a_short_file_has_the_defaults_of_the_method() {
        let Ok(plant) = parse("") else { panic!("{}", message("")) };
        assert_eq!(plant.limits, Limits::default());
        assert_eq!(plant.products, Products::default());
        assert!(!plant.is_assumed());
    }

    #[test]
    fn a_full_file() {
        let text = r#"
default_product = "Cream"
nominal_flow = "6000 L/h"
[files]
date_order = "day-first"
decimal_mark = ","
[columns]
time = "Stamp"
valve = { column = "FDD", forward = ["1"], divert = ["0"] }
holding_temperature = { column = "T1", unit = "degC", range = ["0", "120.5"] }
product = { column = "Product" }
[limits]
differential = "3 psi"
response = "500 ms"
gap = "2 s"
recorder_difference = "0.9 degF"
[[products]]
name = "Milk"
row = "us-milk-15s"
[[products]]
name = "cream"
temperature = "76.5 degC"
minimum_time = "15 s"
source = "letter of the authority"
factor = "0.9"
[[shifts]]
name = "night"
start = "22:00"
end = "06:00"
[tube]
test_flow = "6000 L/h"
test_time = "16.2 s"
"#;
        let Ok(plant) = parse(text) else { panic!("{}", message(text)) };
        assert_eq!(plant.products.default_product().name, "cream");
        assert_eq!(plant.products.strictest(TemperatureUnit::Celsius).name, "cream");
        assert_eq!(plant.limits.response_allowance.milliseconds(), 500);
        assert_eq!(
            plant.limits.differential,
            PressureLimit::Single(Decimal::whole(3), PressureUnit::Psi)
        );
        assert_eq!(
            plant
                .tube
                .as_ref()
                .and_then(Tube::certificate)
                .map(|test| test.test_time.milliseconds()),
            Some(16_200)
        );
        assert_eq!(plant.columns.roles[&Role::HoldingTemperature].unit.as_deref(), Some("degC"));
    }

    #[test]
    fn mistakes_say_where_and_what_to_do() {
        for (text, position, part) in [
            ("zoen = 1", ":5:1:", "zoen"),
            ("[limits]\ndiferential = \"2 psi\"", ":6:1:", "diferential"),
            ("[limits]\ndifferential = \"2 furlongs\"", ":6:16:", "no unit"),
            ("[limits]\ndifferential = 2", ":6:16:", "expected"),
            ("default_product = \"x\"", ":5:19:", "names no product"),
            ("[[products]]\nname = \"a\"\nrow = \"b\"", ":7:7:", "the rows are us-milk-15s"),
            ("[[products]]\nname = \"a\"", ":6:8:", "needs either a row"),
            (
                "[columns]\nflow_rate = { column = \"F\", unit = \"psi\" }",
                ":6:36:",
                "no unit for this role",
            ),
            ("[columns]\nflow_rate = { column = \"F\", uint = \"psi\" }", ":6:29:", "uint"),
            ("[[shifts]]\nname = \"a\"\nstart = \"6\"\nend = \"14:00\"", ":7:9:", "time of day"),
            ("[tube]\nlength = \"15 m\"", ":5:1:", "go together"),
            ("[tube]\ntest_flow = \"1 gal/min\"\ntest_time = \"0 s\"", ":7:13:", "above 0"),
            ("= 3", ":5:1:", ""),
        ] {
            let message = message(text);
            assert!(message.starts_with("plant.toml:"), "{message}");
            assert!(message.contains(position), "{text}: {message}");
            assert!(message.contains(part), "{text}: {message}");
        }
        let zone = Plant::parse("p", "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"Mars\"");
        assert!(zone.is_err_and(|error| error.to_string().contains("p:4:8: zone")));
        let schema = Plant::parse("p", "schema = 2\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"");
        assert!(schema.is_err_and(|error| error.to_string().contains("schema 1")));
    }
}
