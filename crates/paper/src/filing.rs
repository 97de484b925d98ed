//! A record with its review, ready to be filed: on paper, for a spreadsheet, or for a program.

use crate::{Error, Page, Paper, Summary, Template, summary, summary_with_page};
use case::{Case, MoreCells, MoreColumns};
use review::{Reviewed, Settlement, State, Verification, closing_ids};
use serde_json::{Value, json};
use trace::{Instant, visible_json};

/// A record with its review.
#[derive(Debug, Clone, Copy)]
pub struct Filing<'a> {
    /// The audited record.
    pub case: &'a Case,
    /// How the record is named in the register.
    pub record: &'a str,
    /// What was decided, and whether it holds.
    pub reviewed: &'a Reviewed,
}

impl Filing<'_> {
    /// The summary as PDF/A; see [`Summary`] for what it depends on.
    ///
    /// # Errors
    /// As [`summary`].
    pub fn pdf(
        &self,
        paper: Paper,
        created: Instant,
        template: Option<Template<'_>>,
    ) -> Result<Vec<u8>, Error> {
        summary(&Summary { filing: *self, paper, created, template })
    }

    /// The same with the first page as a picture; the built-in template.
    ///
    /// # Errors
    /// As [`summary_with_page`].
    pub fn pdf_with_page(
        &self,
        paper: Paper,
        created: Instant,
        pixels_per_point: f32,
    ) -> Result<(Vec<u8>, Page), Error> {
        let summary = Summary { filing: *self, paper, created, template: None };
        summary_with_page(&summary, pixels_per_point)
    }

    /// The exceptions with what was decided about each, as CSV.
    ///
    /// # Errors
    /// When a figure can't be written; none that an audit holds.
    pub fn csv(&self) -> Result<String, Error> {
        self.case.csv_with(&self.columns()).map_err(|cause| Error::Data(cause.to_string()))
    }

    /// The observations with how each was closed, as CSV.
    ///
    /// # Errors
    /// As [`Filing::csv`].
    pub fn observations_csv(&self) -> Result<String, Error> {
        let csv = self.case.observations_csv_with(&self.closings());
        csv.map_err(|cause| Error::Data(cause.to_string()))
    }

    /// Audit, review and verification as one JSON document.
    ///
    /// # Errors
    /// As [`Filing::csv`].
    pub fn json(&self) -> Result<String, Error> {
        let audit = self.case.json().map_err(|cause| Error::Data(cause.to_string()))?;
        let audit: Value =
            serde_json::from_str(&audit).map_err(|cause| Error::Data(cause.to_string()))?;
        let document = json!({
            "schema": 1,
            "audit": audit,
            "stage": self.reviewed.stage.key(),
            "review": self.reviewed.state.as_ref().map(State::to_json),
            "verification": self.verification(),
        });
        let text = serde_json::to_string_pretty(&document);
        text.map(|text| format!("{}\n", visible_json(&text)))
            .map_err(|cause| Error::Data(cause.to_string()))
    }

    fn columns(&self) -> MoreColumns {
        let names = [
            "standing",
            "decided_cause",
            "action",
            "disposition",
            "disposition_reason",
            "decided_quantity",
            "decided_lot",
            "note",
            "decided_by",
            "decided_at",
        ];
        let mut columns = MoreColumns { names: names.to_vec(), ..MoreColumns::default() };
        let Some(state) = &self.reviewed.state else { return columns };
        for item in &state.subject().exceptions {
            let standing = state.exception(&item.id);
            let mark = standing.mark();
            let text = |of: fn(&Settlement) -> &String| {
                standing.settlement().map(of).cloned().unwrap_or_default()
            };
            let texts = vec![
                standing.key().to_owned(),
                text(|one| &one.cause),
                text(|one| &one.action),
                text(|one| &one.disposition),
                text(|one| &one.disposition_reason),
                text(|one| &one.quantity),
                text(|one| &one.lot),
                text(|one| &one.note),
                mark.map(|mark| mark.by.clone()).unwrap_or_default(),
                mark.map(|mark| mark.at.to_string()).unwrap_or_default(),
            ];
            columns.of.insert(item.id.clone(), texts);
        }
        columns
    }

    /// For each observation its identifier, where it is to be closed, and how it was closed or, of a
    /// kind to note, acknowledged.
    fn closings(&self) -> MoreCells {
        let names = vec!["id", "standing", "reason", "note", "decided_by", "decided_at"];
        let mut cells = MoreCells { names, rows: Vec::new() };
        let state = self.reviewed.state.as_ref();
        let ids = closing_ids(self.case.audit());
        for (id, observation) in ids.into_iter().zip(&self.case.audit().observations) {
            let made = state.and_then(|state| match &id {
                Some(id) => state.closed(id),
                None => state.acknowledged(observation.kind.key()),
            });
            let standing = match (&id, made.is_some()) {
                (Some(_), false) => "open",
                (Some(_), true) => "closed",
                (None, false) => "",
                (None, true) => "acknowledged",
            };
            // What was closed has its reason in the value; an acknowledgement has none.
            let reason = made.filter(|_| id.is_some()).map(|made| made.value.clone());
            cells.rows.push(vec![
                id.unwrap_or_default(),
                standing.to_owned(),
                reason.unwrap_or_default(),
                made.map(|made| made.note.clone()).unwrap_or_default(),
                made.map(|made| made.mark.by.clone()).unwrap_or_default(),
                made.map(|made| made.mark.at.to_string()).unwrap_or_default(),
            ]);
        }
        cells
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
