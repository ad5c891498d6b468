//! Does a place look like a pick of the body?
//!
//! # Method
//! Two signs for or against, each against how much the picks of the middle differ among themselves:
//!
//! * the correlation of the place's levelled samples with the repeat at its phase: fringe and ground
//!   don't take turns as the weave does;
//! * how unusual its colours are: a header is woven of another yarn.
//!
//! Each gives a log-likelihood ratio: a straight line, bounded, so that one sign alone never outweighs an
//! end that was clearly seen. Slopes and bounds are those, of some hundred tried, with which most of 240
//! drawn bands and ten photos of another renderer were counted right and fewest wrongly held for sure.
//! What speaks only against (`misfit`) is taken off.

use std::ops::{Range, RangeInclusive};

use ndarray::{Array2, Axis};

use super::cloth::Cloth;
use super::colour_kinds::Kinds;
use super::misfit::{GRANTED, misfit};
use super::novelty::unusual_colours;
use super::phase::STATES_A_PICK;
use super::rows::Fit;
use crate::stats::{median, quantile};

/// How far outward and inward of a place's middle is looked, spacings.
const WINDOW: (f64, f64) = (0.15, 0.45);

/// Least spread of the correlation among the picks of the middle.
const LEAST_SPREAD: f64 = 0.08;

/// Bounds of one sign's log-likelihood ratio.
pub(super) const BOUNDS: (f64, f64) = (-4.0, 3.0);

/// What of both signs together counts beside what speaks only against.
const SIGNS_WEIGHT: f64 = 0.9;

/// A place where a pick could lie.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Its middle, fractional sample.
    pub(crate) middle: f64,
    /// Samples a pick around it.
    pub(crate) spacing: f64,
    /// Phase of the middle within the repeat, picks.
    pub(crate) phase: f64,
    /// +1 where the start of the band is the nearer end, −1 where its finish is.
    pub(crate) inward: f64,
}

impl Place {
    /// What of a place is looked at, spacings from its middle: what lies outward of an outermost
    /// middle may be header or fringe already.
    pub(super) fn window(&self) -> (f64, f64) {
        let (outward, inward) = WINDOW;
        if self.inward > 0.0 {
            (-outward, inward)
        } else {
            (-inward, outward)
        }
    }

    /// The first and the last of the cloth's samples of a window, which is given in spacings from the middle.
    pub(super) fn samples(&self, cloth: &Cloth, (from, to): (f64, f64)) -> (usize, usize) {
        let at = |d: f64| cloth.nearest(self.middle + d * self.spacing);
        (at(from), at(to))
    }
}

/// What is held of each place.
pub(crate) struct Judged {
    /// Log-likelihood ratio of holding a pick of the body.
    pub(crate) favour: Vec<f64>,
    /// What speaks against it by itself, 0 where nothing does.
    pub(crate) against: Vec<f64>,
}

/// Judges each place; `core` are places surely inside.
pub(crate) fn judge(
    cloth: &Cloth,
    (template, fit): (&Array2<f32>, &Fit),
    places: &[Place],
    core: Range<usize>,
) -> Judged {
    let rows: Vec<(usize, usize)> = places
        .iter()
        .map(|p| p.samples(cloth, p.window()))
        .collect();
    let match_of: Vec<f64> = places
        .iter()
        .map(|p| correlation(&cloth.level.samples, template, p))
        .collect();
    let usual = median(&match_of[core.clone()]).unwrap_or(0.0);
    // Stripes and slubs give the picks of the middle a long lower tail.
    let low = quantile(&match_of[core.clone()], 0.05).unwrap_or(0.0);
    let spread = ((usual - low) / 1.645).max(LEAST_SPREAD);
    let against = if fit.correlation > 0.0 {
        misfit(cloth, (template, fit), places, &core)
    } else {
        vec![0.0; places.len()]
    };
    let kinds = Kinds::of_body(&cloth.raw, (rows[core.start].0, rows[core.end - 1].1));
    let colours = unusual_colours(&cloth.raw, &kinds, &rows, core);
    let favour = match_of
        .iter()
        .zip(&colours)
        .zip(&against)
        .map(|((m, unusual), against)| {
            let by_match = MATCH.ratio((usual - m) / spread);
            let by_colour = COLOUR.ratio(unusual.max(0.01).ln());
            let signs = by_match + by_colour;
            if fit.correlation > 0.0 {
                let all = GRANTED + SIGNS_WEIGHT * signs.min(BOUNDS.1) - against;
                all.clamp(BOUNDS.0, BOUNDS.1)
            } else {
                signs
            }
        })
        .collect();
    Judged { favour, against }
}

/// One sign's log-likelihood ratio, a straight line between its bounds.
struct Sign {
    /// Where both are as likely.
    even_at: f64,
    /// Ratio lost with each unit beyond.
    slope: f64,
}

impl Sign {
    fn ratio(&self, seen: f64) -> f64 {
        (self.slope * (self.even_at - seen)).clamp(BOUNDS.0, BOUNDS.1)
    }
}

/// The correlation, in the middle's spreads below its median.
const MATCH: Sign = Sign {
    even_at: 5.0,
    slope: 0.4,
};

/// The natural logarithm of how unusual the colours are, 0 at the middle's 95th percentile.
const COLOUR: Sign = Sign {
    even_at: 0.75,
    slope: 4.0,
};

/// Correlation of the place's levelled samples with the repeat.
fn correlation(level: &Array2<f32>, template: &Array2<f32>, place: &Place) -> f64 {
    let (from, to) = place.window();
    let whole = |d: f64| (d * place.spacing).round() as i64;
    let rows = whole(from)..=whole(to);
    Products::new(level, template, (place, 0.0), (rows, level.dim().1)).correlation()
}

/// Sums over the rows of a place, of which what speaks of its likeness to the repeat is made.
pub(super) struct Products {
    /// Samples times repeat.
    both: f64,
    /// Squares of the samples, and of the repeat.
    own: f64,
    expected: f64,
}

impl Products {
    /// Holds levelled samples against the repeat: `rows` about a place's middle, which may be taken to lie `off`
    /// spacings from where it was expected, and the first so many `values` of each.
    pub(super) fn new(
        level: &Array2<f32>,
        template: &Array2<f32>,
        (place, off): (&Place, f64),
        (rows, values): (RangeInclusive<i64>, usize),
    ) -> Self {
        let states = template.dim().0 as i64;
        let last = level.dim().0 as i64 - 1;
        let middle = (place.middle + off * place.spacing).round() as i64;
        let mut sums = Self {
            both: 0.0,
            own: 0.0,
            expected: 0.0,
        };
        for d in rows {
            let i = middle + d;
            if !(0..=last).contains(&i) {
                continue;
            }
            let phase = place.phase + d as f64 / place.spacing;
            let state = (phase * STATES_A_PICK as f64).round() as i64;
            let a = level.row(i as usize).split_at(Axis(0), values).0;
            let repeat = template.row(state.rem_euclid(states) as usize);
            let b = repeat.split_at(Axis(0), values).0;
            sums.both += f64::from(a.dot(&b));
            sums.own += f64::from(a.dot(&a));
            sums.expected += f64::from(b.dot(&b));
        }
        sums
    }

    /// Correlation of samples and repeat.
    pub(super) fn correlation(&self) -> f64 {
        self.both / (self.own * self.expected).sqrt().max(1e-9)
    }

    /// How much of the repeat is in the samples, by least squares.
    pub(super) fn gain(&self) -> f64 {
        self.both / self.expected.max(1e-9)
    }
}
