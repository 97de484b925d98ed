//! Forward flow that the record cannot vouch for (method, section 5).

use crate::exception::{Cause, Exception, Rule};
use crate::exceptions::{Context, Found};
use crate::runs::Run;
use trace::{Interval, ValveState};

/// All exceptions of the rule `unverifiable`.
pub(crate) fn find(context: &Context<'_>, gaps: &[usize]) -> Vec<Exception> {
    let verdicts = context.verdicts;
    let harmless =
        |(first, last): Run| (first..=last).all(|sample| verdicts.has_legal_readings(sample));

    let invalid = verdicts
        .runs(|sample| verdicts.is_forward(sample) && verdicts.is_unknown(sample))
        .into_iter()
        .map(|run| (run, Cause::InvalidReading));
    let unknown = verdicts
        .runs(|sample| verdicts.valve(sample) == ValveState::Unknown)
        .into_iter()
        .filter(|&run| !harmless(run))
        .map(|run| (run, Cause::ValveUnknown));
    let travel = verdicts
        .runs(|sample| verdicts.valve(sample) == ValveState::Travel)
        .into_iter()
        .filter(|&run| {
            verdicts.outer(run).duration() > context.plant.limits.travel_allowance && !harmless(run)
        })
        .map(|run| (run, Cause::Travel));
    let runs = invalid.chain(unknown).chain(travel).map(|(run, cause)| {
        let [observed, outer, estimate] =
            [verdicts.observed(run), verdicts.outer(run), verdicts.between_midpoints(run)];
        (run, cause, observed, outer, estimate)
    });

    let gaps = gaps
        .iter()
        .map(|&before| (before, before + 1))
        .filter(|&(before, after)| {
            [before, after].iter().any(|&sample| verdicts.valve(sample) != ValveState::Divert)
        })
        .map(|run| {
            let whole: Interval = verdicts.observed(run);
            (run, Cause::Gap, whole, whole, whole)
        });

    runs.chain(gaps)
        .map(|(samples, cause, observed, outer, estimate)| {
            context.complete(Found {
                rule: Rule::Unverifiable,
                cause,
                samples,
                observed,
                outer,
                estimate,
                worst: None,
                shortfall: None,
                within_response: false,
            })
        })
        .collect()
}
