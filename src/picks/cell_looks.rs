//! How does every cell look, and which yarn should it show?
//!
//! # Method
//! A cell is one pick crossing one end. Its look is the mean colour of nine small fields, three along the pick's
//! breadth by three across the end's, in units in which lightness counts half: a yarn on top is rounded, lit and
//! flanked by furrows, which the colour of the middle alone doesn't say.
//!
//! # Limits
//! The outermost shares of a cell aren't looked at: neighbours reach into them.

use nalgebra::SVector;
use ndarray::{Array2, ArrayView2};

use super::cell_colours::UNITS;
use super::rows::Fit;

/// Half of the middle of a cell, in spacings along and breadths of an end across.
pub(super) const CELL_HALF: (f64, f64) = (0.28, 0.30);

/// Middles of the fields from the cell's own, in spacings along and breadths of an end across.
const FIELDS: [f64; 3] = [-0.3, 0.0, 0.3];

/// Half of a field, along and across, in the same units.
const FIELD_HALF: (f64, f64) = (0.12, 0.14);

/// Numbers in a look: L*, a*, b* of nine fields.
pub(super) const LOOK: usize = 27;

/// Columns an end that fields are cut from.
const COLUMNS_AN_END: usize = 5;

/// The colours of a cell's nine fields in [`UNITS`]: three along times three across, L*, a*, b* of each.
pub(super) type Look = SVector<f64, LOOK>;

/// Where a pick lies in the samples and in the repeat.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    /// Middle of the pick, fractional sample.
    pub(crate) sample: f64,
    /// Samples a pick around it.
    pub(crate) spacing: f64,
    /// Row of the picture's repeat.
    pub(crate) row: usize,
    /// Whether its weft is the rarer of two.
    pub(crate) rarer: bool,
}

/// What each cell looks like and should show.
pub(crate) struct Looks {
    /// `of[pick][end]`.
    pub(super) of: Vec<Vec<Look>>,
    /// Whether the weft should show.
    pub(super) weft: Vec<Vec<bool>>,
    /// Whether a pick's weft is the rarer of two.
    pub(super) rarer: Vec<bool>,
}

impl Looks {
    /// Columns that [`Looks::fitted`] wants of so many ends.
    pub(crate) fn columns(ends: usize) -> usize {
        COLUMNS_AN_END * ends
    }

    /// Of the cloth in Lab, shape (rows along, columns · 3), and a fitted drawdown.
    pub(crate) fn fitted(raw: &Array2<f32>, spots: &[Spot], fit: &Fit) -> Self {
        let ends = fit.expected[0].len();
        let pitch = (raw.dim().1 / 3) as f64 / (ends as f64 + 2.0 * fit.margin);
        let picks: Vec<(f64, f64)> = spots
            .iter()
            .map(|spot| (spot.sample, spot.spacing))
            .collect();
        let shows = |spot: &Spot| fit.expected[spot.row].iter().map(|v| *v > 0.0).collect();
        Self {
            of: looks(&raw.view(), &picks, (fit.margin * pitch, pitch), ends),
            weft: spots.iter().map(shows).collect(),
            rarer: spots.iter().map(|spot| spot.rarer).collect(),
        }
    }

    /// Ends across.
    pub(super) fn ends(&self) -> usize {
        self.of.first().map_or(0, Vec::len)
    }
}

/// How each cell of a picture in Lab looks, shape (rows along, columns · 3): of picks with these middles and spacings,
/// rows, and so many ends, the first from a left border on and each of a pitch, columns.
pub(super) fn looks(
    raw: &ArrayView2<'_, f32>,
    picks: &[(f64, f64)],
    (first, pitch): (f64, f64),
    ends: usize,
) -> Vec<Vec<Look>> {
    let columns = raw.dim().1 / 3;
    let across = |end: usize| {
        let middle = first + (end as f64 + 0.5) * pitch;
        FIELDS.map(|at| field(middle, at, (FIELD_HALF.1, pitch), columns))
    };
    let across: Vec<_> = (0..ends).map(across).collect();
    let of_pick = |&(middle, spacing): &(f64, f64)| {
        let along = FIELDS.map(|at| rows(middle, at, (FIELD_HALF.0, spacing), raw.dim().0));
        let look = |across: &[(usize, usize); 3]| {
            Look::from_iterator(along.iter().flat_map(|rows| {
                let colours = across.map(|columns| mean_colour(raw, *rows, columns));
                colours.into_iter().flatten()
            }))
        };
        across.iter().map(look).collect()
    };
    picks.iter().map(of_pick).collect()
}

/// From where up to where a field lies among so many rows: the row that it ends on is of it.
pub(super) fn rows(middle: f64, at: f64, half: (f64, f64), count: usize) -> (usize, usize) {
    let (from, to) = field(middle, at, half, count);
    (from, (to + 1).min(count))
}

/// From where up to where a field lies among so many rows or columns; `half` of it in units of a `pitch`.
fn field(middle: f64, at: f64, (half, pitch): (f64, f64), count: usize) -> (usize, usize) {
    let border = |off: f64| (middle + off * pitch).round().max(0.0) as usize;
    let from = border(at - half).min(count - 1);
    (from, border(at + half).clamp(from + 1, count))
}

/// Mean colour over rows and columns, from and up to, in [`UNITS`].
fn mean_colour(
    raw: &ArrayView2<'_, f32>,
    (from, to): (usize, usize),
    (left, right): (usize, usize),
) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for i in from..to {
        for j in left..right {
            for (c, s) in sum.iter_mut().enumerate() {
                *s += f64::from(raw[[i, 3 * j + c]]);
            }
        }
    }
    let n = ((to - from) * (right - left)).max(1) as f64;
    [0, 1, 2].map(|c| sum[c] / n / UNITS[c])
}
