//! What a sample is held to: comparison of units (section 2) and limits by product (section 6).

use crate::exact::Exact;
use plant::{
    Family, Flow, Mode, Plant, PressureLimit, Product, ROWS, TemperatureLimit, Thermometer,
};
use trace::{FlowUnit, PressureUnit, RunRecord, TemperatureUnit};

use super::Degrees;

/// The limit that a sample is held to.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "facts of a product that do not exclude each other"
)]
pub struct SampleLimit {
    /// The figure in the unit of the channel.
    pub figure: Exact,
    /// The figure in the unit of the recorder.
    pub recorder_figure: Exact,
    /// The one product of the plant file whose limit it is; `None` where it was put together.
    pub product: Option<String>,
    /// The least holding time in milliseconds.
    pub minimum_time: i64,
    /// What the tube's volume is multiplied by.
    pub factor: Exact,
    /// Whether a product was not known, and the strictest was taken.
    pub unknown: bool,
    /// Whether the run sheet names another product than the logger.
    pub sheet_disagrees: bool,
    /// Whether the product may leave the cooler warm, by the logger's word and the sheet's.
    pub cooled_exempt: bool,
    /// Whether the recorder has to show the limit as well.
    pub judged_by_recorder: bool,
}

/// A limit in both units, to be made stricter by others.
#[derive(Debug, Clone)]
struct Held {
    fahrenheit: Exact,
    celsius: Exact,
    minimum_time: i64,
    factor: Exact,
    product: Option<String>,
    unknown: bool,
    cooled_exempt: bool,
    judged_by_recorder: bool,
}

impl Held {
    fn to(product: &Product) -> Self {
        Self {
            fahrenheit: temperature(product.limit, TemperatureUnit::Fahrenheit),
            celsius: temperature(product.limit, TemperatureUnit::Celsius),
            minimum_time: product.minimum_time.milliseconds(),
            factor: Exact::decimal(product.factor),
            product: Some(product.name.trim().to_owned()),
            unknown: false,
            cooled_exempt: product.cooled_exempt,
            judged_by_recorder: product.judged_by_recorder,
        }
    }

    /// The higher temperature and the longer time, and the tube's smaller volume.
    fn and(self, other: &Self) -> Self {
        let product = if self.product == other.product { self.product } else { None };
        Self {
            fahrenheit: self.fahrenheit.max(other.fahrenheit),
            celsius: self.celsius.max(other.celsius),
            minimum_time: self.minimum_time.max(other.minimum_time),
            factor: self.factor.min(other.factor),
            product,
            unknown: self.unknown || other.unknown,
            cooled_exempt: self.cooled_exempt && other.cooled_exempt,
            judged_by_recorder: self.judged_by_recorder || other.judged_by_recorder,
        }
    }

    fn figure(&self, unit: TemperatureUnit) -> Exact {
        match unit {
            TemperatureUnit::Fahrenheit => self.fahrenheit,
            TemperatureUnit::Celsius => self.celsius,
        }
    }
}

/// The printed figure of the channel's unit, or the plant's one figure converted.
pub(super) fn temperature(limit: TemperatureLimit, unit: TemperatureUnit) -> Exact {
    match limit {
        TemperatureLimit::Printed { fahrenheit, celsius } => match unit {
            TemperatureUnit::Fahrenheit => Exact::decimal(fahrenheit),
            TemperatureUnit::Celsius => Exact::decimal(celsius),
        },
        TemperatureLimit::Single(value, own) => {
            Degrees { value: Exact::decimal(value), unit: own }.into(unit)
        }
    }
}

/// One such unit in kilopascals; 1 psi = 6.894757 kPa (NIST SP 811, App. B.8).
pub(super) fn kilopascals(unit: PressureUnit) -> Exact {
    match unit {
        PressureUnit::Psi => Exact::new(6_894_757, 1_000_000),
        PressureUnit::Kilopascal => Exact::whole(1),
        PressureUnit::Bar => Exact::whole(100),
        PressureUnit::Millibar => Exact::new(1, 10),
        PressureUnit::Megapascal => Exact::whole(1000),
    }
}

/// The printed figure (in a metric unit the one in kPa), or the plant's one figure converted.
pub(super) fn pressure(limit: PressureLimit, unit: PressureUnit) -> Exact {
    match limit {
        PressureLimit::Printed { psi, kilopascal } => {
            if unit == PressureUnit::Psi {
                Exact::decimal(psi)
            } else {
                Exact::decimal(kilopascal).over(kilopascals(unit))
            }
        }
        PressureLimit::Single(value, own) => {
            if own == unit {
                Exact::decimal(value)
            } else {
                (Exact::decimal(value) * kilopascals(own)).over(kilopascals(unit))
            }
        }
    }
}

/// One such unit in litres an hour; 1 US gallon is 231 cubic inches of 2.54 cm.
pub(super) fn litres_per_hour(unit: FlowUnit) -> Exact {
    let gallon = Exact::new(3_785_411_784, 1_000_000_000);
    match unit {
        FlowUnit::LitrePerHour => Exact::whole(1),
        FlowUnit::LitrePerMinute => Exact::whole(60),
        FlowUnit::CubicMetrePerHour => Exact::whole(1000),
        FlowUnit::GallonPerMinute => Exact::whole(60) * gallon,
        FlowUnit::GallonPerHour => gallon,
    }
}

/// A flow in another unit.
pub(super) fn flow_in(flow: Flow, unit: FlowUnit) -> Exact {
    Exact::decimal(flow.value) * litres_per_hour(flow.unit).over(litres_per_hour(unit))
}

