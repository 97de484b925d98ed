//! The limits that hold at each sample: the product's temperature and time and the differential,
//! as integers at the scale of their channels (method, sections 2 and 6).
//!
//! A span is a stretch of samples with one limit. Where it is not plain which product was in the
//! line (blank, unknown, two rows that differ, logger and run sheet that differ), the stricter
//! figure of everything that may have been there holds.

use plant::{Mode, Plant, Product};
use std::collections::BTreeMap;
use trace::{BOTH, Decimal, Duration, Instant, Ratio, RunRecord, TemperatureUnit, Unit};

/// A stretch of samples that is held to one temperature limit.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "facts of a product that do not exclude each other"
)]
pub struct LimitSpan {
    /// The first sample.
    pub first: usize,
    /// The last sample.
    pub last: usize,
    /// The name of the product whose limit it is.
    pub product: String,
    /// The limit in the unit of the holding temperature.
    pub limit: f64,
    /// Where the limit comes from, and how well that is known.
    pub source: String,
    /// The least holding time.
    pub minimum_time: Duration,
    /// What the tube's effective volume is multiplied by.
    pub factor: Decimal,
    /// Whether the product is blank or unknown while others are named; then the strictest limit
    /// holds.
    pub unknown_product: bool,
    /// Whether the run sheet names another product than the logger; then the stricter limit holds.
    pub sheet_disagrees: bool,
    /// Whether the product may leave the cooler warm.
    pub(crate) cooled_exempt: bool,
    /// Whether the recorder's thermometer has to show the limit as well.
    pub(crate) judged_by_recorder: bool,
    /// The limit as an exact fraction.
    pub(crate) exact: Ratio,
    /// A reading is short when its mantissa is less.
    pub(crate) threshold: i64,
    /// The limit in the recorder's own unit; `None` without a recorder.
    pub(crate) of_recorder: Option<Ratio>,
}

/// What a sample is held to, before it has a place.
#[derive(Clone)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "facts of a product that do not exclude each other"
)]
struct HeldTo {
    product: String,
    source: String,
    exact: Ratio,
    of_recorder: Option<Ratio>,
    minimum_time: Duration,
    factor: Decimal,
    cooled_exempt: bool,
    judged_by_recorder: bool,
    unknown: bool,
    disagrees: bool,
}

/// The two units in which a limit is needed.
#[derive(Clone, Copy)]
struct Units {
    holding: TemperatureUnit,
    recorder: Option<TemperatureUnit>,
}

impl HeldTo {
    fn product(product: &Product, units: Units) -> Self {
        Self {
            product: product.name.clone(),
            source: product.source.in_words(),
            exact: product.limit.figure(units.holding),
            of_recorder: units.recorder.map(|unit| product.limit.figure(unit)),
            minimum_time: product.minimum_time,
            factor: product.factor,
            cooled_exempt: product.cooled_exempt,
            judged_by_recorder: product.judged_by_recorder,
            unknown: false,
            disagrees: false,
        }
    }

    fn unknown(plant: &Plant, units: Units) -> Self {
        let strictest = plant.products.unknown(units.holding);
        Self {
            product: strictest.product.clone(),
            source: strictest.source.in_words(),
            exact: strictest.limit,
            of_recorder: units.recorder.map(|unit| plant.products.unknown(unit).limit),
            minimum_time: strictest.minimum_time,
            factor: strictest.factor,
            cooled_exempt: false,
            judged_by_recorder: plant.products.iter().any(|one| one.judged_by_recorder),
            unknown: true,
            disagrees: false,
        }
    }

    /// Of a word that is not blank; of the words of two rows of one instant the stricter.
    fn named(plant: &Plant, units: Units, word: &str) -> Self {
        if let Some(product) = plant.products.find(word) {
            return Self::product(product, units);
        }
        let both: Option<Vec<&Product>> = word
            .contains(BOTH)
            .then(|| word.split(BOTH).map(|part| plant.products.find(part)).collect())
            .flatten();
        both.into_iter()
            .flatten()
            .map(|product| Self::product(product, units))
            .reduce(Self::stricter)
            .unwrap_or_else(|| Self::unknown(plant, units))
    }

    /// The higher temperature and the longer time of both.
    fn stricter(mut self, other: Self) -> Self {
        if other.exact.is_above(self.exact) {
            self.product = other.product;
            self.source = other.source;
            self.exact = other.exact;
        }
        if let (Some(own), Some(others)) = (self.of_recorder, other.of_recorder)
            && others.is_above(own)
        {
            self.of_recorder = Some(others);
        }
        self.minimum_time = self.minimum_time.max(other.minimum_time);
        self.factor = self.factor.min(other.factor);
        self.cooled_exempt &= other.cooled_exempt;
        self.judged_by_recorder |= other.judged_by_recorder;
        self.unknown |= other.unknown;
        self
    }
}

