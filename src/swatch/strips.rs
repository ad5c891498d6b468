//! What would the spacing be if the cloth were cut into bands?
//!
//! How often a picture's marks repeat (`spacing`) doesn't always tell the pick from its double, its half or a stripe.
//! A band's picks are told by how its cells recur from pick to pick, which says more; but a close-up may
//! hold hundreds of ends, and its weft may lie aslant.
//!
//! # Method
//! 1. A strip in the middle, and one at each side where there is room, [`WIDE_PICKS`] picks wide as the marks have them, each
//!    turned so that the weft lies square to it.
//! 2. Each strip names the spacings that its picks may have, with the signs that speak for them
//!    ([`strip_spacings`]). Alike ones of several strips are one, their signs averaged.
//! 3. The signs, in how many strips the spacing was named, and what the marks say of it are weighed by a conditional
//!    logistic regression.
//!
//! The weights are fitted to 1309 close-ups cut from drawn bands, half of them turned by up to 8°, to 200 drawn
//! swatches and to 180 pieces of six real cloths. Of 637 others, drawn, the program counts 558 right and 12 wrong without a
//! warning; without this and `as_band`, 482 and 27.
//!
//! # Limits
//! A spacing of which fewer than [`FEWEST_PICKS`] lie in view, or one finer than what is counted, isn't looked at: where the
//! marks say so, they alone decide. Of those 637 one weft-faced close-up in seven is given another count, most with a
//! warning.

use ndarray::Array2;

use super::lay::frame;
use super::spacing::{Candidate, Choice, Worth};
use crate::band::{BandTrace, StraightBand};
use crate::picks::{SIGNS_OF_CLOTH, StripSpacing, strip_spacings};

/// Width of a strip, picks.
const WIDE_PICKS: f64 = 20.0;

/// Fewest picks in view that a spacing is looked for by.
const FEWEST_PICKS: f64 = 7.0;

/// Strips are shortened before they become narrower than this, picks.
const NARROW_PICKS: f64 = 3.0;

/// Narrowest strip, samples.
const LEAST_WIDE: f64 = 8.0;

/// Spacings of two strips nearer than this (natural logarithm) are one.
const ALIKE: f64 = 0.08;

/// A repeat of the marks this near (natural logarithm) to a spacing is that spacing.
const SAME: f64 = 0.07;

/// Repeats whose slopes, rows to a column, differ by more don't lie alike: two bins of the spectrum.
const SAME_SLOPE: f64 = 0.1;

/// How far below the best (natural logarithm) a spacing lies whose repeat the marks hardly show, and what more counts.
const HARDLY: f64 = 3.0;

/// What the marks' score, as far as it lies below the best, weighs; the same beyond [`HARDLY`]; the share of strips.
const WEIGHTS: [f64; 3] = [0.23, 0.22, 3.35];

/// What each sign weighs.
const SIGN_WEIGHTS: [f64; SIGNS_OF_CLOTH] = [
    0.17, 0.82, 1.59, -1.42, -1.05, -0.51, -1.4, -0.94, -2.69, -1.51, -2.14, 0.12, 3.15, 0.02,
    -0.71, -1.54, 2.05, -0.25, -1.66, 0.35, -0.22, -2.02, -0.11, 1.45, -0.32,
];

/// Chooses among the marks' repeats once more, by what strips of the cloth say; as the marks alone do where strips
/// can't say.
pub(super) fn chosen(all: &[Candidate], straight: &StraightBand, least_px: f64) -> Option<Choice> {
    let by_marks = Choice::of(all, &Worth::by_marks(all))?;
    let first = by_marks.best;
    let strips = Strips::new(straight, 1.0 / first.along, slope(&first)).all();
    let row_mm = straight.step_mm / slope(&first).hypot(1.0);
    let seen: Vec<Vec<StripSpacing>> = strips
        .iter()
        .map(|strip| strip_spacings(&strip.band, least_px, FEWEST_PICKS))
        .collect();
    let pooled = pooled(&seen, row_mm);
    let coarsest = pooled.iter().map(|p| p.log).fold(f64::MIN, f64::max);
    let finest = pooled.iter().map(|p| p.log).fold(f64::MAX, f64::min);
    let marked = -first.along.ln();
    if pooled.is_empty() || marked > coarsest + ALIKE || marked < finest - ALIKE {
        return Some(by_marks);
    }
    let by_strips = Choice::of(all, &worths(all, &pooled, slope(&first)));
    by_strips
        .map(|choice| choice.beside(&by_marks))
        .or(Some(by_marks))
}

