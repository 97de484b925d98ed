//! Properties of the review's rules over random sequences of decisions, allowed and not.

use crate::decision::{Bundle, Correction, Decision, ItemKind, Scope, Settlement, Together};
use crate::ending::{Ending, EvidenceFile, Outcome, Shown};
use crate::mark::Mark;
use crate::product_hold::ProductHold;
use crate::state::{Standing, State};
use crate::subject::{ClosingItem, DivertItem, ExceptionItem, ObservationItem, Subject};
use analysis::METHOD;
use journal::Stamp;
use proptest::prelude::*;
use signers::{Act, Meaning, Role};
use std::collections::BTreeSet;
use trace::Instant;

const IDS: [&str; 4] = ["a1", "b2", "c3", "d4"];
/// The observations to close.
const CLOSINGS: [&str; 3] = ["e5", "f6", "g7"];
/// Their kind.
const TO_CLOSE: &str = "leak_detected";
/// The diverts of which a reason may be entered.
const DIVERTS: [&str; 3] = ["h8", "i9", "j0"];
/// The kinds to note.
const KINDS: [&str; 2] = ["raw_too_warm", "slow_travel"];
/// The tags of holds; the blank one is that of older programs.
const TAGS: [&str; 3] = ["H1", "H2", ""];
const ENTRIES: [&str; 2] = ["unusual circumstances", "signature or initials"];
const SHIFTS: [&str; 3] = ["early", "late", "night"];
const PEOPLE: [(&str, Role); 3] =
    [("anna", Role::Technician), ("ben", Role::Supervisor), ("cleo", Role::Supervisor)];

pub(crate) fn subject(exceptions: usize, audit: &str) -> Subject {
    // The second touches two shifts, the fourth none.
    let shifts: [&[&str]; 4] = [&["early"], &["early", "late"], &["late"], &[]];
    let some = |shifts: &[&str]| shifts.iter().map(|&shift| shift.to_owned()).collect();
    let items = (0..).zip(IDS.iter().zip(shifts)).take(exceptions);
    let items = items.map(|(index, (id, shifts))| ExceptionItem {
        id: (*id).to_owned(),
        rule: "temperature".to_owned(),
        causes: Vec::new(),
        start: "2026-03-14T06:00:00.000-05:00".to_owned(),
        end: "2026-03-14T06:00:10.000-05:00".to_owned(),
        shifts: some(shifts),
        // Two episodes of two; the second is one cleaning.
        episode: index / 2 + 1,
        cleaning: (index >= 2).then_some(1),
        quantity: Some("140 gal".to_owned()),
        lots: vec!["L-1".to_owned()],
        tanks: Vec::new(),
    });
    // The first touches one shift, the second two, the third none.
    let closings = CLOSINGS.iter().zip(shifts_of_closings());
    let to_close = closings.map(|(id, shifts)| ClosingItem {
        id: (*id).to_owned(),
        kind: TO_CLOSE.to_owned(),
        start: Some("2026-03-14T06:01:00.000-05:00".to_owned()),
        end: Some("2026-03-14T06:01:10.000-05:00".to_owned()),
        shifts: some(shifts),
        count: 3,
    });
    Subject {
        plant: "Example Dairy (invented)".to_owned(),
        unit: "HTST-1".to_owned(),
        start: "2026-03-14T04:00:00.000-05:00".to_owned(),
        end: "2026-03-14T22:00:00.000-05:00".to_owned(),
        sources: Vec::new(),
        run_sheet: None,
        operator_entries: None,
        plant_file: None,
        audit: audit.to_owned(),
        program: "holdtrace 0".to_owned(),
        method: METHOD,
        to_close: to_close.collect(),
        diverts: DIVERTS
            .iter()
            .zip(shifts_of_closings())
            .map(|(id, shifts)| DivertItem {
                id: (*id).to_owned(),
                start: "2026-03-14T06:02:00.000-05:00".to_owned(),
                cause: "temperature".to_owned(),
                shifts: some(shifts),
            })
            .collect(),
        shifts: SHIFTS.iter().map(|&shift| shift.to_owned()).collect(),
        exceptions: items.collect(),
        observations: KINDS
            .iter()
            .map(|&kind| ObservationItem { kind: kind.to_owned(), count: 3 })
            .collect(),
        entries: ENTRIES.iter().map(|&entry| entry.to_owned()).collect(),
        same_person_may_approve: false,
        tube: None,
        technician_ends_holds: false,
        release_after_approval: false,
        corrective_action_in_parts: false,
    }
}

const fn shifts_of_closings() -> [&'static [&'static str]; 3] {
    [&["early"], &["late", "night"], &[]]
}

fn together(of: Bundle, exceptions: &[&str]) -> Together {
    Together {
        of,
        exceptions: exceptions.iter().map(|&id| id.to_owned()).collect(),
        cause: "cleaning".to_owned(),
        action: "none".to_owned(),
        disposition: "none_needed".to_owned(),
        disposition_reason: "water and lye, drained".to_owned(),
        quantity: String::new(),
        lot: String::new(),
        correction: None,
        hold_tag: String::new(),
        tank: String::new(),
        note: String::new(),
    }
}

fn closed(id: &str, reason: &str) -> Decision {
    let (observation, reason) = (id.to_owned(), reason.to_owned());
    Decision::Closed { observation, reason, note: String::new() }
}

fn explained(id: &str, reason: &str) -> Decision {
    let (divert, reason) = (id.to_owned(), reason.to_owned());
    Decision::DivertExplained { divert, reason, note: String::new() }
}

fn settlement(id: &str) -> Settlement {
    Settlement {
        exception: id.to_owned(),
        cause: "steam valve stuck".to_owned(),
        action: "valve freed".to_owned(),
        disposition: "re_pasteurized".to_owned(),
        ..Settlement::default()
    }
}

