//! How the process ends.

use std::io::{self, Write};
use std::process::ExitCode;

/// What the command came to, in the order of gravity: with several photos the gravest counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// Done; something was measured.
    Done,
    /// Measured, but outside the plan (only with `--check`).
    OutsidePlan,
    /// Wrong use, or a file that can't be read, understood or written.
    Refused,
    /// A photo of which nothing can be measured.
    Unmeasurable,
}

/// The table for `--help`.
pub(crate) const EXIT_CODES: &str = "\
Exit codes:
  0  done, something was measured
  1  measured, but outside the plan (only with --check; \"cannot tell\" doesn't count)
  2  wrong use, or a file that can't be read, understood or written
  3  a photo of which nothing can be measured
With several photos, the highest.";

/// Says something on standard error; where nobody can hear it, nothing happens.
pub(crate) fn say(message: &str) {
    let mut out = io::stderr().lock();
    // There is no other place to say that this one is closed.
    let _ = writeln!(out, "{message}");
}

/// Why a command stopped before its work was done.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Stop {
    /// The library says why.
    #[error(transparent)]
    Library(#[from] evenfell::Error),
    /// Nobody reads the output any more: not an error.
    #[error("the output was closed")]
    ClosedOutput,
    /// The output can't be written.
    #[error("the output can't be written: {0}")]
    Output(io::Error),
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::ClosedOutput
        } else {
            Self::Output(error)
        }
    }
}

impl From<&evenfell::Error> for Outcome {
    fn from(error: &evenfell::Error) -> Self {
        match error.exit_code() {
            3 => Self::Unmeasurable,
            _ => Self::Refused,
        }
    }
}

impl From<&Stop> for Outcome {
    /// Says on standard error why the command stopped, and gives what the process ends with.
    fn from(stop: &Stop) -> Self {
        match stop {
            Stop::ClosedOutput => return Self::Done,
            Stop::Library(_) | Stop::Output(_) => say(&format!("evenfell: {stop}")),
        }
        match stop {
            Stop::Library(error) => Self::from(error),
            Stop::ClosedOutput | Stop::Output(_) => Self::Refused,
        }
    }
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(match outcome {
            Outcome::Done => 0,
            Outcome::OutsidePlan => 1,
            Outcome::Refused => 2,
            Outcome::Unmeasurable => 3,
        })
    }
}