/// A spacing that strips named.
struct Pooled {
    /// Natural logarithm of it, rows of the picture.
    log: f64,
    /// Share of the strips that named it.
    share: f64,
    /// Mean of their signs.
    signs: [f64; SIGNS_OF_CLOTH],
}

/// The spacings of all strips, alike ones as one; `row_mm` is what a row of the picture is along a
/// strip.
fn pooled(seen: &[Vec<StripSpacing>], row_mm: f64) -> Vec<Pooled> {
    let log = |spacing: &StripSpacing| (spacing.spacing_mm / row_mm).ln();
    let mut logs: Vec<f64> = Vec::new();
    for at in seen.iter().flatten().map(log) {
        if logs.iter().all(|known| (at - known).abs() >= ALIKE) {
            logs.push(at);
        }
    }
    let telling = seen.iter().filter(|strip| !strip.is_empty()).count();
    let nearest = |strip: &Vec<StripSpacing>, at: f64| {
        let alike = strip.iter().filter(|s| (log(s) - at).abs() < ALIKE);
        alike
            .min_by(|a, b| (log(a) - at).abs().total_cmp(&(log(b) - at).abs()))
            .map(|s| s.signs)
    };
    logs.into_iter()
        .map(|at| {
            let named: Vec<_> = seen.iter().filter_map(|strip| nearest(strip, at)).collect();
            let n = named.len() as f64;
            Pooled {
                log: at,
                share: n / telling as f64,
                signs: std::array::from_fn(|k| named.iter().map(|s| s[k]).sum::<f64>() / n),
            }
        })
        .collect()
}

/// The repeats that strips named, each the one that the marks show best as far aslant as the strips were cut, with what
/// speaks for it.
fn worths(all: &[Candidate], pooled: &[Pooled], cut_at: f64) -> Vec<Worth> {
    let most = all.iter().map(|c| c.score).fold(f64::MIN, f64::max);
    pooled
        .iter()
        .filter_map(|named| {
            let near = all
                .iter()
                .filter(|c| (-c.along.ln() - named.log).abs() < SAME)
                .filter(|c| (slope(c) - cut_at).abs() < SAME_SLOPE);
            let candidate = *near.max_by(|a, b| a.score.total_cmp(&b.score))?;
            let below = candidate.score - most;
            let parts = [below, (below + HARDLY).min(0.0), named.share];
            let marks: f64 = parts.iter().zip(WEIGHTS).map(|(p, w)| p * w).sum();
            let signs = named.signs.iter().zip(SIGN_WEIGHTS);
            Some(Worth {
                candidate,
                worth: marks + signs.map(|(s, w)| s * w).sum::<f64>() + candidate.usual,
            })
        })
        .collect()
}

/// Rows to a column by which a repeat's lines fall.
pub(super) fn slope(repeat: &Candidate) -> f64 {
    -repeat.across / repeat.along
}

/// A strip of the cloth as a band that runs out of the picture at both ends, the weft square to it.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    pub(super) band: BandTrace,
    /// Rows of the picture to a sample along the strip, for a pick that is followed to the picture's middle column.
    pub(super) stretch: f64,
    /// Samples along the strip that were left out at each end, for the sides lie too near.
    pub(super) shortened: f64,
}