fn held(id: &str, tag: &str) -> Settlement {
    let (disposition, hold_tag) = ("held".to_owned(), tag.to_owned());
    Settlement { disposition, hold_tag, tank: "T4".to_owned(), ..settlement(id) }
}

fn ended(hold: &str) -> Decision {
    Decision::HoldEnded(Ending {
        hold: hold.to_owned(),
        outcome: Outcome::Destroyed,
        reason: "poured away".to_owned(),
        evidence: Shown::File(EvidenceFile {
            name: "slip.pdf".to_owned(),
            bytes: 3,
            sha256: "ab".repeat(32),
        }),
    })
}

pub(crate) fn mark(line: u64, by: &str) -> Mark {
    let instant = Instant::from_unix_milliseconds(1_773_486_000_000);
    let Some(at) = Stamp::new(instant, -5 * 3600) else { panic!("five hours are an offset") };
    Mark { by: by.to_owned(), at, line }
}

fn any_scope() -> impl Strategy<Value = Scope> {
    prop_oneof![
        2 => Just(Scope::DAY),
        3 => prop::sample::select(&SHIFTS[..]).prop_map(Scope::shift),
    ]
}

fn any_decision() -> impl Strategy<Value = (usize, Decision)> {
    let id = || prop::sample::select(&IDS[..]).prop_map(str::to_owned);
    let kind = || prop::sample::select(&KINDS[..]).prop_map(str::to_owned);
    let tag = || prop::sample::select(&TAGS[..]).prop_map(str::to_owned);
    let closing = || prop::sample::select(&CLOSINGS[..]).prop_map(str::to_owned);
    let divert = || prop::sample::select(&DIVERTS[..]).prop_map(str::to_owned);
    let bundle = || {
        prop_oneof![(0..4_usize).prop_map(Bundle::Episode), (0..3_usize).prop_map(Bundle::Cleaning)]
    };
    let ids = || prop::collection::vec(prop::sample::select(&IDS[..]), 0..3);
    let entry = || prop::sample::select(&ENTRIES[..]).prop_map(str::to_owned);
    let decision = prop_oneof![
        8 => id().prop_map(|id| Decision::Settled(settlement(&id))),
        1 => id().prop_map(|item| Decision::Withdrawn { of: ItemKind::Exception, item }),
        4 => (id(), tag()).prop_map(|(id, tag)| Decision::Settled(held(&id, &tag))),
        2 => tag().prop_map(|tag| ended(&tag)),
        1 => tag().prop_map(|item| Decision::Withdrawn { of: ItemKind::HoldEnd, item }),
        4 => (bundle(), ids())
            .prop_map(|(of, ids)| Decision::SettledTogether(together(of, &ids))),
        7 => (closing(), prop::sample::select(&["looked into", "looked into", " \t", ""][..]))
            .prop_map(|(id, reason)| closed(&id, reason)),
        1 => closing().prop_map(|item| Decision::Withdrawn { of: ItemKind::ClosedObservation, item }),
        1 => kind().prop_map(|item| Decision::Withdrawn { of: ItemKind::Observation, item }),
        1 => Just(Decision::Acknowledged { observation: TO_CLOSE.to_owned(), note: String::new() }),
        3 => (divert(), prop::sample::select(&["steam low", " "][..]))
            .prop_map(|(id, reason)| explained(&id, reason)),
        1 => divert().prop_map(|item| Decision::Withdrawn { of: ItemKind::Divert, item }),
        2 => id().prop_map(|exception| Decision::SentBack { exception, remark: "why?".into() }),
        5 => kind().prop_map(|observation| Decision::Acknowledged { observation, note: String::new() }),
        5 => entry().prop_map(|entry| Decision::Entered { entry, value: "none".into(), note: String::new() }),
        9 => (any_scope(), any::<bool>()).prop_map(|(scope, approved)| Decision::Signed {
            meaning: if approved { Meaning::Approved } else { Meaning::Reviewed },
            scope,
            name: String::new(),
            role: Role::Technician,
            register: String::new(),
        }),
        1 => any_scope().prop_map(|scope| Decision::Reopened { scope, reason: "a lot was missing".into() }),
        1 => (2..=4_usize, 0..=3_usize, 0..2_u8, 1..=METHOD).prop_map(re_audited),
    ];
    (0..PEOPLE.len(), decision).prop_map(|(person, mut decision)| {
        if let (Decision::Signed { role, .. }, Some((_, own))) = (&mut decision, PEOPLE.get(person))
        {
            *role = *own;
        }
        (person, decision)
    })
}

fn re_audited((exceptions, closings, audit, method): (usize, usize, u8, u64)) -> Decision {
    let mut subject = Subject { method, ..subject(exceptions, &audit.to_string()) };
    subject.to_close.truncate(closings);
    Decision::ReAudited { subject }
}

/// What is left to do in a scope, told item by item and not by the state's own sums.
fn left(state: &State, scope: &Scope) -> Vec<String> {
    let subject = state.subject();
    let is_open = |id: &str| !matches!(state.exception(id), Standing::Settled { .. });
    let has_reason = |id: &str| state.closed(id).is_some_and(|made| !made.value.trim().is_empty());
    let exceptions = subject.exceptions.iter().filter(|item| scope.holds(&item.shifts));
    let exceptions = exceptions.map(|item| &item.id).filter(|id| is_open(id));
    let closings = subject.to_close.iter().filter(|item| scope.holds(&item.shifts));
    let closings = closings.map(|item| &item.id).filter(|id| !has_reason(id));
    let mut left: Vec<String> = exceptions.chain(closings).cloned().collect();
    if *scope == Scope::DAY {
        let kinds = subject.observations.iter().map(|item| &item.kind);
        left.extend(kinds.filter(|kind| state.acknowledged(kind).is_none()).cloned());
        let entries = subject.entries.iter();
        left.extend(entries.filter(|entry| state.entered(entry).is_none()).cloned());
    }
    left
}

