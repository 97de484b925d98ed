//! The products of a plant and the limit that each is held to.

use crate::limit::{Source, TemperatureLimit};
use crate::rows::{Family, MILK, Row, rich_row};
use std::collections::BTreeMap;
use trace::{Decimal, Duration, Ratio, TemperatureUnit};

/// A product.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Product {
    /// The name in the logger's product column.
    pub name: String,
    /// The least holding temperature.
    pub limit: TemperatureLimit,
    /// The least holding time.
    pub minimum_time: Duration,
    /// What the tube's effective volume is multiplied by; below 1 for viscous products.
    pub factor: Decimal,
    /// Where temperature and time come from.
    pub source: Source,
    /// The authority of its row; `None` for a row of the plant's own.
    pub family: Option<Family>,
    /// Whether it may leave the cooler warm, such as milk that is to be cultured.
    pub cooled_exempt: bool,
    /// Whether the recorder's thermometer has to show the limit as well.
    pub judged_by_recorder: bool,
}

/// What a product is held to that nobody knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strictest {
    /// The highest temperature, in the unit that was asked for.
    pub limit: Ratio,
    /// The longest time.
    pub minimum_time: Duration,
    /// The least factor.
    pub factor: Decimal,
    /// The product or row that sets the temperature, and the one that sets the time where that is
    /// another.
    pub product: String,
    /// Where the temperature comes from.
    pub source: Source,
}

impl Product {
    /// A product held to a built-in row.
    pub fn from_row(name: impl Into<String>, row: &Row) -> Self {
        Self {
            name: name.into(),
            limit: row.limit(),
            minimum_time: row.time,
            factor: Decimal::whole(1),
            source: row.source(),
            family: Some(row.family),
            cooled_exempt: false,
            judged_by_recorder: false,
        }
    }
}

/// The products of a plant: at least one, one of them the default.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Products {
    first: Product,
    others: Vec<Product>,
    default: usize,
    /// The places of the names: a record may name another product in every row.
    places: BTreeMap<String, usize>,
    /// What an unknown product is held to, for a thermometer in °F and for one in °C.
    unknown: [Strictest; 2],
}

impl Products {
    /// `first` and `others`, the default at index `default` (0 is `first`; an index beyond the
    /// last means `first`).
    pub fn new(first: Product, others: Vec<Product>, default: usize) -> Self {
        let default = if default <= others.len() { default } else { 0 };
        let mut places = BTreeMap::new();
        for (place, product) in std::iter::once(&first).chain(&others).enumerate() {
            places.entry(plain(&product.name)).or_insert(place);
        }
        let unknown = [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius]
            .map(|unit| strictest_of(&first, &others, unit));
        Self { first, others, default, places, unknown }
    }

    fn at(&self, place: usize) -> Option<&Product> {
        match place.checked_sub(1) {
            None => Some(&self.first),
            Some(other) => self.others.get(other),
        }
    }

    /// All products, in the order of the plant file.
    pub fn iter(&self) -> impl Iterator<Item = &Product> {
        std::iter::once(&self.first).chain(&self.others)
    }

    /// The product of a run that names none.
    pub fn default_product(&self) -> &Product {
        self.at(self.default).unwrap_or(&self.first)
    }

    /// The product with that name; case and blanks around it do not matter.
    pub fn find(&self, name: &str) -> Option<&Product> {
        self.places.get(&plain(name)).and_then(|&place| self.at(place))
    }

    /// What a sample is held to whose product is blank or not known: the highest temperature, the
    /// longest time and the least factor among the plant's products and the rich rows of their
    /// families.
    pub const fn unknown(&self, unit: TemperatureUnit) -> &Strictest {
        let [fahrenheit, celsius] = &self.unknown;
        match unit {
            TemperatureUnit::Fahrenheit => fahrenheit,
            TemperatureUnit::Celsius => celsius,
        }
    }
}

/// A name as names are compared: case and blanks around it do not matter.
fn plain(name: &str) -> String {
    name.trim().to_lowercase()
}