/// Where strips may lie in the picture.
struct Strips<'a> {
    straight: &'a StraightBand,
    /// Rows to a column by which the weft falls.
    slope: f64,
    /// Samples along the weft to a column.
    stretch: f64,
    /// Half of a strip's width and length, samples.
    half: (f64, f64),
    /// How far its middle may lie from the picture's, columns.
    room: f64,
    shortened: f64,
}

impl<'a> Strips<'a> {
    /// As wide as a band of picks `spacing` rows apart, as far as there is cloth.
    fn new(straight: &'a StraightBand, spacing: f64, slope: f64) -> Self {
        let (rows, columns) = straight.lab[0].dim();
        let stretch = slope.hypot(1.0);
        let (high, wide) = (
            0.5 * stretch * (rows as f64 - 1.0),
            0.5 * stretch * (columns as f64 - 1.0),
        );
        let picks = |n: f64| (0.5 * n * spacing / stretch).max(0.5 * LEAST_WIDE);
        let fits = wide - high * slope.abs();
        let across = picks(WIDE_PICKS)
            .min(fits.max(picks(NARROW_PICKS)))
            .min(wide);
        let whole = (high - across * slope.abs()).max(1.0);
        let along = match slope.abs() {
            slope if slope * whole > wide - across => ((wide - across) / slope).max(1.0),
            _ => whole,
        };
        Self {
            straight,
            slope,
            stretch,
            half: (across, along),
            room: ((wide - across - along * slope.abs()) / stretch).max(0.0),
            shortened: whole - along,
        }
    }

    /// The one in the middle, and one at each side where there is room.
    fn all(&self) -> Vec<Strip> {
        let beside = 2.0 * self.half.0 / self.stretch;
        if self.room < beside {
            return vec![self.strip(0.0)];
        }
        [-self.room, 0.0, self.room].map(|at| self.strip(at)).into()
    }

    /// The one whose middle lies so many columns beside the picture's.
    fn strip(&self, beside: f64) -> Strip {
        let picture = &self.straight.lab;
        let (rows, columns) = picture[0].dim();
        let stretch = self.stretch;
        let samples = |half: f64| ((2.0 * half) as usize + 1).max(2);
        let shape = (samples(self.half.1), samples(self.half.0));
        let middle = |n: usize| 0.5 * (n as f64 - 1.0);
        let at = |(i, j): (usize, usize)| {
            let (a, b) = (i as f64 - middle(shape.0), j as f64 - middle(shape.1));
            let row = middle(rows) + (a + b * self.slope) / stretch;
            let column = middle(columns) + beside + (b - a * self.slope) / stretch;
            (row, column)
        };
        let lab = picture
            .each_ref()
            .map(|channel| Array2::from_shape_fn(shape, |ij| between(channel, at(ij))));
        let step_mm = self.straight.step_mm;
        let half_mm = 0.5 * shape.1 as f64 * step_mm;
        let cut = StraightBand {
            lab,
            step_mm,
            s0_mm: -middle(shape.0) * step_mm,
            t0_mm: 0.5 * step_mm - half_mm,
            centre_line: self.straight.centre_line,
        };
        let outer = 0.5 * shape.0 as f64 * step_mm;
        Strip {
            band: frame(cut, (-outer, outer), half_mm),
            stretch,
            shortened: self.shortened,
        }
    }
}

/// The middle one of the strips for this spacing, rows, on weft that falls by `slope` rows a column.
pub(super) fn middle_strip(straight: &StraightBand, spacing: f64, slope: f64) -> Strip {
    Strips::new(straight, spacing, slope).strip(0.0)
}

