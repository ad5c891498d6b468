//! Photos that failed: which and why, said at the end.

use std::panic::{AssertUnwindSafe, catch_unwind};

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

/// Does the work on one file; should the program itself fail in it, that file fails and the others
/// go on. Nothing half done is kept: what the work had begun is gone with it.
pub(crate) fn kept_apart<T>(
    name: &str,
    work: impl FnOnce() -> Result<T, Error>,
) -> Result<T, Error> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| {
        Err(Error::Request {
            what: name.to_owned(),
            why:
                "a fault of this program, not of your photo, stopped its measuring: leave it out, \
                  and tell whoever keeps the program"
                    .to_owned(),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_in_one_photo_is_that_photos_error() {
        let failed: Result<(), Error> = kept_apart("quay-3.jpg", || panic!("a fault"));
        let message = failed.expect_err("it failed").to_string();
        assert!(message.starts_with("quay-3.jpg: a fault of this program"));
        assert!(kept_apart("quay-4.jpg", || Ok(4)).is_ok_and(|four| four == 4));
    }
}
