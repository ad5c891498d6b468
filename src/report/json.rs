//! The result for other programs.

use std::io::{self, Write};

use serde::Serialize;

/// Writes a result, or the object that stands for a failed photo, as one line.
///
/// # Errors
/// What the writer says.
pub fn write_json_line(result: &impl Serialize, out: &mut impl Write) -> io::Result<()> {
    serde_json::to_writer(&mut *out, result)?;
    out.write_all(b"\n")
}

/// Writes a result over many lines, for a file that people may open too.
///
/// # Errors
/// What the writer says.
pub fn write_json_pretty(result: &impl Serialize, out: &mut impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, result)?;
    out.write_all(b"\n")
}
