//! How far has each cell gone from the colour of the yarn that should show there to the other yarn's?
//!
//! # Method
//! 1. The colour of every cell: mean over the middle of the pick and of the end, in units in which a
//!    difference in lightness counts half of one in a* or b*.
//! 2. The warp's colour is its own end's (warps are striped): the median of the end's nearest cells that
//!    should show warp. The weft's colour is its own pick's (wefts change from pick to pick): the median of
//!    the pick's cells that should show weft, of the picks beside it too where those are few.
//! 3. How far the cell lies on the straight way from the one to the other, against where cells of its end
//!    usually lie: as a share of the way, and in the robust scatters of those cells.
//!
//! # Limits
//! Where the two colours hardly differ nothing can be told; [`Way::apart`] says how much they do.

use ndarray::Array2;

use super::cell_colours::{UNITS, median_colour};
use super::rows::Fit;
use crate::stats::{median, robust_sd};

/// Half of the phase and of the end's breadth over which a cell's colour is averaged.
pub(super) const CELL_HALF: (f64, f64) = (0.28, 0.30);

/// So many of an end's nearest cells tell its colour.
const NEAREST: usize = 12;

/// Fewer cells don't tell a warp's colour.
const LEAST_WARP: usize = 4;

/// Cells that are wished for to tell a weft's colour, and fewest that do.
const WEFT_CELLS: (usize, usize) = (5, 3);

/// Picks at either side that are asked for it.
const WEFT_REACH: usize = 3;

/// Fewest cells of an end that tell where its cells usually lie.
const LEAST_ALIKE: usize = 6;

/// Where cells usually lie farther along than this leaves of the way, it leads nowhere.
const LEAST_RUN: f64 = 0.05;

/// Least scatter, in units of colour: no cloth is evener.
const LEAST_SCATTER: f64 = 0.05;

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

/// One cell; NaN where its colours aren't known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    /// Share of the way from the yarn that should show (0) to the other (1).
    pub(super) gone: f64,
    /// The same in scatters of its like.
    pub(super) scatters: f64,
    /// How far the two colours lie apart, units.
    pub(super) apart: f64,
}

/// The ways of all cells, `ways[pick][end]`.
pub(super) fn ways(cells: &Cells) -> Vec<Vec<Way>> {
    let (warps, wefts) = (cells.warps(), cells.wefts());
    let mut lie = vec![vec![(f64::NAN, f64::NAN); cells.ends]; cells.colours.len()];
    for (n, row) in lie.iter_mut().enumerate() {
        for (e, lie) in row.iter_mut().enumerate() {
            if let (Some(warp), Some(weft)) = (warps[n][e], wefts[n]) {
                let (own, other) = if cells.weft[n][e] {
                    (weft, warp)
                } else {
                    (warp, weft)
                };
                *lie = along(&cells.colours[n][e], &own, &other);
            }
        }
    }
    let usual = Usual::of(&lie, cells);
    (0..lie.len())
        .map(|n| {
            let way = |e: usize| usual.way(lie[n][e], cells.kind(n, e), e);
            (0..cells.ends).map(way).collect()
        })
        .collect()
}

/// What each cell shows and should show.
pub(crate) struct Cells {
    ends: usize,
    colours: Vec<Vec<[f64; 3]>>,
    /// Whether the weft should show.
    weft: Vec<Vec<bool>>,
    /// Whether a pick's weft is the rarer of two.
    rarer: Vec<bool>,
}

impl Cells {
    /// Of colours in [`UNITS`], `[pick][end]`; whether the weft should show in each; which picks are of the
    /// rarer of two wefts.
    pub(super) fn new(colours: Vec<Vec<[f64; 3]>>, weft: Vec<Vec<bool>>, rarer: Vec<bool>) -> Self {
        Self {
            ends: colours.first().map_or(0, Vec::len),
            colours,
            weft,
            rarer,
        }
    }

