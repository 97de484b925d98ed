//! How far a scan has come, and the wish to stop it, shared between threads.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Shared by the threads that read and the one that shows how far they are.
#[derive(Debug, Default)]
pub struct ScanProgress {
    records: AtomicUsize,
    done: AtomicUsize,
    cancelled: AtomicBool,
}

impl ScanProgress {
    /// How many records are done, and how many there are; both 0 while nothing is known.
    pub fn done(&self) -> (usize, usize) {
        (self.done.load(Ordering::Relaxed), self.records.load(Ordering::Relaxed))
    }

    /// Asks the scan to stop; it ends with [`crate::Error::Cancelled`] after the records at hand.
    /// What was read until then is kept.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }

    pub(crate) fn expect(&self, records: usize) {
        self.done.store(0, Ordering::Relaxed);
        self.records.store(records, Ordering::Relaxed);
    }

    pub(crate) fn add(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }
}
