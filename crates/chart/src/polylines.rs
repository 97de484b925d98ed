//! Lines to draw, as indices of real samples: a buffer that is filled anew each frame without
//! being allocated anew.

/// Runs of sample indices. Each run is one unbroken line with strictly increasing samples, a run
/// of one sample is a dot.
#[derive(Debug, Clone, Default)]
pub struct Polylines {
    samples: Vec<u32>,
    /// The readings of `samples`.
    mantissas: Vec<i64>,
    /// Where in `samples` each run begins.
    starts: Vec<u32>,
}

impl Polylines {
    /// No line yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// The lines, in order of time.
    pub fn runs(&self) -> impl Iterator<Item = &[u32]> {
        let ends = self.starts.iter().skip(1).copied().chain([self.samples.len() as u32]);
        self.starts
            .iter()
            .zip(ends)
            .filter_map(|(&start, end)| self.samples.get(start as usize..end as usize))
    }

    /// All samples of all lines, in order of time.
    pub fn samples(&self) -> &[u32] {
        &self.samples
    }

    /// The readings of [`Self::samples`]. They are at hand where the samples are chosen; to look
    /// them up again in a long record costs more than to choose them.
    pub fn mantissas(&self) -> &[i64] {
        &self.mantissas
    }

    pub(crate) fn clear(&mut self) {
        self.samples.clear();
        self.mantissas.clear();
        self.starts.clear();
    }

    /// Adds a sample to the line, or begins a new line with it.
    pub(crate) fn push(&mut self, sample: usize, mantissa: i64, begins: bool) {
        if begins {
            self.starts.push(self.samples.len() as u32);
        }
        self.samples.push(sample as u32);
        self.mantissas.push(mantissa);
    }
}