    /// Of the cloth in Lab, shape (rows along, columns · 3), and a fitted drawdown.
    pub(crate) fn fitted(raw: &Array2<f32>, spots: &[Spot], fit: &Fit) -> Self {
        let ends = fit.expected[0].len();
        let columns = raw.dim().1 / 3;
        let strips: Vec<(usize, usize)> = (0..ends)
            .map(|e| strip(e, ends, fit.margin, columns))
            .collect();
        let last = raw.dim().0 as f64 - 1.0;
        let colours = spots.iter().map(|spot| {
            let half = CELL_HALF.0 * spot.spacing;
            let from = (spot.sample - half).round().clamp(0.0, last) as usize;
            let to = (spot.sample + half).round().clamp(0.0, last) as usize;
            let colour = |strip: &(usize, usize)| mean_colour(raw, (from, to), *strip);
            strips.iter().map(colour).collect()
        });
        let shows = |spot: &Spot| fit.expected[spot.row].iter().map(|v| *v > 0.0).collect();
        Self::new(
            colours.collect(),
            spots.iter().map(shows).collect(),
            spots.iter().map(|spot| spot.rarer).collect(),
        )
    }

    /// The warp's colour at each cell: its end's, else the median of the ends beside it.
    fn warps(&self) -> Vec<Vec<Option<[f64; 3]>>> {
        let picks = self.colours.len();
        let mut warps = vec![vec![None; self.ends]; picks];
        for e in 0..self.ends {
            let shown: Vec<usize> = (0..picks).filter(|&n| !self.weft[n][e]).collect();
            if shown.len() < LEAST_WARP {
                continue;
            }
            for n in 0..picks {
                let near = nearest(&shown, n).map(|k| &self.colours[k][e]);
                warps[n][e] = median_colour(&near.collect::<Vec<_>>());
            }
        }
        for row in &mut warps {
            let known: Vec<[f64; 3]> = row.iter().flatten().copied().collect();
            let usual = median_colour(&known.iter().collect::<Vec<_>>());
            for warp in row {
                *warp = warp.or(usual);
            }
        }
        warps
    }

    /// The weft's colour in each pick.
    fn wefts(&self) -> Vec<Option<[f64; 3]>> {
        let picks = self.colours.len();
        (0..picks)
            .map(|n| {
                let mut shown: Vec<&[f64; 3]> = self.shown(n).collect();
                for d in 1..=WEFT_REACH {
                    if shown.len() >= WEFT_CELLS.0 {
                        break;
                    }
                    let beside = [n.checked_sub(d), Some(n + d).filter(|&k| k < picks)];
                    for k in beside.into_iter().flatten() {
                        if self.rarer[k] == self.rarer[n] {
                            shown.extend(self.shown(k));
                        }
                    }
                }
                median_colour(&shown).filter(|_| shown.len() >= WEFT_CELLS.1)
            })
            .collect()
    }

    /// The colours of a pick's cells that should show weft.
    fn shown(&self, n: usize) -> impl Iterator<Item = &[f64; 3]> {
        let cells = self.colours[n].iter().zip(&self.weft[n]);
        cells.filter(|(_, weft)| **weft).map(|(colour, _)| colour)
    }

    /// Weft or warp, of a usual pick or one of the rarer weft.
    fn kind(&self, n: usize, e: usize) -> usize {
        usize::from(self.weft[n][e]) + 2 * usize::from(self.rarer[n])
    }
}

/// The indices of `shown` nearest to `n`, `n` itself left out.
fn nearest(shown: &[usize], n: usize) -> impl Iterator<Item = usize> + '_ {
    let (mut below, mut above) = (
        shown.partition_point(|&k| k < n),
        shown.partition_point(|&k| k <= n),
    );
    std::iter::from_fn(move || {
        let lower = below.checked_sub(1).map(|k| n - shown[k]);
        let upper = shown.get(above).map(|k| k - n);
        if upper.is_some_and(|upper| lower.is_none_or(|lower| lower > upper)) {
            above += 1;
            return Some(shown[above - 1]);
        }
        below = below.checked_sub(1)?;
        Some(shown[below])
    })
    .take(NEAREST)
}

