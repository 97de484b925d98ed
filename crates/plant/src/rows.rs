//! The built-in rows of time and temperature for continuous flow, each with its printed figures
//! and source. The rows do not lie on one line; nothing is interpolated between them.

use crate::limit::{Provenance, Source, TemperatureLimit};
use trace::{Decimal, Duration, TemperatureUnit};

/// One row of a regulation's table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// The key by which a plant file names the row.
    pub key: &'static str,
    /// The product that the row is for, in the words of the source.
    pub product: &'static str,
    /// °F as printed; `None` where only °C is printed.
    pub fahrenheit: Option<Decimal>,
    /// °C as printed.
    pub celsius: Decimal,
    /// The minimum time.
    pub time: Duration,
    /// The citation.
    pub citation: &'static str,
    /// How well the source is known.
    pub provenance: Provenance,
}

impl Row {
    /// The row's temperature as a limit.
    pub const fn limit(&self) -> TemperatureLimit {
        match self.fahrenheit {
            Some(fahrenheit) => TemperatureLimit::Printed { fahrenheit, celsius: self.celsius },
            None => TemperatureLimit::Single(self.celsius, TemperatureUnit::Celsius),
        }
    }

    /// The row's source.
    pub fn source(&self) -> Source {
        Source::new(self.citation, self.provenance)
    }
}

const fn both(
    key: &'static str,
    product: &'static str,
    (fahrenheit, celsius): (i64, i64),
    milliseconds: i64,
    citation: &'static str,
) -> Row {
    Row {
        key,
        product,
        fahrenheit: Some(Decimal::whole(fahrenheit)),
        celsius: Decimal::whole(celsius),
        time: Duration::from_milliseconds(milliseconds),
        citation,
        provenance: Provenance::Seen,
    }
}

const fn metric(
    key: &'static str,
    product: &'static str,
    celsius: Decimal,
    milliseconds: i64,
    citation: &'static str,
    provenance: Provenance,
) -> Row {
    Row {
        key,
        product,
        fahrenheit: None,
        celsius,
        time: Duration::from_milliseconds(milliseconds),
        citation,
        provenance,
    }
}

const US: &str = "21 CFR 1240.61(b)";
const US_RICH: &str = "21 CFR 1240.61(b), footnote 1 (5 °F / 3 °C above the 161 °F row)";
const US_EGGNOG: &str = "21 CFR 1240.61(c)";
const MICHIGAN: &str = "MCL 288.697";
const ALBERTA: &str = "Alberta Dairy Industry Regulation, Schedule 1";
const RICH: &str = "milk products with 10 % fat or more, or added sweetener";
const EU: &str = "Regulation (EC) 853/2004, Annex III, Section IX, Chapter II";

/// All built-in rows.
pub const ROWS: &[Row] = &[
    both("us-milk-15s", "milk", (161, 72), 15_000, US),
    both("us-milk-1s", "milk", (191, 89), 1000, US),
    both("us-milk-0.5s", "milk", (194, 90), 500, US),
    both("us-milk-0.1s", "milk", (201, 94), 100, US),
    both("us-milk-0.05s", "milk", (204, 96), 50, US),
    both("us-milk-0.01s", "milk", (212, 100), 10, US),
    both("us-rich-15s", RICH, (166, 75), 15_000, US_RICH),
    both("us-eggnog-25s", "eggnog", (175, 80), 25_000, US_EGGNOG),
    both("us-eggnog-15s", "eggnog", (180, 83), 15_000, US_EGGNOG),
    both("michigan-rich-15s", RICH, (166, 75), 15_000, MICHIGAN),
    both("michigan-rich-1s", RICH, (196, 92), 1000, MICHIGAN),
    both("michigan-rich-0.5s", RICH, (199, 93), 500, MICHIGAN),
    both("michigan-rich-0.1s", RICH, (206, 97), 100, MICHIGAN),
    both("michigan-rich-0.05s", RICH, (209, 99), 50, MICHIGAN),
    both("michigan-rich-0.01s", RICH, (217, 103), 10, MICHIGAN),
    both("us-frozen-mix-25s", "frozen dessert mix", (175, 80), 25_000, MICHIGAN),
    both("us-frozen-mix-15s", "frozen dessert mix", (180, 83), 15_000, MICHIGAN),
    metric(
        "canada-milk-16s",
        "milk products below 10 % milk fat",
        Decimal::whole(72),
        16_000,
        ALBERTA,
        Provenance::SeenSecondary,
    ),
    metric(
        "canada-rich-16s",
        "milk products with 10 % milk fat or more, or sugar",
        Decimal::whole(75),
        16_000,
        ALBERTA,
        Provenance::SeenSecondary,
    ),
    metric(
        "canada-mix-25s",
        "frozen mix and eggnog",
        Decimal::whole(80),
        25_000,
        ALBERTA,
        Provenance::SeenSecondary,
    ),
    metric(
        "canada-mix-16s",
        "frozen mix and eggnog",
        Decimal::whole(83),
        16_000,
        ALBERTA,
        Provenance::SeenSecondary,
    ),
    metric("eu-milk-15s", "milk", Decimal::whole(72), 15_000, EU, Provenance::SeenSecondary),
    metric(
        "australia-milk-15s",
        "milk",
        Decimal::whole(72),
        15_000,
        "FSANZ Standard 4.2.4, clause 15",
        Provenance::SeenSecondary,
    ),
    metric(
        "uk-1995-milk-15s",
        "milk",
        Decimal::new(717, 1),
        15_000,
        "SI 1995/1372, Schedule 4, Part III (historic)",
        Provenance::Seen,
    ),
];

/// The row with the given key.
pub fn row(key: &str) -> Option<&'static Row> {
    ROWS.iter().find(|row| row.key == key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_unique() {
        let mut keys: Vec<_> = ROWS.iter().map(|row| row.key).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), ROWS.len());
    }

    #[test]
    fn printed_celsius_is_fahrenheit_rounded_up() {
        // A property of the printed US tables, and a guard against a typing mistake.
        for row in ROWS {
            let Some(fahrenheit) = row.fahrenheit else {
                continue;
            };
            let exact = (fahrenheit.to_f64() - 32.0) / 1.8;
            let over = row.celsius.to_f64() - exact;
            assert!((0.0..1.0).contains(&over), "{}: {over}", row.key);
        }
    }
}
