//! What really happened: the yardstick for an audit of a simulated record.
//!
//! The truth comes from the state of the model and from the scripted faults, never from the
//! written readings: temperatures and pressures before noise and rounding, ten times a second.

use crate::error::Error;
use crate::events::Events;
use plant::Zone;
use serde::Serialize;
use trace::Interval;

/// The rule that was broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TruthRule {
    /// Forward flow below the product's temperature limit.
    Temperature,
    /// Forward flow with the regenerator's differential below the limit.
    Differential,
    /// Forward flow that was in the holding tube for less than the product's minimum time.
    HoldingTime,
    /// Flow that the written record can't vouch for.
    Unverifiable,
}

impl TruthRule {
    /// All rules.
    pub const ALL: [Self; 4] =
        [Self::Temperature, Self::Differential, Self::HoldingTime, Self::Unverifiable];

    /// The key, as the method names the rule.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential",
            Self::HoldingTime => "holding_time",
            Self::Unverifiable => "unverifiable",
        }
    }
}

/// A stretch of forward flow that was not safe, or that the record can't vouch for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unsafe {
    /// The rule.
    pub rule: TruthRule,
    /// From and to.
    pub interval: Interval,
}

/// A hole in the record that hides nothing unsafe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Harmless {
    /// The key of the role that was not read; `logger` where no rows were written.
    pub what: &'static str,
    /// From and to.
    pub interval: Interval,
}

/// What really happened.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Truth {
    /// Unsafe forward flow, in order of its start, then of the rule.
    pub unsafe_flow: Vec<Unsafe>,
    /// Holes that hide nothing, in order of their start.
    pub harmless: Vec<Harmless>,
    /// What else happened.
    pub events: Events,
}

impl Truth {
    /// The intervals of one rule, in order.
    pub fn of(&self, rule: TruthRule) -> impl Iterator<Item = Interval> {
        self.unsafe_flow.iter().filter(move |one| one.rule == rule).map(|one| one.interval)
    }
}

#[derive(Serialize)]
struct JsonTruth<'a> {
    about: &'a str,
    unit: &'a str,
    zone: &'a str,
    file: &'a str,
    #[serde(rename = "unsafe")]
    unsafe_flow: Vec<JsonInterval<'a>>,
    harmless: Vec<JsonInterval<'a>>,
}

#[derive(Serialize)]
struct JsonInterval<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    rule: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    what: Option<&'a str>,
    start: String,
    end: String,
    start_unix_ms: i64,
    end_unix_ms: i64,
}

impl<'a> JsonInterval<'a> {
    fn new(rule: Option<&'a str>, what: Option<&'a str>, interval: Interval, zone: Zone) -> Self {
        Self {
            rule,
            what,
            start: zone.rfc3339(interval.start()),
            end: zone.rfc3339(interval.end()),
            start_unix_ms: interval.start().unix_milliseconds(),
            end_unix_ms: interval.end().unix_milliseconds(),
        }
    }
}

/// The truth of one file as JSON, instants both on the plant's clock and as Unix milliseconds.
///
/// # Errors
/// When the JSON can't be written.
pub fn truth_json(truth: &Truth, file: &str, unit: &str, zone: Zone) -> Result<String, Error> {
    let json = JsonTruth {
        about: "Invented data from the simulator: the intervals that an audit of the file must \
                find (unsafe), and holes that it must not count as unsafe (harmless).",
        unit,
        zone: zone.name(),
        file,
        unsafe_flow: truth
            .unsafe_flow
            .iter()
            .map(|one| JsonInterval::new(Some(one.rule.key()), None, one.interval, zone))
            .collect(),
        harmless: truth
            .harmless
            .iter()
            .map(|one| JsonInterval::new(None, Some(one.what), one.interval, zone))
            .collect(),
    };
    let mut text = serde_json::to_string_pretty(&json)
        .map_err(|cause| Error::Json { message: cause.to_string() })?;
    text.push('\n');
    Ok(text)
}
