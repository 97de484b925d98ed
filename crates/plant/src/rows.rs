//! The built-in rows of time and temperature for continuous flow, each with its printed figures
//! and source. The rows do not lie on one line; nothing is interpolated between them.

use crate::limit::{Provenance, Source, TemperatureLimit};
use trace::{Decimal, Duration, TemperatureUnit};

/// The authority whose table a row is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// The federal code of the United States, and the states that follow it.
    Us,
    /// Michigan, whose law raises the higher-heat rows of rich products too.
    Michigan,
    /// Alberta.
    Alberta,
    /// The European Union.
    EuropeanUnion,
    /// Australia.
    Australia,
    /// The United Kingdom.
    UnitedKingdom,
}

/// One row of a regulation's table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// The key by which a plant file names the row.
    pub key: &'static str,
    /// The authority whose table it is from.
    pub family: Family,
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
    (family, key): (Family, &'static str),
    product: &'static str,
    (fahrenheit, celsius): (i64, i64),
    milliseconds: i64,
    citation: &'static str,
) -> Row {
    Row {
        key,
        family,
        product,
        fahrenheit: Some(Decimal::whole(fahrenheit)),
        celsius: Decimal::whole(celsius),
        time: Duration::from_milliseconds(milliseconds),
        citation,
        provenance: Provenance::Seen,
    }
}

const fn metric(
    (family, key): (Family, &'static str),
    product: &'static str,
    celsius: Decimal,
    milliseconds: i64,
    (citation, provenance): (&'static str, Provenance),
) -> Row {
    Row {
        key,
        family,
        product,
        fahrenheit: None,
        celsius,
        time: Duration::from_milliseconds(milliseconds),
        citation,
        provenance,
    }
}

const US: &str = "21 CFR 1240.61(b)";
const US_FOOTNOTE: &str = "21 CFR 1240.61(b), footnote 1 (5 °F / 3 °C above the 161 °F row)";
const US_EGGNOG: &str = "21 CFR 1240.61(c)";
/// Not MCL 288.697, which prints the same figures: it is Michigan's law of manufacturing milk, not
/// of Grade A.
const MIX_25: &str =
    "1 NYCRR 2.44(a); 25 TAC § 217.46(p)(1); 7 CFR 58.635 (prints 175 °F for 25 s only)";
const MIX_15: &str = "1 NYCRR 2.44(a); 25 TAC § 217.46(p)(1)";
const MICHIGAN: &str = "MCL 288.697 (Manufacturing Milk Law)";
const ALBERTA: (&str, Provenance) =
    ("Alberta Dairy Industry Regulation, Schedule 1", Provenance::SeenSecondary);
/// The copy that was read sets the figures in two columns that do not line up.
const ALBERTA_MIX: (&str, Provenance) = (
    "Alberta Dairy Industry Regulation, Schedule 1 (in the copy read, 80 °C for 25 s stands beside \
     frozen mixes and 83 °C for 16 s beside eggnog; another reading is possible)",
    Provenance::SeenSecondary,
);
const RICH: &str = "milk products with 10 % fat or more, or added sweetener";
const EU: (&str, Provenance) =
    ("Regulation (EC) 853/2004, Annex III, Section IX, Chapter II", Provenance::SeenSecondary);
const FSANZ: (&str, Provenance) = ("FSANZ Standard 4.2.4, clause 15", Provenance::SeenSecondary);
const UK: (&str, Provenance) = ("SI 1995/1372, Schedule 4, Part III (historic)", Provenance::Seen);

/// Milk in the United States: what is assumed without a plant file.
pub(crate) static MILK: Row = MILK_ROW;
const MILK_ROW: Row = both((Family::Us, "us-milk-15s"), "milk", (161, 72), 15_000, US);
static US_RICH: Row = US_RICH_ROW;
const US_RICH_ROW: Row = both((Family::Us, "us-rich-15s"), RICH, (166, 75), 15_000, US_FOOTNOTE);
static MICHIGAN_RICH: Row = MICHIGAN_RICH_ROW;
const MICHIGAN_RICH_ROW: Row =
    both((Family::Michigan, "michigan-rich-15s"), RICH, (166, 75), 15_000, MICHIGAN);
static ALBERTA_RICH: Row = ALBERTA_RICH_ROW;
const ALBERTA_RICH_ROW: Row = metric(
    (Family::Alberta, "alberta-rich-16s"),
    "milk products with 10 % milk fat or more, or sugar",
    Decimal::whole(75),
    16_000,
    ALBERTA,
);

/// All built-in rows.
pub const ROWS: &[Row] = &[
    MILK_ROW,
    both((Family::Us, "us-milk-1s"), "milk", (191, 89), 1000, US),
    both((Family::Us, "us-milk-0.5s"), "milk", (194, 90), 500, US),
    both((Family::Us, "us-milk-0.1s"), "milk", (201, 94), 100, US),
    both((Family::Us, "us-milk-0.05s"), "milk", (204, 96), 50, US),
    both((Family::Us, "us-milk-0.01s"), "milk", (212, 100), 10, US),
    US_RICH_ROW,
    both((Family::Us, "us-eggnog-25s"), "eggnog", (175, 80), 25_000, US_EGGNOG),
    both((Family::Us, "us-eggnog-15s"), "eggnog", (180, 83), 15_000, US_EGGNOG),
    both((Family::Us, "us-frozen-mix-25s"), "frozen dessert mix", (175, 80), 25_000, MIX_25),
    both((Family::Us, "us-frozen-mix-15s"), "frozen dessert mix", (180, 83), 15_000, MIX_15),
    MICHIGAN_RICH_ROW,
    both((Family::Michigan, "michigan-rich-1s"), RICH, (196, 92), 1000, MICHIGAN),
    both((Family::Michigan, "michigan-rich-0.5s"), RICH, (199, 93), 500, MICHIGAN),
    both((Family::Michigan, "michigan-rich-0.1s"), RICH, (206, 97), 100, MICHIGAN),
    both((Family::Michigan, "michigan-rich-0.05s"), RICH, (209, 99), 50, MICHIGAN),
    both((Family::Michigan, "michigan-rich-0.01s"), RICH, (217, 103), 10, MICHIGAN),
    both(
        (Family::Michigan, "michigan-butter-cream-15s"),
        "cream for butter",
        (185, 85),
        15_000,
        MICHIGAN,
    ),
    both(
        (Family::Michigan, "michigan-plastic-cream-15s"),
        "plastic or frozen cream",
        (190, 88),
        15_000,
        MICHIGAN,
    ),
    metric(
        (Family::Alberta, "alberta-milk-16s"),
        "milk products below 10 % milk fat",
        Decimal::whole(72),
        16_000,
        ALBERTA,
    ),
    ALBERTA_RICH_ROW,
    metric(
        (Family::Alberta, "alberta-mix-25s"),
        "frozen mixes",
        Decimal::whole(80),
        25_000,
        ALBERTA_MIX,
    ),
    metric(
        (Family::Alberta, "alberta-eggnog-16s"),
        "eggnog",
        Decimal::whole(83),
        16_000,
        ALBERTA_MIX,
    ),
    metric((Family::EuropeanUnion, "eu-milk-15s"), "milk", Decimal::whole(72), 15_000, EU),
    metric((Family::Australia, "australia-milk-15s"), "milk", Decimal::whole(72), 15_000, FSANZ),
    metric((Family::UnitedKingdom, "uk-1995-milk-15s"), "milk", Decimal::new(717, 1), 15_000, UK),
];

/// Keys of earlier versions, and the keys of today.
const RENAMED: &[(&str, &str)] = &[
    ("canada-milk-16s", "alberta-milk-16s"),
    ("canada-rich-16s", "alberta-rich-16s"),
    ("canada-mix-25s", "alberta-mix-25s"),
    ("canada-mix-16s", "alberta-eggnog-16s"),
];

/// The row with the given key.
pub fn row(key: &str) -> Option<&'static Row> {
    ROWS.iter().find(|row| row.key == key)
}

/// What a key of an earlier version is called today.
pub(crate) fn renamed(key: &str) -> Option<&'static str> {
    RENAMED.iter().find(|(old, _)| *old == key).map(|(_, new)| *new)
}

