//! Finds the scale that was asked for.

use crate::photo::Photo;
use crate::{Error, Result};

use super::{ScaleRequest, TypedLength, View, card, points, resolution, sheet};

/// What [`find_view`] assumes.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleOptions {
    /// Half-width of the 95 % interval of a scanner's own resolution, or of a typed one,
    /// relative. Flatbeds differ from their figure by some tenths of a per cent.
    /// Default: 0.003.
    pub scanner_relative_u95: f64,
    /// One standard uncertainty of each of two places given as points, along the line between
    /// them, px. Default: 1.0.
    pub point_u_px: f64,
    /// Least distance of two places given as points, px. Default: 20.0.
    pub least_points_px: f64,
    /// How long the sheet's check bar, drawn 100 mm long, measures on the paper.
    /// Default: not known.
    pub print_bar: Option<TypedLength>,
    /// One standard uncertainty of a printer's scaling where the check bar wasn't measured,
    /// relative. Default: 0.004 (trade: half a per cent is common, more means that the page was
    /// fitted).
    pub printer_relative_u: f64,
    /// One standard uncertainty of lengths from paper that isn't quite flat, relative.
    /// Default: 0.0003 (a wave of half a millimetre seen from 400 mm, partly averaged).
    pub paper_relative_u: f64,
    /// Largest root mean square distance of the sheet's corners from where they should be, px.
    /// Default: 3.0.
    pub most_misfit_px: f64,
}

impl Default for ScaleOptions {
    fn default() -> Self {
        Self {
            scanner_relative_u95: 0.003,
            point_u_px: 1.0,
            least_points_px: 20.0,
            print_bar: None,
            printer_relative_u: 0.004,
            paper_relative_u: 0.0003,
            most_misfit_px: 3.0,
        }
    }
}

/// Finds the scale that was asked for: how millimetres of the band's plane map to the photo.
///
/// # Errors
///
/// [`Error::Scale`] when the photo doesn't hold the scale asked for; [`Error::Request`] when
/// what was asked for can't be (a place outside the photo, a resolution that no scan has).
///
/// # Examples
///
/// ```
/// use evenfell::photo::Photo;
/// use evenfell::scale::{ScaleOptions, find_view};
/// let photo = Photo {
///     file: "scan.png".into(),
///     sha256: String::new(),
///     pixels: image::RgbImage::new(600, 200),
///     densities: Vec::new(),
///     camera: None,
///     jpeg_rounding: 0.0,
/// };
/// let view = find_view(&photo, &"300dpi".parse()?, &ScaleOptions::default())?;
/// assert!((view.px_per_mm(Default::default()) - 300.0 / 25.4).abs() < 1e-9);
/// # Ok::<(), evenfell::Error>(())
/// ```
pub fn find_view(photo: &Photo, request: &ScaleRequest, options: &ScaleOptions) -> Result<View> {
    match *request {
        ScaleRequest::Auto => auto(photo, options),
        ScaleRequest::Dpi => resolution::from_file(photo, options),
        ScaleRequest::TypedDpi(dpi) => resolution::from_typed(dpi, options),
        ScaleRequest::Points { from, to, length } => {
            points::from_points(photo, (from, to), length, options)
        }
        ScaleRequest::Sheet => match sheet::look(photo) {
            Some(seen) => sheet::view(photo, &seen, options),
            None => Err(Error::Scale {
                why: format!(
                    "no marker of the printed sheet is seen: photograph the whole sheet, sharp \
                     and evenly lit, or {}",
                    resolution::NO_SHEET_WAYS
                ),
            }),
        },
        ScaleRequest::Card => card::view(photo),
    }
}

/// The sheet if it is seen, else the file's own resolution.
fn auto(photo: &Photo, options: &ScaleOptions) -> Result<View> {
    let Some(seen) = sheet::look(photo) else {
        return resolution::from_file(photo, options);
    };
    match (seen.too_few(), resolution::from_file(photo, options)) {
        // A scan that shows a corner of a sheet.
        (Some(_), Ok(view)) => Ok(view),
        _ => sheet::view(photo, &seen, options),
    }
}
