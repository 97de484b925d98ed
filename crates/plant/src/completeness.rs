//! Required entries of a day, by regulation: lists of items, each with its source.

use crate::limit::{Provenance, Source};

/// Where an item can be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Evidence {
    /// The date with year, in the time stamps.
    Date,
    /// The number or place of the recorder, in the plant file.
    RecorderPlace,
    /// A continuous record of the holding temperature.
    ContinuousTemperature,
    /// Every period of forward flow, in the valve's record.
    ForwardFlow,
    /// Cut-in and cut-out temperatures.
    CutInAndOut,
    /// Product and quantity of each run.
    ProductAndQuantity,
    /// Product and lot of each run.
    ProductAndLot,
    /// The plant's name, in the plant file.
    PlantName,
    /// A continuous record of the flow.
    ContinuousFlow,
    /// A continuous record of the state of both flow alarms; an entry at the review is none.
    ContinuousAlarms,
    /// Readings of the indicating thermometer, in the operators' entries.
    IndicatingReadings,
    /// Unusual circumstances, in the operators' entries.
    Occurrences,
    /// An entry by the operator or reviewer; no sensor can give it.
    Entry,
}

/// One item of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequiredItem {
    /// The item, in short words.
    pub item: String,
    /// Where it can be found.
    pub evidence: Evidence,
    /// Who asks for it.
    pub source: Source,
}

/// The names of the built-in lists.
pub const LISTS: [&str; 4] = ["none", "wisconsin", "wisconsin-meter", "part-117"];

const INDICATING_READING: (&str, Evidence, &str) = (
    "indicating thermometer reading at the start of each run and at a marked point",
    Evidence::IndicatingReadings,
    "ATCP 65.66(3)(d)",
);

const WISCONSIN: [(&str, Evidence, &str); 11] = [
    ("date with year", Evidence::Date, "ATCP 65.66(3)(a)"),
    ("number or place of the recorder", Evidence::RecorderPlace, "ATCP 65.66(3)(b)"),
    (
        "continuous temperature record of each run",
        Evidence::ContinuousTemperature,
        "ATCP 65.66(3)(c)",
    ),
    INDICATING_READING,
    ("every period of forward flow", Evidence::ForwardFlow, "ATCP 65.66(3)(e)"),
    (
        "cut-in and cut-out temperature at the start, daily",
        Evidence::CutInAndOut,
        "ATCP 65.66(3)(f)",
    ),
    (
        "indicating thermometer reading at each change of the record",
        Evidence::Entry,
        "ATCP 65.66(3)(g)",
    ),
    ("product and quantity of each run", Evidence::ProductAndQuantity, "ATCP 65.66(3)(h)"),
    ("unusual circumstances", Evidence::Occurrences, "ATCP 65.66(3)(i)"),
    ("plant name", Evidence::PlantName, "ATCP 65.66(3)(j)"),
    ("signature or initials", Evidence::Entry, "ATCP 65.66(3)(k)"),
];

const METER: [(&str, Evidence, &str); 2] = [
    ("continuous flow record", Evidence::ContinuousFlow, "ATCP 65.66(4)"),
    (
        "continuous record of the status of the high-flow and low-flow or signal-loss alarms",
        Evidence::ContinuousAlarms,
        "ATCP 65.66(4)(d)",
    ),
];

const PART_117: [(&str, Evidence, &str); 5] = [
    ("actual values of the monitoring", Evidence::ContinuousTemperature, "21 CFR 117.305"),
    ("plant name", Evidence::PlantName, "21 CFR 117.305"),
    ("date and time", Evidence::Date, "21 CFR 117.305"),
    ("signature or initials", Evidence::Entry, "21 CFR 117.305"),
    ("product and lot", Evidence::ProductAndLot, "21 CFR 117.305(f)(4)"),
];

/// The items of a built-in list; `None` for a name that is none of [`LISTS`].
pub(crate) fn list(name: &str) -> Option<Vec<RequiredItem>> {
    let items: Vec<&(&str, Evidence, &str)> = match name {
        "none" => Vec::new(),
        "wisconsin" => WISCONSIN.iter().collect(),
        "wisconsin-meter" => WISCONSIN.iter().chain(&METER).collect(),
        "part-117" => PART_117.iter().collect(),
        _ => return None,
    };
    Some(items.into_iter().map(required).collect())
}

/// The reading that a record needs which holds another thermometer's.
pub(crate) fn indicating_reading() -> RequiredItem {
    required(&INDICATING_READING)
}

fn required(&(item, evidence, citation): &(&str, Evidence, &str)) -> RequiredItem {
    let source = Source::new(citation, Provenance::Seen);
    RequiredItem { item: item.to_owned(), evidence, source }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_named_list_exists() {
        for name in LISTS {
            assert!(list(name).is_some(), "{name}");
        }
        assert_eq!(list("wisconsin-meter").map(|items| items.len()), Some(13));
        assert_eq!(list("elsewhere"), None);
    }

    /// The state of the alarms is asked for as a continuous record: no typed entry is one.
    #[test]
    fn what_is_asked_for_continuously_is_no_entry() {
        let find = |name: &str, citation: &str| {
            let items = list(name).unwrap_or_default();
            items.into_iter().find(|item| item.source.citation == citation)
        };
        let alarms = find("wisconsin-meter", "ATCP 65.66(4)(d)");
        assert_eq!(alarms.map(|item| item.evidence), Some(Evidence::ContinuousAlarms));
        let lot = find("part-117", "21 CFR 117.305(f)(4)");
        assert_eq!(lot.map(|item| item.evidence), Some(Evidence::ProductAndLot));
    }
}
