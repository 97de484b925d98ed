//! The products of a record, each over all its runs: when it first went forward, for how long, how much, and
//! what came closest to a limit. It is what stands beside the same product of another day; from the start of its
//! forward flow on both are compared.

use crate::Case;
use analysis::ProductRun;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use trace::{Decimal, Duration, Instant, Interval, VolumeUnit};

/// The name of a product. Case and blanks around it do not matter, as in the plant file; blank where the record
/// names none.
#[derive(Debug, Clone, Default)]
pub struct ProductName {
    recorded: String,
    /// What names are told apart by.
    plain: String,
}

impl ProductName {
    /// A product by the name that was recorded.
    pub fn new(recorded: &str) -> Self {
        let recorded = recorded.trim().to_owned();
        Self { plain: recorded.to_lowercase(), recorded }
    }

    /// Whether the record names none.
    pub const fn is_blank(&self) -> bool {
        self.plain.is_empty()
    }
}

impl fmt::Display for ProductName {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(if self.is_blank() { "no product named" } else { &self.recorded })
    }
}

impl PartialEq for ProductName {
    fn eq(&self, other: &Self) -> bool {
        self.plain == other.plain
    }
}

impl Eq for ProductName {}

impl PartialOrd for ProductName {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for ProductName {
    fn cmp(&self, other: &Self) -> Ordering {
        self.plain.cmp(&other.plain)
    }
}

/// A product on the day of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductDay {
    /// Which one.
    pub name: ProductName,
    /// From its first to its last sample in forward flow in production; `None` where it never went forward.
    pub forward_flow: Option<Interval>,
    /// The time in forward flow.
    pub forward_time: Duration,
    /// What the meter saw in forward flow; `None` without a meter.
    pub forward: Option<f64>,
    /// Its unit.
    pub unit: VolumeUnit,
    /// Whether readings of the meter were missing, so that it is too small.
    pub incomplete: bool,
    /// The lowest holding temperature in forward flow, and when it was read first.
    pub lowest: Option<(Decimal, Instant)>,
    /// The least holding temperature in forward flow above its limit, in the channel's unit.
    pub temperature_margin: Option<f64>,
    /// The least differential in forward flow above its limit, in the channel's unit.
    pub differential_margin: Option<f64>,
    /// How many exceptions in production touch it.
    pub exceptions: usize,
    /// How often the device left forward flow while it ran.
    pub diverts: usize,
}

impl ProductDay {
    /// A product of which nothing is known yet.
    fn none_of(name: ProductName) -> Self {
        Self {
            name,
            forward_flow: None,
            forward_time: Duration::ZERO,
            forward: None,
            unit: VolumeUnit::Litre,
            incomplete: false,
            lowest: None,
            temperature_margin: None,
            differential_margin: None,
            exceptions: 0,
            diverts: 0,
        }
    }

    fn add(&mut self, run: &ProductRun) {
        let least = |one: Option<f64>, other: Option<f64>| {
            one.into_iter().chain(other).min_by(f64::total_cmp)
        };
        let flows = self.forward_flow.into_iter().chain(run.forward_flow);
        self.forward_flow = flows.reduce(Interval::hull);
        self.forward_time = self.forward_time + run.forward_time;
        self.forward = self.forward.into_iter().chain(run.forward).reduce(|sum, one| sum + one);
        self.unit = run.unit;
        self.incomplete |= run.incomplete;
        let lowest = self.lowest.into_iter().chain(run.lowest);
        self.lowest = lowest.min_by_key(|(lowest, _)| *lowest);
        self.temperature_margin = least(self.temperature_margin, run.temperature_margin);
        self.differential_margin = least(self.differential_margin, run.differential_margin);
    }
}

impl Case {
    /// The products of the record, each once, in the order in which they ran. Where it names none, the whole
    /// record is one without a name.
    pub fn product_days(&self) -> Vec<ProductDay> {
        let names_products = self.record.product().is_some();
        let named = |recorded: &str| {
            if names_products { ProductName::new(recorded) } else { ProductName::default() }
        };
        let mut days: Vec<ProductDay> = Vec::new();
        let mut places: BTreeMap<ProductName, usize> = BTreeMap::new();
        for run in self.audit.product_runs.iter().chain(&self.audit.unnamed_run) {
            let name = named(&run.product);
            let place = *places.entry(name.clone()).or_insert(days.len());
            if place == days.len() {
                days.push(ProductDay::none_of(name));
            }
            days[place].add(run);
        }
        for exception in self.audit.exceptions.iter().filter(|one| !one.outside_production) {
            // One that names no product lies where none is named.
            let mut touched: BTreeSet<ProductName> =
                exception.products.iter().map(|product| named(product)).collect();
            if touched.is_empty() {
                touched.insert(ProductName::default());
            }
            for place in touched.iter().filter_map(|name| places.get(name)) {
                days[*place].exceptions += 1;
            }
        }
        for divert in &self.audit.diverts {
            if let Some(&place) = places.get(&named(&divert.product)) {
                days[place].diverts += 1;
            }
        }
        days
    }

