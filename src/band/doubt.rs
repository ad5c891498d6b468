//! How far may both selvedges be off, and what has to be said about it?
//!
//! # Method
//! * Jitter from row to row: what second differences scatter by, which the yarn's own run hardly adds to at
//!   one pixel's distance. Errors that hang together over some rows are greater: never below a floor.
//! * A doubt that all rows share: the spread of the mean error where nothing is odd, what speaks against
//!   the places that were chosen (`worth`), and rows where no step is seen at all.

use ndarray::Array2;

use super::StraightBand;
use super::cloth_end::ClothEnd;
use super::colour_model::ripples;
use super::outline::Outline;
use super::overlap::Overlap;
use crate::measurement::Warning;
use crate::stats::{median, robust_sd};

/// Doubt of a whole selvedge's place, mm, that stays at any resolution, and what a sample's width adds:
/// half of 268 drawn bands came out within 0.022 mm of their width, of the coarsest 0.035 mm; with what
/// follows 98 in 100 lie inside the interval.
const BIAS_MM: f64 = 0.03;
/// See [`BIAS_MM`]; in samples.
const BIAS_SAMPLES: f64 = 0.15;
/// Breadth of an edge in a sharp picture, and what each sample more adds to that, in samples: blurred by
/// 0.8 px, edges were 0.42 broad and lay within 0.2 samples, instead of 0.1.
const BLUR: (f64, f64) = (0.34, 2.0);
/// What each unit of a JPEG's ripples adds, in samples: nine photos, their JPEGs written anew at qualities
/// from 65 to 15, had widths off by 0.1 mm at quality 50, 0.2 at 20.
const RIPPLES: f64 = 0.7;
/// Rounding from which a JPEG is warned of: quality 33 and below.
const HARD_JPEG: f64 = 1.5;
/// What each clean edge that speaks against a place adds to that, mm, as the mean over all rows.
const EACH_AGAINST_MM: f64 = 1.5;
/// The same for rows where no step is seen: about as far as the selvedge is looked for.
const EACH_LOST_MM: f64 = 2.0;
/// Least jitter from row to row, mm: what an outermost place takes for far out hangs together over a few rows.
const LEAST_JITTER_MM: f64 = 0.03;
/// Least and greatest noise of a selvedge from row to row, mm.
const NOISE_MM: (f64, f64) = (0.05, 0.1);
/// A smaller step (percent of white's light) across a selvedge is hardly seen.
const LEAST_STEP: f32 = 0.5;
/// Share of rows without a step from which they are warned of.
const LOST_SHARE: f64 = 0.05;
/// What is against a place that is called doubtful, in clean edges.
const AGAINST: f32 = 0.25;
/// Doubt by what speaks against the selvedges from which it is warned of, mm.
const UNSURE_MM: f64 = 0.1;
/// Doubt where no shadow is believed in, mm: of 26 drawn bands without colour half came out within 0.25 mm of
/// their width, and a quarter more than 0.6 mm off.
const SHADOWS_MM: f64 = 0.26;
/// Doubt where a yarn is like ground in the light, mm, and the log odds between which it grows: of 36 drawn
/// bands with such a yarn five were off by 0.4 to 1.5 mm, the others by 0.06 mm.
const TURNS_MM: f64 = 0.1;
/// See [`TURNS_MM`].
const LIKE: (f32, f32) = (1.0, 0.0);
/// Odds from which such a yarn is warned of.
const ALIKE: f32 = -1.0;
/// Share of the cloth, or of the selvedges' length, that can't be told from ground, from which nothing is said.
const MOSTLY_HIDDEN: f32 = 0.45;

/// What is odd about both selvedges between the ends of the cloth: shares of their rows.
#[derive(Clone, Copy, Debug, Default)]
struct Oddities {
    /// Mean of what speaks against the places, in clean edges.
    against: f64,
    /// Where much does.
    doubtful: f64,
    /// Where no step is seen.
    lost: f64,
    /// Where the photo ends within 1 mm.
    cut: f64,
}

/// The doubt of both selvedges.
#[derive(Clone, Debug)]
pub(super) struct Doubt {
    /// One standard uncertainty from row to row, mm.
    pub noise_mm: f64,
    /// What of it is seen from row to row, mm.
    pub jitter_mm: f64,
    /// One standard uncertainty that all rows of a selvedge share, mm.
    pub bias_mm: f64,
    /// What has to be said.
    pub warnings: Vec<Warning>,
    /// Why the selvedges say nothing at all.
    pub unseen: Option<String>,
}

impl Doubt {
    /// Of the selvedges between the ends of the cloth.
    pub(super) fn new(
        band: &StraightBand,
        covered: &Array2<bool>,
        outline: &Outline,
        ends: &[ClothEnd; 2],
    ) -> Self {
        let rows: Vec<usize> = (0..band.lab[0].nrows())
            .filter(|i| {
                let s = band.s_of(*i);
                s >= ends[0].at_mm && s <= ends[1].at_mm
            })
            .collect();
        let odd = oddities(band, covered, outline, &rows);
        let samples = BIAS_SAMPLES + BLUR.1 * (mixed(outline, &rows) - BLUR.0).max(0.0);
        let frayed = RIPPLES * ripples(outline.rounding);
        let usual = BIAS_MM.hypot(samples.hypot(frayed) * band.step_mm);
        let unsure = EACH_AGAINST_MM * odd.against;
        let overlap = &outline.model.overlap;
        let alike = by_colour(overlap);
        let jitter_mm = jitter(outline, &rows);
        Self {
            noise_mm: jitter_mm.clamp(NOISE_MM.0, NOISE_MM.1),
            jitter_mm,
            bias_mm: usual
                .hypot(unsure)
                .hypot(alike)
                .hypot(EACH_LOST_MM * odd.lost),
            warnings: warnings(odd, unsure, outline),
            unseen: unseen(odd, overlap),
        }
    }
}

