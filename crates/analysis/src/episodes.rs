//! Episodes: exceptions close together, which a reviewer can resolve once (method, section 4).

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

#[cfg(test)]
mod tests {
    use crate::specimen::{day, span};

    /// Cold from sample 1 on and again later: 165 → 150 → 165 is short from 733 ms before the sample
    /// to 733 ms after it. With 61 samples between them the estimates are 62 − 1.466 s apart, more
    /// than a minute; with 60 samples 61 − 1.466 s, less.
    #[test]
    fn less_than_a_minute_apart_is_one_episode() {
        for (between, episodes) in [(60, vec![1, 1]), (61, vec![1, 2])] {
            let holding = format!("165 150 165*{between} 150 165");
            let audit = day("F*100").holding(&holding).audit();
            let numbers: Vec<_> = audit.exceptions.iter().map(|one| one.episode).collect();
            assert_eq!(numbers, episodes, "{between}");
        }
    }

    /// Exactly the merge time apart are two episodes: 1 → 3 psi meets 2 half way.
    #[test]
    fn exactly_the_merge_time_apart_are_two() {
        for (between, episodes) in [(59, 1), (60, 2)] {
            // Estimates 500..1500 and (between + 1.5) s on: between s apart.
            let differential = format!("3 1 3*{between} 1 3");
            let audit = day("F*100").differential(&differential).audit();
            assert_eq!(audit.episodes.len(), episodes, "{between}");
        }
    }

    #[test]
    fn an_episode_spans_its_exceptions_of_all_rules() {
        let audit = day("F*10").holding("165*2 BAD 165").differential("5*5 1 5").audit();
        let [one] = audit.episodes.as_slice() else { panic!("{:#?}", audit.episodes) };
        // BAD: 1500..2500; 5 → 1 → 5: 4750..5250.
        assert_eq!((one.interval, one.exceptions.as_slice()), (span(1500, 5250), &[0, 1][..]));
    }
}
