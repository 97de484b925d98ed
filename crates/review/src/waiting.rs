//! What of a record waits for a signature: which scopes are to be reviewed, which to be approved, and by
//! whom not.

use crate::decision::Scope;
use crate::state::{Signed, Standing, State};
use signers::Meaning;

impl State {
    /// The scopes that wait for a signature as reviewed: the shifts that bear none where others do, else
    /// the whole record.
    pub fn to_review(&self) -> Vec<Scope> {
        if self.covered_at(Meaning::Reviewed).is_some() {
            return Vec::new();
        }
        let all = self.shifts();
        let open: Vec<Scope> = all.iter().filter(|one| !self.is_reviewed(one)).cloned().collect();
        // Where every shift is signed, something is left that touches none.
        if open.is_empty() || open.len() == all.len() { vec![Scope::DAY] } else { open }
    }

    /// The scopes that are reviewed and wait for an approval.
    pub fn to_approve(&self) -> Vec<Scope> {
        if self.covered_at(Meaning::Approved).is_some() {
            return Vec::new();
        }
        if self.is_reviewed(&Scope::DAY) {
            return vec![Scope::DAY];
        }
        let mut open = self.shifts();
        open.retain(|one| self.is_reviewed(one) && !self.is_signed(Meaning::Approved, one));
        open
    }

    /// The reviews that cover a scope.
    pub fn reviews_of<'a>(&'a self, scope: &'a Scope) -> impl Iterator<Item = &'a Signed> {
        let reviews = self.signatures().iter();
        let reviews = reviews.filter(|one| one.is_current() && one.meaning == Meaning::Reviewed);
        reviews.filter(move |one| one.scope == *scope || one.scope == Scope::DAY)
    }

    /// Whether somebody may not approve a scope because they reviewed it.
    pub fn is_own_review(&self, scope: &Scope, by: &str) -> bool {
        !self.subject().same_person_may_approve
            && self.reviews_of(scope).any(|signed| signed.mark.by == by)
    }

    /// The exceptions that a supervisor returned, with where they stand.
    pub fn returned(&self) -> impl Iterator<Item = &Standing> {
        let items = self.subject().exceptions.iter().map(|item| self.exception(&item.id));
        items.filter(|standing| matches!(standing, Standing::SentBack { .. }))
    }

    fn is_reviewed(&self, scope: &Scope) -> bool {
        self.is_signed(Meaning::Reviewed, scope)
    }

    fn shifts(&self) -> Vec<Scope> {
        self.subject().shifts.iter().map(|name| Scope::shift(name)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decision::{Decision, Settlement};
    use crate::state_tests::{mark, subject};
    use signers::Role;

    fn signed(by: &str, meaning: Meaning, scope: &Scope) -> Decision {
        let role = if by == "anna" { Role::Technician } else { Role::Supervisor };
        Decision::Signed {
            meaning,
            scope: scope.clone(),
            name: by.to_owned(),
            role,
            register: String::new(),
        }
    }

    /// Two shifts, one exception in the first, nothing else to do.
    fn state() -> State {
        let mut subject = subject(1, "aa");
        subject.shifts = vec!["early".to_owned(), "late".to_owned()];
        subject.to_close.clear();
        subject.observations.clear();
        subject.entries.clear();
        subject.diverts.clear();
        subject.same_person_may_approve = false;
        let mut state = State::of(subject);
        take(&mut state, "anna", 2, Decision::Settled(settlement()));
        state
    }

    fn settlement() -> Settlement {
        Settlement {
            exception: "a1".to_owned(),
            cause: "steam".to_owned(),
            action: "none".to_owned(),
            disposition: "destroyed".to_owned(),
            ..Settlement::default()
        }
    }

    fn take(state: &mut State, by: &str, line: u64, decision: Decision) {
        assert_eq!(state.decide(decision, mark(line, by)), Ok(()));
    }

    #[test]
    fn the_scopes_follow_the_signatures() {
        let (early, late) = (Scope::shift("early"), Scope::shift("late"));
        let mut state = state();
        assert_eq!((state.to_review(), state.to_approve()), (vec![Scope::DAY], vec![]));
        take(&mut state, "anna", 3, signed("anna", Meaning::Reviewed, &early));
        assert_eq!(
            (state.to_review(), state.to_approve()),
            (vec![late.clone()], vec![early.clone()])
        );
        take(&mut state, "ben", 4, signed("ben", Meaning::Approved, &early));
        assert_eq!((state.to_review(), state.to_approve()), (vec![late.clone()], vec![]));
        take(&mut state, "anna", 5, signed("anna", Meaning::Reviewed, &late));
        assert_eq!((state.to_review(), state.to_approve()), (vec![], vec![late.clone()]));
        take(&mut state, "ben", 6, signed("ben", Meaning::Approved, &late));
        assert_eq!((state.to_review(), state.to_approve()), (vec![], vec![]));
    }

    #[test]
    fn the_whole_day_is_approved_as_it_was_reviewed() {
        let mut state = state();
        take(&mut state, "ben", 3, signed("ben", Meaning::Reviewed, &Scope::DAY));
        assert_eq!((state.to_review(), state.to_approve()), (vec![], vec![Scope::DAY]));
        assert!(
            state.is_own_review(&Scope::DAY, "ben") && !state.is_own_review(&Scope::DAY, "cleo")
        );
        assert!(state.is_own_review(&Scope::shift("early"), "ben"), "the day holds its shifts");
        take(&mut state, "cleo", 4, signed("cleo", Meaning::Approved, &Scope::DAY));
        assert_eq!(state.to_approve(), vec![]);
    }

    #[test]
    fn what_a_supervisor_returns_is_to_be_reviewed_again() {
        let mut state = state();
        take(&mut state, "anna", 3, signed("anna", Meaning::Reviewed, &Scope::DAY));
        let remark = "which valve?".to_owned();
        take(&mut state, "ben", 4, Decision::SentBack { exception: "a1".to_owned(), remark });
        assert_eq!((state.to_review(), state.to_approve()), (vec![Scope::DAY], vec![]));
        assert_eq!(state.returned().count(), 1);
    }
}
