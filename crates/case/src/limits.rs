//! The limits that the audit used, each with who stands behind it: built in, and how well its source
//! was seen, or set by the plant (method, section 11).

use crate::Case;
use crate::figures::recorded;
use crate::sentences::{DisplayUnits, quantity};
use plant::{Plant, Setting, Source, Zone};
use trace::{Decimal, Duration, Ratio, Role, Value};

/// The key of a product's limit.
pub(crate) const PRODUCTS: &str = "products";

/// A limit as it is printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedLimit {
    /// The key in the plant file; `products` for that of a product.
    pub key: &'static str,
    /// What it is a limit of.
    pub name: String,
    /// The figures: mostly one; a product's temperature and time; when a reading is frozen, and when
    /// one that prints no decimals is.
    pub figures: Vec<Value>,
    /// Who stands behind it.
    pub source: Source,
}

impl StatedLimit {
    /// The figures in words: `161 °F, 15 s`.
    pub fn figures(&self, zone: Zone, units: DisplayUnits) -> String {
        let figures: Vec<String> =
            self.figures.iter().map(|value| quantity(value, zone, units)).collect();
        figures.join(", ")
    }

    /// Who stands behind it; of a limit beyond its bound that first, so that no citation of the plant
    /// lends it a weight that it has not.
    pub fn stands_behind(&self, plant: &Plant) -> String {
        let of_a_product = format!("{}: ", self.name);
        let is_beyond = plant.beyond.iter().any(|one| match self.key {
            PRODUCTS => one.key.starts_with("products.") && one.set.starts_with(&of_a_product),
            key => one.key == key,
        });
        let words = self.source.in_words();
        if is_beyond { format!("beyond its bound; {words}") } else { words }
    }
}

/// A limit in a channel's unit: never below the exact one, without needless zeros.
fn figure(limit: Ratio, scale: u8) -> Decimal {
    limit.decimal_not_below(scale.max(1)).trimmed()
}

impl Case {
    /// Every limit that bore on the audit: those of the products, the differential, and the settings of
    /// the plant file for which the record has channels.
    pub fn stated_limits(&self) -> Vec<StatedLimit> {
        let mut limits = products(self);
        limits.extend(Setting::ALL.into_iter().filter_map(|setting| {
            Some(StatedLimit {
                key: setting.key(),
                name: name(setting).to_owned(),
                figures: figures(self, setting)?,
                source: self.plant.limits.source(setting),
            })
        }));
        limits.extend(cleaning(self));
        limits
    }
}

fn products(case: &Case) -> Vec<StatedLimit> {
    let Case { record, plant, audit, .. } = case;
    let holding = record.holding_temperature();
    let (unit, scale) = (holding.unit(), holding.scale());
    let of = |name: String, limit: Ratio, time: Duration, source: Source| StatedLimit {
        key: PRODUCTS,
        name,
        figures: vec![Value::Temperature(figure(limit, scale), unit), Value::Time(time)],
        source,
    };
    let mut limits: Vec<StatedLimit> = plant
        .products
        .iter()
        .map(|product| {
            let limit = product.limit.figure(unit);
            of(product.name.clone(), limit, product.minimum_time, product.source.clone())
        })
        .collect();
    if audit.temperature_limits.iter().any(|span| span.unknown_product) {
        let strictest = plant.products.unknown(unit);
        let name = format!("product blank or unknown (as {})", strictest.product);
        let source = strictest.source.clone();
        limits.push(of(name, strictest.limit, strictest.minimum_time, source));
    }
    limits
}

/// What the plant sets of cleanings, of which nothing is built in, and of amounts.
fn cleaning(case: &Case) -> impl Iterator<Item = StatedLimit> {
    let plan = case.plant.cleaning;
    let holding = case.record.holding_temperature();
    let temperature = plan.temperature.map(|limit| {
        let limit = figure(limit.figure(holding.unit()), holding.scale());
        Value::Temperature(limit, holding.unit())
    });
    let limits = [
        ("cleaning.temperature", "cleaning temperature, minimum", temperature),
        (
            "cleaning.minimum_time",
            "cleaning time at temperature, minimum",
            plan.minimum_time.map(Value::Time),
        ),
        (
            "cleaning.longest_production_run",
            "production between cleanings, maximum",
            plan.longest_production_run.map(Value::Time),
        ),
    ];
    let tolerance = case.plant.amount_tolerance.map(Value::Percent);
    let amounts = [("amounts.tolerance", "metered against stated amount, tolerance", tolerance)];
    limits.into_iter().chain(amounts).filter_map(|(key, name, figure)| {
        let (name, figures) = (name.to_owned(), vec![figure?]);
        Some(StatedLimit { key, name, figures, source: Source::plant() })
    })
}

