//! Which cells differ from the cloth's own repeat, where no drawdown says how they should be?
//!
//! # Method
//! 1. The colour of fine columns in the middle of every pick; of each row of the repeat the median over its
//!    picks, which a slip or two don't move.
//! 2. Where the ends lie (`lattice`); which of the two yarns each shows in each row (`two_yarns`).
//! 3. That is held against the picks as a drawdown would be (`cells`), where the cells follow it all over the band.
//! 4. A pick with other cells that are doubtful, or that went away from the other yarn, has something lying over it;
//!    what differs in many picks of a row isn't known of the row. Neither is told; nor, where it isn't sure after how
//!    many picks the repeat comes round, what is only worth more than all else and not much by itself.
//!
//! # Limits
//! Each row must have been woven [`LEAST_PICKS`] times in the usual weft: of a colour that comes with the repeat nothing
//! is told, and in one of the warp's own colour shading alone may part the cells: what is woven wrongly there is
//! neither told nor said to be unmeasured. What was woven wrongly throughout is the repeat. Of 700 drawn bands without
//! slips two had one invented; on 521 with faults whose count was right 174 of 245 mis-woven picks were found and two
//! told that weren't.

use super::cell_colours::{UNITS, median_colour};
use super::cell_ways::{CELL_HALF, Cells, Way, ways};
use super::cells::{LEAST_WORTH, doubtful, odd_ways, worth};
use super::cloth::Cloth;
use super::columns::{Columns, INSET};
use super::lattice::Lattice;
use super::locate::Located;
use super::two_yarns::{at_ends, shows_weft, turns};
use crate::band::BandTrace;
use crate::stats::median;

/// Fine columns across.
const FINE: usize = 192;

/// So many rows of the picture a pick are looked at.
const ROWS_A_PICK: f64 = 12.0;

/// A row of the repeat is known from so many picks.
const LEAST_PICKS: usize = 3;

/// Fewer ends are no band.
const LEAST_ENDS: usize = 4;

/// So many ends more or fewer than planned may be turns of the weft, or hidden at the selvedges.
const MOST_ENDS_OFF: usize = 2;

/// The ends must beat so clearly across, of 2.
const LEAST_CLEAR: f64 = 0.8;

/// In a pick whose cells went away from the other yarn by more than this share of the least that went to it, nothing is
/// told. Of 135 slips on drawn bands it costs 3.
const MOST_AWAY: f64 = 0.5;

/// A cell that differs in so large a share of a row's picks, twice at least, isn't known of the row.
const RECURS: f64 = 0.125;

/// So large a share of all cells must be nearer to what they should show.
const LEAST_ALIKE: f64 = 0.93;

/// The two yarns must usually differ by so much, in units of colour.
const LEAST_APART: f64 = 1.0;

/// Where the ends lie by the cloth's own repeat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnEnds {
    /// Left border of the first end, as a share of the width from the left selvedge.
    pub first: f64,
    /// Breadth of an end, as a share of the width.
    pub pitch: f64,
    /// Width from selvedge to selvedge, mm.
    pub width_mm: f64,
    /// Whether the ends' numbers are sure; else only their places are.
    pub numbered: bool,
}

impl OwnEnds {
    /// From where to where ends lie, mm from the left selvedge; `first` and `last` from 0.
    #[must_use]
    pub fn across_mm(&self, first: usize, last: usize) -> [f64; 2] {
        let border = |end: usize| (self.first + self.pitch * end as f64) * self.width_mm;
        [border(first), border(last + 1)].map(|mm| mm.clamp(0.0, self.width_mm))
    }
}

/// A pick and an end, both from 0.
type Cell = (usize, usize);

