//! What `--out` leaves in a photo's folder.

use std::io::{self, Cursor, Write};
use std::path::Path;

use evenfell::Error;
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::{
    BandPicture, Context, marked_photo, write_csv, write_html, write_json_pretty,
};
use image::{ImageFormat, RgbImage};
use rayon::prelude::*;

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
    keep_other_results(dir, &measured.photo.sha256)?;
    let mut folder = Folder::new(dir)?;
    // Drawing and packing take longer than measuring, and no file waits for another.
    let made: Vec<_> = names(measured)
        .into_par_iter()
        .map(|name| {
            let mut bytes = Vec::new();
            let written = write_file(name, measured, plan, units, &mut bytes);
            (name, written.map(|()| bytes))
        })
        .collect();
    for (name, bytes) in made {
        folder.add(name, |out| out.write_all(&bytes?))?;
    }
    folder.publish()
}

/// The files that a result has, in the order they appear.
pub(crate) fn names(measured: &Measured) -> Vec<&'static str> {
    let (strip, measurement) = (&measured.overlay.strip, &measured.measurement);
    let pictured = BandPicture::new(strip, measurement).is_some();
    let all = NAMES.into_iter();
    all.filter(|name| pictured || *name != BAND_PICTURE)
        .collect()
}

/// Writes one of the files, by its name.
pub(crate) fn write_file(
    name: &str,
    measured: &Measured,
    plan: Option<&Plan>,
    units: Option<LengthUnits>,
    mut out: &mut dyn Write,
) -> io::Result<()> {
    let Measured {
        photo,
        measurement,
        overlay,
        verdict,
    } = measured;
    match name {
        BAND_PICTURE => match BandPicture::new(&overlay.strip, measurement) {
            Some(band) => band.write_png(out),
            None => Err(io::Error::other("the band's length isn't known")),
        },
        "marked.png" => {
            let marked = marked_photo(&photo.pixels, overlay, MARKED_LONGEST_PX);
            write_png(&marked, out)
        }
        "picks.csv" => write_csv(measurement, &mut out),
        "report.html" => {
            let context = Context {
                plan,
                verdict,
                units,
            };
            let pictures = Some((&photo.pixels, overlay));
            write_html(measurement, &context, pictures, &mut out)
        }
        _ => write_json_pretty(measurement, &mut out),
    }
}

/// Writes a picture as PNG.
pub(crate) fn write_png(picture: &RgbImage, out: &mut dyn Write) -> io::Result<()> {
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .map_err(io::Error::other)?;
    out.write_all(bytes.get_ref())
}
