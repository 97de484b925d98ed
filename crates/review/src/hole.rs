//! The hole between two records of one pasteurizer, which the later one is signed with: what lies
//! in no record was not shown to be safe.
//!
//! The hole is no part of the audit of either record, and so not of the [`crate::Subject`] either:
//! a record alone does not know its neighbour, and what was signed must not change because a file
//! beside it was moved. Whoever goes through the folder tells the desk and the verification of it;
//! what is entered carries its figures, so that the journal can be read without the neighbour.

use serde::{Deserialize, Serialize};

/// By what a person names the hole before a record where observations are named: a record has one.
pub const HOLE_BEFORE: &str = "hole_before_record";

/// The time without any record before a record, with the flow diversion device not diverted at one
/// end of it or both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoleBefore {
    /// The name of the first file of the record before.
    pub record: String,
    /// The last sample of the record before, RFC 3339.
    pub from: String,
    /// The position of the flow diversion device there: `forward`, `divert`, `travel`, `unknown`.
    pub position_before: String,
    /// The first sample of this record, RFC 3339.
    pub to: String,
    /// The position there.
    pub position_after: String,
    /// From the one to the other, in milliseconds.
    pub length_ms: i64,
}

/// The word of a position that product can't pass in.
const DIVERT: &str = "divert";

impl HoleBefore {
    /// Whether product may have gone forward at an end of it.
    pub fn is_exposed(&self) -> bool {
        self.position_before != DIVERT || self.position_after != DIVERT
    }

    /// Whether two name the same time without a record. The name of the record before does not
    /// count: a file that was renamed recorded nothing more.
    pub fn is_same(&self, other: &Self) -> bool {
        let what = |one: &Self| {
            let Self { record: _, from, position_before, to, position_after, length_ms } =
                one.clone();
            (from, position_before, to, position_after, length_ms)
        };
        what(self) == what(other)
    }

    /// The hole in words: from when to when, how long, and the positions at its ends.
    pub fn in_words(&self) -> String {
        let Self { record, from, position_before, to, position_after, length_ms } = self;
        let local = |stamp: &str| stamp.get(..19).unwrap_or(stamp).replace('T', " ");
        format!(
            "no record from {} (end of {record}, FDD {}) to {} (FDD {}): {}",
            local(from),
            position_in_words(position_before),
            local(to),
            position_in_words(position_after),
            trace::Duration::from_milliseconds(*length_ms)
        )
    }
}

/// A position as a person says it.
fn position_in_words(position: &str) -> &str {
    match position {
        DIVERT => "diverted",
        "travel" => "in travel",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hole(before: &str, after: &str) -> HoleBefore {
        HoleBefore {
            record: "2026-03-14.csv".to_owned(),
            from: "2026-03-14T14:00:00.000-05:00".to_owned(),
            position_before: before.to_owned(),
            to: "2026-03-14T16:00:00.000-05:00".to_owned(),
            position_after: after.to_owned(),
            length_ms: 7_200_000,
        }
    }

    #[test]
    fn only_a_diverted_end_is_shown_to_be_safe() {
        for (before, after, exposed) in [
            ("forward", "forward", true),
            ("forward", "divert", true),
            ("divert", "forward", true),
            ("divert", "travel", true),
            ("unknown", "divert", true),
            ("divert", "divert", false),
        ] {
            assert_eq!(hole(before, after).is_exposed(), exposed, "{before} {after}");
        }
    }

    #[test]
    fn a_renamed_neighbour_is_the_same_hole_and_another_end_is_not() {
        let one = hole("forward", "divert");
        let renamed = HoleBefore { record: "early.csv".to_owned(), ..one.clone() };
        assert!(one.is_same(&renamed));
        for other in [
            hole("unknown", "divert"),
            hole("forward", "forward"),
            HoleBefore { from: "2026-03-14T14:00:01.000-05:00".to_owned(), ..one.clone() },
            HoleBefore { to: "2026-03-14T15:00:00.000-05:00".to_owned(), ..one.clone() },
            HoleBefore { length_ms: 1, ..one.clone() },
        ] {
            assert!(!one.is_same(&other), "{other:?}");
        }
        assert_eq!(
            one.in_words(),
            "no record from 2026-03-14 14:00:00 (end of 2026-03-14.csv, FDD forward) to \
             2026-03-14 16:00:00 (FDD diverted): 2 h 00 min"
        );
    }
}
