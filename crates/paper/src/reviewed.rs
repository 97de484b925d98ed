//! From a review's state and its verification to what the summary prints of them.

use crate::decided::{
    Acknowledgement, Decided, Decision, Digest, Entry, Scope, Signature, State, Verdict,
    Verification,
};
use review::{Made, Mark, Standing, Subject, disposition_name};

impl Decided {
    /// What a review decided, and what its verification says of it.
    pub fn of(state: &review::State, verification: &review::Verification) -> Self {
        let subject = state.subject();
        Self {
            record: None,
            state: standing(state, verification),
            exceptions: subject
                .exceptions
                .iter()
                .filter_map(|item| Some((item.id.clone(), decision(state.exception(&item.id))?)))
                .collect(),
            acknowledged: subject
                .observations
                .iter()
                .filter_map(|item| {
                    let Made { note, mark, .. } = state.acknowledged(&item.kind)?;
                    let Mark { by, at, .. } = mark;
                    Some(Acknowledgement {
                        observation: format!("{} ({})", item.kind.replace('_', " "), item.count),
                        note: note.clone(),
                        by: by.clone(),
                        at: at.instant(),
                    })
                })
                .collect(),
            entries: subject
                .entries
                .iter()
                .filter_map(|item| {
                    let Made { value, mark, .. } = state.entered(item)?;
                    Some(Entry {
                        what: item.clone(),
                        value: value.clone(),
                        by: mark.by.clone(),
                        at: mark.at.instant(),
                    })
                })
                .collect(),
            signatures: state
                .signatures()
                .iter()
                .map(|signed| Signature {
                    name: signed.name.clone(),
                    role: signed.role.to_string(),
                    meaning: signed.meaning.to_string(),
                    at: signed.mark.at.instant(),
                    scope: signed
                        .scope
                        .shift_name()
                        .map_or(Scope::Day, |name| Scope::Shift(name.to_owned())),
                    verdict: match verification.signature(signed.mark.line) {
                        Some(link) if link.holds => Verdict::Holds,
                        Some(link) => Verdict::Fails(link.found.clone()),
                        None => Verdict::Fails("it could not be checked".to_owned()),
                    },
                    superseded: !signed.stands(),
                })
                .collect(),
            verification: verification
                .links
                .iter()
                .map(|link| Verification {
                    holds: link.holds,
                    line: format!("{}: {}", link.what, link.found),
                })
                .collect(),
            digests: digests(subject, verification),
        }
    }
}

fn standing(state: &review::State, verification: &review::Verification) -> State {
    if !verification.is_intact() && !state.signatures().is_empty() {
        State::ChangedSinceSigning
    } else if verification.holds() {
        State::Signed
    } else if state.progress().is_complete() {
        State::Reviewed
    } else {
        State::NotReviewed
    }
}

fn decision(standing: &Standing) -> Option<Decision> {
    let Standing::Settled { settlement, mark } = standing else { return None };
    let review::Settlement {
        exception: _,
        cause,
        action,
        disposition,
        disposition_reason,
        quantity,
        lot,
        note,
    } = settlement.clone();
    let mut disposition = disposition_name(&disposition).to_owned();
    if !disposition_reason.is_empty() {
        disposition = format!("{disposition}: {disposition_reason}");
    }
    let Mark { by, at, line: _ } = mark;
    let at = Some(at.instant());
    Some(Decision { cause, action, disposition, lot, quantity, note, by: by.clone(), at })
}

fn digests(subject: &Subject, verification: &review::Verification) -> Vec<Digest> {
    let plant = subject.plant_file.as_ref();
    let plant = plant.map(|file| (format!("plant file {}", file.name), file.sha256.clone()));
    let head = format!("last of the journal's {} lines", verification.lines);
    plant
        .into_iter()
        .chain([
            ("result of the audit".to_owned(), subject.audit.clone()),
            (head, verification.head.to_string()),
        ])
        .map(|(of, sha256)| Digest { of, sha256 })
        .collect()
}