/// Kinds of cells: weft or warp, of the usual weft's picks or the rarer one's.
const KINDS: usize = 4;

/// Where the cells of each kind and end usually lie on their way.
struct Usual {
    /// Middle and scatter, `of[kind][end]`; middle 0 and no scatter where there are too few.
    of: Vec<Vec<(f64, Option<f64>)>>,
    /// Median of the scatters of a kind, or of the same yarn's in the usual weft's picks.
    pooled: Vec<Option<f64>>,
}

impl Usual {
    fn of(lie: &[Vec<(f64, f64)>], cells: &Cells) -> Self {
        let mut of = vec![vec![(0.0, None); cells.ends]; KINDS];
        for e in 0..cells.ends {
            let mut alike = vec![Vec::new(); KINDS];
            for (n, row) in lie
                .iter()
                .enumerate()
                .filter(|(_, row)| row[e].0.is_finite())
            {
                alike[cells.kind(n, e)].push(row[e].0);
            }
            for (kind, values) in alike.iter().enumerate() {
                if values.len() >= LEAST_ALIKE {
                    of[kind][e] = (median(values).unwrap_or(0.0), robust_sd(values));
                }
            }
        }
        let pooled: Vec<Option<f64>> = of
            .iter()
            .map(|ends| {
                let known: Vec<f64> = ends.iter().filter_map(|(_, scatter)| *scatter).collect();
                median(&known)
            })
            .collect();
        // Of a weft that was woven in few picks each end has too few cells: the usual weft's tell.
        let pooled = (0..KINDS)
            .map(|kind| pooled[kind].or(pooled[kind % 2]))
            .collect();
        Self { of, pooled }
    }

    fn way(&self, (lies, apart): (f64, f64), kind: usize, end: usize) -> Way {
        let (middle, own) = self.of[kind][end];
        let pooled = self.pooled[kind].unwrap_or(f64::NAN);
        let scatter = own.map_or(pooled, |own| own.max(pooled));
        let run = apart - middle;
        Way {
            gone: if run > LEAST_RUN * apart {
                (lies - middle) / run
            } else {
                f64::NAN
            },
            scatters: if scatter.is_nan() {
                f64::NAN
            } else {
                (lies - middle) / scatter.max(LEAST_SCATTER)
            },
            apart,
        }
    }
}

/// How far a colour lies on the way from `own` towards `other`, and how long the way is.
fn along(colour: &[f64; 3], own: &[f64; 3], other: &[f64; 3]) -> (f64, f64) {
    let (mut both, mut square) = (0.0, 0.0);
    for c in 0..3 {
        let d = other[c] - own[c];
        both += (colour[c] - own[c]) * d;
        square += d * d;
    }
    let apart = square.sqrt();
    (both / apart.max(1e-9), apart)
}

/// Columns of the middle of an end.
fn strip(end: usize, ends: usize, margin: f64, columns: usize) -> (usize, usize) {
    let pitch = columns as f64 / (ends as f64 + 2.0 * margin);
    let middle = (margin + end as f64 + 0.5) * pitch;
    let (a, b) = (middle - CELL_HALF.1 * pitch, middle + CELL_HALF.1 * pitch);
    let from = (a.round().max(0.0) as usize).min(columns - 1);
    (from, (b.round().max(0.0) as usize).clamp(from + 1, columns))
}

/// Mean colour over rows, both ends in, and a strip of columns.
fn mean_colour(
    raw: &Array2<f32>,
    (from, to): (usize, usize),
    (left, right): (usize, usize),
) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for i in from..=to {
        for j in left..right {
            for (c, s) in sum.iter_mut().enumerate() {
                *s += f64::from(raw[[i, 3 * j + c]]);
            }
        }
    }
    let n = ((to + 1 - from) * (right - left)).max(1) as f64;
    [0, 1, 2].map(|c| sum[c] / n / UNITS[c])
}
