//! What `--out` leaves in a photo's folder.

use std::io::{self, Cursor, Write};
use std::path::Path;

use evenfell::Error;
use evenfell::plan::Plan;
use evenfell::report::{marked_photo, write_csv, write_json_pretty};
use image::{ImageFormat, RgbImage};

use crate::one::Measured;
use crate::outputs::Folder;

/// The longer side of `marked.png`, px: enough to see every pick, small enough to mail.
const MARKED_LONGEST_PX: u32 = 4000;

/// The files, in the order they appear; the result itself comes last.
const NAMES: [&str; 4] = ["marked.png", "picks.csv", "report.html", "measurement.json"];

/// Writes every file of a result, whole or not at all.
pub(crate) fn write_results(
    dir: &Path,
    measured: &Measured,
    _plan: Option<&Plan>,
) -> Result<(), Error> {
    let mut folder = Folder::new(dir)?;
    folder.keep_other_results(&measured.measurement.photo.sha256, &NAMES)?;
    if let Some(overlay) = &measured.overlay {
        let marked = marked_photo(&measured.photo.pixels, overlay, MARKED_LONGEST_PX);
        folder.add("marked.png", |out| write_png(&marked, out))?;
    }
    folder.add("picks.csv", |mut out| {
        write_csv(&measured.measurement, &mut out)
    })?;
    folder.add("measurement.json", |mut out| {
        write_json_pretty(&measured.measurement, &mut out)
    })?;
    folder.publish()
}

/// Writes a picture as PNG.
pub(crate) fn write_png(picture: &RgbImage, out: &mut dyn Write) -> io::Result<()> {
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .map_err(io::Error::other)?;
    out.write_all(bytes.get_ref())
}