/// The temperature limit of a product's word, by itself.
pub(crate) fn limit_of(plant: &Plant, unit: TemperatureUnit, word: &str) -> Ratio {
    HeldTo::named(plant, Units { holding: unit, recorder: None }, word).exact
}

/// What the products of a record are held to.
struct Resolver<'a> {
    record: &'a RunRecord,
    plant: &'a Plant,
    units: Units,
    /// Whether the record names any product.
    names_some: bool,
}

impl Resolver<'_> {
    fn named(&self, word: &str) -> HeldTo {
        HeldTo::named(self.plant, self.units, word)
    }

    fn held_to(&self, word: &str, water: bool, at: Instant) -> HeldTo {
        // Without a plant file nobody has said what the line makes: a blank product is an unknown one.
        let unnamed = !self.names_some && !self.plant.is_assumed();
        let is_default = unnamed || (word.is_empty() && water);
        let mut held = if is_default {
            HeldTo::product(self.plant.products.default_product(), self.units)
        } else {
            self.named(word)
        };
        for run in self.record.run_sheet().into_iter().flat_map(|sheet| sheet.runs_at(at)) {
            if !is_same(&run.product, word) {
                // A blank cell contradicts nobody, and the sheet may still know better, also where
                // two of its runs claim the instant. Whether a product is unknown is told of the
                // record's own word.
                let unknown = held.unknown;
                held = held.stricter(self.named(&run.product));
                held.unknown = unknown;
                held.disagrees |= !word.is_empty();
            }
        }
        held
    }
}

