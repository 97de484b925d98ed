//! Properties of the review's rules over random sequences of decisions, allowed and not.

use crate::decision::{Decision, ItemKind, Scope, Settlement};
use crate::state::{Mark, Standing, State};
use crate::subject::{ExceptionItem, ObservationItem, Subject};
use journal::Stamp;
use proptest::prelude::*;
use signers::{Meaning, Role};
use trace::Instant;

const IDS: [&str; 4] = ["a1", "b2", "c3", "d4"];
const KINDS: [&str; 2] = ["raw_too_warm", "leak_detected"];
const ENTRIES: [&str; 2] = ["unusual circumstances", "signature or initials"];
const SHIFTS: [&str; 3] = ["early", "late", "night"];
const PEOPLE: [(&str, Role); 3] =
    [("anna", Role::Technician), ("ben", Role::Supervisor), ("cleo", Role::Supervisor)];

pub(crate) fn subject(exceptions: usize, audit: &str) -> Subject {
    // The second touches two shifts, the fourth none.
    let shifts: [&[&str]; 4] = [&["early"], &["early", "late"], &["late"], &[]];
    let items = IDS.iter().zip(shifts).take(exceptions).map(|(id, shifts)| ExceptionItem {
        id: (*id).to_owned(),
        rule: "temperature".to_owned(),
        start: "2026-03-14T06:00:00.000-05:00".to_owned(),
        end: "2026-03-14T06:00:10.000-05:00".to_owned(),
        shifts: shifts.iter().map(|&shift| shift.to_owned()).collect(),
        episode: 1,
        quantity: Some("140 gal".to_owned()),
        lots: vec!["L-1".to_owned()],
    });
    Subject {
        plant: "Example Dairy (invented)".to_owned(),
        unit: "HTST-1".to_owned(),
        start: "2026-03-14T04:00:00.000-05:00".to_owned(),
        end: "2026-03-14T22:00:00.000-05:00".to_owned(),
        sources: Vec::new(),
        run_sheet: None,
        plant_file: None,
        audit: audit.to_owned(),
        program: "holdtrace 0".to_owned(),
        shifts: SHIFTS.iter().map(|&shift| shift.to_owned()).collect(),
        exceptions: items.collect(),
        observations: KINDS
            .iter()
            .map(|&kind| ObservationItem { kind: kind.to_owned(), count: 3 })
            .collect(),
        entries: ENTRIES.iter().map(|&entry| entry.to_owned()).collect(),
        same_person_may_approve: false,
    }
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

fn mark(line: u64, by: &str) -> Mark {
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
    let entry = || prop::sample::select(&ENTRIES[..]).prop_map(str::to_owned);
    let decision = prop_oneof![
        8 => id().prop_map(|id| Decision::Settled(settlement(&id))),
        1 => id().prop_map(|item| Decision::Withdrawn { of: ItemKind::Exception, item }),
        1 => kind().prop_map(|item| Decision::Withdrawn { of: ItemKind::Observation, item }),
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
        1 => (2..=4_usize, 0..2_u8).prop_map(|(exceptions, audit)| Decision::ReAudited {
            subject: subject(exceptions, &audit.to_string()),
        }),
    ];
    (0..PEOPLE.len(), decision).prop_map(|(person, mut decision)| {
        if let (Decision::Signed { role, .. }, Some((_, own))) = (&mut decision, PEOPLE.get(person))
        {
            *role = *own;
        }
        (person, decision)
    })
}

/// What must be true of every state, however it was reached.
fn check(state: &State) -> Result<(), TestCaseError> {
    for signed in state.signatures().iter().filter(|signed| signed.stands()) {
        for item in &state.subject().exceptions {
            if signed.scope.holds(&item.shifts) {
                let settled = matches!(state.exception(&item.id), Standing::Settled { .. });
                prop_assert!(settled, "{} is signed with {} open", signed.scope, item.id);
            }
        }
        if signed.scope == Scope::DAY {
            prop_assert!(state.progress().is_complete(), "the day is signed, incomplete");
        }
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
    fn no_sequence_signs_what_is_not_settled(
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
        prop_assert_eq!(Decision::of(&decision.body()), Ok(decision));
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
    assert_eq!(take(&mut state, "anna", reviewed.clone()), refused("2 exceptions are not settled"));
    let unfinished = Settlement { action: String::new(), ..settlement("a1") };
    assert_eq!(
        take(&mut state, "anna", Decision::Settled(unfinished)),
        refused("the corrective action is still to be filled in")
    );
    for id in ["a1", "b2"] {
        assert_eq!(take(&mut state, "anna", Decision::Settled(settlement(id))), Ok(()));
    }
    assert_eq!(
        take(&mut state, "ben", approved.clone()),
        refused("the shift \u{201c}early\u{201d} is not signed as reviewed yet")
    );
    assert_eq!(take(&mut state, "anna", reviewed.clone()), Ok(()));
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
        refused("somebody else than the reviewer approves (the plant file can allow it)")
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
    let round = |exceptions: usize| {
        let mut state = State::of(subject(exceptions, "0"));
        let mut decisions: Vec<(&str, Decision)> = Vec::new();
        for id in IDS.iter().take(exceptions.min(3)) {
            decisions.push(("anna", Decision::Settled(settlement(id))));
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
    let mut state = round(3);
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
    let mut state = round(4);
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
}
