//! What needs a look beside the exceptions (method, section 8): one file a kind, and the one list of
//! them that everything else walks.
//!
//! A kind's file holds its definition (key, title, rank, sentence, source) and its finder, which gives
//! figures.

mod look;

use look::Found;
pub(crate) use look::Look;
use trace::{Observation, ObservationKind};

macro_rules! kinds {
    ($($module:ident),* $(,)?) => {
        $(mod $module;)*

        /// All kinds that the audit finds, in the order of this list.
        pub const KINDS: &[ObservationKind] =
            &[$(ObservationKind::new(&$module::DEFINITION)),*];

        /// All observations of the audit.
        pub(crate) fn find(look: &Look<'_>) -> Vec<Observation> {
            let mut observations = Vec::new();
            $(
                let mut found = Found::new(ObservationKind::new(&$module::DEFINITION), look);
                $module::find(look, &mut found);
                observations.extend(found.finish());
            )*
            observations
        }
    };
}

kinds! {
    // To close.
    alarm_without_divert,
    amount_disagrees,
    booster_out_of_turn,
    cleaning_looks_like_product,
    cleaning_too_short,
    cut_in_below_limit,
    cut_out_below_limit,
    differential_low_at_all_times,
    differential_reversed,
    divert_without_cause,
    entry_disagrees,
    flow_without_alarm,
    impossible_step,
    leak_detected,
    medium_above_product,
    never_forward_in_production,
    production_without_cleaning,
    recorder_disagrees,
    run_sheet_disagrees,
    slow_response,
    unknown_product,
    zero_check,
    // To note.
    begins_in_forward_flow,
    certificate_old,
    coarse_reading,
    cooled_too_warm,
    differential_low_not_forward,
    ends_in_forward_flow,
    entry_not_comparable,
    forward_not_production,
    frozen_reading,
    gap_diverted,
    holding_time_not_judged,
    indicating_not_recorded,
    low_regeneration,
    missing_samples,
    raw_too_warm,
    recorder_above_indicating,
    run_sheet_overlap,
    run_sheet_uncovered,
    slow_sampling,
    slow_travel,
    tube_by_measures,
    tube_contradiction,
}

/// The key of a divert that the record does not explain.
pub(crate) const DIVERT_WITHOUT_CAUSE: &str = divert_without_cause::DEFINITION.key;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_unique_and_sentences_end() {
        let mut keys: Vec<_> = KINDS.iter().map(|kind| kind.key()).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), KINDS.len());
        for kind in KINDS {
            let sentence = kind.sentence();
            let count = |character: char| sentence.matches(character).count();
            assert_eq!(count('{'), count('}'), "{kind:?}");
            assert_eq!(count('['), count(']'), "{kind:?}");
            assert!(!sentence.ends_with('.') && !kind.source().is_empty(), "{kind:?}");
        }
    }
}
