//! A record with its review, ready to be filed: on paper, for a spreadsheet, or for a program.

use crate::error::Error;
use analysis::{Divert, Exception};
use case::{Builder, Case, Table};
use daybook::{RecordTanks, TankSheet};
use review::{
    Made, Reviewed, Settlement, Standing, State, Verification, closing_ids, divert_reason,
};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use trace::visible_json;

/// A record with its review.
#[derive(Debug, Clone, Copy)]
pub struct Filing<'a> {
    /// The audited record.
    pub case: &'a Case,
    /// How the record is named in the register.
    pub record: &'a str,
    /// What was decided, and whether it holds.
    pub reviewed: &'a Reviewed,
    /// What the run sheets of the other records of its folder say of tanks; `None` where they were not looked at.
    pub others: Option<&'a [TankSheet]>,
}

impl Filing<'_> {
    /// The exceptions with what was decided about each, as CSV.
    ///
    /// # Errors
    /// When a figure can't be written; none that an audit holds.
    pub fn csv(&self) -> Result<String, Error> {
        self.case.csv_with(self.columns()).map_err(|cause| Error::Data(cause.to_string()))
    }

    /// The observations with how each was closed, as CSV.
    ///
    /// # Errors
    /// As [`Filing::csv`].
    pub fn observations_csv(&self) -> Result<String, Error> {
        let csv = self.case.observations_csv_with(self.closings());
        csv.map_err(|cause| Error::Data(cause.to_string()))
    }

    /// The diverts with the reasons that people gave, as CSV.
    ///
    /// # Errors
    /// As [`Filing::csv`].
    pub fn diverts_csv(&self) -> Result<String, Error> {
        let audit = self.case.audit();
        let ids = closing_ids(audit);
        let made = |one: &Divert| divert_reason(self.reviewed.state.as_ref()?, audit, &ids, one);
        let reasons = Builder::of(&audit.diverts, self.case.plant().zone)
            .text("decided_reason", |one| Some(made(one)?.value.clone()))
            .text("note", |one| Some(made(one)?.note.clone()))
            .text("decided_by", |one| Some(made(one)?.mark.by.clone()))
            .text("decided_at", |one| Some(made(one)?.mark.at.to_string()))
            .done();
        self.case.diverts_csv_with(reasons).map_err(|cause| Error::Data(cause.to_string()))
    }

    /// Audit, review and verification as one JSON document.
    ///
    /// # Errors
    /// As [`Filing::csv`].
    pub fn json(&self) -> Result<String, Error> {
        let audit = self.case.json().map_err(|cause| Error::Data(cause.to_string()))?;
        let audit: Value =
            serde_json::from_str(&audit).map_err(|cause| Error::Data(cause.to_string()))?;
        let mut document = json!({
            "schema": 1,
            "audit": audit,
            "stage": self.reviewed.stage.key(),
            "review": self.reviewed.state.as_ref().map(State::to_json),
            "verification": self.verification(),
        });
        let tanks = self.tanks().json(self.case);
        if !tanks.is_null() {
            document["tanks"] = tanks;
        }
        let text = serde_json::to_string_pretty(&document);
        text.map(|text| format!("{}\n", visible_json(&text)))
            .map_err(|cause| Error::Data(cause.to_string()))
    }

    /// The tanks that took what passed in its exceptions.
    pub(crate) fn tanks(&self) -> RecordTanks {
        RecordTanks::of(self.case, self.others)
    }

    /// For each exception how it was resolved; blank where the review does not know it.
    fn columns(&self) -> Table {
        let state = self.reviewed.state.as_ref();
        let items = state.into_iter().flat_map(|state| {
            let items = state.subject().exceptions.iter();
            items.map(|item| (item.id.as_str(), state.exception(&item.id)))
        });
        let standings: BTreeMap<&str, &Standing> = items.collect();
        let standing = |one: &Exception| standings.get(one.id.as_str()).copied();
        let mark = |one: &Exception| standing(one)?.mark();
        let settled = |of: fn(&Settlement) -> &String| {
            move |one: &Exception| standing(one)?.settlement().map(of).cloned()
        };
        Builder::of(&self.case.audit().exceptions, self.case.plant().zone)
            .text("standing", |one| Some(standing(one)?.key().to_owned()))
            .text("decided_cause", settled(|one| &one.cause))
            .text("action", settled(|one| &one.action))
            .text("disposition", settled(|one| &one.disposition))
            .text("disposition_reason", settled(|one| &one.disposition_reason))
            .text("decided_quantity", settled(|one| &one.quantity))
            .text("decided_lot", settled(|one| &one.lot))
            .text("note", settled(|one| &one.note))
            .text("decided_by", |one| Some(mark(one)?.by.clone()))
            .text("decided_at", |one| Some(mark(one)?.at.to_string()))
            .done()
    }

    /// For each observation its identifier, where it is to be closed, and how it was closed or, of a
    /// kind to note, acknowledged.
    fn closings(&self) -> Table {
        let state = self.reviewed.state.as_ref();
        let observations = self.case.audit().observations.iter();
        let rows: Vec<(Option<String>, Option<&Made>)> = closing_ids(self.case.audit())
            .into_iter()
            .zip(observations)
            .map(|(id, observation)| {
                let made = state.and_then(|state| match &id {
                    Some(id) => state.closed(id),
                    None => state.acknowledged(observation.kind.key()),
                });
                (id, made)
            })
            .collect();
        let standing = |is_to_close, is_made| match (is_to_close, is_made) {
            (true, false) => Some("open"),
            (true, true) => Some("closed"),
            (false, false) => None,
            (false, true) => Some("acknowledged"),
        };
        Builder::of(&rows, self.case.plant().zone)
            .text("id", |(id, _)| id.clone())
            .text("standing", |(id, made)| {
                standing(id.is_some(), made.is_some()).map(str::to_owned)
            })
            // What was closed has its reason in the value; an acknowledgement has none.
            .text("reason", |(id, made)| id.as_ref().and(*made).map(|made| made.value.clone()))
            .text("note", |(_, made)| made.map(|made| made.note.clone()))
            .text("decided_by", |(_, made)| made.map(|made| made.mark.by.clone()))
            .text("decided_at", |(_, made)| made.map(|made| made.mark.at.to_string()))
            .done()
    }

    fn verification(&self) -> Value {
        let verification = &self.reviewed.verification;
        let Verification { links, head, lines, other_method, .. } = verification;
        let links: Vec<Value> = links
            .iter()
            .map(|link| json!({"what": link.what, "holds": link.holds, "found": link.found}))
            .collect();
        let holds = verification.holds();
        json!({
            "holds": holds,
            "links": links,
            "lines": lines,
            "head": head.to_string(),
            "other_method": other_method,
        })
    }
}