/// The picture between its samples.
fn between(picture: &Array2<f32>, (row, column): (f64, f64)) -> f32 {
    let (rows, columns) = picture.dim();
    let split = |at: f64, n: usize| {
        let at = at.clamp(0.0, n as f64 - 1.0);
        let before = (at as usize).min(n.saturating_sub(2));
        (before, (before + 1).min(n - 1), (at - before as f64) as f32)
    };
    let (a, b, down) = split(row, rows);
    let (c, d, right) = split(column, columns);
    let line = |i: usize| picture[[i, c]] * (1.0 - right) + picture[[i, d]] * right;
    line(a) * (1.0 - down) + line(b) * down
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::CentreLine;
    use crate::geometry::Point;

    /// Picks ten rows apart along the middle column, brighter towards the weaver's right, all turned by `slope`.
    fn turned(slope: f64) -> StraightBand {
        let stretch = slope.hypot(1.0);
        let lightness = Array2::from_shape_fn((301, 221), |(i, j)| {
            let (row, column) = (i as f64 - 150.0, j as f64 - 110.0);
            let along = (row - slope * column) / stretch;
            let across = (column + slope * row) / stretch;
            let crown = (std::f64::consts::TAU * along * stretch / 10.0).cos();
            (50.0 + 20.0 * crown + 0.1 * across) as f32
        });
        let flat = Array2::zeros(lightness.dim());
        StraightBand {
            lab: [lightness, flat.clone(), flat],
            step_mm: 0.1,
            s0_mm: 0.3,
            t0_mm: -11.0,
            centre_line: CentreLine {
                origin: Point::new(0.0, 0.0),
                along: Point::new(1.0, 0.0),
                curvature: 0.0,
            },
        }
    }

    #[test]
    fn a_weft_that_lies_aslant_is_laid_square_with_its_warp_along_the_strip() {
        let slope = 0.1;
        let strip = middle_strip(&turned(slope), 10.0, slope);
        let lightness = &strip.band.straight.lab[0];
        let (rows, columns) = lightness.dim();
        assert!(columns >= 100 && rows >= 250, "{rows} by {columns}");
        assert!(strip.shortened < 1.0, "{}", strip.shortened);
        // Lightness rises by 0.1 a column and nothing else changes along a row, nor a spacing later.
        let spacing = 10.0 / strip.stretch;
        for i in [20.0_f64, 100.0, 180.0] {
            let row = i as usize;
            let rise = lightness[[row, columns - 1]] - lightness[[row, 0]];
            assert!((f64::from(rise) - 0.1 * (columns - 1) as f64).abs() < 0.6);
            let later = between(lightness, (i + 5.0 * spacing, 30.0));
            assert!((later - lightness[[row, 30]]).abs() < 0.8);
        }
    }

    #[test]
    fn where_there_is_room_strips_lie_side_by_side_and_else_one_in_the_middle() {
        assert_eq!(Strips::new(&turned(0.0), 10.0, 0.0).all().len(), 1);
        assert_eq!(Strips::new(&turned(0.0), 3.0, 0.0).all().len(), 3);
    }

    #[test]
    fn a_strip_aslant_is_narrowed_before_it_is_shortened() {
        let picture = turned(0.0);
        let strips = |spacing, slope| Strips::new(&picture, spacing, slope);
        let narrowed = strips(40.0, 0.1);
        assert!(narrowed.half.0 < 100.0 && narrowed.shortened < 1.0);
        let shortened = strips(60.0, 0.2);
        assert!(shortened.shortened > 10.0 && shortened.half.0 > 85.0);
    }

    #[test]
    fn alike_spacings_of_two_strips_are_one_and_their_signs_a_mean() {
        let named = |spacing_mm: f64, sign: f64| StripSpacing {
            spacing_mm,
            signs: [sign; SIGNS_OF_CLOTH],
        };
        let seen = [
            vec![named(1.0, 0.2), named(2.0, 1.0)],
            vec![named(1.02, 0.4)],
            Vec::new(),
        ];
        let pooled = pooled(&seen, 0.1);
        assert_eq!(pooled.len(), 2);
        assert!((pooled[0].share - 1.0).abs() < 1e-9 && (pooled[1].share - 0.5).abs() < 1e-9);
        assert!((pooled[0].signs[3] - 0.3).abs() < 1e-9);
        assert!((pooled[0].log - 10.0_f64.ln()).abs() < 1e-9);
    }
}
