//! The scale from a resolution: the file's own, or a typed one.
//!
//! # Method
//! 1. A file that a camera made carries no scale, whatever its density says.
//! 2. 72 and 96 dpi are what programs write that don't know; such a figure is no scale either.
//! 3. Of what is left the first in the file's order of trust is taken; two that contradict each
//!    other are an error.
//!
//! # Limits
//! A flatbed's two axes differ from its figure, and from each other, by some tenths of a per cent
//! (trade): that is the least doubt of this scale, and nothing in the picture can lessen it.

use crate::measurement::ScaleMethod;
use crate::photo::{Density, DensitySource, Photo};
use crate::units::MM_PER_INCH;
use crate::{Error, Result};

use super::request::DPI_RANGE;
use super::{ScaleOptions, View};

/// Densities that stand for "unknown", pixels per inch.
const PLACEHOLDERS_DPI: [f64; 2] = [72.0, 96.0];

/// How near a density must be to such a one, dpi: covers what whole pixels per metre (72.009)
/// and per centimetre (71.1, 96.5) make of it.
const PLACEHOLDER_REACH_DPI: f64 = 1.0;

/// How much two densities of one file may differ before they contradict each other, relative.
///
/// Whole pixels per centimetre round 300 dpi by 0.1 %.
const AGREEMENT: f64 = 0.005;

/// The ways of giving a scale, for the end of an error.
pub(super) const OTHER_WAYS: &str = "photograph the band on the printed sheet (evenfell sheet), \
     or give --scale card, --scale points:X1,Y1,X2,Y2=120mm or, for a scan, --scale 300dpi";

/// The same where the sheet isn't in the photo.
pub(super) const NO_SHEET_WAYS: &str = "give --scale card, --scale points:X1,Y1,X2,Y2=120mm or, \
     for a scan, --scale 300dpi";

/// Whether a scanner made the file, by its resolution.
pub(super) fn is_scan(photo: &Photo) -> bool {
    trusted(photo).is_ok()
}

/// The view of a scan whose file says its resolution.
pub(super) fn from_file(photo: &Photo, options: &ScaleOptions) -> Result<View> {
    let density = trusted(photo).map_err(|why| Error::Scale { why })?;
    let mut view = level(density.x_dpi, density.y_dpi, rounding_u(&density), options);
    let figure = if (density.x_dpi - density.y_dpi).abs() < 0.05 {
        format!("{:.0}", density.x_dpi)
    } else {
        format!("{:.0} × {:.0}", density.x_dpi, density.y_dpi)
    };
    view.notes.push(format!(
        "{figure} dpi, from the file's {}",
        density.source.name()
    ));
    Ok(view)
}

/// The view of a scan of a typed resolution, pixels per inch.
pub(super) fn from_typed(dpi: f64, options: &ScaleOptions) -> Result<View> {
    if !DPI_RANGE.contains(&dpi) {
        return Err(Error::Request {
            what: "--scale".to_owned(),
            why: format!("{dpi} dpi is no resolution of a scan of a band"),
        });
    }
    Ok(level(dpi, dpi, 0.0, options))
}

fn level(x_dpi: f64, y_dpi: f64, rounding_u: f64, options: &ScaleOptions) -> View {
    let relative_u = (options.scanner_relative_u95 / 1.96).hypot(rounding_u);
    View::level(
        (x_dpi / MM_PER_INCH, y_dpi / MM_PER_INCH),
        relative_u,
        ScaleMethod::Dpi,
    )
}

/// The density to take, or why there is none.
fn trusted(photo: &Photo) -> std::result::Result<Density, String> {
    let Some(first) = photo.densities.first() else {
        let file = if photo.camera.is_some() {
            "a camera made the photo, and it carries no resolution"
        } else {
            "the file carries no resolution"
        };
        return Err(format!("{file}: {OTHER_WAYS}"));
    };
    if photo.camera.is_some() {
        return Err(format!(
            "a camera made the photo, and the {:.0} dpi in it say nothing of the band's size: \
             {OTHER_WAYS}",
            first.x_dpi
        ));
    }
    let real: Vec<Density> = photo
        .densities
        .iter()
        .copied()
        .filter(|density| !is_placeholder(density))
        .collect();
    let Some(&density) = real.first() else {
        return Err(format!(
            "the {:.0} dpi in the file are what programs write that don't know: {OTHER_WAYS}; if \
             it truly was scanned so, --scale {:.0}dpi",
            first.x_dpi, first.x_dpi
        ));
    };
    for other in &real[1..] {
        if differ(density.x_dpi, other.x_dpi) || differ(density.y_dpi, other.y_dpi) {
            return Err(format!(
                "the file contradicts itself ({:.0} dpi in its {}, {:.0} dpi in its {}): say \
                 which is right, such as --scale {:.0}dpi",
                density.x_dpi,
                density.source.name(),
                other.x_dpi,
                other.source.name(),
                density.x_dpi
            ));
        }
    }
    if !(DPI_RANGE.contains(&density.x_dpi) && DPI_RANGE.contains(&density.y_dpi)) {
        return Err(format!(
            "the {:.0} dpi in the file are no resolution of a scan of a band: {OTHER_WAYS}",
            density.x_dpi
        ));
    }
    Ok(density)
}

fn differ(a: f64, b: f64) -> bool {
    (a - b).abs() > AGREEMENT * a.max(b)
}

fn is_placeholder(density: &Density) -> bool {
    let near = |dpi: f64| {
        PLACEHOLDERS_DPI
            .iter()
            .any(|known| (dpi - known).abs() <= PLACEHOLDER_REACH_DPI)
    };
    near(density.x_dpi) && near(density.y_dpi)
}

/// Relative standard uncertainty of a figure that the file holds in whole pixels per centimetre.
fn rounding_u(density: &Density) -> f64 {
    let per_cm = density.x_dpi / 2.54;
    let whole = |value: f64| (value - value.round()).abs() < 1e-6;
    if density.source == DensitySource::Jfif && whole(per_cm) && !whole(density.x_dpi) {
        0.5 / per_cm / 3.0_f64.sqrt()
    } else {
        0.0
    }
}
