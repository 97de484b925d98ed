//! From a review's state and its verification to what the summary prints of them.

use crate::decided::{
    Acknowledgement, Closing, Decided, Decision, Digest, Entry, Hole, Scope, Signature, Verdict,
    Verification,
};
use review::{Imprint, Known, Made, Mark, Reviewed, Stage, Standing, Subject};

impl Decided {
    /// What a review decided, and what its verification says of it.
    pub fn of(reviewed: &Reviewed) -> Self {
        let Reviewed { stage, state, verification, books, unapproved } = reviewed;
        let unapproved = unapproved.clone();
        let of_books = books.iter().flat_map(of_books);
        if *stage == Stage::Unread {
            return Self { unapproved, digests: of_books.collect(), ..Self::default() };
        }
        // What was found of signatures stands beside them.
        let links = verification.links.iter().filter(|link| link.signature.is_none());
        let links = links.map(|link| Verification {
            holds: link.holds,
            line: format!("{}: {}", link.what, link.found),
        });
        let checked = Self {
            stage: *stage,
            verification: links.collect(),
            unapproved,
            digests: of_books.clone().collect(),
            ..Self::default()
        };
        // Of a journal that can't be followed from its first line, what is wrong is told.
        let Some(state) = state else { return checked };
        let subject = state.subject();
        Self {
            exceptions: subject
                .exceptions
                .iter()
                .filter_map(|item| Some((item.id.clone(), decision(state.exception(&item.id))?)))
                .collect(),
            closed: subject
                .to_close
                .iter()
                .filter_map(|item| Some((item.id.clone(), closing(state.closed(&item.id)?))))
                .collect(),
            hole: state
                .hole()
                .map(|(hole, made)| Hole { words: hole.in_words(), closing: closing(made) }),
            acknowledged: subject
                .observations
                .iter()
                .filter_map(|item| {
                    let Made { note, mark, .. } = state.acknowledged(&item.kind)?;
                    let Mark { by, at, .. } = mark;
                    Some(Acknowledgement {
                        observation: title(&item.kind),
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
                    superseded: !signed.is_current(),
                })
                .collect(),
            digests: digests(subject, verification).into_iter().chain(of_books).collect(),
            ..checked
        }
    }
}

fn closing(made: &Made) -> Closing {
    let Made { value, note, mark, .. } = made;
    Closing {
        reason: value.clone(),
        note: note.clone(),
        by: mark.by.clone(),
        at: mark.at.instant(),
    }
}

/// The title of a kind of observations, by its key.
fn title(kind: &str) -> String {
    let known = case::observation_kinds().find(|known| known.key() == kind);
    // A journal of another program may name a kind that this one does not know.
    known.map_or_else(|| kind.replace('_', " "), |known| known.title().to_owned())
}

fn decision(standing: &Standing) -> Option<Decision> {
    let Standing::Settled { settlement, mark } = standing else { return None };
    let at = Some(mark.at.instant());
    Some(Decision { settlement: settlement.clone(), by: mark.by.clone(), at })
}

/// By what the plant's books are told from others: how far register and ledger went when the page was
/// made, and the keys' fingerprints, the first supervisor's first.
pub(crate) fn of_books(books: &Imprint) -> Vec<Digest> {
    let Imprint { register, register_lines, register_head, ledger_lines, ledger_head, signers } =
        books;
    let mut digests = vec![Digest {
        of: format!("last of the {register_lines} lines of the register of signers {register}"),
        sha256: register_head.clone(),
    }];
    if *ledger_lines > 0 {
        digests.push(Digest {
            of: format!("last of the {ledger_lines} lines of the ledger"),
            sha256: ledger_head.clone(),
        });
    }
    for (place, known) in signers.iter().enumerate() {
        let Known { signer, name, role, fingerprint, is_revoked } = known;
        let first = if place == 0 { ", began the register" } else { "" };
        let revoked = if *is_revoked { ", revoked" } else { "" };
        digests.push(Digest {
            of: format!("fingerprint of {signer} ({name}, {role}{first}{revoked})"),
            sha256: fingerprint.replace(' ', ""),
        });
    }
    digests
}

fn digests(subject: &Subject, verification: &review::Verification) -> Vec<Digest> {
    let digest = |of: String, sha256| Digest { of, sha256 };
    vec![
        digest("result of the audit".to_owned(), subject.audit.clone()),
        digest(
            format!("last of the journal's {} lines", verification.lines),
            verification.head.to_string(),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_of_all_kinds_come_from_their_definitions() {
        for kind in case::observation_kinds() {
            assert_eq!(title(kind.key()), kind.title());
        }
        assert_eq!(title("of_another_program"), "of another program");
    }
}