/// Whether two words name one product: case and blanks around them do not matter.
pub(crate) fn is_same(one: &str, other: &str) -> bool {
    // Asked of every sample, and nearly always of two equal words.
    one == other || one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// The limit spans of a record, in order, without a hole.
pub(crate) fn temperature_spans(record: &RunRecord, plant: &Plant) -> Vec<LimitSpan> {
    let holding = record.holding_temperature();
    let units = Units {
        holding: holding.unit(),
        recorder: record.recorder_temperature().map(trace::Channel::unit),
    };
    let names = record.product().filter(|text| text.words().iter().any(|word| !word.is_empty()));
    let sheet = record.run_sheet();
    let resolver = Resolver { record, plant, units, names_some: names.is_some() };
    let borders = sheet.map_or_else(Vec::new, |sheet| {
        let mut borders: Vec<Instant> = sheet
            .runs()
            .iter()
            .flat_map(|run| [run.interval.start(), run.interval.end()])
            .collect();
        borders.sort_unstable();
        borders
    });
    let modes = record.mode().map(|text| {
        let is_water = |word: &String| plant.columns.mode_words.mode(word) == Mode::Water;
        (text.codes(), text.words().iter().map(is_water).collect::<Vec<_>>())
    });
    let instants = record.instants();
    let mut passed = 0;
    // Product, stretch of the run sheet, water: what can change the limit.
    let mut key = |sample: usize| {
        let code = names.map_or(0, |text| text.codes()[sample]);
        while borders.get(passed).is_some_and(|&border| border <= instants[sample]) {
            passed += 1;
        }
        let water = modes.as_ref().is_some_and(|(codes, water)| water[codes[sample] as usize]);
        (code, passed, water)
    };
    let mut known: BTreeMap<(u32, usize, bool), HeldTo> = BTreeMap::new();
    let mut spans: Vec<LimitSpan> = Vec::new();
    let mut current = key(0);
    let mut first = 0;
    for sample in 1..=record.samples() {
        let next = (sample < record.samples()).then(|| key(sample));
        if next == Some(current) {
            continue;
        }
        let word = names.map_or("", |text| text.word(first));
        let held = known
            .entry(current)
            .or_insert_with(|| resolver.held_to(word, current.2, instants[first]));
        let joins = spans.last_mut().filter(|last| {
            last.exact == held.exact
                && last.of_recorder == held.of_recorder
                && (last.minimum_time, last.factor) == (held.minimum_time, held.factor)
                && (last.cooled_exempt, last.judged_by_recorder)
                    == (held.cooled_exempt, held.judged_by_recorder)
                && (last.unknown_product, last.sheet_disagrees) == (held.unknown, held.disagrees)
                && last.product == held.product
                && names.is_none_or(|text| text.word(last.first) == word)
        });
        match joins {
            Some(last) => last.last = sample - 1,
            None => spans.push(LimitSpan {
                first,
                last: sample - 1,
                product: held.product.clone(),
                limit: held.exact.to_f64(),
                source: held.source.clone(),
                minimum_time: held.minimum_time,
                factor: held.factor,
                unknown_product: held.unknown,
                sheet_disagrees: held.disagrees,
                cooled_exempt: held.cooled_exempt,
                judged_by_recorder: held.judged_by_recorder,
                exact: held.exact,
                threshold: held.exact.floor_mantissa(holding.scale()),
                of_recorder: held.of_recorder,
            }),
        }
        first = sample;
        if let Some(next) = next {
            current = next;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day};
    use trace::FlowUnit;

    fn spans(specimen: Specimen) -> Vec<LimitSpan> {
        let (record, plant) = specimen.finish();
        temperature_spans(&record, &plant)
    }

    /// First and last sample, product and limit of each span.
    fn told(specimen: Specimen) -> Vec<String> {
        let one = |span: &LimitSpan| {
            format!("{}..{} {} {}", span.first, span.last, span.product, span.limit)
        };
        spans(specimen).iter().map(one).collect()
    }

    /// Milk at 161 °F, cream at 166 °F; milk is the default.
    fn dairy(valve: &str) -> Specimen {
        day(valve).products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
    }

    #[test]
    fn without_names_the_default_product_holds() {
        assert_eq!(told(dairy("F*4")), ["0..3 milk 161"]);
        assert_eq!(told(dairy("F*4").product("_")), ["0..3 milk 161"]);
    }

    #[test]
    fn names_are_compared_without_case_and_blanks() {
        assert_eq!(told(dairy("F*4").product("CREAM*2 Milk")), ["0..1 cream 166", "2..3 milk 161"]);
    }

    /// 166 °F / 75 °C for 15 s, whatever the plant file names: the rich row of the US family.
    #[test]
    fn a_blank_or_unknown_product_is_held_to_the_rich_row() {
        let milk = |valve: &str| day(valve).products(&[("milk", "us-milk-15s")]);
        let expected = ["0..1 milk 161", "2..3 row us-rich-15s 166"];
        assert_eq!(told(milk("F*4").product("milk*2 _")), expected);
        assert_eq!(told(milk("F*4").product("milk*2 eggnog")), expected);
        // And with no plant file, where only milk is assumed.
        assert_eq!(told(day("F*2").product("chocolate~milk")), ["0..1 row us-rich-15s 166"]);
        let metric = day("F*2").metric().product("chocolate~milk");
        assert_eq!(told(metric), ["0..1 row us-rich-15s 75"]);
        let unknown: Vec<bool> = spans(milk("F*4").product("milk*2 _"))
            .iter()
            .map(|span| span.unknown_product)
            .collect();
        assert_eq!(unknown, [false, true]);
    }

    /// Eggnog at 175 °F for 25 s and at 180 °F for 15 s: the temperature of the one and the time of
    /// the other.
    #[test]
    fn an_unknown_product_takes_the_highest_temperature_and_the_longest_time() {
        let rows = [("a", "us-milk-15s"), ("b", "us-eggnog-25s"), ("c", "us-eggnog-15s")];
        let spans = spans(day("F*4").products(&rows).product("a*2 other"));
        let last = spans.last().map(|span| (span.limit, span.minimum_time));
        assert_eq!(last, Some((180.0, Duration::from_seconds(25))));
    }

    #[test]
    fn in_water_a_blank_product_has_the_default_products_limit() {
        let audit = dairy("F*4").product("cream*2 _").mode("production*2 water");
        assert_eq!(told(audit), ["0..1 cream 166", "2..3 milk 161"]);
        // In cleaning it has not.
        let audit = dairy("F*4").product("milk*2 _").mode("production*2 cip");
        assert_eq!(told(audit), ["0..1 milk 161", "2..3 cream 166"]);
        // Nor has a product that is named while the line runs on water.
        let audit = dairy("F*4").product("cream").mode("water");
        assert_eq!(told(audit), ["0..3 cream 166"]);
    }

    /// Two rows of one instant that name two products: the higher temperature and the longer time.
    #[test]
    fn two_products_at_one_instant_are_held_to_the_stricter() {
        let rows =
            [("milk", "us-milk-15s"), ("mix", "us-frozen-mix-25s"), ("cream", "us-rich-15s")];
        let of = |word: &str| {
            let spans = spans(day("F*2").products(&rows).product(word));
            spans
                .first()
                .map(|span| (span.limit, span.minimum_time.milliseconds(), span.unknown_product))
        };
        assert_eq!(of("cream~+~milk"), Some((166.0, 15_000, false)));
        assert_eq!(of("cream~+~mix"), Some((175.0, 25_000, false)));
        // A part that nobody knows makes the whole unknown: the highest and the longest of all.
        assert_eq!(of("milk~+~something"), Some((175.0, 25_000, true)));
    }

    /// 8 s of the sheet's cream over a logger that says milk: only there the stricter.
    #[test]
    fn where_sheet_and_logger_differ_the_stricter_holds() {
        let spans = spans(dairy("F*10").product("milk").run((2000, 5000), "cream", "", ""));
        let told: Vec<_> = spans
            .iter()
            .map(|span| (span.first, span.last, span.limit, span.sheet_disagrees))
            .collect();
        // A run ends before its end.
        assert_eq!(told, [(0, 1, 161.0, false), (2, 4, 166.0, true), (5, 9, 161.0, false)]);
        // The other way round the logger's own is the stricter.
        let spans = self::spans(dairy("F*4").product("cream").run((0, 10_000), "milk", "", ""));
        assert_eq!(
            spans.first().map(|span| (span.limit, span.sheet_disagrees)),
            Some((166.0, true))
        );
        // Case does not matter.
        let spans = self::spans(dairy("F*4").product("cream").run((0, 10_000), "Cream ", "", ""));
        assert_eq!(spans.first().map(|span| span.sheet_disagrees), Some(false));
    }

    #[test]
    fn every_run_of_the_sheet_that_claims_the_instant_counts() {
        let day = dairy("F*4").product("milk").run((0, 10_000), "milk", "", "").run(
            (0, 10_000),
            "cream",
            "",
            "",
        );
        assert_eq!(told(day), ["0..3 cream 166"]);
    }

    #[test]
    fn without_a_product_column_the_sheets_words_hold() {
        let spans = spans(dairy("F*10").run((0, 5000), "cream", "", ""));
        let told: Vec<_> = spans
            .iter()
            .map(|span| (span.first, span.last, span.limit, span.sheet_disagrees))
            .collect();
        // What the sheet does not cover is blank, and so held to the strictest.
        assert_eq!(told, [(0, 4, 166.0, false), (5, 9, 166.0, false)]);
    }

    #[test]
    fn a_column_without_any_word_is_none_beside_a_run_sheet() {
        let day = dairy("F*4").product("_").run((0, 2000), "milk", "", "");
        // What the sheet does not cover is blank in a record that names others.
        assert_eq!(told(day), ["0..1 milk 161", "2..3 cream 166"]);
        let day = dairy("F*4").product("_").run((0, 2000), "cream", "", "");
        assert_eq!(told(day), ["0..1 cream 166", "2..3 cream 166"]);
        let water = dairy("F*4").product("milk*2 _").mode("production*2 water");
        assert_eq!(
            told(water.run((2000, 3000), "cream", "", "")),
            ["0..1 milk 161", "2..2 cream 166", "3..3 milk 161"]
        );
    }

    /// Two runs of the sheet claim the only sample, so that the record has no name: neither of them
    /// is forgotten.
    #[test]
    fn what_two_runs_of_the_sheet_claim_is_held_to_the_stricter() {
        let day = || dairy("F*2").run((0, 9000), "milk", "", "").run((0, 9000), "cream", "", "");
        assert_eq!(told(day()), ["0..1 cream 166"]);
        assert_eq!(told(day().mode("water")), ["0..1 cream 166"]);
    }

    /// The logger's word is in the plant file, the sheet's is not: the limit is that of an unknown
    /// product, and what is told is that the two differ.
    #[test]
    fn an_unknown_word_of_the_sheet_is_not_told_of_the_loggers() {
        let spans = spans(dairy("F*4").product("milk").run((0, 10_000), "kefir", "", ""));
        let told: Vec<_> = spans
            .iter()
            .map(|span| (span.limit, span.unknown_product, span.sheet_disagrees))
            .collect();
        assert_eq!(told, [(166.0, false, true)]);
    }

    /// 161 °F for the thermometer and 72 °C for the recorder: both as printed.
    #[test]
    fn the_recorder_has_the_limit_printed_for_its_own_unit() {
        let day = day("F*2").recorder_in(TemperatureUnit::Celsius, "74");
        let spans = spans(day);
        let limits = spans.first().map(|span| (span.limit, span.of_recorder.map(Ratio::to_f64)));
        assert_eq!(limits, Some((161.0, Some(72.0))));
    }

    #[test]
    fn a_span_knows_its_source() {
        let spans = spans(day("F*2"));
        let source = spans.first().map(|span| span.source.as_str());
        assert_eq!(source, Some("21 CFR 1240.61(b) (built in; text read)"));
    }

    #[test]
    fn shortfalls_have_the_symbol_of_their_unit() {
        assert_eq!(shortfall_symbol(TemperatureUnit::Fahrenheit), "°F·s");
        assert_eq!(shortfall_symbol(trace::PressureUnit::Millibar), "mbar·s");
        assert_eq!(shortfall_symbol(FlowUnit::LitrePerHour), "s");
    }
}
