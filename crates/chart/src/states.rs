//! Columns of states, words or switches as runs of one and the same state.

use std::ops::Range;

/// A maximal run of samples with one state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StateRun<S> {
    /// The first sample of the run.
    pub first: usize,
    /// The last sample of the run.
    pub last: usize,
    /// What all of them show.
    pub state: S,
}

/// All runs of a column: built once, asked each frame.
#[derive(Debug, Clone)]
pub struct StateRuns<S> {
    runs: Vec<StateRun<S>>,
}

impl<S: Copy + PartialEq> StateRuns<S> {
    /// The runs of a column, for example of [`trace::ValveState`].
    pub fn build(states: &[S]) -> Self {
        let mut runs = Vec::new();
        let mut first = 0;
        for chunk in states.chunk_by(|one, next| one == next) {
            if let Some(&state) = chunk.first() {
                runs.push(StateRun { first, last: first + chunk.len() - 1, state });
            }
            first += chunk.len();
        }
        runs.shrink_to_fit();
        Self { runs }
    }

    /// All runs, in order.
    pub fn all(&self) -> &[StateRun<S>] {
        &self.runs
    }

    /// The runs that share a sample with `samples`, whole and in order.
    pub fn visible(&self, samples: Range<usize>) -> &[StateRun<S>] {
        if samples.is_empty() {
            return &[];
        }
        let first = self.runs.partition_point(|run| run.last < samples.start);
        let end = self.runs.partition_point(|run| run.first < samples.end);
        self.runs.get(first..end).unwrap_or(&[])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trace::ValveState::{Divert, Forward, Travel};

    #[test]
    fn runs_are_found_by_samples() {
        let runs = StateRuns::build(&[Divert, Divert, Travel, Forward, Forward, Forward, Divert]);
        let run = |first, last, state| StateRun { first, last, state };
        assert_eq!(
            runs.all(),
            [run(0, 1, Divert), run(2, 2, Travel), run(3, 5, Forward), run(6, 6, Divert)]
        );
        for (samples, visible) in
            [(0..7, 0..4), (1..3, 0..2), (2..3, 1..2), (4..5, 2..3), (5..7, 2..4), (7..9, 4..4)]
        {
            assert_eq!(runs.visible(samples.clone()), &runs.all()[visible], "{samples:?}");
        }
        assert!(runs.visible(4..4).is_empty());
        assert!(StateRuns::<bool>::build(&[]).visible(0..9).is_empty());
    }
}
