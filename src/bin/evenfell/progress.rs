//! What is being worked on, on standard error, and only where somebody looks.

use std::io::{IsTerminal, Write, stderr};
use std::path::Path;

/// A line that says which photo is being measured; gone when the work is.
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

    /// Says that photo `number` (from 1) is being measured.
    pub(crate) fn at(&self, number: usize, photo: &Path) {
        let name = photo.file_name().unwrap_or_default().to_string_lossy();
        self.show(&format!("measuring {number} of {}: {name}", self.photos));
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
