//! Is the photo good enough for what is read from it, and how could the next one be better?
//!
//! | code | what | how it is judged |
//! |---|---|---|
//! | `coarse` | few pixels a pick | pick spacing over the sample step |
//! | `blurred` | out of focus or moved | 10-90 % width of the selvedge's step against the pick spacing |
//! | `blown_out` | highlights without texture | share of the body at full white |
//! | `shadow` | a shadow across the band | a step in the lightness of ground and band alike |
//! | `cropped` | the cloth runs out of the picture | the outline says so |

use super::focus::edge_width_px;
use super::light;
use crate::band::BandTrace;
use crate::measurement::Warning;

/// When a photo is warned of.
#[derive(Clone, Debug, PartialEq)]
pub struct QualityOptions {
    /// Pixels a pick below which the picks are doubtful. More warns of more photos. Default: 6.
    pub doubtful_px_a_pick: f64,
    /// 10-90 % width of the selvedge's step, as a share of the pick spacing, from which the photo
    /// counts as blurred. Less warns of more photos. Default: 0.5.
    pub blurred_share: f64,
    /// Share of the body at full white from which it counts as blown out. Default: 0.03.
    pub blown_out_share: f64,
    /// Step of lightness (CIE L*) along the ground that counts as a shadow. Default: 12.
    pub shadow_step: f64,
}

impl Default for QualityOptions {
    fn default() -> Self {
        Self {
            doubtful_px_a_pick: 6.0,
            blurred_share: 0.5,
            blown_out_share: 0.03,
            shadow_step: 12.0,
        }
    }
}

/// What is doubtful about the photo; `pitch_mm` is the pick spacing where it is known.
#[must_use]
pub fn quality(
    trace: &BandTrace,
    body_mm: (f64, f64),
    pitch_mm: Option<f64>,
    options: &QualityOptions,
) -> Vec<Warning> {
    let step = trace.straight.step_mm;
    let mut warnings = Vec::new();
    let mut warn = |code: &str, text: String| {
        let code = code.into();
        warnings.push(Warning { code, text });
    };
    if let Some(pitch) = pitch_mm.filter(|p| *p / step < options.doubtful_px_a_pick) {
        warn(
            "coarse",
            format!(
                "a pick is only {:.1} pixels long: scan at {:.0} dpi or more, or go closer",
                pitch / step,
                (25.4 * 12.0 / pitch / 50.0).ceil() * 50.0
            ),
        );
    }
    let blur = edge_width_px(trace, body_mm).zip(pitch_mm);
    if let Some((width, pitch)) = blur.filter(|(w, p)| *w * step > options.blurred_share * p) {
        warn(
            "blurred",
            format!(
                "the photo is blurred: an edge spreads over {width:.0} pixels, {:.0} % of a pick; \
                 hold the camera still and let it focus on the band, or scan it lying flat",
                100.0 * width * step / pitch
            ),
        );
    }
    let white = light::blown_out(trace, body_mm);
    if white > options.blown_out_share {
        warn(
            "blown_out",
            format!(
                "{:.0} % of the band is pure white and shows no threads: expose darker, or turn \
                 the light to the side",
                100.0 * white
            ),
        );
    }
    if light::shadow_step(trace, body_mm) > options.shadow_step {
        warn(
            "shadow",
            "a shadow falls across the band: light it evenly from both sides, and keep the phone's \
             own shadow off it"
                .into(),
        );
    }
    if trace.is_cropped() {
        let which = match trace.runs_out {
            (true, true) => "at both ends",
            (true, false) => "at the start",
            _ => "at the finish",
        };
        warn(
            "cropped",
            format!(
                "the band runs out of the picture {which}, so its picks can't be counted: take the \
                 whole band in, with a finger's breadth of ground around it"
            ),
        );
    }
    warnings
}
