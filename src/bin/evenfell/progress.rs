//! What is being worked on, on standard error, and only where somebody looks.

use std::io::{IsTerminal, Write, stderr};

/// A line that says how many photos are measured; gone when the work is.
#[derive(Debug)]
pub(crate) struct Progress {
    seen: bool,
    photos: usize,
}

impl Progress {
    /// Progress over so many photos.
    pub(crate) fn new(photos: usize) -> Self {
        Self {
            seen: stderr().is_terminal(),
            photos,
        }
    }

    /// Says that so many photos are done.
    pub(crate) fn done(&self, number: usize) {
        if number < self.photos {
            self.show(&format!("measuring: {number} of {} done", self.photos));
        }
    }

    /// Takes the line away.
    pub(crate) fn clear(&self) {
        self.show("");
    }

    fn show(&self, line: &str) {
        if self.seen {
            let mut out = stderr().lock();
            // Nothing is lost where a line of progress can't be shown.
            let _ = write!(out, "\r\x1b[2K{line}");
            let _ = out.flush();
        }
    }
}