fn strictest_of(first: &Product, others: &[Product], unit: TemperatureUnit) -> Strictest {
    let mut families: Vec<Family> = Vec::new();
    for product in std::iter::once(first).chain(others) {
        let family = product.family.unwrap_or(Family::Us);
        if !families.contains(&family) {
            families.push(family);
        }
    }
    let rich: Vec<Product> = families
        .into_iter()
        .map(rich_row)
        .map(|row| Product::from_row(format!("row {}", row.key), row))
        .collect();
    let mut hottest = first;
    let mut longest = first;
    let mut factor = first.factor;
    // The plant's products first: of equals the plant's own name is the plainer one.
    for product in others.iter().chain(&rich) {
        if product.limit.figure(unit).is_above(hottest.limit.figure(unit)) {
            hottest = product;
        }
        if product.minimum_time > longest.minimum_time {
            longest = product;
        }
        factor = factor.min(product.factor);
    }
    // Where one product sets both, one name says it all.
    let product = if hottest.minimum_time == longest.minimum_time {
        hottest.name.clone()
    } else {
        format!("{}; time of {}", hottest.name, longest.name)
    };
    Strictest {
        limit: hottest.limit.figure(unit),
        minimum_time: longest.minimum_time,
        factor,
        product,
        source: hottest.source.clone(),
    }
}

impl Default for Products {
    /// Milk at 161 °F (72 °C) for 15 s, 21 CFR 1240.61(b): the first built-in row.
    fn default() -> Self {
        Self::new(Product::from_row("milk", &MILK), Vec::new(), 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rows::{ROWS, row};

    fn of_row(key: &str) -> Product {
        Product::from_row(format!("product {key}"), row(key).unwrap_or(&MILK))
    }

    #[track_caller]
    fn unknown_is(products: &[Product], fahrenheit: i64, celsius: i64, seconds: i64) -> Strictest {
        let Some((first, others)) = products.split_first() else { panic!("a product") };
        let products = Products::new(first.clone(), others.to_vec(), 0);
        let strictest = products.unknown(TemperatureUnit::Fahrenheit).clone();
        assert_eq!(strictest.limit.floor_mantissa(0), fahrenheit);
        assert_eq!(products.unknown(TemperatureUnit::Celsius).limit.floor_mantissa(0), celsius);
        assert_eq!(strictest.minimum_time.milliseconds(), 1000 * seconds);
        strictest
    }

    /// A plant that names milk only may still have made chocolate milk.
    #[test]
    fn an_unknown_product_is_held_to_the_rich_row() {
        let strictest = unknown_is(&[of_row("us-milk-15s")], 166, 75, 15);
        assert_eq!(strictest.product, "row us-rich-15s");
        assert_eq!(
            strictest.source.citation,
            "21 CFR 1240.61(b), footnote 1 (5 °F / 3 °C above the 161 °F row)"
        );
        unknown_is(&[Product::from_row("milk", &MILK)], 166, 75, 15);
        unknown_is(&[of_row("michigan-rich-15s")], 166, 75, 15);
        // 75 °C is 167 °F: Alberta prints °C only.
        unknown_is(&[of_row("alberta-milk-16s")], 167, 75, 16);
        // A family without a rich row of its own.
        unknown_is(&[of_row("eu-milk-15s")], 166, 75, 15);
        unknown_is(&[of_row("australia-milk-15s")], 166, 75, 15);
        unknown_is(&[of_row("uk-1995-milk-15s")], 166, 75, 15);
    }

    #[test]
    fn the_highest_temperature_and_the_longest_time_may_be_two_products() {
        let mut own = Product::from_row("own", &MILK);
        own.family = None;
        own.limit = TemperatureLimit::Single(Decimal::whole(170), TemperatureUnit::Fahrenheit);
        own.minimum_time = Duration::from_seconds(1);
        own.factor = Decimal::new(9, 1);
        let mut slow = of_row("us-milk-15s");
        slow.minimum_time = Duration::from_seconds(30);
        let strictest = unknown_is(&[own.clone(), slow], 170, 77, 30);
        assert_eq!(strictest.product, "own; time of product us-milk-15s");
        assert_eq!(strictest.factor, Decimal::new(9, 1));
        // A row of the plant's own has the rich row of the United States beside it.
        let strictest = unknown_is(&[own], 170, 77, 15);
        assert_eq!(strictest.product, "own; time of row us-rich-15s");
    }

    /// The higher heats are the hotter ones; the rich row then gives the time.
    #[test]
    fn a_plant_of_higher_heat_keeps_the_longest_time() {
        unknown_is(&[of_row("us-milk-1s")], 191, 89, 15);
    }

    #[test]
    fn nothing_built_in_is_stricter_than_its_own_unknown() {
        for row in ROWS {
            let product = Product::from_row("p", row);
            let products = Products::new(product.clone(), Vec::new(), 0);
            for unit in [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius] {
                let strictest = products.unknown(unit);
                assert!(!product.limit.figure(unit).is_above(strictest.limit), "{}", row.key);
                assert!(!rich_row(Family::Us).limit().figure(unit).is_above(strictest.limit));
                assert!(strictest.minimum_time >= product.minimum_time, "{}", row.key);
            }
        }
    }
}
