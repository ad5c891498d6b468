//! Photos that failed: which and why, said at the end.

use std::path::Path;

use evenfell::Error;

use crate::exit::say;

/// What failed so far.
#[derive(Debug)]
pub(crate) struct Failures {
    given: usize,
    lines: Vec<String>,
}

impl Failures {
    /// None yet, of so many files.
    pub(crate) fn new(given: usize) -> Self {
        Self {
            given,
            lines: Vec::new(),
        }
    }

    /// One more. Its message names the file where the error itself doesn't.
    pub(crate) fn add(&mut self, name: &str, error: &Error) {
        let message = error.to_string();
        self.lines
            .push(if message.contains(name) || self.given == 1 {
                message
            } else {
                format!("{name}: {message}")
            });
    }

    /// Says on standard error which files failed, and why.
    pub(crate) fn say(&self) {
        match self.lines.as_slice() {
            [] => {}
            [line] if self.given == 1 => say(&format!("evenfell: {line}")),
            lines => {
                say(&format!(
                    "evenfell: {} of {} files failed",
                    lines.len(),
                    self.given
                ));
                for line in lines {
                    say(&format!("  {line}"));
                }
            }
        }
    }
}

/// A file's name without its folders.
pub(crate) fn bare_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}