const fn name(setting: Setting) -> &'static str {
    match setting {
        Setting::Differential => "pressure differential",
        Setting::DifferentialAtAllTimes => "differential required in every FDD position",
        Setting::Response => "FDD response time",
        Setting::Episode => "exceptions join into an episode within",
        Setting::Gap => "gap limit",
        Setting::Travel => "FDD travel time",
        Setting::RecordInterval => "required sampling interval",
        Setting::Frozen => "one reading frozen after (second figure: whole numbers)",
        Setting::Repeated => "all readings repeated after",
        Setting::DivertedHole => "gap while diverted not verifiable after",
        Setting::LowFlow => "lowest flow used for the residence time",
        Setting::HighFlow => "high-flow alarm above",
        Setting::LowFlowAlarm => "low-flow alarm below",
        Setting::BoosterDifferential => "differential while the booster pump runs",
        Setting::ZeroCheck => "pressure difference at a standstill, maximum",
        Setting::RecorderDifference => "recorder against indicating thermometer, tolerance",
        Setting::CooledMaximum => "cooled product, maximum",
        Setting::RawMaximum => "raw milk, maximum",
        Setting::RegenerationMinimum => "regeneration efficiency, minimum",
        Setting::TemperatureSlew => "temperature change per second, maximum",
        Setting::PressureSlew => "pressure change per second, maximum",
    }
}

/// What a setting was for this record; `None` where it did not bear on it.
fn figures(case: &Case, setting: Setting) -> Option<Vec<Value>> {
    let Case { record, plant, audit, .. } = case;
    let Plant { limits, .. } = plant;
    let has = |role: Role| record.channel(role).is_some();
    let holding = record.holding_temperature();
    let temperature = |limit: plant::TemperatureLimit| {
        Value::Temperature(figure(limit.figure(holding.unit()), holding.scale()), holding.unit())
    };
    let differential = record.differential();
    let pressure = |limit: plant::PressureLimit| {
        let limit = limit.figure(differential.unit());
        Value::Pressure(figure(limit, differential.scale()), differential.unit())
    };
    let value = match setting {
        Setting::Differential => pressure(limits.differential),
        Setting::DifferentialAtAllTimes => {
            return limits
                .differential_at_all_times
                .then(|| vec![Value::Word("asked for".to_owned())]);
        }
        Setting::Response => Value::Time(limits.response_allowance),
        Setting::Episode => Value::Time(limits.merge_time),
        Setting::Gap => Value::Time(audit.gap_limit),
        Setting::Travel => Value::Time(limits.travel_allowance),
        Setting::RecordInterval => Value::Time(limits.record_interval),
        Setting::Frozen => {
            let [decimals, whole] = [true, false].map(|one| limits.frozen_after(one));
            let mut times = vec![Value::Time(decimals)];
            if whole != decimals {
                times.push(Value::Time(whole));
            }
            return Some(times);
        }
        Setting::Repeated => Value::Time(limits.repeated_after),
        Setting::DivertedHole => Value::Time(limits.diverted_hole),
        Setting::LowFlow => {
            let flow = record.flow_rate()?;
            let limit = plant.low_flow_limit(flow.unit())?;
            Value::Flow(figure(limit, flow.scale()), flow.unit())
        }
        Setting::HighFlow => flow_alarm(case, limits.flow_alarms.0)?,
        Setting::LowFlowAlarm => flow_alarm(case, limits.flow_alarms.1)?,
        Setting::BoosterDifferential => {
            record.switch(Role::BoosterPump)?;
            pressure(limits.booster_differential)
        }
        Setting::ZeroCheck => pressure(limits.zero_check?),
        Setting::RecorderDifference => {
            has(Role::RecorderTemperature).then_some(())?;
            let limit = limits.recorder_difference.figure(holding.unit());
            let limit = limit.decimal_not_above(holding.scale().max(1)).trimmed();
            Value::TemperatureDifference(limit, holding.unit())
        }
        Setting::CooledMaximum => {
            has(Role::CooledTemperature).then_some(())?;
            temperature(limits.cooled_maximum)
        }
        Setting::RawMaximum => {
            has(Role::RawTemperature).then_some(())?;
            temperature(limits.raw_maximum)
        }
        Setting::RegenerationMinimum => Value::Percent(limits.regeneration_minimum?),
        Setting::TemperatureSlew => Value::TemperatureDifference(
            limits.slew.celsius_per_second,
            trace::TemperatureUnit::Celsius,
        ),
        Setting::PressureSlew => {
            Value::Pressure(limits.slew.kilopascal_per_second, trace::PressureUnit::Kilopascal)
        }
    };
    Some(vec![value])
}

/// The set point of a flow alarm, in the unit of the meter.
fn flow_alarm(case: &Case, set: Option<plant::Flow>) -> Option<Value> {
    let meter = case.record.flow_rate()?;
    let set = set?.exactly_in(meter.unit());
    Some(Value::Flow(figure(set, meter.scale()), meter.unit()))
}