/// Doubt where shadows aren't believed in, mm.
fn by_shadows(overlap: &Overlap) -> f64 {
    SHADOWS_MM * f64::from(overlap.shadows_doubted()).powi(2)
}

/// Doubt where colour doesn't tell the yarns from ground, mm.
fn by_colour(overlap: &Overlap) -> f64 {
    let likeness = ((LIKE.0 - overlap.likest) / (LIKE.0 - LIKE.1)).clamp(0.0, 1.0);
    by_shadows(overlap).hypot(TURNS_MM * f64::from(likeness))
}

/// Why the selvedges say nothing: most of the yarn, or most of their length, can't be told from the ground.
fn unseen(odd: Oddities, overlap: &Overlap) -> Option<String> {
    (overlap.still_hidden > MOSTLY_HIDDEN || odd.lost > f64::from(MOSTLY_HIDDEN)).then(|| {
        "much of the yarn has the ground's colour in this photo: lay the band on a ground of another \
         colour, and photograph it in colour"
            .to_owned()
    })
}

/// Usual breadth of what is neither cloth nor ground, samples.
fn mixed(outline: &Outline, rows: &[usize]) -> f64 {
    let sides = [&outline.left.mixed, &outline.right.mixed];
    let seen = sides.iter().flat_map(|side| rows.iter().map(|i| side[*i]));
    let mixed: Vec<f64> = seen.filter(|m| *m > 0.0).map(f64::from).collect();
    median(&mixed).unwrap_or(BLUR.0)
}

/// What second differences of the selvedges scatter by.
fn jitter(outline: &Outline, rows: &[usize]) -> f64 {
    let inside = |t: &[f64]| -> Vec<f64> { rows.iter().map(|i| t[*i]).collect() };
    let bends: Vec<f64> = [&outline.left.t_mm, &outline.right.t_mm]
        .into_iter()
        .flat_map(|t| {
            let bend = |w: &[f64]| w[0] - 2.0 * w[1] + w[2];
            inside(t).windows(3).map(bend).collect::<Vec<_>>()
        })
        .collect();
    let seen = robust_sd(&bends).unwrap_or(0.0) / 6.0_f64.sqrt();
    seen.max(LEAST_JITTER_MM)
}

fn oddities(
    band: &StraightBand,
    covered: &Array2<bool>,
    outline: &Outline,
    rows: &[usize],
) -> Oddities {
    let each = 0.5 / f64::max(rows.len() as f64, 1.0);
    let mut odd = Oddities::default();
    for &i in rows {
        for (edge, outward) in [(&outline.left, -1.0), (&outline.right, 1.0)] {
            let j = (edge.t_mm[i] + outward - band.t0_mm) / band.step_mm;
            let column = j.round().clamp(0.0, covered.ncols() as f64 - 1.0) as usize;
            let share = |is: bool| if is { each } else { 0.0 };
            odd.against += each * f64::from(edge.against[i]);
            odd.doubtful += share(edge.against[i] > AGAINST);
            odd.lost += share(edge.step[i] < LEAST_STEP);
            odd.cut += share(!covered[(i, column)]);
        }
    }
    odd
}

/// A selvedge that can't be seen, that may lie farther out, or that the picture cuts off.
fn warnings(odd: Oddities, unsure_mm: f64, outline: &Outline) -> Vec<Warning> {
    let overlap = &outline.model.overlap;
    let mut warnings = Vec::new();
    let mut warn = |code: &str, text: String| {
        warnings.push(Warning {
            code: code.to_owned(),
            text,
        });
    };
    if odd.lost > LOST_SHARE {
        warn(
            "selvedge_lost",
            format!(
                "over {:.0} % of its length a selvedge hardly differs from the ground: lay the \
                 band on a ground of another colour",
                100.0 * odd.lost
            ),
        );
    }
    if unsure_mm > UNSURE_MM {
        warn(
            "selvedge_unsure",
            format!(
                "over {:.0} % of its length something outside of the selvedge that was found may be \
                 cloth of the ground's colour, so the width may be off: look at the marked photo, and \
                 lay the band on a ground of another colour than any of its yarns",
                100.0 * odd.doubtful
            ),
        );
    }
    if by_shadows(overlap) > UNSURE_MM {
        warn(
            "ground_alike",
            "some of the yarn looks like the ground in a shadow, so a shadow beside the band may count as \
             cloth, or cloth as shadow: look at the marked photo, lay the band on a ground of another \
             colour than any of its yarns, and photograph it in colour"
                .to_owned(),
        );
    } else if overlap.likest < ALIKE {
        warn(
            "ground_alike",
            "one of the yarns has the ground's colour: turns of it may have been missed at the selvedges, \
             and the width be too small: look at the marked photo, and lay the band on a ground of another \
             colour than any of its yarns"
                .to_owned(),
        );
    }
    if outline.rounding > HARD_JPEG {
        warn(
            "compressed",
            "the JPEG was compressed hard, which blurs and frays every edge: measure the scanner's or camera's \
             own file, not a copy that a messenger made small, or save it at a quality of 80 or more"
                .to_owned(),
        );
    }
    if odd.cut > 0.01 {
        warn(
            "cropped",
            "a selvedge lies within 1 mm of the picture's edge or beyond it: leave a finger's width \
             of ground around the band"
                .to_owned(),
        );
    }
    warnings
}
