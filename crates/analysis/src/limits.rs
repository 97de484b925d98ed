//! The limits that hold at each sample: the product's temperature and the differential, as
//! integers at the scale of their channels (method, sections 2 and 6).

use plant::{Plant, Product};
use trace::{Decimal, Duration, Ratio, RunRecord, Unit};

/// A stretch of samples that is held to one temperature limit.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitSpan {
    /// The first sample.
    pub first: usize,
    /// The last sample.
    pub last: usize,
    /// The name of the product whose limit it is.
    pub product: String,
    /// The limit in the unit of the holding temperature.
    pub limit: f64,
    /// Where the limit comes from.
    pub source: String,
    /// The least holding time.
    pub minimum_time: Duration,
    /// What the tube's effective volume is multiplied by.
    pub factor: Decimal,
    /// Whether the record names a product that the plant file does not, or none while others are
    /// named; then the strictest limit holds.
    pub unknown_product: bool,
    /// The limit as an exact fraction.
    pub(crate) exact: Ratio,
    /// A reading is short when its mantissa is less.
    pub(crate) threshold: i64,
}

/// The limit spans of a record, in order, without a hole.
pub(crate) fn temperature_spans(record: &RunRecord, plant: &Plant) -> Vec<LimitSpan> {
    let unit = record.holding_temperature().unit();
    let scale = record.holding_temperature().scale();
    let span = |first, last, product: &Product, unknown_product| {
        let exact = product.limit.figure(unit);
        let (minimum_time, factor) = if unknown_product {
            // The longest time and the thickest product of all.
            let strictest = (product.minimum_time, product.factor);
            plant.products.iter().fold(strictest, |(time, factor), other| {
                (time.max(other.minimum_time), factor.min(other.factor))
            })
        } else {
            (product.minimum_time, product.factor)
        };
        LimitSpan {
            first,
            last,
            product: product.name.clone(),
            limit: exact.to_f64(),
            source: product.source.citation.clone(),
            minimum_time,
            factor,
            unknown_product,
            exact,
            threshold: exact.floor_mantissa(scale),
        }
    };
    let last_sample = record.samples() - 1;
    // A record that names no product at all is held to the plant's default.
    let named = record.product().filter(|text| text.words().iter().any(|word| !word.is_empty()));
    let Some(names) = named else {
        return vec![span(0, last_sample, plant.products.default_product(), false)];
    };
    let products: Vec<(&Product, bool)> = names
        .words()
        .iter()
        .map(|word| match plant.products.find(word) {
            Some(product) => (product, false),
            None => (plant.products.strictest(unit), true),
        })
        .collect();
    let mut spans = Vec::new();
    let codes = names.codes();
    let mut first = 0;
    for sample in 1..=codes.len() {
        if sample == codes.len() || codes[sample] != codes[first] {
            if let Some(&(product, unknown)) = products.get(codes[first] as usize) {
                spans.push(span(first, sample - 1, product, unknown));
            }
            first = sample;
        }
    }
    spans
}

/// The differential's limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct DifferentialLimit {
    pub exact: Ratio,
    pub threshold: i64,
}

pub(crate) fn differential_limit(record: &RunRecord, plant: &Plant) -> DifferentialLimit {
    let channel = record.differential();
    let exact = plant.limits.differential.figure(channel.unit());
    DifferentialLimit { exact, threshold: exact.floor_mantissa(channel.scale()) }
}

/// The symbol of a unit's product with seconds, for shortfalls.
pub(crate) fn shortfall_symbol(unit: impl Unit) -> &'static str {
    match unit.symbol() {
        "°F" => "°F·s",
        "°C" => "°C·s",
        "psi" => "psi·s",
        "kPa" => "kPa·s",
        "bar" => "bar·s",
        "mbar" => "mbar·s",
        "MPa" => "MPa·s",
        _ => "s",
    }
}