/// The flow below which a meter proves nothing: the plant's own figure, else a tenth of the test
/// flow, else a tenth of the nominal flow (section 7).
pub(super) fn low_flow(plant: &Plant, unit: FlowUnit) -> Option<Exact> {
    let certificate = plant.tube.as_ref().and_then(|tube| tube.certificate());
    let tenth = |flow| flow_in(flow, unit) * Exact::new(1, 10);
    match (plant.limits.low_flow, certificate, plant.nominal_flow) {
        (Some(set), _, _) => Some(flow_in(set, unit)),
        (None, Some(certificate), _) => Some(tenth(certificate.test_flow)),
        (None, None, Some(nominal)) => Some(tenth(nominal)),
        (None, None, None) => None,
    }
}

/// The key of the rich row of a product's authority. One that has none, and a product with a row
/// of the plant's own, have the one of the United States.
fn rich_row(family: Option<Family>) -> &'static str {
    match family {
        Some(Family::Michigan) => "michigan-rich-15s",
        Some(Family::Alberta) => "alberta-rich-16s",
        _ => "us-rich-15s",
    }
}

/// What nobody knows is held to the highest temperature, the longest time and the smallest volume
/// of the tube among the plant's products and the rich rows of their authorities.
fn unknown(plant: &Plant) -> Held {
    let mut held = Held::to(plant.products.default_product());
    for product in plant.products.iter() {
        held = held.and(&Held::to(product));
        for row in ROWS.iter().filter(|row| row.key == rich_row(product.family)) {
            held = held.and(&Held::to(&Product::from_row(row.key, row)));
        }
    }
    Held { product: None, unknown: true, cooled_exempt: false, ..held }
}

fn plain(name: &str) -> String {
    name.trim().to_lowercase()
}

/// What a word of the logger or of the run sheet is held to. A word that joins the products of two
/// rows of one instant is held to the strictest of them; one that is not known makes all unknown.
fn held_to(plant: &Plant, word: &str) -> Held {
    let find = |name: &str| plant.products.iter().find(|one| plain(&one.name) == plain(name));
    if let Some(product) = find(word) {
        return Held::to(product);
    }
    let mut held: Option<Held> = None;
    for part in word.split(trace::BOTH) {
        let Some(product) = find(part) else { return unknown(plant) };
        let part = Held::to(product);
        held = Some(held.map_or_else(|| part.clone(), |held| held.and(&part)));
    }
    held.unwrap_or_else(|| unknown(plant))
}

/// Whether the record names any product.
fn names_products(record: &RunRecord) -> bool {
    record
        .product()
        .is_some_and(|channel| (0..record.samples()).any(|sample| !channel.word(sample).is_empty()))
}

/// What a product's word alone is held to.
fn held_by_word(record: &RunRecord, plant: &Plant, word: &str, mode: Mode) -> Held {
    if !word.trim().is_empty() {
        held_to(plant, word)
    } else if mode == Mode::Water {
        Held::to(plant.products.default_product())
    } else if names_products(record) || plant.file.is_none() {
        // Without a plant file there is no plant that answers for a default product.
        unknown(plant)
    } else {
        Held::to(plant.products.default_product())
    }
}

/// What an unplaced row is held to, in the unit of the holding temperature: its own product's
/// limit. One that names none in a record that names none may be whatever is made around it.
pub(super) fn of_unplaced(
    record: &RunRecord,
    plant: &Plant,
    word: &str,
    around: impl Iterator<Item = Exact>,
) -> Exact {
    let own = held_by_word(record, plant, word, Mode::Production);
    let own = own.figure(record.holding_temperature().unit());
    if word.trim().is_empty() && !names_products(record) {
        around.fold(own, Exact::max)
    } else {
        own
    }
}

/// The limit of each sample.
pub(super) fn of_samples(record: &RunRecord, plant: &Plant) -> Vec<SampleLimit> {
    let unit = record.holding_temperature().unit();
    let recorder = record.recorder_temperature().map_or(unit, trace::Channel::unit);
    let mut limits = Vec::new();
    for sample in 0..record.samples() {
        let word = record.product().map_or("", |channel| channel.word(sample));
        let mode = record.mode().map_or(Mode::Production, |channel| {
            plant.columns.mode_words.mode(channel.word(sample))
        });
        let mut held = held_by_word(record, plant, word, mode);
        // What the sheet says of this instant; where two of its runs claim it, both.
        let mut sheet_disagrees = false;
        let at = record.instants()[sample];
        for run in record.run_sheet().into_iter().flat_map(trace::RunSheet::runs) {
            let holds = run.interval.start() <= at && at < run.interval.end();
            if !holds || plain(&run.product) == plain(word) {
                continue;
            }
            // That a word of the sheet is not known is no fault of the logger's.
            // Where the logger's cell is blank, in mode water too, the sheet's product may be held
            // to more than what stands for a blank one; the two disagree only where both speak.
            let unknown = held.unknown;
            held = Held { unknown, ..held.and(&held_to(plant, &run.product)) };
            sheet_disagrees |= !word.is_empty();
        }
        limits.push(SampleLimit {
            figure: held.figure(unit),
            recorder_figure: held.figure(recorder),
            product: held.product,
            minimum_time: held.minimum_time,
            factor: held.factor,
            unknown: held.unknown,
            sheet_disagrees,
            cooled_exempt: held.cooled_exempt,
            // The recorder's own reading is judged already.
            judged_by_recorder: held.judged_by_recorder
                && plant.thermometer == Thermometer::Indicating,
        });
    }
    limits
}
