//! How far a long command is.

use std::sync::atomic::{AtomicUsize, Ordering};

use crate::terminal;

/// Steps of a command, of which the number is known before the first.
#[derive(Debug)]
pub struct Progress {
    of: usize,
    done: AtomicUsize,
}

impl Progress {
    /// So many steps, none of them begun.
    pub fn of(steps: usize) -> Self {
        Progress { of: steps, done: AtomicUsize::new(0) }
    }

    /// Begins the next step; steps may be begun by several threads.
    pub fn next(&self, doing: &str) {
        let step = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        terminal::print_progress(step.min(self.of), self.of, doing);
    }
}
