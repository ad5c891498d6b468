//! How could the photo be better?
//!
//! # Method
//! 1. The measurement's own doubts about the photo come first: each says what to do.
//! 2. Then what would make the intervals smaller: a scale whose doubt is most of the length's
//!    interval; picks of few pixels; a camera far from level.
//!
//! # Limits
//! It speaks only of what the result holds; it doesn't look at the photo again.

use crate::measurement::{Measurement, ScaleMethod, Warning};
use crate::units::MM_PER_INCH;

use super::layout::sentence;

/// Doubts that are the photo's: the next photo can be free of them.
const PHOTO_CODES: [&str; 10] = [
    "coarse",
    "blurred",
    "blown_out",
    "shadow",
    "cropped",
    "selvedge_lost",
    "selvedge_unsure",
    "ground_alike",
    "compressed",
    "several_pieces",
];
/// Pixels a pick from which more pixels bring little.
const ENOUGH_PX_A_PICK: f64 = 12.0;
/// Share of the length's interval from which the scale is what it hangs on.
const MOSTLY_SCALE: f64 = 0.7;
/// Tilt from which holding the camera level is worth saying, degrees.
const MUCH_TILT: f64 = 12.0;

/// Whether a warning is about the photo rather than about what was read from it.
pub(super) fn is_about_the_photo(warning: &Warning) -> bool {
    PHOTO_CODES.contains(&warning.code.as_str())
}

/// What would make the next photo better, a sentence each; empty where nothing would.
pub(super) fn better_photo(measurement: &Measurement) -> Vec<String> {
    let doubts = measurement
        .warnings
        .iter()
        .filter(|warning| is_about_the_photo(warning))
        .map(|warning| sentence(&warning.text));
    let coarse = measurement.warnings.iter().any(|w| w.code == "coarse");
    let pixels = (!coarse).then(|| more_pixels(measurement)).flatten();
    doubts
        .chain(pixels)
        .chain(better_scale(measurement))
        .chain(more_level(measurement))
        .collect()
}

fn more_pixels(measurement: &Measurement) -> Option<String> {
    let per_inch = measurement.picks.as_ref()?.per_inch.value;
    let px_per_inch = measurement.scale.px_per_mm.value * MM_PER_INCH;
    let px_a_pick = px_per_inch / per_inch;
    if !(px_a_pick.is_finite() && px_a_pick < ENOUGH_PX_A_PICK) {
        return None;
    }
    let dpi = (per_inch * ENOUGH_PX_A_PICK / 50.0).ceil() * 50.0;
    // Not "12 pixels, and 12 are needed".
    let whole = px_a_pick.round().min(ENOUGH_PX_A_PICK - 1.0);
    let surer = if measurement.swatch.is_some() {
        "picks are counted"
    } else {
        "the beat is read"
    };
    Some(format!(
        "A pick is {whole:.0} pixels long. From {ENOUGH_PX_A_PICK:.0} on {surer} more surely: scan \
         at {dpi:.0} dpi, or go closer."
    ))
}

fn better_scale(measurement: &Measurement) -> Option<String> {
    let length = measurement.length_mm?;
    let scale = measurement.scale.px_per_mm;
    let share = scale.u95 / scale.value;
    if share * length.value < MOSTLY_SCALE * length.u95 {
        return None;
    }
    let instead = match measurement.scale.method {
        ScaleMethod::Dpi => {
            "lay a ruler beside the band and give two of its marks, far apart: they say what the \
             scanner's resolution really is"
        }
        ScaleMethod::Points => "give two marks that lie farther apart, best beyond both ends",
        ScaleMethod::Card => {
            "use the printed sheet, or two marks of a ruler as far apart as the band is long"
        }
        ScaleMethod::Sheet => {
            "measure the sheet's check bar with a steel rule and say what it reads with --print-bar"
        }
    };
    Some(format!(
        "Most of the \u{b1} of lengths and of picks per inch is the scale's own doubt ({:.2} %): \
         {instead}.",
        100.0 * share
    ))
}

fn more_level(measurement: &Measurement) -> Option<String> {
    let tilt = measurement.scale.camera_tilt_degrees;
    (tilt > MUCH_TILT).then(|| {
        format!(
            "The camera was tilted by {tilt:.0}\u{b0}; that is taken out, but the far end has fewer \
             pixels: hold it level over the band."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::made::Made;

    #[test]
    fn a_scale_that_makes_the_interval_is_named_and_another_is_not() {
        let scaled = |share| {
            let made = Made {
                scale_share: share,
                length_mm: (231.0, 0.7),
                ..Made::default()
            };
            better_photo(&made.measurement())
        };
        assert!(scaled(0.003)[0].contains("two of its marks"));
        assert_eq!(scaled(0.0005), Vec::<String>::new());
    }

    #[test]
    fn a_doubt_about_the_photo_is_not_said_twice() {
        let mut measurement = Made::default().measurement();
        measurement.scale.px_per_mm.value = 1.9;
        measurement.scale.px_per_mm.u95 = 1e-4;
        assert!(better_photo(&measurement)[0].contains("A pick is 5 pixels"));
        measurement.scale.px_per_mm.value = 4.6;
        let said = &better_photo(&measurement)[0];
        assert!(
            said.contains("A pick is 11 pixels") && said.contains("From 12"),
            "{said}"
        );
        measurement.scale.px_per_mm.value = 1.9;
        measurement.warnings.push(Warning {
            code: "coarse".to_owned(),
            text: "a pick is only 4.8 pixels long: go closer".to_owned(),
        });
        let said = better_photo(&measurement);
        assert_eq!(said, ["A pick is only 4.8 pixels long: go closer."]);
    }
}
