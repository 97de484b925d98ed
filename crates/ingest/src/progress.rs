//! How far reading has come, and the wish to stop it, shared between threads.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Shared by the thread that reads and the one that shows how far it is, by reference or `Arc`.
#[derive(Debug, Default)]
pub struct Progress {
    total: AtomicU64,
    done: AtomicU64,
    cancelled: AtomicBool,
}

impl Progress {
    /// The part of the bytes that has been read, from 0 to 1; 0 while nothing is known.
    pub fn fraction(&self) -> f32 {
        let total = self.total.load(Ordering::Relaxed);
        if total == 0 {
            return 0.0;
        }
        (self.done.load(Ordering::Relaxed) as f32 / total as f32).min(1.0)
    }

    /// Asks the reading to stop; it ends with [`crate::Error::Cancelled`] soon after.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }

    pub(crate) fn expect_bytes(&self, total: u64) {
        self.total.store(total, Ordering::Relaxed);
        self.done.store(0, Ordering::Relaxed);
    }

    pub(crate) fn add_bytes(&self, bytes: u64) {
        self.done.fetch_add(bytes, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fraction_grows_to_one() {
        let progress = Progress::default();
        assert!(progress.fraction() < f32::EPSILON);
        progress.expect_bytes(200);
        progress.add_bytes(50);
        assert!((progress.fraction() - 0.25).abs() < f32::EPSILON);
        progress.add_bytes(500);
        assert!((progress.fraction() - 1.0).abs() < f32::EPSILON);
        assert!(!progress.is_cancelled());
        progress.cancel();
        assert!(progress.is_cancelled());
    }
}
