//! Reading a file of text or JSON without trusting its size.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::{Error, Result};

/// The file at `path`, at most its first `most` bytes: whoever wants to know whether there is more
/// asks for one byte above what it takes.
///
/// # Errors
///
/// [`Error::File`] where it can't be read.
pub fn read_at_most(path: &Path, most: u64) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(most).read_to_end(&mut bytes))
        .map_err(|source| Error::File {
            path: path.to_owned(),
            source,
        })?;
    Ok(bytes)
}
