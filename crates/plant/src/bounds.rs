//! The bounds of what a plant file may set without more ado (method, section 11), and who answers
//! for a limit beyond them.
//!
//! A limit beyond its bound is an error unless the file says under `[accepted]` who accepted it;
//! then it is kept apart, so that every output can say so.

use crate::rows::{MILK, ROWS, Row};
use crate::setting::Setting;
use chrono::NaiveDate;
use trace::{Decimal, Duration, TemperatureUnit};

/// Who accepted the limits that lie beyond their bounds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// Who accepted them.
    pub by: String,
    /// The document that says so.
    pub document: String,
    /// Its date.
    pub date: NaiveDate,
}

/// A limit that is set beyond its bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beyond {
    /// The key in the plant file.
    pub key: String,
    /// What was set.
    pub set: String,
    /// The bound.
    pub bound: String,
    /// Why there is a bound.
    pub reason: String,
}

/// No gap limit is longer without an acceptance, and no reading tells anything of milk further away (ours):
/// no legal HTST holding time is shorter, so a whole parcel would pass in between.
pub const LONGEST_GAP: Duration = Duration::from_seconds(15);

/// The longest that a setting may be, and why.
pub(crate) const LONGEST: &[(Setting, Duration, &str)] = &[
    (
        Setting::Response,
        Duration::from_seconds(1),
        "the device must divert fully within 1 s (PMO Appendix I, test 5.6, not verified), and a \
         longer allowance hides milk that went forward",
    ),
    (Setting::Gap, LONGEST_GAP, "milk held for 15 s would pass unseen in a longer step"),
    (
        Setting::Travel,
        Duration::from_seconds(10),
        "a device that stays between its positions lets milk go forward",
    ),
    (
        Setting::Frozen,
        Duration::from_seconds(3600),
        "a reading that has stood still for an hour proves nothing about the milk of that hour",
    ),
    (
        Setting::Repeated,
        Duration::from_seconds(600),
        "a logger that repeats its last row proves nothing about what happened since",
    ),
    (
        Setting::DivertedHole,
        Duration::from_seconds(600),
        "the device can go forward and divert again in a hole, and nobody would see it",
    ),
];

impl Setting {
    /// The bound of what a plant may set without more ado; `None` where there is none.
    pub fn bound(self) -> Option<String> {
        let longest = LONGEST.iter().find(|(bounded, ..)| *bounded == self);
        match self {
            Self::Differential => Some("at least 0".to_owned()),
            Self::RecorderDifference => Some("at most 2 \u{b0}F (1 \u{b0}C)".to_owned()),
            Self::LowFlow => Some(
                "at least 1 % of the flow of the tube's test, else of the nominal flow".to_owned(),
            ),
            _ => longest.map(|(_, time, _)| format!("at most {} s", time.milliseconds() / 1000)),
        }
    }
}

/// The shortest holding time: that of the shortest built-in row, 0.01 s.
pub(crate) const SHORTEST_TIME: Duration = Duration::from_milliseconds(10);

/// Why a product has a lowest temperature.
pub(crate) const PRODUCT_REASON: &str = "no built-in row asks for less at a time that short (21 CFR 1240.61(b)), and nothing is \
     interpolated between the rows";

/// The allowed difference of two thermometers, at most.
pub(crate) const fn greatest_difference(unit: TemperatureUnit) -> Decimal {
    match unit {
        TemperatureUnit::Fahrenheit => Decimal::whole(2),
        TemperatureUnit::Celsius => Decimal::whole(1),
    }
}

