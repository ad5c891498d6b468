//! What `--out` leaves in a photo's folder.

use std::io::{self, Cursor, Write};
use std::path::Path;

use evenfell::Error;
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::{
    BandPicture, Context, marked_photo, write_csv, write_html, write_json_pretty,
};
use image::{ImageFormat, RgbImage};

use crate::one::Measured;
use crate::outputs::{self, Folder};

/// The longer side of `marked.png`, px: enough to see every pick, small enough to mail.
const MARKED_LONGEST_PX: u32 = 4000;

/// The files, in the order they appear; the result itself comes last.
const NAMES: [&str; 5] = [
    BAND_PICTURE,
    "marked.png",
    "picks.csv",
    "report.html",
    "measurement.json",
];

/// The band laid straight, for comparing it with others.
pub(crate) const BAND_PICTURE: &str = "band.png";

/// Refuses a folder that holds another photo's result, before anything is measured.
pub(crate) fn keep_other_results(dir: &Path, sha256: &str) -> Result<(), Error> {
    outputs::keep_other_results(dir, sha256, &NAMES)
}

/// Writes every file of a result, whole or not at all.
pub(crate) fn write_results(
    dir: &Path,
    measured: &Measured,
    plan: Option<&Plan>,
    units: Option<LengthUnits>,
) -> Result<(), Error> {
    let Measured {
        photo,
        measurement,
        overlay,
        verdict,
    } = measured;
    keep_other_results(dir, &photo.sha256)?;
    let mut folder = Folder::new(dir)?;
    let marked = marked_photo(&photo.pixels, overlay, MARKED_LONGEST_PX);
    let context = Context {
        plan,
        verdict,
        units,
    };
    let pictures = Some((&photo.pixels, overlay));
    if let Some(band) = BandPicture::new(&overlay.strip, measurement) {
        folder.add(BAND_PICTURE, |out| band.write_png(out))?;
    }
    folder.add("marked.png", |out| write_png(&marked, out))?;
    folder.add("picks.csv", |mut out| write_csv(measurement, &mut out))?;
    folder.add("report.html", |mut out| {
        write_html(measurement, &context, pictures, &mut out)
    })?;
    folder.add("measurement.json", |mut out| {
        write_json_pretty(measurement, &mut out)
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
