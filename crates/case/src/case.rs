//! The audited record: one record, the plant that it was audited against, and what was found.
//!
//! A case is made in one place, by the audit, so an audit never stands beside a record or limits that
//! are not its own. Whoever shows a record gets a case and asks it; front ends format and paint the
//! answers, and work nothing out themselves.

use analysis::{Audit, Volume};
use plant::Plant;
use trace::{Duration, Instant, Interval, Observation, RunRecord, ValveState};

/// A record, its plant and its audit.
#[derive(Debug, Clone)]
pub struct Case {
    pub(crate) record: RunRecord,
    pub(crate) plant: Plant,
    pub(crate) audit: Audit,
    pub(crate) assumptions: Vec<String>,
    pub(crate) least_residence: Option<LeastResidence>,
}

/// The residence time in forward flow that lies closest above its minimum, or furthest below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeastResidence {
    /// How long.
    pub held: Duration,
    /// The minimum that it is held to.
    pub minimum: Duration,
    /// When it left the tube.
    pub at: Instant,
}

impl Case {
    /// Audits a record against its plant. `observed` is what was observed while its files were read,
    /// and `assumptions` what was assumed then, in sentences for a person.
    pub fn new(
        record: RunRecord,
        plant: Plant,
        observed: Vec<Observation>,
        assumptions: Vec<String>,
    ) -> Self {
        let audit = analysis::audit(&record, &plant, observed);
        let least_residence = least_residence(&record, &audit);
        Self { record, plant, audit, assumptions, least_residence }
    }

    /// The record that was audited.
    pub const fn record(&self) -> &RunRecord {
        &self.record
    }

    /// The plant that it was audited against.
    pub const fn plant(&self) -> &Plant {
        &self.plant
    }

    /// What was found.
    pub const fn audit(&self) -> &Audit {
        &self.audit
    }

    /// What was assumed while reading, in sentences.
    pub fn assumptions(&self) -> &[String] {
        &self.assumptions
    }

    /// The product that went forward within an interval.
    pub fn forward_volume(&self, interval: Interval) -> Volume {
        analysis::forward_volume(&self.record, &self.plant, &self.audit, interval)
    }

    /// The shortest residence time in forward flow; `None` where none is known.
    pub const fn least_residence(&self) -> Option<LeastResidence> {
        self.least_residence
    }
}

fn least_residence(record: &RunRecord, audit: &Audit) -> Option<LeastResidence> {
    let residence = audit.residence.as_ref()?;
    let mut shortest: Option<LeastResidence> = None;
    for span in &audit.temperature_limits {
        let minimum = span.minimum_time;
        for sample in span.first..=span.last {
            if record.valve()[sample] != ValveState::Forward {
                continue;
            }
            if let Some(held) = residence.at(sample)
                && shortest.is_none_or(|least| held - minimum < least.held - least.minimum)
            {
                shortest = Some(LeastResidence { held, minimum, at: record.instants()[sample] });
            }
        }
    }
    shortest
}