/// The row for rich products of an authority: what an unknown product is held to at least. An
/// authority without a row of its own for them has the one of the United States (our choice).
pub fn rich_row(family: Family) -> &'static Row {
    match family {
        Family::Us | Family::EuropeanUnion | Family::Australia | Family::UnitedKingdom => &US_RICH,
        Family::Michigan => &MICHIGAN_RICH,
        Family::Alberta => &ALBERTA_RICH,
    }
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
    fn the_rich_rows_are_rows_of_the_table() {
        for (family, key) in [
            (Family::Us, "us-rich-15s"),
            (Family::Michigan, "michigan-rich-15s"),
            (Family::Alberta, "alberta-rich-16s"),
            (Family::EuropeanUnion, "us-rich-15s"),
            (Family::Australia, "us-rich-15s"),
            (Family::UnitedKingdom, "us-rich-15s"),
        ] {
            assert_eq!(Some(rich_row(family)), row(key), "{family:?}");
        }
    }

    /// The copy of Alberta's table that was read can be read in two ways.
    #[test]
    fn the_doubt_about_albertas_mixes_is_printed() {
        for key in ["alberta-mix-25s", "alberta-eggnog-16s"] {
            let words = row(key).map(|row| row.source().in_words()).unwrap_or_default();
            assert!(words.contains("another reading is possible"), "{words}");
            assert!(words.ends_with("(built in; read in a secondary text)"), "{words}");
        }
    }

    #[test]
    fn printed_celsius_is_fahrenheit_rounded_up() {
        // A property of the printed US tables, and a guard against a typing mistake.
        for row in ROWS {
            let Some(fahrenheit) = row.fahrenheit else {
                continue;
            };
            let exact =
                TemperatureUnit::Fahrenheit.convert(fahrenheit.to_f64(), TemperatureUnit::Celsius);
            let over = row.celsius.to_f64() - exact;
            assert!((0.0..1.0).contains(&over), "{}: {over}", row.key);
        }
    }
}