/// What a standing signature covers stays as it was signed.
fn check_step(before: &State, after: &State) -> Result<(), TestCaseError> {
    let signed = before.signatures().iter().zip(after.signatures());
    for (signed, _) in signed.filter(|(one, other)| one.stands() && other.stands()) {
        let items = &before.subject().exceptions;
        for item in items.iter().filter(|item| signed.scope.holds(&item.shifts)) {
            prop_assert_eq!(before.exception(&item.id), after.exception(&item.id));
        }
        let items = &before.subject().to_close;
        for item in items.iter().filter(|item| signed.scope.holds(&item.shifts)) {
            prop_assert_eq!(before.closed(&item.id), after.closed(&item.id));
        }
        let items = &before.subject().diverts;
        for item in items.iter().filter(|item| signed.scope.holds(&item.shifts)) {
            prop_assert_eq!(before.explained(&item.id), after.explained(&item.id));
        }
        if signed.scope == Scope::DAY {
            for kind in KINDS {
                prop_assert_eq!(before.acknowledged(kind), after.acknowledged(kind));
            }
            for entry in ENTRIES {
                prop_assert_eq!(before.entered(entry), after.entered(entry));
            }
        }
    }
    Ok(())
}

/// What must be true of every state, however it was reached.
fn check(state: &State) -> Result<(), TestCaseError> {
    prop_assert_eq!(state.acknowledged(TO_CLOSE), None, "closed one by one, not acknowledged");
    prop_assert_eq!(state.progress().is_complete(), left(state, &Scope::DAY).is_empty());
    for item in &state.subject().exceptions {
        let Standing::Settled { settlement, mark } = state.exception(&item.id) else { continue };
        let name = match settlement.hold_tag.as_str() {
            "" => format!("line {}", mark.line),
            tag => tag.to_owned(),
        };
        let on = |hold: &&ProductHold| hold.is_of(&item.id) && hold.ended.is_none();
        for hold in state.holds().iter().filter(on).filter(|hold| hold.name != name) {
            // Only one whose end was taken back can hold what was resolved otherwise meanwhile.
            prop_assert!(hold.since.line < mark.line, "{:?}", hold);
        }
        let is_held = settlement.disposition == "held";
        prop_assert_eq!(state.hold(&name).is_some_and(|hold| hold.is_of(&item.id)), is_held);
    }
    let names: BTreeSet<&str> = state.holds().iter().map(|hold| hold.name.as_str()).collect();
    prop_assert_eq!(names.len(), state.holds().len(), "a name is one hold");
    if state.covered_at(Meaning::Approved).is_some() {
        prop_assert_eq!(left(state, &Scope::DAY), Vec::<String>::new(), "signed, incomplete");
    }
    for signed in state.signatures().iter().filter(|signed| signed.stands()) {
        let left = left(state, &signed.scope);
        prop_assert!(left.is_empty(), "{} is signed with {left:?} open", signed.scope);
        prop_assert_eq!(signed.method, state.subject().method, "another audit was signed");
        if signed.meaning == Meaning::Approved {
            prop_assert_eq!(signed.role, Role::Supervisor);
            let by_another = state.signatures().iter().any(|reviewed| {
                reviewed.meaning == Meaning::Reviewed
                    && reviewed.mark.line < signed.mark.line
                    && reviewed.mark.by != signed.mark.by
                    && (reviewed.scope == signed.scope || reviewed.scope == Scope::DAY)
            });
            prop_assert!(by_another, "approved without a review by somebody else");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn no_sequence_signs_what_is_not_resolved_and_closed(
        decisions in prop::collection::vec(any_decision(), 0..60),
        cut in 0..60_usize,
    ) {
        let mut state = State::of(subject(4, "0"));
        let mut taken = Vec::new();
        for (line, (person, decision)) in decisions.into_iter().enumerate() {
            let mark = mark(line as u64 + 2, PEOPLE[person].0);
            let before = state.clone();
            if state.decide(decision.clone(), mark.clone()).is_ok() {
                taken.push((decision, mark));
            } else {
                prop_assert_eq!(&state, &before, "a refused decision changes nothing");
            }
            check(&state)?;
            check_step(&before, &state)?;
        }
        // From any prefix on, the same lines give the same state.
        let cut = cut.min(taken.len());
        let replay = |state: &mut State, part: &[(Decision, Mark)]| {
            part.iter().all(|(decision, mark)| state.decide(decision.clone(), mark.clone()).is_ok())
        };
        let mut again = State::of(subject(4, "0"));
        prop_assert!(replay(&mut again, &taken[..cut]));
        let mut resumed = again.clone();
        prop_assert!(replay(&mut resumed, &taken[cut..]));
        prop_assert_eq!(resumed, state);
    }

    /// Every body is read back as it was written.
    #[test]
    fn bodies_survive_json((_, decision) in any_decision()) {
        let body = decision.body(None);
        let register = match &decision {
            Decision::Signed { register, .. } => Some(register.clone()),
            _ => None,
        };
        prop_assert_eq!(Decision::of(&body), Ok((decision.clone(), register)));
        if !matches!(decision, Decision::Signed { .. }) {
            let body = decision.body(Some("ab"));
            prop_assert_eq!(Decision::of(&body), Ok((decision, Some("ab".to_owned()))));
        }
    }
}

/// The round of an ordinary day, each step refused before its turn.
#[test]
fn an_ordinary_day() {
    let mut state = State::of(subject(4, "0"));
    let mut line = 1;
    let mut take = |state: &mut State, by: &str, decision: Decision| {
        line += 1;
        state.decide(decision, mark(line, by)).map_err(|refusal| refusal.to_string())
    };
    let sign = |meaning, scope: &Scope, role| Decision::Signed {
        meaning,
        scope: scope.clone(),
        name: String::new(),
        role,
        register: String::new(),
    };
    let early = Scope::shift("early");
    let reviewed = sign(Meaning::Reviewed, &early, Role::Technician);
    let approved = sign(Meaning::Approved, &early, Role::Supervisor);
    let refused = |why: &str| Err(why.to_owned());
    assert_eq!(
        take(&mut state, "anna", reviewed.clone()),
        refused("2 exceptions are not resolved")
    );
    let unfinished = Settlement { action: String::new(), ..settlement("a1") };
    assert_eq!(
        take(&mut state, "anna", Decision::Settled(unfinished)),
        refused("required: corrective action")
    );
    for id in ["a1", "b2"] {
        assert_eq!(take(&mut state, "anna", Decision::Settled(settlement(id))), Ok(()));
    }
    assert_eq!(take(&mut state, "anna", reviewed.clone()), refused("1 observation is not closed"));
    assert_eq!(take(&mut state, "anna", closed("e5", "a spare gasket was fitted")), Ok(()));
    assert_eq!(
        take(&mut state, "ben", approved.clone()),
        refused("the shift \u{201c}early\u{201d} is not signed as reviewed yet")
    );
    assert_eq!(take(&mut state, "anna", reviewed.clone()), Ok(()));
    assert_eq!(
        take(
            &mut state,
            "anna",
            Decision::SettledTogether(together(Bundle::Episode(1), &["a1", "b2"]))
        ),
        refused("the shift \u{201c}early\u{201d} is signed; reopen it first")
    );
    assert_eq!(
        take(&mut state, "anna", closed("e5", "another reason")),
        refused("the shift \u{201c}early\u{201d} is signed; reopen it first")
    );
    assert_eq!(
        take(&mut state, "anna", Decision::Settled(settlement("a1"))),
        refused("the shift \u{201c}early\u{201d} is signed; reopen it first")
    );
    // The supervisor sends one back: the signature is superseded and stays visible.
    let back = Decision::SentBack { exception: "b2".into(), remark: "which lot?".into() };
    assert_eq!(take(&mut state, "ben", back), Ok(()));
    assert_eq!(state.signatures().iter().filter(|one| one.stands()).count(), 0);
    assert_eq!(state.signatures().len(), 1);
    assert_eq!(take(&mut state, "anna", Decision::Settled(settlement("b2"))), Ok(()));
    assert_eq!(take(&mut state, "ben", sign(Meaning::Reviewed, &early, Role::Supervisor)), Ok(()));
    assert_eq!(
        take(&mut state, "ben", approved.clone()),
        refused(
            "somebody other than the reviewer approves (the plant file can allow the reviewer to)"
        )
    );
    assert_eq!(take(&mut state, "cleo", approved), Ok(()));
    let back = Decision::SentBack { exception: "a1".into(), remark: "again".into() };
    assert_eq!(
        take(&mut state, "cleo", back),
        refused("the shift \u{201c}early\u{201d} is approved; reopen it first")
    );
    let reopened =
        |reason: &str| Decision::Reopened { scope: early.clone(), reason: reason.into() };
    assert_eq!(take(&mut state, "anna", reopened(" ")), refused("reopening needs a reason"));
    assert_eq!(take(&mut state, "anna", reopened("a lot was missing")), Ok(()));
    assert_eq!(take(&mut state, "anna", Decision::Settled(settlement("a1"))), Ok(()));
    // Another program that finds the same changes nothing; another audit opens what changed.
    let same = Subject { program: "holdtrace 99".into(), ..subject(4, "0") };
    assert_eq!(take(&mut state, "anna", Decision::ReAudited { subject: same }), Ok(()));
    assert_eq!(state.progress().exceptions, (2, 4));
    let mut other = subject(4, "1");
    other.exceptions[0].end = "2026-03-14T06:00:11.000-05:00".into();
    assert_eq!(take(&mut state, "anna", Decision::ReAudited { subject: other }), Ok(()));
    assert_eq!(state.exception("a1"), &Standing::Open);
    assert!(matches!(state.exception("b2"), Standing::Settled { .. }));
}

/// The shifts' signatures together sign the record only where they cover everything.
#[test]
fn what_no_shift_holds_is_signed_with_the_day() {
    let sign = |meaning, scope: Scope, role| Decision::Signed {
        meaning,
        scope,
        name: String::new(),
        role,
        register: String::new(),
    };
    let round = |exceptions: usize, closings: usize| {
        let mut subject = subject(exceptions, "0");
        subject.to_close.truncate(closings);
        let mut state = State::of(subject);
        let mut decisions: Vec<(&str, Decision)> = Vec::new();
        for id in IDS.iter().take(exceptions.min(3)) {
            decisions.push(("anna", Decision::Settled(settlement(id))));
        }
        for id in CLOSINGS.iter().take(closings.min(2)) {
            decisions.push(("anna", closed(id, "looked into")));
        }
        for shift in SHIFTS {
            let scope = Scope::shift(shift);
            decisions.push(("anna", sign(Meaning::Reviewed, scope.clone(), Role::Technician)));
            decisions.push(("ben", sign(Meaning::Approved, scope, Role::Supervisor)));
        }
        for (line, (by, decision)) in (2..).zip(decisions) {
            assert_eq!(state.decide(decision, mark(line, by)), Ok(()));
        }
        state
    };
    let the_rest = |state: &mut State, line: u64| {
        for kind in KINDS {
            let decision =
                Decision::Acknowledged { observation: kind.to_owned(), note: String::new() };
            assert_eq!(state.decide(decision, mark(line, "anna")), Ok(()));
        }
        for entry in ENTRIES {
            let (entry, value) = (entry.to_owned(), "none".to_owned());
            let decision = Decision::Entered { entry, value, note: String::new() };
            assert_eq!(state.decide(decision, mark(line, "anna")), Ok(()));
        }
    };
    let is_covered = |state: &State| state.covered_at(Meaning::Approved).is_some();
    // Observations and entries are open, then made after the last signature.
    let mut state = round(3, 2);
    assert!(!is_covered(&state));
    the_rest(&mut state, 50);
    assert!(state.progress().is_complete());
    assert!(!is_covered(&state));
    // One shift is signed again after it: now a signature stands over all.
    let late = Scope::shift("late");
    let reopened = Decision::Reopened { scope: late.clone(), reason: "entries".into() };
    assert_eq!(state.decide(reopened, mark(51, "anna")), Ok(()));
    let reviewed = sign(Meaning::Reviewed, late.clone(), Role::Technician);
    assert_eq!(state.decide(reviewed, mark(52, "anna")), Ok(()));
    assert!(!is_covered(&state), "two of three shifts");
    let approved = sign(Meaning::Approved, late, Role::Supervisor);
    assert_eq!(state.decide(approved, mark(53, "ben")), Ok(()));
    assert!(is_covered(&state));
    assert!(state.covered_at(Meaning::Reviewed).is_some());
    // The fourth exception touches no shift: open or settled, only the day's signature covers it.
    let mut state = round(4, 2);
    the_rest(&mut state, 1);
    assert!(!is_covered(&state));
    assert_eq!(state.decide(Decision::Settled(settlement("d4")), mark(60, "anna")), Ok(()));
    assert!(state.progress().is_complete());
    assert!(!is_covered(&state));
    let day = sign(Meaning::Reviewed, Scope::DAY, Role::Technician);
    assert_eq!(state.decide(day, mark(61, "anna")), Ok(()));
    assert!(!is_covered(&state));
    let day = sign(Meaning::Approved, Scope::DAY, Role::Supervisor);
    assert_eq!(state.decide(day, mark(62, "ben")), Ok(()));
    assert!(is_covered(&state));
    // The third observation to close touches no shift either.
    let mut state = round(3, 3);
    the_rest(&mut state, 1);
    assert!(!is_covered(&state));
    assert_eq!(state.decide(closed("g7", "looked into"), mark(60, "anna")), Ok(()));
    assert!(state.progress().is_complete());
    assert!(!is_covered(&state));
    let day = sign(Meaning::Reviewed, Scope::DAY, Role::Technician);
    assert_eq!(state.decide(day, mark(61, "anna")), Ok(()));
    let day = sign(Meaning::Approved, Scope::DAY, Role::Supervisor);
    assert_eq!(state.decide(day, mark(62, "ben")), Ok(()));
    assert!(is_covered(&state));
}

/// An observation to close is closed by its identifier and with a reason, nothing else will do.
#[test]
fn observations_are_closed_one_by_one_each_with_a_reason() {
    let mut state = State::of(subject(0, "0"));
    let mut line = 1;
    let mut take = |state: &mut State, decision: Decision| {
        line += 1;
        state.decide(decision, mark(line, "anna")).map_err(|refusal| refusal.to_string())
    };
    let refused = |why: &str| Err(why.to_owned());
    let acknowledged =
        |kind: &str| Decision::Acknowledged { observation: kind.to_owned(), note: String::new() };
    assert_eq!(
        take(&mut state, acknowledged(TO_CLOSE)),
        refused(
            "observations \"leak_detected\" are closed one by one, each with a reason; they are \
             not acknowledged"
        )
    );
    for blank in ["", " ", "\t\n", "\u{a0}"] {
        assert_eq!(
            take(&mut state, closed("e5", blank)),
            refused("required: the reason why the observation is closed")
        );
    }
    assert_eq!(
        take(&mut state, closed(TO_CLOSE, "all at once")),
        refused("the record has no observation \"leak_detected\" to close")
    );
    assert_eq!(take(&mut state, closed("e5", "gasket replaced")), Ok(()));
    assert_eq!(state.progress().closed, (1, 3));
    assert_eq!(state.closed_of(&Scope::shift("late")), (0, 1));
    // Closed anew with another reason, then withdrawn.
    assert_eq!(take(&mut state, closed("e5", "gasket and spring replaced")), Ok(()));
    let reason = state.closed("e5").map(|made| made.value.as_str());
    assert_eq!(reason, Some("gasket and spring replaced"));
    let withdrawn =
        |id: &str| Decision::Withdrawn { of: ItemKind::ClosedObservation, item: id.to_owned() };
    assert_eq!(take(&mut state, withdrawn("f6")), refused("there is nothing to withdraw"));
    assert_eq!(take(&mut state, withdrawn("e5")), Ok(()));
    assert_eq!(state.closed("e5"), None);
    // Everything else is done: the day is refused while one is open.
    for kind in KINDS {
        assert_eq!(take(&mut state, acknowledged(kind)), Ok(()));
    }
    for entry in ENTRIES {
        let (entry, value) = (entry.to_owned(), "none".to_owned());
        assert_eq!(
            take(&mut state, Decision::Entered { entry, value, note: String::new() }),
            Ok(())
        );
    }
    for (id, why) in [
        ("e5", "3 observations are not closed"),
        ("f6", "2 observations are not closed"),
        ("g7", "1 observation is not closed"),
    ] {
        assert!(!state.progress().is_complete());
        let day = state.can_be_reviewed(&Scope::DAY).map_err(|refusal| refusal.to_string());
        assert_eq!(day, refused(why));
        assert_eq!(take(&mut state, closed(id, "looked into")), Ok(()));
    }
    assert_eq!(state.can_be_reviewed(&Scope::DAY), Ok(()));
    assert!(state.progress().is_complete());
    // A new audit keeps the reasons of the observations that are the same in every member.
    let mut other = subject(0, "1");
    other.to_close[1].count = 4;
    other.to_close.pop();
    assert_eq!(take(&mut state, Decision::ReAudited { subject: other }), Ok(()));
    assert!(state.closed("e5").is_some());
    assert_eq!(state.closed("f6"), None, "it has another count");
    assert_eq!(state.closed("g7"), None, "it is not there any more");
    assert_eq!(state.progress().closed, (1, 2));
}

/// A bundle is resolved with one line, each of its exceptions with its own quantity and lot.
#[test]
fn a_cleaning_is_resolved_once() {
    let mut subject = subject(4, "0");
    subject.exceptions[3].quantity = Some("2 gal".to_owned());
    subject.exceptions[3].lots = Vec::new();
    let mut state = State::of(subject);
    let cleaning = Bundle::Cleaning(1);
    let named = |state: &State, of| -> Vec<String> {
        state.bundle(of).iter().map(|item| item.id.clone()).collect()
    };
    let mut line = 1;
    let mut take = |state: &mut State, together: Together| {
        line += 1;
        let decision = Decision::SettledTogether(together);
        state.decide(decision, mark(line, "anna")).map_err(|refusal| refusal.to_string())
    };
    let refused = |why: &str| Err(why.to_owned());
    assert_eq!(named(&state, cleaning), ["c3", "d4"]);
    assert_eq!(
        take(&mut state, together(cleaning, &[])),
        refused("no exception of cleaning 1 is named")
    );
    assert_eq!(
        take(&mut state, together(cleaning, &["c3", "b2"])),
        refused("the exception \"b2\" is not of cleaning 1")
    );
    assert_eq!(
        take(&mut state, together(Bundle::Episode(1), &["a1", "a1"])),
        refused("the exception \"a1\" is named twice")
    );
    let unfinished =
        Together { disposition_reason: " ".to_owned(), ..together(cleaning, &["c3", "d4"]) };
    assert_eq!(take(&mut state, unfinished), refused("required: reason for the disposition"));
    assert!(IDS.iter().all(|id| state.exception(id) == &Standing::Open), "nothing by halves");
    assert_eq!(take(&mut state, together(cleaning, &["c3", "d4"])), Ok(()));
    let of = |state: &State, id: &str| match state.exception(id) {
        Standing::Settled { settlement, mark } => {
            (settlement.quantity.clone(), settlement.lot.clone(), mark.line)
        }
        other => panic!("{id}: {other:?}"),
    };
    let (c3, d4) = (of(&state, "c3"), of(&state, "d4"));
    assert_eq!((c3.0.as_str(), c3.1.as_str()), ("140 gal", "L-1"));
    assert_eq!((d4.0.as_str(), d4.1.as_str()), ("2 gal", ""));
    assert_eq!(c3.2, d4.2, "one line");
    // One is withdrawn; only that one is open now.
    let withdrawn = Decision::Withdrawn { of: ItemKind::Exception, item: "d4".to_owned() };
    assert_eq!(state.decide(withdrawn, mark(50, "anna")), Ok(()));
    assert_eq!(named(&state, cleaning), ["d4"]);
    assert_eq!(named(&state, Bundle::Episode(2)), ["d4"]);
    assert_eq!(named(&state, Bundle::Episode(1)), ["a1", "b2"]);
    assert_eq!(named(&state, Bundle::Cleaning(2)), Vec::<String>::new());
}

/// A review begun on an audit by version 1 of the method goes on with the new audit.
#[test]
fn another_method_supersedes_what_was_signed_and_keeps_what_is_the_same() {
    let first = Subject { method: 1, to_close: Vec::new(), ..subject(2, "0") };
    let mut first = first;
    // Version 1 had all observations acknowledged by kind.
    let by_kind = ObservationItem { kind: TO_CLOSE.to_owned(), count: 1 };
    first.observations.push(by_kind);
    let mut state = State::of(first);
    let mut line = 1;
    let mut take = |state: &mut State, by: &str, decision: Decision| {
        line += 1;
        state.decide(decision, mark(line, by)).map_err(|refusal| refusal.to_string())
    };
    assert!(state.subject().is_of_older_method());
    for id in ["a1", "b2"] {
        assert_eq!(take(&mut state, "anna", Decision::Settled(settlement(id))), Ok(()));
    }
    for kind in [KINDS[0], KINDS[1], TO_CLOSE] {
        let (observation, note) = (kind.to_owned(), String::new());
        assert_eq!(
            take(&mut state, "anna", Decision::Acknowledged { observation, note }),
            Ok(()),
            "it was allowed then"
        );
    }
    for entry in ENTRIES {
        let (entry, value) = (entry.to_owned(), "none".to_owned());
        let decision = Decision::Entered { entry, value, note: String::new() };
        assert_eq!(take(&mut state, "anna", decision), Ok(()));
    }
    for (by, meaning, role) in [
        ("anna", Meaning::Reviewed, Role::Technician),
        ("ben", Meaning::Approved, Role::Supervisor),
    ] {
        let (scope, name, register) = (Scope::DAY, String::new(), String::new());
        let decision = Decision::Signed { meaning, scope, name, role, register };
        assert_eq!(take(&mut state, by, decision), Ok(()));
    }
    assert!(state.covered_at(Meaning::Approved).is_some());
    let mut second = subject(3, "0");
    second.exceptions[1].causes = vec!["frozen".to_owned()];
    assert_eq!(take(&mut state, "anna", Decision::ReAudited { subject: second }), Ok(()));
    assert!(!state.subject().is_of_older_method());
    assert_eq!(state.covered_at(Meaning::Approved), None);
    let signed: Vec<_> = state.signatures().iter().map(|one| (one.method, one.stands())).collect();
    assert_eq!(signed, [(1, false), (1, false)], "superseded and still to be seen");
    assert!(state.is_settled("a1"), "it is the same in every member");
    assert_eq!((state.is_settled("b2"), state.is_settled("c3")), (false, false));
    assert_eq!(state.progress().observations, (0, 2), "looked at anew");
    assert_eq!(state.progress().closed, (0, 3));
    assert_eq!(state.progress().entries, (2, 2));
    // The version alone is another audit, whatever it found.
    let mut same = State::of(Subject { method: 1, ..subject(0, "0") });
    for id in CLOSINGS {
        assert_eq!(same.decide(closed(id, "looked into"), mark(2, "anna")), Ok(()));
    }
    let (meaning, scope, role) = (Meaning::Reviewed, Scope::shift("early"), Role::Technician);
    let (name, register) = (String::new(), String::new());
    let signed = Decision::Signed { meaning, scope, name, role, register };
    assert_eq!(same.decide(signed, mark(3, "anna")), Ok(()));
    let again = Decision::ReAudited { subject: subject(0, "0") };
    assert_eq!(same.decide(again, mark(4, "anna")), Ok(()));
    assert!(same.signatures().iter().all(|one| one.superseded_by == Some(4)));
    // An older program does not take the record back.
    let back = Subject { method: 1, ..subject(2, "0") };
    assert_eq!(
        take(&mut state, "anna", Decision::ReAudited { subject: back }),
        Err("the record was audited by version 3 of the method; an audit by version 1 does not \
             replace it: use the newer program"
            .to_owned())
    );
}

/// Product on hold stays on hold through signatures and a new audit, until a supervisor ends that.
#[test]
fn a_hold_outlives_signatures_until_it_is_ended() {
    let mut state = State::of(subject(1, "0"));
    let mut line = 1;
    let mut take = |state: &mut State, by: &str, decision: Decision| {
        line += 1;
        state.decide(decision, mark(line, by)).map_err(|refusal| refusal.to_string())
    };
    let entered = |entry: &str| Decision::Entered {
        entry: entry.to_owned(),
        value: "none".to_owned(),
        note: String::new(),
    };
    let acknowledged =
        |kind: &str| Decision::Acknowledged { observation: kind.to_owned(), note: String::new() };
    let signed = |meaning, role| Decision::Signed {
        meaning,
        scope: Scope::DAY,
        name: String::new(),
        role,
        register: String::new(),
    };
    for decision in
        [Decision::Settled(held("a1", " H1 ")), entered(ENTRIES[0]), entered(ENTRIES[1])]
            .into_iter()
            .chain(KINDS.map(acknowledged))
            .chain(CLOSINGS.map(|id| closed(id, "looked into")))
    {
        assert_eq!(take(&mut state, "anna", decision), Ok(()));
    }
    let away = Decision::Withdrawn { of: ItemKind::Exception, item: "a1".to_owned() };
    assert_eq!(state.act(&away), None, "nothing is signed yet");
    assert_eq!(take(&mut state, "anna", signed(Meaning::Reviewed, Role::Technician)), Ok(()));
    assert_eq!(take(&mut state, "ben", signed(Meaning::Approved, Role::Supervisor)), Ok(()));
    let hold = |state: &State| state.hold("H1").cloned();
    assert_eq!(hold(&state).map(|hold| (hold.is_open(), hold.what())), {
        let what = "tank T4".to_owned();
        Some((true, what))
    });
    // Opened again it can't be resolved otherwise by a name alone.
    let reopened = Decision::Reopened { scope: Scope::DAY, reason: "a lot was missing".into() };
    let mut again = state.clone();
    assert_eq!(take(&mut again, "ben", reopened), Ok(()));
    assert_eq!(again.act(&away), Some(Act::Supervise));
    assert_eq!(again.act(&Decision::Settled(settlement("a1"))), Some(Act::Supervise));
    assert_eq!(again.act(&Decision::Settled(held("a1", "H1"))), None, "it stays on hold");
    // A new audit that does not know the exception takes nothing off hold.
    let other = Decision::ReAudited { subject: subject(0, "1") };
    assert_eq!(take(&mut again, "anna", other), Ok(()));
    assert_eq!(again.open_holds(), 1);

    assert_eq!(
        take(&mut state, "ben", ended("H2")),
        Err("nothing is on hold as \"H2\"".to_owned())
    );
    assert_eq!(state.act(&ended("H1")), Some(Act::Supervise));
    let technicians = Subject { technician_ends_holds: true, ..subject(1, "0") };
    assert_eq!(State::of(technicians).act(&ended("H1")), Some(Act::Enter));
    assert_eq!(
        take(&mut state, "ben", ended("H1")),
        Ok(()),
        "it is signed, and need not be opened"
    );
    assert_eq!((state.open_holds(), state.holds().len()), (0, 1));
    assert!(state.covered_at(Meaning::Approved).is_some(), "the signatures stand");
    assert_eq!(take(&mut state, "ben", ended("H1")), Err("the hold H1 has ended".to_owned()));
    let back = Decision::Withdrawn { of: ItemKind::HoldEnd, item: "H1".to_owned() };
    assert_eq!(state.act(&back), Some(Act::Supervise));
    assert_eq!(take(&mut state, "ben", back), Ok(()));
    assert_eq!(state.open_holds(), 1);
    assert_eq!(hold(&state).map(|hold| hold.since.line), Some(2));
}

/// Who ended a hold with a signature that does not hold ended nothing.
#[test]
fn a_hold_that_nobody_may_end_is_open() {
    let mut state = State::of(subject(1, "0"));
    assert!(state.decide(Decision::Settled(held("a1", "H1")), mark(2, "anna")).is_ok());
    let by_name = state.take_in(ended("H1"), mark(3, "anna"), Some(Act::Supervise), None);
    assert!(by_name.is_ok());
    assert_eq!(state.open_holds(), 1);
    assert_eq!(state.failing().count(), 0, "told as a line that must be signed");
    assert!(state.decide(ended("H1"), mark(4, "ben")).is_ok());
    assert_eq!(state.open_holds(), 0);
}

#[test]
fn a_tag_is_used_for_one_hold() {
    let mut state = State::of(subject(2, "0"));
    let mut take =
        |decision| state.decide(decision, mark(2, "anna")).map_err(|why| why.to_string());
    assert_eq!(take(Decision::Settled(held("a1", "H1"))), Ok(()));
    assert_eq!(take(Decision::Settled(held("b2", "H1"))), Ok(()));
    assert_eq!(take(ended("H1")), Ok(()));
    assert_eq!(
        take(Decision::Settled(held("a1", "H1"))),
        Err("the hold H1 has ended; use another tag".to_owned())
    );
    assert!(take(Decision::Settled(held("a1", "line 7"))).is_err());
    assert_eq!(take(Decision::Settled(held("a1", "H2"))), Ok(()));
    let parts = |name| state.hold(name).map(|hold| hold.parts.len());
    assert_eq!((parts("H1"), parts("H2")), (Some(2), Some(1)), "what has ended is history");
}

#[test]
fn the_reason_of_a_divert_is_entered_while_its_shift_is_not_signed() {
    let mut state = State::of(subject(0, "0"));
    let refused = |state: &State, decision: Decision| {
        state.allows(&decision, "anna").err().map(|refusal| refusal.to_string())
    };
    assert_eq!(refused(&state, explained("h8", "steam low")), None);
    let blank = refused(&state, explained("h8", " \t"));
    assert_eq!(blank.as_deref(), Some("required: the reason of the divert"));
    assert!(refused(&state, explained("a1", "steam low")).is_some());
    assert_eq!(state.decide(explained("h8", "steam low"), mark(2, "anna")), Ok(()));
    let reason = |state: &State| state.explained("h8").map(|made| made.value.clone());
    assert_eq!(reason(&state).as_deref(), Some("steam low"));
    // It stays with the divert when the record is audited again, and goes with it.
    let again = Decision::ReAudited { subject: subject(0, "1") };
    assert_eq!(state.decide(again, mark(3, "anna")), Ok(()));
    assert_eq!(reason(&state).as_deref(), Some("steam low"));
    let without = Subject { diverts: Vec::new(), ..subject(0, "2") };
    let again = Decision::ReAudited { subject: without };
    assert_eq!(state.decide(again, mark(4, "anna")), Ok(()));
    assert_eq!(reason(&state), None);
}

#[test]
fn a_plant_may_ask_for_the_parts_of_a_corrective_action() {
    let asked = Subject { corrective_action_in_parts: true, ..subject(1, "0") };
    let mut state = State::of(asked);
    let mut take = |made: Settlement| {
        state.decide(Decision::Settled(made), mark(2, "anna")).map_err(|why| why.to_string())
    };
    let required = |what: &str| Err(format!("required: {what}"));
    assert_eq!(take(settlement("a1")), required("since when it was under control again"));
    let part = |text: &str| text.to_owned();
    let mut correction = Correction { under_control: part("06:00:36"), ..Correction::default() };
    let with = |one: &Correction| Settlement { correction: Some(one.clone()), ..settlement("a1") };
    assert_eq!(take(with(&correction)), required("what prevents it from happening again"));
    correction.recurrence = part("valve replaced");
    assert_eq!(take(with(&correction)), required("why no unsafe product went out"));
    correction.product = part("tank held");
    assert_eq!(take(with(&correction)), Ok(()));
    // What can't be verified is no failure of the process, and other plants ask for none of it.
    let mut other = subject(1, "0");
    other.corrective_action_in_parts = true;
    other.exceptions[0].rule = "unverifiable".to_owned();
    for subject in [other, subject(1, "0")] {
        let decided =
            State::of(subject).decide(Decision::Settled(settlement("a1")), mark(2, "anna"));
        assert_eq!(decided, Ok(()));
    }
}

#[test]
fn a_plant_may_release_only_what_is_approved() {
    let asked = Subject { release_after_approval: true, ..subject(1, "0") };
    let mut state = State::of(asked);
    assert_eq!(state.decide(Decision::Settled(held("a1", "H1")), mark(2, "anna")), Ok(()));
    let Decision::HoldEnded(destroyed) = ended("H1") else { panic!("an end") };
    let released = Ending { outcome: Outcome::Released, ..destroyed };
    let early = state.decide(Decision::HoldEnded(released), mark(3, "ben"));
    let why = "the plant releases product only once its record is approved";
    assert_eq!(early.map_err(|why| why.to_string()), Err(why.to_owned()));
    assert_eq!(
        state.decide(ended("H1"), mark(3, "ben")),
        Ok(()),
        "what is destroyed need not wait"
    );
}
