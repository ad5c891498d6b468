//! Which cells of the cloth's own repeat show weft, and which pieces across are no ends?
//!
//! # Method
//! 1. The rows of each end are parted in two where the parts differ most (N. Otsu, "A threshold selection method from
//!    gray-level histograms", IEEE Trans. SMC, 1979), along the line of the two colours that lie farthest apart, and
//!    then each row put to the part that it is nearer to.
//! 2. The part that is more like one colour across all ends is the weft, for warps are striped; where both are, it
//!    makes no difference which is called so.
//! 3. A row that is hardly nearer to one part than to the other isn't sure; an outermost piece whose parts hardly differ
//!    is a turn of the weft.

use super::cell_colours::squared;
use super::cell_looks::CELL_HALF;
use super::lattice::{Lattice, Template};
use crate::stats::{self, median};

/// An outermost piece that changes less than this share of what ends usually do is a turn of the weft.
const TURN: f64 = 0.4;

/// A row is sure that is so much nearer to its own part than to the other.
const SURE: f64 = 0.5;

/// Rounds of putting rows to the nearer part: few rows settle at once.
const ROUNDS: usize = 6;

/// The mean colour of the middle of each end.
fn at_ends(columns: &[[f64; 3]], lattice: &Lattice) -> Vec<[f64; 3]> {
    let end = |e: usize| {
        let (from, to) = lattice.middle(e, CELL_HALF.1, columns.len());
        let sum = |c: usize| columns[from..to].iter().map(|v| v[c]).sum::<f64>();
        [0, 1, 2].map(|c| sum(c) / (to - from) as f64)
    };
    (0..lattice.ends).map(end).collect()
}

/// Whether the outermost pieces hardly change from row to row, as turns of the weft.
pub(super) fn turns(template: &Template, lattice: &Lattice) -> [bool; 2] {
    let ends = Ends::of(template, lattice);
    let apart: Vec<f64> = ends.parts.iter().map(Parts::apart).collect();
    let least = TURN * median(&apart).unwrap_or(0.0);
    let is = |apart: Option<&f64>| apart.is_some_and(|apart| *apart < least);
    [is(apart.first()), is(apart.last())]
}

/// Whether the weft shows in each row and end of the repeat, `[row][end]`, and whether that is sure.
pub(super) fn shows_weft(template: &Template, lattice: &Lattice) -> Vec<Vec<(bool, bool)>> {
    let ends = Ends::of(template, lattice);
    let weft = ends.common_colour();
    let is = |parts: &Parts, r: usize| {
        let upper_is_weft = squared(&parts.means[1], &weft) <= squared(&parts.means[0], &weft);
        (parts.upper[r] == upper_is_weft, parts.sure[r])
    };
    let row = |r: usize| ends.parts.iter().map(|parts| is(parts, r)).collect();
    (0..template.len()).map(row).collect()
}

/// The rows of one end, parted in two.
struct Parts {
    upper: Vec<bool>,
    /// Whether a row is much nearer to its own part than to the other.
    sure: Vec<bool>,
    means: [[f64; 3]; 2],
}

impl Parts {
    /// Of an end's colours, one a row.
    fn of(colours: &[[f64; 3]]) -> Self {
        let mut upper = parted(colours);
        let mut means = means(colours, &upper);
        for _ in 0..ROUNDS {
            let nearer = |v: &[f64; 3]| squared(v, &means[1]) < squared(v, &means[0]);
            let next: Vec<bool> = colours.iter().map(nearer).collect();
            let none = next.iter().all(|u| *u) || next.iter().all(|u| !u);
            if none || next == upper {
                break;
            }
            upper = next;
            means = self::means(colours, &upper);
        }
        let sure = |(v, upper): (&[f64; 3], &bool)| {
            let [own, other] = [*upper, !*upper].map(|u| squared(v, &means[usize::from(u)]));
            own.sqrt() < SURE * other.sqrt()
        };
        let sure = colours.iter().zip(&upper).map(sure).collect();
        Self { upper, sure, means }
    }

    /// How far the two parts lie apart, units of colour.
    fn apart(&self) -> f64 {
        squared(&self.means[0], &self.means[1]).sqrt()
    }
}

