//! Files that may be results or photos.

use std::path::{Path, PathBuf};

use evenfell::Error;
use evenfell::files::read_at_most;
use evenfell::measurement::{Measurement, read_results};
use evenfell::report::BandPicture;

use crate::results::BAND_PICTURE;

/// How much of a file tells a result from a photo, bytes.
const BEGINNING: u64 = 64;

/// The results in a file, or in the folder that `--out` wrote one to.
pub(crate) fn results_in(path: &Path) -> Result<Vec<Measurement>, Error> {
    read_results(&result_file(path))
}

/// The picture of the band beside a result that `--out` wrote; none for any other file of results.
pub(crate) fn picture_beside(path: &Path) -> Option<BandPicture> {
    let result = result_file(path);
    if result.file_name()? != "measurement.json" {
        return None;
    }
    let picture = result.with_file_name(BAND_PICTURE);
    BandPicture::from_png(&read_at_most(&picture, MOST_PICTURE_BYTES).ok()?)
}

/// Far above what a band's picture takes.
const MOST_PICTURE_BYTES: u64 = 32 << 20;

/// The file of a result: the path itself, or the result in that folder.
fn result_file(path: &Path) -> PathBuf {
    if path.is_dir() {
        path.join("measurement.json")
    } else {
        path.to_owned()
    }
}

/// Whether a path leads to results rather than to a photo: a folder, or text that begins as JSON.
pub(crate) fn is_result(path: &Path) -> bool {
    if path.is_dir()
        || path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
    {
        return true;
    }
    read_at_most(path, BEGINNING).is_ok_and(|beginning| {
        let text = beginning
            .strip_prefix(b"\xef\xbb\xbf")
            .unwrap_or(&beginning);
        text.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'{')
    })
}
