//! Whether the clocks of two loggers are apart, by what both of them read.
//!
//! Only a channel that both loggers record can tell: its changes are the same event. What follows an event in
//! the process, such as a pressure behind the flow diversion device, comes later by an unknown
//! time of its own, and tells nothing of a clock. The changes of the channel from one step to the
//! next are laid over each other at each shift up to [`FURTHEST`]; a shift counts where they agree well and
//! at no other shift nearly so. It is a suggestion and is never applied.

use crate::store::{NUMBERS, Store};
use trace::{ChannelView, Instant, Role, median};

/// How far two clocks may be apart to be found so (ours).
const FURTHEST: i64 = 600_000;

/// No more steps of the record are looked at (ours): a day of one second each.
const MOST_STEPS: i64 = 86_400;

/// The least correlation of the changes at the shift that counts (ours).
const AGREES: f64 = 0.8;

/// The greatest correlation at any shift that is not beside it, as a part of that (ours).
const NO_OTHER: f64 = 0.6;

/// A steady channel changes by its noise only; fewer changes than these tell nothing (ours).
const FEWEST_CHANGES: usize = 5;

/// How far a clock seems to be ahead of that of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Offset {
    /// The channel that tells.
    pub(crate) role: Role,
    /// In milliseconds; less than zero for a clock that is behind.
    pub(crate) by: i64,
}

/// By how much the clock of another logger seems to be ahead, by the first channel that tells.
pub(crate) fn suggest(
    (record, rows): (&Store, &[Instant]),
    (other, readings): (&Store, &[Instant]),
) -> Option<Offset> {
    let (first, last) = (rows.first()?, rows.last()?);
    let step = median_step(rows)?.max(median_step(readings)?).max(1000);
    let steps = (last.since(*first).milliseconds() / step).min(MOST_STEPS);
    NUMBERS.into_iter().find_map(|role| {
        let (own, others) = (record.number(role)?.view(), other.number(role)?.view());
        let own = changes((own, rows), first.unix_milliseconds(), (step, steps));
        let reach = FURTHEST / step;
        let before = first.unix_milliseconds() - reach * step;
        let others = changes((others, readings), before, (step, steps + 2 * reach));
        let shift = best_shift(&own, &others, reach as usize)?;
        Some(Offset { role, by: (shift as i64 - reach) * step })
    })
}

fn median_step(instants: &[Instant]) -> Option<i64> {
    let mut steps: Vec<i64> =
        instants.windows(2).map(|pair| pair[1].since(pair[0]).milliseconds()).collect();
    median::upper(&mut steps, i64::cmp)
}

/// How a channel changes from each step to the next; zero where it has no reading at either.
fn changes(
    (channel, instants): (ChannelView<'_>, &[Instant]),
    start: i64,
    (step, steps): (i64, i64),
) -> Vec<f64> {
    let mantissas = channel.mantissas();
    let mut at = 0;
    let mut before: Option<f64> = None;
    (0..=steps)
        .map(|index| {
            let now = start + index * step;
            while instants.get(at).is_some_and(|instant| instant.unix_milliseconds() <= now) {
                at += 1;
            }
            let last = at.checked_sub(1);
            let is_fresh = |&last: &usize| {
                instants.get(last).is_some_and(|one| now - one.unix_milliseconds() < 2 * step)
            };
            let reading = last.filter(is_fresh).and_then(|last| mantissas.get(last));
            let reading = reading.filter(|&&one| ChannelView::is_valid(one)).map(|&one| one as f64);
            let change = before.zip(reading).map_or(0.0, |(before, now)| now - before);
            before = reading;
            change
        })
        .collect()
}

/// The shift at which the changes agree, where they do at one alone.
fn best_shift(own: &[f64], others: &[f64], reach: usize) -> Option<usize> {
    let is_change = |change: &&f64| change.abs() > 0.0;
    if own.iter().filter(is_change).count() < FEWEST_CHANGES {
        return None;
    }
    let square = |changes: &[f64]| changes.iter().map(|one| one * one).sum::<f64>();
    let size = square(own);
    let scores: Vec<f64> = (0..=2 * reach)
        .map(|shift| {
            let others = others.get(shift..shift + own.len()).unwrap_or_default();
            let both: f64 = own.iter().zip(others).map(|(one, other)| one * other).sum();
            let sizes = (size * square(others)).sqrt();
            if sizes > 0.0 { both / sizes } else { 0.0 }
        })
        .collect();
    let best = (0..scores.len()).max_by(|&one, &other| scores[one].total_cmp(&scores[other]))?;
    let score = *scores.get(best)?;
    let is_alone = scores
        .iter()
        .enumerate()
        .all(|(shift, &other)| shift.abs_diff(best) <= 1 || other <= score * NO_OTHER);
    (score >= AGREES && is_alone).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Changes without a pattern.
    fn noise(length: usize) -> Vec<f64> {
        let mut state = 7_u32;
        (0..length)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                f64::from(state >> 16) - 32_768.0
            })
            .collect()
    }

    #[test]
    fn a_shift_is_found_where_there_is_one() {
        let all = noise(400);
        let own = &all[100..300];
        // The other begins 50 steps before, and is the same 12 steps later.
        assert_eq!(best_shift(own, &all[38..350], 50), Some(62));
        let other: Vec<f64> = noise(800).split_off(450);
        assert_eq!(best_shift(own, &other[..300], 50), None, "nothing in common");
    }

    #[test]
    fn what_repeats_or_stands_still_tells_nothing() {
        let wave: Vec<f64> = (0..300).map(|step| [3.0, 0.0, -3.0, 0.0][step % 4]).collect();
        assert_eq!(best_shift(&wave[50..250], &wave, 50), None);
        let mut still = vec![0.0; 300];
        assert_eq!(best_shift(&still[50..250], &still, 50), None);
        still[120] = 4.0;
        assert_eq!(best_shift(&still[50..250], &still, 50), None, "one change may be any");
    }
}
