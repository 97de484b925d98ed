//! A day of the week: what the logger and its people wrote, and what really happened.

use super::written::{Entry, SheetLine};
use crate::error::Error;
use crate::record::Run;
use crate::truth::{Truth, TruthRule};
use serde_json::json;
use trace::{Duration, Interval};

/// Something that an audit of a day must tell as an observation to close.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    /// The key of the kind.
    pub kind: &'static str,
    /// The name of the channel that it is told of; blank where a kind has but one.
    pub channel: &'static str,
    /// When it happened.
    pub interval: Interval,
}

/// A day of the week.
#[derive(Debug, Clone)]
pub struct WeekDay {
    /// Its date, which names its files: `2026-03-09`.
    pub date: &'static str,
    /// What happens, in a sentence.
    pub story: &'static str,
    /// The rows, and what really happened.
    pub run: Run,
    /// What the run sheet says.
    pub sheet: Vec<SheetLine>,
    /// What the operator wrote down.
    pub entries: Vec<Entry>,
    /// Whether the operator wrote it into a file; else it is entered by hand.
    pub entries_are_a_file: bool,
    /// Everything that is to be closed, in order of its kind and time.
    pub to_close: Vec<Told>,
}

impl WeekDay {
    /// What really happened.
    pub const fn truth(&self) -> &Truth {
        &self.run.truth
    }

    /// When flow that was not safe went forward, by a rule.
    pub fn unsafe_flow(&self, rule: TruthRule) -> Vec<Interval> {
        self.truth().of(rule).collect()
    }

    pub(super) fn truth_json(&self) -> Result<String, Error> {
        let zone = self.run.zone;
        let span = |interval: Interval| json!({"start": zone.rfc3339(interval.start()), "end": zone.rfc3339(interval.end())});
        let events = &self.truth().events;
        let seconds = |time: Duration| time.seconds();
        let value = json!({
            "about": "Invented data from the simulator: what happened on this day.",
            "date": self.date,
            "story": self.story,
            "unsafe": TruthRule::ALL.map(|rule| {
                let all: Vec<_> = self.truth().of(rule).map(span).collect();
                json!({"rule": rule.key(), "when": all})
            }),
            "diverts": events.diverts.iter().map(|one| {
                json!({"when": span(one.interval), "cause": one.cause.key()})
            }).collect::<Vec<_>>(),
            "alarms": events.alarms.iter().map(|one| {
                json!({
                    "alarm": one.alarm.role().key(),
                    "when": span(one.interval),
                    "forward_s": seconds(one.forward),
                })
            }).collect::<Vec<_>>(),
            "media_above_product": events.risen.iter().map(|one| {
                json!({"medium": one.medium.role().key(), "when": span(one.interval)})
            }).collect::<Vec<_>>(),
            "cleanings": events.cleanings.iter().map(|one| {
                json!({
                    "when": span(one.interval),
                    "tube_hot_s": seconds(one.tube_hot),
                    "return_hot_s": seconds(one.return_hot),
                })
            }).collect::<Vec<_>>(),
            "to_close": self.to_close.iter().map(|one| {
                json!({"kind": one.kind, "channel": one.channel, "when": span(one.interval)})
            }).collect::<Vec<_>>(),
        });
        let text = serde_json::to_string_pretty(&value)
            .map_err(|cause| Error::Json { message: cause.to_string() })?;
        Ok(text + "\n")
    }
}
