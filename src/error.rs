//! Why there is no measurement: one variant for each thing that a person can do something about.

use std::path::PathBuf;

/// What went wrong; the text is for the weaver and says what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A file could not be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file is no picture that can be read.
    #[error("{file}: {why}")]
    Photo {
        /// The file's bare name.
        file: String,
        /// What is wrong, and what to do.
        why: String,
    },
    /// The photo gives no scale, or the scale asked for isn't in it.
    #[error("no scale: {why}")]
    Scale {
        /// What is wrong, and what to do.
        why: String,
    },
    /// The plan says something that can't be understood or woven.
    #[error("plan: {place}: {why}")]
    Plan {
        /// The place in the plan, such as `warp.strands` or `drawdown, row 3`.
        place: String,
        /// What is wrong, and what would be right.
        why: String,
    },
    /// Something typed or asked for is wrong.
    #[error("{what}: {why}")]
    Request {
        /// The option, entry or file.
        what: String,
        /// What is wrong, and what would be right.
        why: String,
    },
    /// The photo can be read, but nothing in it can be measured.
    #[error("nothing can be measured in this photo: {why}")]
    Unmeasurable {
        /// What is wrong with the photo, and what to do at the next one.
        why: String,
    },
}

/// What everything in the crate returns.
pub type Result<T> = std::result::Result<T, Error>;

impl Error {
    /// The process exit code that stands for this error: 3 for a photo of which nothing can be
    /// measured, 2 for everything else.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Unmeasurable { .. } => 3,
            _ => 2,
        }
    }
}
