//! Where a line leaves the range of its plot: it is drawn as a sign at the edge, so that nobody takes a line that
//! runs off for one that ends.

use crate::polylines::Polylines;

/// Neighbouring samples of a line beyond one edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leaving {
    /// The first and the last of them.
    pub samples: (u32, u32),
    /// Whether they lie above the upper edge, or else below the lower.
    pub above: bool,
}

/// Where `line` lies beyond `edges`, the lower and the upper; `value` gives a reading in their unit.
pub fn leaving(line: &Polylines, value: impl Fn(i64) -> f64, edges: (f64, f64)) -> Vec<Leaving> {
    let mut found: Vec<Leaving> = Vec::new();
    let mut mantissas = line.mantissas().iter();
    for run in line.runs() {
        let mut before = None;
        for (&sample, &mantissa) in run.iter().zip(&mut mantissas) {
            let value = value(mantissa);
            let above =
                if value > edges.1 { Some(true) } else { (value < edges.0).then_some(false) };
            match (above, found.last_mut()) {
                (Some(_), Some(last)) if before == above => last.samples.1 = sample,
                (Some(above), _) => found.push(Leaving { samples: (sample, sample), above }),
                (None, _) => {}
            }
            before = above;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_run_beyond_an_edge_is_told_once() {
        let mut line = Polylines::new();
        let readings = [5, 11, 12, 9, -1, 11, 5, 12];
        for (sample, mantissa) in readings.into_iter().enumerate() {
            // A hole before the last one: the line begins anew.
            line.push(sample, mantissa, sample == 0 || sample == 7);
        }
        let found = leaving(&line, |mantissa| mantissa as f64, (0.0, 10.0));
        let one = |first, last, above| Leaving { samples: (first, last), above };
        let expected = [one(1, 2, true), one(4, 4, false), one(5, 5, true), one(7, 7, true)];
        assert_eq!(found, expected);
        assert_eq!(leaving(&line, |mantissa| mantissa as f64, (-5.0, 20.0)), []);
    }
}