/// Who accepted limits beyond their bounds, and which: a line each; empty where none is.
pub fn beyond_lines(plant: &Plant) -> Vec<String> {
    if plant.beyond.is_empty() {
        return Vec::new();
    }
    let by = plant.accepted.as_ref().map_or_else(
        || "accepted by nobody".to_owned(),
        |one| format!("accepted by {}: {}, {}", one.by, one.document, one.date),
    );
    let set = plant.beyond.iter().map(|one| {
        format!("{}: set to {}, bound {} ({})", one.key, one.set, one.bound, one.reason)
    });
    std::iter::once(by).chain(set).collect()
}

/// A limit that passed through binary: at most three decimal places, rounded up, no needless zeros.
pub fn limit_words(limit: f64, unit: impl std::fmt::Display) -> String {
    let thousands = limit * 1000.0;
    let nearest = thousands.round();
    let up = if (thousands - nearest).abs() < 1e-6 { nearest } else { thousands.ceil() };
    format!("{} {unit}", recorded(Decimal::new(up as i64, 3).trimmed()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{PLANT, day, file};

    #[test]
    fn limits_are_never_printed_too_low() {
        for (limit, words) in [
            (161.0, "161 °F"),
            (72.5, "72.5 °F"),
            (0.07, "0.07 °F"),
            // 160 °F is 71.111… °C.
            (640.0 / 9.0, "71.112 °F"),
        ] {
            assert_eq!(limit_words(limit, "°F"), words);
        }
    }

    #[test]
    fn each_limit_says_who_stands_behind_it() {
        let text = format!("{PLANT}\n[limits]\nresponse = \"0.5 s\"\n");
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let day = day(Some(&text), &[("day.csv", &rows)]);
        let limits = day.stated_limits();
        let words = |key: &str| {
            let one = limits.iter().find(|one| one.key == key);
            one.map(|one| {
                let figures = one.figures(Zone::UTC, DisplayUnits::RECORDED);
                format!("{figures}; {}", one.source.in_words())
            })
        };
        let is = |key: &str, expected: &str| assert_eq!(words(key).as_deref(), Some(expected));
        is(Setting::Response.key(), "0.5 s; set by the plant");
        is(Setting::Gap.key(), "3 s; built in; chosen by this program");
        is(PRODUCTS, "161 °F, 15 s; 21 CFR 1240.61(b) (built in; text read)");
        // There is no such channel.
        assert_eq!(words(Setting::CooledMaximum.key()), None);
        assert_eq!(words(Setting::RecorderDifference.key()), None);
    }

    #[test]
    fn a_limit_beyond_its_bound_names_who_accepted_it() {
        assert_eq!(beyond_lines(&Plant::assumed()), Vec::<String>::new());
        let text = format!(
            "{PLANT}\n[limits]\ngap = \"60 s\"\n\n[accepted]\nby = \"Q. Example (invented)\"\n\
             document = \"letter 7\"\ndate = \"2026-01-05\"\n"
        );
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let day = day(Some(&text), &[("day.csv", &rows)]);
        let lines = beyond_lines(&day.plant);
        let [by, gap] = lines.as_slice() else { panic!("{lines:?}") };
        assert_eq!(by, "accepted by Q. Example (invented): letter 7, 2026-01-05");
        assert!(gap.starts_with("limits.gap: set to 60 s, bound "), "{gap}");
        let stands_behind = |key: &str| {
            let limits = day.stated_limits();
            limits.iter().find(|one| one.key == key).map(|one| one.stands_behind(&day.plant))
        };
        let is = |key, words: &str| assert_eq!(stands_behind(key).as_deref(), Some(words));
        is(Setting::Gap.key(), "beyond its bound; set by the plant");
        is(PRODUCTS, "21 CFR 1240.61(b) (built in; text read)");
    }

    #[test]
    fn a_product_beyond_its_bound_is_marked_and_no_other() {
        let accepted = "[accepted]\nby = \"Q. Example (invented)\"\ndocument = \"letter 7\"\n\
                        date = \"2026-01-05\"\n";
        let low = "[[products]]\nname = \"raw cheese milk\"\ntemperature = \"150 degF\"\n\
                   minimum_time = \"1 s\"\nsource = \"21 CFR 1240.61(b)\"\n";
        let text = format!("{PLANT}\n{low}\n{accepted}");
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let day = day(Some(&text), &[("day.csv", &rows)]);
        let limits = day.stated_limits();
        let marked: Vec<_> = limits
            .iter()
            .filter(|one| one.stands_behind(&day.plant).starts_with("beyond its bound; "))
            .map(|one| one.name.as_str())
            .collect();
        assert_eq!(marked, ["raw cheese milk"]);
    }
}
