//! Two days side by side: the same product of two records on one axis of time, each counted from the start of its own
//! forward flow. Nothing is judged and nothing is written here: what stands of each day comes from its case.

pub mod choice;
mod page;
mod plots;
mod reading;

use crate::commands::Command;
use crate::day::drawing::Drawing;
use crate::day::sample_near;
use crate::day::window::TimeWindow;
use crate::units::{Pressure, Temperature, Units};
use ::case::{Case, ProductDay, ProductName};
use chart::Curves;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use trace::{Duration, Instant, Interval, PressureUnit, TemperatureUnit};

/// How much is shown on both sides of the forward flow, as a share of it (ours).
const AROUND: f64 = 0.04;

/// A record that is set beside another one.
#[derive(Clone)]
pub struct Record {
    /// What it was read from.
    pub files: Vec<PathBuf>,
    /// The audited record.
    pub case: Arc<Case>,
    /// What drawing needs.
    pub curves: Arc<Curves>,
}

/// One of the two days.
struct Side {
    record: Record,
    /// What it is called beside the other one.
    name: String,
    /// The same where there is little room.
    short: String,
    /// The product that is compared; `None` where the record does not have it.
    product: Option<ProductDay>,
    drawing: Drawing,
}

/// Both days.
pub struct Comparison {
    sides: [Side; 2],
    /// What went forward on either day.
    products: Vec<ProductName>,
    product: ProductName,
    /// On an axis on which both days start at zero.
    window: TimeWindow,
    hover: Option<Instant>,
    held: Option<Instant>,
}

impl Side {
    /// When the product first went forward; `None` where it did not.
    fn start(&self) -> Option<Instant> {
        Some(self.product.as_ref()?.forward_flow?.start())
    }

    /// An instant of the common axis on this day.
    fn on_day(&self, at: Instant) -> Option<Instant> {
        Some(self.start()? + since_start(at))
    }

    /// An interval of this day on the common axis.
    fn on_axis(&self, interval: Interval) -> Option<Interval> {
        let start = self.start()?;
        Some(Interval::between(axis(interval.start(), start), axis(interval.end(), start)))
    }

    /// The part of this day that is shown.
    fn shown(&self, window: TimeWindow) -> Option<Interval> {
        let shown = window.interval();
        Some(Interval::between(self.on_day(shown.start())?, self.on_day(shown.end())?))
    }

    /// The sample at an instant of the common axis, unless none is near.
    fn sample(&self, at: Instant) -> Option<usize> {
        sample_near(&self.record.case, self.on_day(at)?)
    }
}

/// An instant of a day that started at `start`, on the common axis.
fn axis(at: Instant, start: Instant) -> Instant {
    Instant::from_unix_milliseconds(at.since(start).milliseconds())
}

/// The time since the start at an instant of the common axis.
fn since_start(at: Instant) -> Duration {
    Duration::from_milliseconds(at.unix_milliseconds())
}

/// What two records are called, in full and in short: by their dates, else by their pasteurizers, else by their files.
fn names(records: &[Record; 2]) -> [[String; 2]; 2] {
    let of = |name: fn(&Record) -> String| records.each_ref().map(name);
    let zone = |record: &Record| record.case.plant().zone;
    let start = |record: &Record| record.case.record().interval().start();
    let (dates, shorts) = (
        records.each_ref().map(|record| zone(record).date(start(record))),
        records.each_ref().map(|record| zone(record).short_date(start(record))),
    );
    let units = of(|record| record.case.record().unit().to_owned());
    let files = of(|record| crate::task::record_name(&record.files));
    let differ = |names: &[String; 2]| names[0] != names[1];
    match (differ(&dates), differ(&shorts), differ(&units)) {
        (true, true, _) => [dates, shorts],
        (true, false, _) => [dates.clone(), dates],
        (false, _, true) => {
            let full = [0, 1].map(|rank| format!("{} {}", dates[rank], units[rank]));
            [full, units]
        }
        (false, _, false) => [files.clone(), files],
    }
}

impl Comparison {
    /// Both records from the start of a product's forward flow on.
    pub fn new(records: [Record; 2], product: ProductName) -> Self {
        let [names, shorts] = names(&records);
        let mut known = BTreeSet::new();
        let all = records.iter().flat_map(|record| record.case.product_days());
        let products = all
            .filter(|one| one.forward_flow.is_some() && known.insert(one.name.clone()))
            .map(|one| one.name)
            .collect();
        let [this, other] = records;
        let ([this_name, other_name], [this_short, other_short]) = (names, shorts);
        let side = |record, name, short| Side {
            record,
            name,
            short,
            product: None,
            drawing: Drawing::default(),
        };
        let sides = [side(this, this_name, this_short), side(other, other_name, other_short)];
        let window = TimeWindow::whole(Interval::at(Instant::default()));
        let mut comparison = Self { sides, products, product, window, hover: None, held: None };
        comparison.align(comparison.product.clone());
        comparison
    }