/// The built-in row with the lowest temperature among those that ask for no longer time.
///
/// A time between two rows is held to the shorter one, which asks for more heat: milk that is hot
/// enough for the shorter time is hot enough for the longer one, and not the other way round. Only
/// rows that print both units count, so that the historic 71.7 °C of one country is not the bound
/// of all.
pub(crate) fn lowest_row(time: Duration) -> &'static Row {
    let both = || ROWS.iter().filter(|row| row.fahrenheit.is_some());
    let allowed = both().filter(|row| row.time <= time).min_by_key(|row| row.fahrenheit);
    // No row is that short: the shortest, which asks for the most.
    allowed.or_else(|| both().min_by_key(|row| row.time)).unwrap_or(&MILK)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::Plant;

    const HEAD: &str = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n";
    const ACCEPTED: &str =
        "\n[accepted]\nby = \"I. Example\"\ndocument = \"letter 7\"\ndate = \"2026-01-05\"\n";

    /// `inside` passes and is not listed; `outside` is refused with its place, and listed where
    /// somebody answers for it.
    fn bound(key: &str, inside: &str, outside: &str, (set, bound): (&str, &str)) {
        let parse = |rest: &str| Plant::parse("p", &format!("{HEAD}{rest}"));
        match parse(inside) {
            Ok(plant) => assert_eq!(plant.beyond, [], "{inside}"),
            Err(error) => panic!("{inside}: {error}"),
        }
        match parse(outside) {
            Ok(_) => panic!("not refused: {outside}"),
            Err(error) => {
                let message = error.to_string();
                assert!(message.starts_with("p:"), "{message}");
                assert!(
                    message.contains(&format!(": {key}: {set:?} is beyond its bound, {bound}: ")),
                    "{message}"
                );
                assert!(message.contains("under [accepted]"), "{message}");
            }
        }
        let accepted = format!("{outside}{ACCEPTED}");
        match parse(&accepted) {
            Err(error) => panic!("{accepted}: {error}"),
            Ok(plant) => {
                assert_eq!(
                    plant.accepted.map(|accepted| accepted.by).as_deref(),
                    Some("I. Example")
                );
                let found: Vec<_> = plant
                    .beyond
                    .iter()
                    .map(|beyond| (&*beyond.key, &*beyond.set, &*beyond.bound))
                    .collect();
                assert_eq!(found, [(key, set, bound)], "{outside}");
                assert!(plant.beyond.iter().all(|beyond| !beyond.reason.is_empty()));
            }
        }
    }

    fn setting(setting: Setting, inside: &str, outside: &str, words: &str) {
        let text = |value: &str| {
            let key = setting.key().trim_start_matches("limits.");
            format!("[limits]\n{key} = \"{value}\"")
        };
        bound(setting.key(), &text(inside), &text(outside), (outside, words));
    }

    #[test]
    fn the_longest_times() {
        setting(Setting::Response, "1000 ms", "1001 ms", "at most 1 s");
        setting(Setting::Gap, "15 s", "15.001 s", "at most 15 s");
        setting(Setting::Gap, "0 s", "2 h", "at most 15 s");
        setting(Setting::Travel, "10 s", "10.001 s", "at most 10 s");
        setting(Setting::Frozen, "1 h", "3600.001 s", "at most 3600 s");
        setting(Setting::Repeated, "10 min", "600.001 s", "at most 600 s");
        setting(Setting::DivertedHole, "10 min", "600.001 s", "at most 600 s");
        for (setting, ..) in LONGEST {
            assert!(Setting::ALL.contains(setting));
        }
    }

    #[test]
    fn the_differential_is_not_negative() {
        setting(Setting::Differential, "0 psi", "-0.001 psi", "at least 0");
        setting(Setting::Differential, "0.5 kPa", "-50 psi", "at least 0");
    }

    #[test]
    fn the_allowed_difference_of_two_thermometers() {
        let most = "at most 2 °F (1 °C)";
        setting(Setting::RecorderDifference, "2 degF", "2.001 degF", most);
        setting(Setting::RecorderDifference, "1 degC", "1.001 degC", most);
        setting(Setting::RecorderDifference, "0 degC", "2 degC", most);
        // 2 °F are 1.11 °C, more than thermometers in °C may differ by.
        let celsius = "[columns]\nholding_temperature = { column = \"T\", unit = \"degC\" }\n\
                       [limits]\nrecorder_difference = ";
        bound(
            Setting::RecorderDifference.key(),
            &format!("{celsius}\"1.8 degF\""),
            &format!("{celsius}\"2 degF\""),
            ("2 degF", most),
        );
    }

    #[test]
    fn low_flow_is_a_hundredth_of_the_test_flow_or_more() {
        let key = Setting::LowFlow.key();
        let words = "at least 1 % of the flow of the tube's test, else of the nominal flow";
        let certified = |low: &str| {
            format!(
                "nominal_flow = \"50 gal/min\"\n[limits]\nlow_flow = \"{low}\"\n\
                 [tube]\ntest_flow = \"6000 L/h\"\ntest_time = \"16 s\""
            )
        };
        bound(key, &certified("60 L/h"), &certified("59.999 L/h"), ("59.999 L/h", words));
        // 1 gal/min is 227.1 L/h, 0.25 gal/min 56.8 L/h.
        bound(
            key,
            &certified("0.265 gal/min"),
            &certified("0.25 gal/min"),
            ("0.25 gal/min", words),
        );
        let nominal =
            |low: &str| format!("nominal_flow = \"50 gal/min\"\n[limits]\nlow_flow = \"{low}\"");
        bound(key, &nominal("0.5 gal/min"), &nominal("0.4999 gal/min"), ("0.4999 gal/min", words));
        bound(key, &nominal("30 gal/h"), &nominal("29.999 gal/h"), ("29.999 gal/h", words));
    }

    #[test]
    fn a_range_within_the_physical_one() {
        for (role, unit, inside, outside, words) in [
            ("holding_temperature", "degC", ["0", "110"], ["0", "110.1"], "within 0 to 110 °C"),
            ("holding_temperature", "degF", ["32", "230"], ["31.9", "230"], "within 32 to 230 °F"),
            ("recorder_temperature", "degF", ["60", "230"], ["60", "250"], "within 32 to 230 °F"),
            (
                "cooled_temperature",
                "degC",
                ["-10", "150"],
                ["-10.5", "150"],
                "within -10 to 150 °C",
            ),
            (
                "heating_water_temperature",
                "degF",
                ["14", "302"],
                ["14", "303"],
                "within 14 to 302 °F",
            ),
            ("raw_pressure", "kPa", ["-100", "2000"], ["-100", "2001"], "within -100 to 2000 kPa"),
            ("flow_rate", "m3/h", ["-1", "200"], ["-2", "200"], "within -1 to 200 m³/h"),
        ] {
            let text = |[least, greatest]: [&str; 2]| {
                format!(
                    "[columns]\n{role} = {{ column = \"C\", unit = \"{unit}\", \
                     range = [\"{least}\", \"{greatest}\"] }}"
                )
            };
            let symbol = words.rsplit(' ').next().unwrap_or("");
            let set = format!("{} to {} {symbol}", outside[0], outside[1]);
            bound(&format!("columns.{role}.range"), &text(inside), &text(outside), (&set, words));
        }
    }

    fn product(lines: &str) -> String {
        format!("[[products]]\nname = \"p\"\nsource = \"21 CFR 1240.61(b)\"\n{lines}\n")
    }

    #[test]
    fn a_product_is_held_to_the_least_heat_of_its_time() {
        for (inside, outside, time, row) in [
            ("161 degF", "160.999 degF", "15 s", "at least 161 °F (row us-milk-15s)"),
            ("72 degC", "71.999 degC", "15 s", "at least 72 °C (row us-milk-15s)"),
            ("72 degC", "71.9 degC", "16 s", "at least 72 °C (row us-milk-15s)"),
            ("161 degF", "160 degF", "30 min", "at least 161 °F (row us-milk-15s)"),
            ("191 degF", "190.9 degF", "14.999 s", "at least 191 °F (row us-milk-1s)"),
            ("89 degC", "73.4 degC", "8 s", "at least 89 °C (row us-milk-1s)"),
            ("191 degF", "150 degF", "1 s", "at least 191 °F (row us-milk-1s)"),
            ("94 degC", "93.9 degC", "0.1 s", "at least 94 °C (row us-milk-0.1s)"),
            ("212 degF", "211.9 degF", "10 ms", "at least 212 °F (row us-milk-0.01s)"),
        ] {
            let text = |limit: &str| {
                product(&format!("temperature = \"{limit}\"\nminimum_time = \"{time}\""))
            };
            let unit = if outside.ends_with('F') { "°F" } else { "°C" };
            let shown_time = match time {
                "10 ms" => "0.01 s",
                "30 min" => "30 min 00 s",
                other => other,
            };
            let figure = outside.split(' ').next().unwrap_or("");
            let set = format!("p: {figure} {unit} for {shown_time}");
            bound("products.temperature", &text(inside), &text(outside), (&set, row));
        }
    }

    /// 161 °F is 71.67 °C, and the figure printed for a thermometer in °C is 72.
    #[test]
    fn a_limit_in_the_other_unit_is_judged_in_the_thermometers() {
        let text = |limit: &str| {
            format!(
                "[columns]\nholding_temperature = {{ column = \"T\", unit = \"degC\" }}\n{}",
                product(&format!("temperature = \"{limit}\"\nminimum_time = \"15 s\""))
            )
        };
        bound(
            "products.temperature",
            &text("161.6 degF"),
            &text("161 degF"),
            ("p: 71.66 °C for 15 s", "at least 72 °C (row us-milk-15s)"),
        );
    }

    #[test]
    fn a_time_of_a_hundredth_of_a_second_or_more() {
        let text =
            |time: &str| product(&format!("temperature = \"213 degF\"\nminimum_time = \"{time}\""));
        bound(
            "products.minimum_time",
            &text("10 ms"),
            &text("9 ms"),
            ("p: 9 ms", "at least 0.01 s"),
        );
    }

    #[test]
    fn a_factor_of_at_most_one() {
        let text = |factor: &str| {
            product(&format!("row = \"us-milk-15s\"\nfactor = \"{factor}\""))
                .replace("source = \"21 CFR 1240.61(b)\"\n", "")
        };
        bound("products.factor", &text("1"), &text("1.001"), ("p: 1.001", "at most 1"));
        bound("products.factor", &text("0.9"), &text("2"), ("p: 2", "at most 1"));
        // Absurd, whoever accepts it.
        for factor in ["2.001", "0", "-1"] {
            let accepted = format!("{HEAD}{}{ACCEPTED}", text(factor));
            assert!(Plant::parse("p", &accepted).is_err(), "{factor}");
        }
    }

    /// All built-in rows but one may be used without more ado: the historic 71.7 °C is below 72.
    #[test]
    fn the_built_in_rows_are_within_the_bounds() {
        for row in ROWS {
            let text = format!("{HEAD}[[products]]\nname = \"p\"\nrow = \"{}\"\n", row.key);
            let beyond =
                Plant::parse("p", &format!("{text}{ACCEPTED}")).map(|plant| plant.beyond.len());
            let expected = usize::from(row.key == "uk-1995-milk-15s");
            assert_eq!(beyond.ok(), Some(expected), "{}", row.key);
            assert_eq!(Plant::parse("p", &text).is_ok(), expected == 0, "{}", row.key);
        }
        bound(
            "products.row",
            "[[products]]\nname = \"p\"\nrow = \"eu-milk-15s\"\n",
            "[[products]]\nname = \"p\"\nrow = \"uk-1995-milk-15s\"\n",
            ("p: 71.7 °C for 15 s", "at least 72 °C (row us-milk-15s)"),
        );
    }

    #[test]
    fn limits_beyond_are_listed_in_the_order_of_the_file() {
        let products =
            product("temperature = \"150 degF\"\nminimum_time = \"1 s\"\nfactor = \"2\"");
        let text = format!(
            "{products}[limits]\nfrozen = \"2 h\"\ngap = \"1 min\"\n\
             differential = \"-1 psi\"\n"
        );
        let keys = [
            "products.temperature",
            "products.factor",
            "limits.frozen",
            "limits.gap",
            "limits.differential",
        ];
        match Plant::parse("p", &format!("{HEAD}{text}{ACCEPTED}")) {
            Ok(plant) => assert!(plant.beyond.iter().map(|beyond| &*beyond.key).eq(keys)),
            Err(error) => panic!("{error}"),
        }
        let Err(error) = Plant::parse("p", &format!("{HEAD}{text}")) else { panic!("not refused") };
        let message = error.to_string();
        assert!(message.starts_with("p:8:15: products.temperature: "), "{message}");
        assert!(message.contains("4 more limits of this file"), "{message}");
    }

    #[test]
    fn a_time_between_two_rows_is_held_to_the_shorter_one() {
        for (milliseconds, fahrenheit) in [
            (60_000, 161),
            (25_000, 161),
            (15_000, 161),
            (14_999, 191),
            (1000, 191),
            (999, 194),
            (500, 194),
            (100, 201),
            (99, 204),
            (50, 204),
            (49, 212),
            (10, 212),
            (9, 212),
            (0, 212),
        ] {
            let row = lowest_row(Duration::from_milliseconds(milliseconds));
            assert_eq!(row.fahrenheit, Some(Decimal::whole(fahrenheit)), "{milliseconds} ms");
        }
    }
}
