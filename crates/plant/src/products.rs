//! The products of a plant and the limit that each is held to.

use crate::limit::{Source, TemperatureLimit};
use crate::rows::{ROWS, Row};
use trace::{Decimal, Duration, TemperatureUnit};

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
        }
    }
}

/// The products of a plant: at least one, one of them the default.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Products {
    first: Product,
    others: Vec<Product>,
    default: usize,
}

impl Products {
    /// `first` and `others`, the default at index `default` (0 is `first`; an index beyond the
    /// last means `first`).
    pub fn new(first: Product, others: Vec<Product>, default: usize) -> Self {
        let default = if default <= others.len() { default } else { 0 };
        Self { first, others, default }
    }

    /// All products, in the order of the plant file.
    pub fn iter(&self) -> impl Iterator<Item = &Product> {
        std::iter::once(&self.first).chain(&self.others)
    }

    /// The product of a run that names none.
    pub fn default_product(&self) -> &Product {
        self.iter().nth(self.default).unwrap_or(&self.first)
    }

    /// The product with that name; case and blanks around it do not matter.
    pub fn find(&self, name: &str) -> Option<&Product> {
        let name = name.trim().to_lowercase();
        self.iter().find(|product| product.name.trim().to_lowercase() == name)
    }

    /// The product with the highest temperature limit for a channel in `unit`, the first of
    /// equals: what a sample is held to whose product is blank or not in the plant file, while
    /// others are named.
    pub fn strictest(&self, unit: TemperatureUnit) -> &Product {
        let mut strictest = &self.first;
        for product in &self.others {
            if product.limit.figure(unit).to_f64() > strictest.limit.figure(unit).to_f64() {
                strictest = product;
            }
        }
        strictest
    }
}

impl Default for Products {
    /// Milk at 161 °F (72 °C) for 15 s, 21 CFR 1240.61(b): the first built-in row.
    fn default() -> Self {
        Self::new(Product::from_row("milk", &ROWS[0]), Vec::new(), 0)
    }
}
