//! How far the making of machines is, told while it goes on.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Watches machines being made: how many there are, and whether to go on. Never changes what comes out.
#[derive(Debug, Default)]
pub struct Watch {
    made: AtomicUsize,
    stopped: Arc<AtomicBool>,
}

impl Watch {
    /// Stops as well when this is set.
    pub(crate) fn until(unwanted: Option<&Arc<AtomicBool>>) -> Self {
        Self {
            stopped: unwanted.map_or_else(Arc::default, Arc::clone),
            ..Self::default()
        }
    }

    /// Stops with this one, and counts for itself: for machines that are made on the side.
    pub(super) fn aside(&self) -> Self {
        Self::until(Some(&self.stopped))
    }

    /// So many machines are made.
    pub fn made(&self) -> usize {
        self.made.load(Ordering::Relaxed)
    }

    /// No more machines are wanted.
    pub fn stop(&self) {
        self.stopped.store(true, Ordering::Relaxed);
    }

    /// It was told to stop.
    pub fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }

    /// Notes how many are made; false when no more are wanted.
    pub(super) fn goes_on(&self, made: usize) -> bool {
        self.made.store(made, Ordering::Relaxed);
        !self.is_stopped()
    }
}