/// Which rows are of the upper part, along the line of the two colours that lie farthest apart.
fn parted(colours: &[[f64; 3]]) -> Vec<bool> {
    let way = farthest_apart(colours);
    let place = |colour: &[f64; 3]| (0..3).map(|c| colour[c] * way[c]).sum::<f64>();
    let mut order: Vec<(f64, usize)> = colours.iter().map(place).zip(0..).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let places: Vec<f64> = order.iter().map(|(at, _)| *at).collect();
    let lower = stats::parted(&places).unwrap_or(order.len());
    let mut upper = vec![false; colours.len()];
    for (_, row) in &order[lower..] {
        upper[*row] = true;
    }
    upper
}

/// The mean colours of the lower and of the upper part.
fn means(colours: &[[f64; 3]], upper: &[bool]) -> [[f64; 3]; 2] {
    [false, true].map(|which| {
        let of = || colours.iter().zip(upper).filter(|(_, u)| **u == which);
        let n = of().count().max(1) as f64;
        [0, 1, 2].map(|c| of().map(|(v, _)| v[c]).sum::<f64>() / n)
    })
}

/// The difference of the two colours that lie farthest apart.
fn farthest_apart(colours: &[[f64; 3]]) -> [f64; 3] {
    let mut most = (-1.0, [0.0; 3]);
    for (k, a) in colours.iter().enumerate() {
        for b in &colours[k + 1..] {
            let apart = squared(a, b);
            if apart > most.0 {
                most = (apart, [0, 1, 2].map(|c| b[c] - a[c]));
            }
        }
    }
    most.1
}

/// All ends.
struct Ends {
    parts: Vec<Parts>,
}

impl Ends {
    fn of(template: &Template, lattice: &Lattice) -> Self {
        let rows: Vec<Vec<[f64; 3]>> = template.iter().map(|row| at_ends(row, lattice)).collect();
        let end = |e: usize| Parts::of(&rows.iter().map(|row| row[e]).collect::<Vec<_>>());
        Self {
            parts: (0..lattice.ends).map(end).collect(),
        }
    }

    /// The colour to which every end has one like: the weft's.
    fn common_colour(&self) -> [f64; 3] {
        let unlike = |colour: &[f64; 3]| -> f64 {
            let nearest = |parts: &Parts| {
                let [a, b] = parts.means.map(|mean| squared(&mean, colour));
                a.min(b).sqrt()
            };
            self.parts.iter().map(nearest).sum()
        };
        let all = self.parts.iter().flat_map(|parts| parts.means);
        let least = all.min_by(|a, b| unlike(a).total_cmp(&unlike(b)));
        least.unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// So many ends, four columns each.
    fn lattice(ends: usize) -> Lattice {
        Lattice {
            first: 0.0,
            pitch: 4.0,
            ends,
            hidden: [0, 0],
            numbered: true,
            clear: 1.0,
        }
    }

    #[test]
    fn a_striped_warp_is_told_from_its_weft_and_a_row_between_both_is_not_sure() {
        let lattice = lattice(6);
        // Warps of two colours, one lighter than the weft and one darker.
        let (weft, warps) = ([8.0, 2.0, 0.0], [[12.0, 0.0, 0.0], [3.0, 0.0, 1.0]]);
        let over = |r: usize, e: usize| (r + e).is_multiple_of(3);
        let mut template: Vec<Vec<[f64; 3]>> = (0..6)
            .map(|r| {
                let colour = |j: usize| match over(r, j / 4) {
                    true => weft,
                    false => warps[j / 4 % 2],
                };
                (0..24).map(colour).collect()
            })
            .collect();
        let shown = shows_weft(&template, &lattice);
        for r in 0..6 {
            let drawn: Vec<_> = (0..6).map(|e| (over(r, e), true)).collect();
            assert_eq!(shown[r], drawn, "row {r}");
        }
        // End 2 half way in one of its warp rows.
        template[0][8..12].fill([9.8, 1.0, 0.0]);
        let shown = shows_weft(&template, &lattice);
        assert!(!shown[0][2].1 && shown[0][0].1);
    }

    #[test]
    fn an_outermost_piece_that_hardly_changes_is_a_turn() {
        let lattice = lattice(5);
        let row = |r: usize| {
            let colour = |j: usize| match (j / 4, (r + j / 4) % 2) {
                (4, odd) => [5.0 + 0.2 * odd as f64, 0.0, 0.0],
                (_, odd) => [8.0 * odd as f64, 0.0, 0.0],
            };
            (0..20).map(colour).collect()
        };
        let template: Vec<Vec<[f64; 3]>> = (0..2).map(row).collect();
        assert_eq!(turns(&template, &lattice), [false, true]);
    }
}