    /// The files of the record that it was begun from.
    pub fn files(&self) -> &[PathBuf] {
        &self.sides[0].record.files
    }

    /// The units in which readings are recorded that both days are shown in.
    pub fn recorded_units(&self) -> (TemperatureUnit, PressureUnit) {
        let record = self.sides[0].record.case.record();
        (record.holding_temperature().unit(), record.differential().unit())
    }

    /// The units shown: where those as recorded are, both days are shown in those of the first.
    fn units(&self, chosen: Units) -> Units {
        let (temperature, pressure) = self.recorded_units();
        Units {
            temperature: match chosen.temperature(temperature) {
                TemperatureUnit::Fahrenheit => Temperature::Fahrenheit,
                TemperatureUnit::Celsius => Temperature::Celsius,
            },
            pressure: match chosen.pressure(pressure) {
                PressureUnit::Psi => Pressure::Psi,
                _ if chosen.shown_in().pressure.is_none() => Pressure::Recorded,
                _ => Pressure::Kilopascal,
            },
        }
    }

    /// Aligns both days by the start of a product's forward flow, and shows all of it.
    fn align(&mut self, product: ProductName) {
        for side in &mut self.sides {
            side.product = side.record.case.product_day(&product);
            side.drawing = Drawing::default();
        }
        self.product = product;
        (self.hover, self.held) = (None, None);
        let whole = |side: &Side| side.on_axis(side.record.case.record().interval());
        let whole = self.sides.iter().filter_map(whole).reduce(Interval::hull);
        self.window = TimeWindow::whole(whole.unwrap_or_else(|| Interval::at(Instant::default())));
        self.show_forward_flow();
    }

    /// Shows the forward flow of both days.
    fn show_forward_flow(&mut self) {
        let forward = |side: &Side| side.on_axis(side.product.as_ref()?.forward_flow?);
        if let Some(forward) = self.sides.iter().filter_map(forward).reduce(Interval::hull) {
            self.window.show(forward, AROUND, 60_000.0);
        }
    }

    /// The instant under the pointer, else where the crosshair was held.
    fn crosshair(&self) -> Option<Instant> {
        self.hover.or(self.held)
    }

    /// Carries out what the keys of a day do, as far as they act on two.
    pub fn command(&mut self, command: Command) {
        let about = self.crosshair().unwrap_or_else(|| self.window.middle());
        match command {
            Command::WholeDay => self.window.show_whole(),
            Command::ShowShift => self.show_forward_flow(),
            Command::FiveMinutes => self.window.show_around(about, 600_000.0),
            Command::ZoomIn => self.window.zoom(0.5, about),
            Command::ZoomOut => self.window.zoom(2.0, about),
            Command::PanEarlier => self.window.pan(-0.25),
            Command::PanLater => self.window.pan(0.25),
            Command::SampleEarlier => self.step_crosshair(-1),
            Command::SampleLater => self.step_crosshair(1),
            Command::NextProduct => {
                let place = self.products.iter().position(|one| *one == self.product);
                let next = place.map_or(0, |place| (place + 1) % self.products.len().max(1));
                if let Some(next) = self.products.get(next).cloned() {
                    self.align(next);
                }
            }
            _ => {}
        }
    }

    /// Moves the crosshair to the next sample of either day, or the one before.
    fn step_crosshair(&mut self, step: isize) {
        let from = self.crosshair().unwrap_or_else(|| self.window.middle());
        let next = |side: &Side| {
            let (start, at) = (side.start()?, side.on_day(from)?);
            let instants = side.record.case.record().instants();
            let place = if step < 0 {
                instants.partition_point(|one| *one < at).checked_sub(1)?
            } else {
                instants.partition_point(|one| *one <= at)
            };
            instants.get(place).map(|&one| axis(one, start))
        };
        let nexts = self.sides.iter().filter_map(next);
        let next = if step < 0 { nexts.max() } else { nexts.min() };
        if let Some(next) = next {
            (self.hover, self.held) = (None, Some(next));
            self.window.reveal(next);
        }
    }

    /// What both days are, in a sentence.
    fn sentence(&self) -> String {
        let [this, other] = self.sides.each_ref().map(|side| side.name.as_str());
        format!("{this} beside {other}: {}", self.product)
    }

    /// The days that the product did not go forward on, in a sentence each.
    fn lacking(&self) -> Vec<String> {
        let lacks = self.sides.iter().filter(|side| side.start().is_none());
        let said = |side: &Side| {
            let what = if self.product.is_blank() {
                "no forward flow".to_owned()
            } else {
                format!("no forward flow of {}", self.product)
            };
            format!("{}: {what}, so there is nothing to align. It is not drawn.", side.name)
        };
        lacks.map(said).collect()
    }
}