/// The cells that differ from what the cloth shows everywhere else. The repeat is of so many `rows`, if it is `sure`;
/// `ends` is their number, where it is known, `jump` the pick after which the spacing jumps.
///
/// # Errors
/// Says in words why the repeat can't be held against the picks.
pub(super) fn odd_in_own_repeat(
    (cloth, located): (&Cloth, &Located),
    (rows, sure): (usize, bool),
    trace: &BandTrace,
    ends: Option<usize>,
    jump: Option<usize>,
) -> Result<(Vec<Cell>, OwnEnds), &'static str> {
    let rarer = usual_and_rarer(cloth, located);
    let row_of: Vec<usize> = located.picks.iter().map(|pick| pick.row).collect();
    let fine = fine_columns(cloth, located, trace);
    let template = template(&fine, &row_of, &rarer, rows)
        .ok_or("too few picks of each of its rows, in one weft, are in view")?;
    let unclear = "the ends can't be told apart across the width";
    let mut lattice = Lattice::of(&template)
        .filter(|lattice| lattice.clear >= LEAST_CLEAR)
        .ok_or(unclear)?;
    lattice.trim(turns(&template, &lattice), CELL_HALF.1, FINE);
    if lattice.ends < LEAST_ENDS {
        return Err(unclear);
    }
    if let Some(ends) = ends {
        let seen = lattice.ends + lattice.hidden[0] + lattice.hidden[1];
        if seen.abs_diff(ends) > MOST_ENDS_OFF {
            return Err("the ends that show across the width aren't as many as the plan's");
        }
        lattice.numbered = seen == ends;
    }
    let shown = shows_weft(&template, &lattice);
    let weft_in = |r: &usize| shown[*r].iter().map(|(weft, _)| *weft).collect();
    let weft = row_of.iter().map(weft_in).collect();
    let colours = fine.iter().map(|row| at_ends(row, &lattice)).collect();
    let mut ways = ways(&Cells::new(colours, weft, rarer));
    if !alike(&ways) {
        return Err("its cells don't show clearly enough which yarn lies on top");
    }
    for (row, &r) in ways.iter_mut().zip(&row_of) {
        let unsure = row.iter_mut().zip(&shown[r]).filter(|(_, (_, sure))| !sure);
        unsure.for_each(|(way, _)| way.gone = f64::NAN);
    }
    let mut odd = believed((&odd_ways(&ways, jump), sure), &ways, &row_of);
    odd.iter_mut()
        .for_each(|(_, end)| *end += lattice.hidden[0]);
    let share = |column: f64| INSET + (1.0 - 2.0 * INSET) * column / FINE as f64;
    let begins = lattice.first - lattice.hidden[0] as f64 * lattice.pitch;
    let pitch = (1.0 - 2.0 * INSET) * lattice.pitch / FINE as f64;
    Ok((
        odd,
        OwnEnds {
            first: share(begins),
            pitch,
            width_mm: trace.usual_width_mm().unwrap_or(0.0),
            numbered: lattice.numbered,
        },
    ))
}

/// Which picks are of the rarer weft; never most of them.
fn usual_and_rarer(cloth: &Cloth, located: &Located) -> Vec<bool> {
    let picks = located.picks.iter();
    let rarer: Vec<bool> = picks
        .map(|pick| cloth.shows_rarer(pick.placed.sample))
        .collect();
    let most = 2 * rarer.iter().filter(|rare| **rare).count() > rarer.len();
    rarer.iter().map(|rare| *rare != most).collect()
}

/// The colours of fine columns in the middle of each pick, in [`UNITS`].
fn fine_columns(cloth: &Cloth, located: &Located, trace: &BandTrace) -> Vec<Vec<[f64; 3]>> {
    let spacing = |n: usize| located.spacing(n) * cloth.mm_a_sample(located.picks[n].placed.sample);
    let picks = located.picks.len();
    let all: Vec<f64> = (0..picks).map(spacing).collect();
    let usual_mm = median(&all).unwrap_or(1.0);
    let one_in = (usual_mm / trace.straight.step_mm / ROWS_A_PICK).max(1.0) as usize;
    let columns = Columns::cut_rows(trace, FINE, 1.5 * usual_mm, one_in);
    let last = columns.lab.dim().0 as f64 - 1.0;
    (0..picks)
        .map(|n| {
            let at = cloth.s_mm(located.picks[n].placed.sample);
            let row = |s_mm: f64| columns.row_of(s_mm).round().clamp(0.0, last) as usize;
            let half = CELL_HALF.0 * all[n];
            let (from, to) = (row(at - half), row(at + half));
            let count = (to + 1 - from) as f64;
            let mut means = vec![[0.0; 3]; FINE];
            for i in from..=to {
                for (j, mean) in means.iter_mut().enumerate() {
                    for (c, unit) in UNITS.iter().enumerate() {
                        mean[c] += f64::from(columns.lab[[i, j, c]]) / (unit * count);
                    }
                }
            }
            means
        })
        .collect()
}