    /// The product of a name; `None` where the record does not have it.
    pub fn product_day(&self, name: &ProductName) -> Option<ProductDay> {
        self.product_days().into_iter().find(|one| one.name == *name)
    }

    /// The product that ran at a sample.
    pub fn product_at(&self, sample: usize) -> ProductName {
        self.record.product().map_or_else(ProductName::default, |text| {
            ProductName::new(if sample < self.record.samples() { text.word(sample) } else { "" })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{PLANT, day, day_with_sheet, eventful, file};

    fn at(case: &Case, sample: usize) -> Instant {
        case.record.instants()[sample]
    }

    /// A product has two runs with another one between; cream goes forward in neither.
    #[test]
    fn a_product_is_added_up_over_its_runs() {
        let rows = file(
            &[
                (60, 'D', "150.", "", "run"),
                (240, 'F', "169.", "", "run"),
                (300, 'D', "169.", "", "run"),
                (100, 'F', "168.", "", "run"),
                (100, 'D', "168.", "", "run"),
                (101, 'F', "167.", "", "run"),
            ],
            &[],
        );
        let sheet = "start,end,product,lot,tank,quantity (gal)\n\
                     2026-03-04 06:00,2026-03-04 06:05,milk,L1,T1,250\n\
                     2026-03-04 06:05,2026-03-04 06:10,cream,L2,T2,700\n\
                     2026-03-04 06:10,2026-03-04 06:16,Milk ,L3,T1,700\n";
        let case = day_with_sheet(&rows, sheet);
        let days = case.product_days();
        let names: Vec<String> = days.iter().map(|one| one.name.to_string()).collect();
        assert_eq!(names, ["milk", "cream"]);
        let milk = &days[0];
        assert_eq!(milk.forward_flow, Some(Interval::between(at(&case, 60), at(&case, 900))));
        // The three stretches, each half a step longer where it borders on diverted flow.
        let runs = [&case.audit.product_runs[0], &case.audit.product_runs[2]];
        assert_eq!(milk.forward_time, runs[0].forward_time + runs[1].forward_time);
        let (one, other) = (runs[0].forward.unwrap_or(0.0), runs[1].forward.unwrap_or(0.0));
        assert!((milk.forward.unwrap_or(0.0) - one - other).abs() < 1e-9);
        assert_eq!(milk.lowest, Some((Decimal::new(1670, 1), at(&case, 801))));
        assert_eq!(milk.diverts, 2, "the product is that at the last forward sample");
        let cream = &days[1];
        assert_eq!((cream.forward_flow, cream.lowest), (None, None));
        assert_eq!(case.product_at(700), ProductName::new("MILK"));
    }

    /// The valve is opened in a cleaning as well, which is no start of forward flow.
    #[test]
    fn forward_flow_begins_in_production() {
        let rows = file(
            &[
                (60, 'D', "120.", "", "clean"),
                (20, 'F', "120.", "", "clean"),
                (60, 'D', "120.", "", "clean"),
                (60, 'D', "163.", "", "run"),
                (120, 'F', "163.", "", "run"),
                (30, 'D', "120.", "", "clean"),
                (20, 'F', "120.", "", "clean"),
            ],
            &[],
        );
        let case = day(Some(PLANT), &[("day.csv", &rows)]);
        let days = case.product_days();
        assert_eq!(days.len(), 1);
        assert!(days[0].name.is_blank());
        assert_eq!(days[0].forward_flow, Some(Interval::between(at(&case, 200), at(&case, 319))));
    }

    /// A record of which nothing is named is one product without a name.
    #[test]
    fn what_names_no_product_is_one_without_a_name() {
        let case = eventful();
        let days = case.product_days();
        assert_eq!(days.len(), 1, "its lots are no products");
        let exceptions = case.audit.exceptions.iter().filter(|one| !one.outside_production);
        assert_eq!(days[0].exceptions, exceptions.count());
        assert_eq!(days[0].diverts, case.audit.diverts.len());

        let text = "Time,FDD,Hold,Diff\n2026-03-04 06:00:00,D,150.1,5.1\n\
                    2026-03-04 06:00:01,F,163.1,5.2\n2026-03-04 06:00:02,F,163.0,5.1\n";
        let plant = PLANT
            .lines()
            .filter(|line| !["flow_rate", "lot", "mode"].iter().any(|one| line.starts_with(one)));
        let case = day(Some(&plant.collect::<Vec<_>>().join("\n")), &[("day.csv", text)]);
        assert!(case.audit.product_runs.is_empty());
        let days = case.product_days();
        assert_eq!(days[0].forward_flow, Some(Interval::between(at(&case, 1), at(&case, 2))));
        assert_eq!((days[0].forward, days[0].diverts), (None, 0));
    }
}
