//! Episodes: exceptions close together, which a reviewer can settle once (method, section 4).

use crate::exception::Exception;
use trace::{Duration, Interval};

/// A group of exceptions of any rule, each less than the merge time from the ones before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Episode {
    /// The number, counted from 1 in order of time.
    pub number: usize,
    /// From the first estimate's start to the last estimate's end.
    pub interval: Interval,
    /// The indices of its exceptions in the audit's list.
    pub exceptions: Vec<usize>,
}

/// Numbers the exceptions, which are in order of their estimates' starts, by episode.
pub(crate) fn group(exceptions: &mut [Exception], merge_time: Duration) -> Vec<Episode> {
    let mut episodes: Vec<Episode> = Vec::new();
    for (index, exception) in exceptions.iter_mut().enumerate() {
        match episodes.last_mut() {
            Some(last)
                if exception.estimate.start().since(last.interval.end()) < merge_time
                    || exception.estimate.start() <= last.interval.end() =>
            {
                last.interval = last.interval.hull(exception.estimate);
                last.exceptions.push(index);
            }
            _ => episodes.push(Episode {
                number: episodes.len() + 1,
                interval: exception.estimate,
                exceptions: vec![index],
            }),
        }
        exception.episode = episodes.len();
    }
    episodes
}
