//! What is reviewed: which bytes, audited how, with which result, and what there is to settle. It
//! stands in the journal, so that the state of a review follows from the journal alone.

use crate::error::Error;
use analysis::{Audit, Presence};
use journal::Digest;
use plant::Plant;
use report::Report;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use trace::{RunRecord, SourceFile, file_name};

/// A record and its audit, as a journal names them. The members are described in `docs/review.md`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Subject {
    /// The plant's name.
    pub plant: String,
    /// The pasteurizer's name.
    pub unit: String,
    /// The first sample, RFC 3339.
    pub start: String,
    /// The last sample, RFC 3339.
    pub end: String,
    /// The logger files in order.
    pub sources: Vec<Source>,
    /// The run sheet.
    pub run_sheet: Option<Source>,
    /// The plant file; `None` when the plant was assumed.
    pub plant_file: Option<PlantSource>,
    /// The SHA-256 of the audit's result, hexadecimal.
    pub audit: String,
    /// The program that audited.
    pub program: String,
    /// The shifts that the record touches, in order of their first touch.
    pub shifts: Vec<String>,
    /// The exceptions, in the audit's order.
    pub exceptions: Vec<ExceptionItem>,
    /// The observations by kind, in the audit's order.
    pub observations: Vec<ObservationItem>,
    /// What the plant's list asks somebody to enter, each once.
    pub entries: Vec<String>,
    /// Whether the person who reviewed may approve as well.
    pub same_person_may_approve: bool,
}

/// A file that the record was read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Its name without folder.
    pub name: String,
    /// Its length.
    pub bytes: u64,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

/// The plant file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlantSource {
    /// Its name without folder.
    pub name: String,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

/// An exception that is to be settled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExceptionItem {
    /// The audit's stable identifier.
    pub id: String,
    /// The key of the rule.
    pub rule: String,
    /// The estimate's start, RFC 3339.
    pub start: String,
    /// The estimate's end, RFC 3339.
    pub end: String,
    /// Every shift that its outer interval touches.
    pub shifts: Vec<String>,
    /// The episode, from 1.
    pub episode: usize,
    /// The product that passed at most, rounded up, with its unit; `None` when unknown.
    pub quantity: Option<String>,
    /// The lots that it touched.
    pub lots: Vec<String>,
}

/// The observations of one kind.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ObservationItem {
    /// The key of the kind.
    pub kind: String,
    /// How many there are.
    pub count: u64,
}

impl Subject {
    /// What a record, read and audited, puts up for review.
    ///
    /// # Errors
    /// When the audit's result can't be written as JSON; none that an audit gives.
    pub fn new(record: &RunRecord, plant: &Plant, audit: &Audit) -> Result<Self, Error> {
        let zone = plant.zone;
        let report = Report { record, plant, audit, assumptions: &[] };
        let result = report.result_json().map_err(Error::Report)?;
        let interval = record.interval();
        let spans = plant.shifts_over(interval);
        let mut shifts: Vec<String> = Vec::new();
        for (_, shift) in &spans {
            if !shifts.contains(&shift.name) {
                shifts.push(shift.name.clone());
            }
        }
        let exceptions = audit.exceptions.iter().map(|exception| {
            let outer = exception.outer;
            let touches = |name: &String| {
                spans.iter().any(|(span, shift)| {
                    shift.name == *name
                        && span.start() <= outer.end()
                        && outer.start() <= span.end()
                })
            };
            ExceptionItem {
                id: exception.id.clone(),
                rule: exception.rule.key().to_owned(),
                start: zone.rfc3339(exception.estimate.start()),
                end: zone.rfc3339(exception.estimate.end()),
                shifts: shifts.iter().filter(|name| touches(name)).cloned().collect(),
                episode: exception.episode,
                quantity: exception.volume.outer_value.map(|value| {
                    format!(
                        "{} {}",
                        (value.max(0.0) * 10.0).ceil() / 10.0,
                        exception.volume.unit.symbol()
                    )
                }),
                lots: exception.lots.clone(),
            }
        });
        let mut observations: Vec<ObservationItem> = Vec::new();
        for observation in &audit.observations {
            let kind = observation.kind.key();
            match observations.iter_mut().find(|item| item.kind == kind) {
                Some(item) => item.count += observation.count,
                None => observations
                    .push(ObservationItem { kind: kind.to_owned(), count: observation.count }),
            }
        }
        let mut entries: Vec<String> = Vec::new();
        for item in &audit.completeness {
            // What is missing from the record can still be accounted for by a person.
            if item.presence != Presence::Present && !entries.contains(&item.item) {
                entries.push(item.item.clone());
            }
        }
        Ok(Self {
            plant: plant.name.clone(),
            unit: record.unit().to_owned(),
            start: zone.rfc3339(interval.start()),
            end: zone.rfc3339(interval.end()),
            sources: record.sources().iter().map(source).collect(),
            run_sheet: record.run_sheet().map(|sheet| source(sheet.source())),
            plant_file: plant.file.as_ref().map(|file| PlantSource {
                name: file_name(&file.name).to_owned(),
                sha256: Digest(file.sha256).to_string(),
            }),
            audit: Digest::of(result.as_bytes()).to_string(),
            program: format!("holdtrace {}", env!("CARGO_PKG_VERSION")),
            exceptions: exceptions.collect(),
            shifts,
            observations,
            entries,
            same_person_may_approve: plant.review.same_person_may_approve,
        })
    }

    /// Whether two subjects differ in nothing but the program that audited.
    pub fn is_same_but_for_the_program(&self, other: &Self) -> bool {
        Self { program: String::new(), ..self.clone() }
            == Self { program: String::new(), ..other.clone() }
    }

    /// The exceptions by identifier.
    pub(crate) fn by_id(&self) -> BTreeMap<&str, &ExceptionItem> {
        self.exceptions.iter().map(|item| (item.id.as_str(), item)).collect()
    }
}

fn source(file: &SourceFile) -> Source {
    Source { name: file_name(&file.name).to_owned(), bytes: file.bytes, sha256: file.sha256_hex() }
}
