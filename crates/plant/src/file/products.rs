//! `[[products]]`: what each product is held to, and the bounds of that.

use super::{RawProduct, Reader, Text};
use crate::bounds::{Beyond, PRODUCT_REASON, SHORTEST_TIME, lowest_row};
use crate::error::Error;
use crate::limit::{Provenance, Source, TemperatureLimit};
use crate::products::{Product, Products};
use crate::rows::{ROWS, renamed, row};
use std::collections::BTreeSet;
use trace::{Decimal, TemperatureUnit, Unit as _};

impl Reader<'_> {
    /// Notes a product that is held to less heat or time than any built-in row allows.
    ///
    /// The temperature is judged in its own unit and in that of the holding thermometer, for a
    /// limit of one figure is converted: 161 °F is 71.67 °C, and the figure printed for a
    /// thermometer in °C is 72.
    fn bounds_of_product(
        &self,
        product: &Product,
        (temperature, temperature_key): (&Text, &str),
        time: Option<&Text>,
        thermometer: Option<TemperatureUnit>,
    ) {
        let Product { name, limit, minimum_time, .. } = product;
        let own = match limit {
            TemperatureLimit::Single(_, unit) => Some(*unit),
            TemperatureLimit::Printed { .. } => None,
        };
        let row = lowest_row(*minimum_time);
        for unit in [own, thermometer].into_iter().flatten() {
            let (figure, least) = (limit.figure(unit), row.limit().figure(unit));
            if least.is_above(figure) {
                let shown = match limit {
                    TemperatureLimit::Single(value, own) if *own == unit => *value,
                    // Cut and not rounded: a limit must not look higher than it is.
                    _ => Decimal::new(figure.ceiling_mantissa(2), 2),
                };
                let (least, symbol) = (least.numerator() / least.denominator(), unit.symbol());
                self.goes_beyond(
                    temperature,
                    Beyond {
                        key: temperature_key.to_owned(),
                        set: format!("{name}: {shown} {symbol} for {minimum_time}"),
                        bound: format!("at least {least} {symbol} (row {})", row.key),
                        reason: PRODUCT_REASON.to_owned(),
                    },
                );
                break;
            }
        }
        if let Some(text) = time
            && *minimum_time < SHORTEST_TIME
        {
            self.goes_beyond(
                text,
                Beyond {
                    key: "products.minimum_time".to_owned(),
                    set: format!("{name}: {}", text.get_ref().trim()),
                    bound: "at least 0.01 s".to_owned(),
                    reason: "no built-in row has a shorter time".to_owned(),
                },
            );
        }
    }

    pub(super) fn products(
        &self,
        raw: Vec<RawProduct>,
        default: Option<Text>,
        thermometer: Option<TemperatureUnit>,
    ) -> Result<Products, Error> {
        let mut products: Vec<Product> = Vec::new();
        let mut names = BTreeSet::new();
        for one in raw {
            let name = one.name.get_ref().trim().to_owned();
            if name.is_empty() {
                return Err(self.wrong(&one.name, "products.name", "needs a name"));
            }
            if !names.insert(name.to_lowercase()) {
                return Err(self.wrong(&one.name, "products.name", "is named twice"));
            }
            products.push(self.product(&one, name, thermometer)?);
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

    fn product(
        &self,
        raw: &RawProduct,
        name: String,
        thermometer: Option<TemperatureUnit>,
    ) -> Result<Product, Error> {
        let mut product = match (&raw.row, &raw.temperature) {
            (Some(key), None) => {
                let row = row(key.get_ref()).ok_or_else(|| {
                    let keys: Vec<_> = ROWS.iter().map(|row| row.key).collect();
                    let message = renamed(key.get_ref()).map_or_else(
                        || format!("is no built-in row; the rows are {}", keys.join(", ")),
                        |new| {
                            format!(
                                "is Alberta's and not all of Canada's, and is called {new} now; \
                                 write row = {new:?}"
                            )
                        },
                    );
                    self.wrong(key, "products.row", message)
                })?;
                if let Some(time) = &raw.minimum_time {
                    return Err(self.wrong(
                        time,
                        "products.minimum_time",
                        "the row sets it; give temperature, minimum_time and source for a row of \
                         your own",
                    ));
                }
                let product = Product::from_row(name, row);
                self.bounds_of_product(&product, (key, "products.row"), None, thermometer);
                product
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
                let source = raw.source.as_ref().filter(|source| !source.trim().is_empty());
                let Some(source) = source else {
                    return Err(self.wrong(
                        text,
                        "products.temperature",
                        "a row of your own needs a source: who allows it, and where",
                    ));
                };
                let product = Product {
                    name,
                    limit: TemperatureLimit::Single(value, unit),
                    minimum_time: self.duration(time, "products.minimum_time")?,
                    factor: Decimal::whole(1),
                    source: Source::new(source.as_str(), Provenance::Plant),
                    family: None,
                    cooled_exempt: false,
                    judged_by_recorder: false,
                };
                let key = "products.temperature";
                self.bounds_of_product(&product, (text, key), Some(time), thermometer);
                product
            }
            _ => {
                return Err(self.wrong(
                    &raw.name,
                    "products",
                    "needs either a row, or temperature, minimum_time and source",
                ));
            }
        };
        product.cooled_exempt = raw.cooled_exempt;
        product.judged_by_recorder = raw.judged_by_recorder;
        if let Some(text) = &raw.factor {
            product.factor = self.decimal(text, text.get_ref(), "products.factor")?;
            if product.factor <= Decimal::ZERO || product.factor > Decimal::whole(2) {
                return Err(self.wrong(text, "products.factor", "is above 0 and at most 2"));
            }
            if product.factor > Decimal::whole(1) {
                self.goes_beyond(
                    text,
                    Beyond {
                        key: "products.factor".to_owned(),
                        set: format!("{}: {}", product.name, text.get_ref().trim()),
                        bound: "at most 1".to_owned(),
                        reason:
                            "no product stays in the tube for longer than the water of its test"
                                .to_owned(),
                    },
                );
            }
        }
        Ok(product)
    }
}