/// The median colours of each row of the repeat; `None` where one of them has too few picks.
fn template(
    fine: &[Vec<[f64; 3]>],
    row_of: &[usize],
    rarer: &[bool],
    rows: usize,
) -> Option<Vec<Vec<[f64; 3]>>> {
    let row = |r: usize| {
        let of_row = (0..fine.len()).filter(|&n| row_of[n] == r && !rarer[n]);
        let picks: Vec<&Vec<[f64; 3]>> = of_row.map(|n| &fine[n]).collect();
        if picks.len() < LEAST_PICKS {
            return None;
        }
        let column = |j: usize| {
            let colours: Vec<&[f64; 3]> = picks.iter().map(|pick| &pick[j]).collect();
            median_colour(&colours)
        };
        (0..FINE).map(column).collect()
    };
    (0..rows).map(row).collect()
}

/// Whether the cells follow the repeat all over the band, in yarns that differ.
fn alike(ways: &[Vec<Way>]) -> bool {
    let known: Vec<&Way> = ways
        .iter()
        .flatten()
        .filter(|way| way.gone.is_finite())
        .collect();
    let near = known.iter().filter(|way| way.gone < 0.5).count() as f64;
    let apart: Vec<f64> = known.iter().map(|way| way.apart).collect();
    let apart = median(&apart).unwrap_or(0.0);
    near > LEAST_ALIKE * known.len() as f64 && apart >= LEAST_APART
}

/// Those of the odd cells that are one pick's slip; `sure` says whether the repeat is.
fn believed((odd, sure): (&[Cell], bool), ways: &[Vec<Way>], row_of: &[usize]) -> Vec<Cell> {
    let clean = |n: usize| {
        let of_pick = odd.iter().filter(|(pick, _)| *pick == n);
        let least = of_pick
            .map(|(_, end)| worth(&ways[n][*end], 1.0))
            .fold(f64::INFINITY, f64::min);
        let told = |end: usize| odd.contains(&(n, end));
        let enough = sure || least >= LEAST_WORTH;
        enough
            && ways[n].iter().enumerate().all(|(end, way)| {
                worth(way, -1.0) <= MOST_AWAY * least && (told(end) || !doubtful(way))
            })
    };
    let recurs = |(n, e): Cell| {
        let row = row_of[n];
        let alike = odd.iter().filter(|(k, end)| *end == e && row_of[*k] == row);
        let (alike, woven) = (alike.count(), row_of.iter().filter(|r| **r == row).count());
        alike > 1 && alike as f64 >= RECURS * woven as f64
    };
    let keep = |cell: &Cell| clean(cell.0) && !recurs(*cell);
    odd.iter().copied().filter(keep).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways() -> Vec<Vec<Way>> {
        let own = Way {
            gone: 0.0,
            scatters: 0.0,
            apart: 5.0,
        };
        vec![vec![own; 8]; 40]
    }

    fn slipped(ways: &mut [Vec<Way>], pick: usize, end: usize) {
        (ways[pick][end].gone, ways[pick][end].scatters) = (1.0, 9.0);
    }

    #[test]
    fn a_slip_is_believed_but_not_where_something_lies_over_the_pick() {
        let mut ways = ways();
        slipped(&mut ways, 12, 3);
        slipped(&mut ways, 12, 4);
        let rows: Vec<usize> = (0..40).map(|n| n % 4).collect();
        let odd = vec![(12, 3), (12, 4)];
        assert_eq!(believed((&odd, true), &ways, &rows), odd);
        (ways[12][6].gone, ways[12][6].scatters) = (-0.8, -7.0);
        assert_eq!(believed((&odd, true), &ways, &rows), []);
        (ways[12][6].gone, ways[12][6].scatters) = (0.5, 4.0);
        assert_eq!(believed((&odd, true), &ways, &rows), []);
    }

    #[test]
    fn what_is_worth_little_is_believed_only_where_the_repeat_is_sure() {
        let mut ways = ways();
        slipped(&mut ways, 12, 3);
        slipped(&mut ways, 12, 4);
        let rows: Vec<usize> = (0..40).map(|n| n % 4).collect();
        let odd = vec![(12, 3), (12, 4)];
        assert_eq!(believed((&odd, false), &ways, &rows), odd);
        ways[12][4].scatters = 4.5;
        assert_eq!(believed((&odd, true), &ways, &rows), odd);
        assert_eq!(believed((&odd, false), &ways, &rows), []);
    }

    #[test]
    fn what_differs_in_many_picks_of_a_row_is_the_rows_own() {
        let mut ways = ways();
        let odd = vec![(8, 3), (8, 4), (16, 3), (16, 4), (21, 3)];
        for (pick, end) in &odd {
            slipped(&mut ways, *pick, *end);
        }
        let rows: Vec<usize> = (0..40).map(|n| n % 4).collect();
        assert_eq!(believed((&odd, true), &ways, &rows), [(21, 3)]);
    }
}
