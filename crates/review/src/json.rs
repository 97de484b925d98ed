//! Where a review stands, for a program. The keys are described in `docs/file-formats.md`.

use crate::product_hold::{HeldPart, ProductHold};
use crate::state::{Made, Standing, State};
use serde_json::{Value, json};

impl State {
    /// The state as JSON: exceptions, observations to close and to acknowledge, and entries, with
    /// what was decided about each, and all signatures.
    pub fn to_json(&self) -> Value {
        let subject = self.subject();
        let exceptions = subject.exceptions.iter().map(|item| {
            let standing = self.exception(&item.id);
            let remark = match standing {
                Standing::SentBack { remark, .. } => Some(remark),
                Standing::Open | Standing::Settled { .. } => None,
            };
            json!({
                "item": item,
                "standing": standing.key(),
                "settlement": standing.settlement(),
                "remark": remark,
                "by": standing.mark().map(|mark| &mark.by),
                "at": standing.mark().map(|mark| mark.at.to_string()),
            })
        });
        let to_close = subject
            .to_close
            .iter()
            .map(|item| json!({"item": item, "closed": made(self.closed(&item.id))}));
        let diverts = subject
            .diverts
            .iter()
            .map(|item| json!({"item": item, "explained": made(self.explained(&item.id))}));
        let observations = subject
            .observations
            .iter()
            .map(|item| json!({"item": item, "acknowledged": made(self.acknowledged(&item.kind))}));
        let entries = subject
            .entries
            .iter()
            .map(|item| json!({"item": item, "entered": made(self.entered(item))}));
        let signatures = self.signatures().iter().map(|signed| {
            json!({
                "line": signed.mark.line,
                "by": signed.mark.by,
                "at": signed.mark.at.to_string(),
                "meaning": signed.meaning,
                "scope": signed.scope,
                "name": signed.name,
                "role": signed.role,
                "method": signed.method,
                "holds": signed.verdict.holds(),
                "verdict": signed.verdict.to_string(),
                "superseded_by": signed.superseded_by,
            })
        });
        json!({
            "method": subject.method,
            "exceptions": exceptions.collect::<Vec<_>>(),
            "to_close": to_close.collect::<Vec<_>>(),
            "diverts": diverts.collect::<Vec<_>>(),
            "hole_before": self.hole().map(|(hole, closed)| {
                json!({"hole": hole, "closed": made(Some(closed))})
            }),
            "observations": observations.collect::<Vec<_>>(),
            "entries": entries.collect::<Vec<_>>(),
            "holds": self.holds().iter().map(hold).collect::<Vec<_>>(),
            "seals": self.seals().map(|(seal, note)| {
                json!({"seal": seal, "noted": made(Some(note))})
            }).collect::<Vec<_>>(),
            "signatures": signatures.collect::<Vec<_>>(),
        })
    }
}

fn hold(hold: &ProductHold) -> Value {
    let parts = hold.parts.iter().map(|part| {
        let HeldPart { exception, tank, lot, quantity } = part;
        json!({"exception": exception, "tank": tank, "lot": lot, "quantity": quantity})
    });
    json!({
        "hold": hold.name,
        "is_open": hold.is_open(),
        "parts": parts.collect::<Vec<_>>(),
        "by": hold.since.by,
        "at": hold.since.at.to_string(),
        "ended": hold.ended.as_ref().map(|ended| {
            json!({
                "ending": ended.ending,
                "by": ended.mark.by,
                "at": ended.mark.at.to_string(),
                "holds": ended.verdict.holds(),
                "verdict": ended.verdict.to_string(),
            })
        }),
    })
}

fn made(made: Option<&Made>) -> Value {
    made.map_or(Value::Null, |made| {
        json!({
            "value": made.value,
            "note": made.note,
            "by": made.mark.by,
            "at": made.mark.at.to_string(),
        })
    })
}
