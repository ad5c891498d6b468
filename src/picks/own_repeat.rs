//! Which cells differ from the cloth's own repeat, where no drawdown says how they should be?
//!
//! # Method
//! 1. The colour of fine columns in the middle of every pick; of each row of the repeat the median over its
//!    picks, which a slip or two don't move.
//! 2. Where the ends lie (`lattice`); which of the two yarns each shows in each row (`two_yarns`).
//! 3. That is held against the picks as a drawdown would be (`cell_odds`, `slips`), where the cells follow it all over
//!    the band.
//! 4. What differs in many picks of a row isn't known of the row, and isn't told; nor, where it isn't sure after how
//!    many picks the repeat comes round, what isn't clear.
//!
//! # Limits
//! Each row must have been woven [`LEAST_PICKS`] times in the usual weft: of a colour that comes with the repeat nothing
//! is told. What was woven wrongly throughout is the repeat. Of 687 drawn bands without slips one had one invented;
//! on 489 with one slip of two ends in some, 178 of 241 were found, on 500 with two of single ends 626 of 989.

use super::cell_colours::{UNITS, median_colour};
use super::cell_looks::{CELL_HALF, Look, Looks, looks, rows};
use super::cell_odds::{CellOdds, cell_odds};
use super::cloth::Cloth;
use super::columns::{Columns, INSET};
use super::lattice::Lattice;
use super::locate::Located;
use super::slips::{Slip, Slips, Unseen, slips};
use super::two_yarns::{shows_weft, turns};
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

/// Log odds of a slip from which it is told where it isn't sure after how many picks the repeat comes round.
const WHERE_UNSURE: f64 = 5.0;

/// A cell that differs in so large a share of a row's picks, twice at least, isn't known of the row.
const RECURS: f64 = 0.125;

/// So large a share of all cells must be nearer to what they should show.
const LEAST_ALIKE: f64 = 0.93;

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

/// What the cloth's own repeat says of its cells.
pub(super) struct InRepeat {
    /// Those that differ from it, pick and end from 0.
    pub(super) odd: Vec<Cell>,
    /// Why others may have gone unseen.
    pub(super) unseen: Option<Unseen>,
    /// Where the ends lie.
    pub(super) ends: OwnEnds,
}

/// Why the repeat can't be held against the picks.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Unheld {
    /// The picks hardly show.
    Faint,
    /// Too few picks of each row of the repeat are in view.
    FewPicks,
    /// No ends are seen across the width.
    NoEnds,
    /// Not as many as the plan says are.
    OtherEnds,
    /// The ends don't go over and under.
    NoCells,
}

impl Unheld {
    /// In words.
    pub(super) fn why(self) -> &'static str {
        match self {
            Self::Faint => "the picks hardly show",
            Self::FewPicks => "too few picks of each of its rows, in one weft, are in view",
            Self::NoEnds => "the ends can't be told apart across the width",
            Self::OtherEnds => "the ends that show across the width aren't as many as the plan's",
            Self::NoCells => "its cells don't show clearly enough which yarn lies on top",
        }
    }
}

/// A pick and an end, both from 0.
type Cell = (usize, usize);

/// The cells that differ from what the cloth shows everywhere else. The repeat is of so many `rows`, if it is `sure`;
/// `ends` is their number, where it is known, `jump` the pick after which the spacing jumps.
///
/// # Errors
/// Says why the repeat can't be held against the picks.
pub(super) fn odd_in_own_repeat(
    (cloth, located): (&Cloth, &Located),
    (rows, sure): (usize, bool),
    trace: &BandTrace,
    ends: Option<usize>,
    jump: Option<usize>,
) -> Result<InRepeat, Unheld> {
    let rarer = usual_and_rarer(cloth, located);
    let row_of: Vec<usize> = located.picks.iter().map(|pick| pick.row).collect();
    let fine = FinePicks::of(cloth, located, trace);
    let template = template(&fine.middles(), &row_of, &rarer, rows).ok_or(Unheld::FewPicks)?;
    let mut lattice = Lattice::of(&template)
        .filter(|lattice| lattice.clear >= LEAST_CLEAR)
        .ok_or(Unheld::NoEnds)?;
    lattice.trim(turns(&template, &lattice), CELL_HALF.1, FINE);
    if lattice.ends < LEAST_ENDS {
        return Err(Unheld::NoEnds);
    }
    if let Some(ends) = ends {
        let seen = lattice.ends + lattice.hidden[0] + lattice.hidden[1];
        if seen.abs_diff(ends) > MOST_ENDS_OFF {
            return Err(Unheld::OtherEnds);
        }
        lattice.numbered = seen == ends;
    }
    let shown = shows_weft(&template, &lattice);
    let weft_in = |r: &usize| shown[*r].iter().map(|(weft, _)| *weft).collect();
    let looks = Looks {
        of: fine.looks(&lattice),
        weft: row_of.iter().map(weft_in).collect(),
        rarer,
    };
    let mut odds = cell_odds(&looks);
    if !alike(&odds) {
        return Err(Unheld::NoCells);
    }
    for (row, &r) in odds.iter_mut().zip(&row_of) {
        let unsure = row.iter_mut().zip(&shown[r]).filter(|(_, (_, sure))| !sure);
        unsure.for_each(|(cell, _)| *cell = None);
    }
    let Slips { told, unseen } = slips(odds, &looks.weft, jump);
    let mut odd = believed(&told, sure, &row_of);
    odd.iter_mut()
        .for_each(|(_, end)| *end += lattice.hidden[0]);
    let share = |column: f64| INSET + (1.0 - 2.0 * INSET) * column / FINE as f64;
    let begins = lattice.first - lattice.hidden[0] as f64 * lattice.pitch;
    let pitch = (1.0 - 2.0 * INSET) * lattice.pitch / FINE as f64;
    Ok(InRepeat {
        odd,
        unseen,
        ends: OwnEnds {
            first: share(begins),
            pitch,
            width_mm: trace.usual_width_mm().unwrap_or(0.0),
            numbered: lattice.numbered,
        },
    })
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

/// Fine columns of the cloth, and where its picks lie in them.
struct FinePicks {
    columns: Columns,
    /// Middle of each pick and spacing around it, rows of the columns.
    picks: Vec<(f64, f64)>,
}

impl FinePicks {
    fn of(cloth: &Cloth, located: &Located, trace: &BandTrace) -> Self {
        let sample = |n: usize| located.picks[n].placed.sample;
        let spacing = |n: usize| located.spacing(n) * cloth.mm_a_sample(sample(n));
        let spacings_mm: Vec<f64> = (0..located.picks.len()).map(spacing).collect();
        let usual_mm = median(&spacings_mm).unwrap_or(1.0);
        let one_in = (usual_mm / trace.straight.step_mm / ROWS_A_PICK).max(1.0) as usize;
        let columns = Columns::cut_rows(trace, FINE, 1.5 * usual_mm, one_in);
        let picks = spacings_mm.iter().enumerate().map(|(n, mm)| {
            let middle = columns.row_of(cloth.s_mm(sample(n)));
            (middle, mm / columns.step_mm)
        });
        Self {
            picks: picks.collect(),
            columns,
        }
    }

    /// The mean colours of the columns in the middle of each pick, in [`UNITS`].
    fn middles(&self) -> Vec<Vec<[f64; 3]>> {
        let count = self.columns.lab.dim().0;
        let of_pick = |&(middle, spacing): &(f64, f64)| {
            let (from, to) = rows(middle, 0.0, (CELL_HALF.0, spacing), count);
            let mut means = vec![[0.0; 3]; FINE];
            for i in from..to {
                for (j, mean) in means.iter_mut().enumerate() {
                    for (c, unit) in UNITS.iter().enumerate() {
                        let colour = f64::from(self.columns.lab[[i, j, c]]);
                        mean[c] += colour / (unit * (to - from) as f64);
                    }
                }
            }
            means
        };
        self.picks.iter().map(of_pick).collect()
    }

    /// How each cell looks, `[pick][end]`.
    fn looks(&self, lattice: &Lattice) -> Vec<Vec<Look>> {
        let across = (lattice.first, lattice.pitch);
        looks(
            &self.columns.flat().view(),
            &self.picks,
            across,
            lattice.ends,
        )
    }
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

/// Whether the cells follow the repeat all over the band.
fn alike(odds: &[Vec<Option<CellOdds>>]) -> bool {
    let known: Vec<&CellOdds> = odds.iter().flatten().flatten().collect();
    let near = known.iter().filter(|cell| cell.log_odds < 0.0).count() as f64;
    near > LEAST_ALIKE * known.len() as f64
}

/// The cells of those slips that the repeat is sure enough for; `sure` says whether its length is.
fn believed(found: &[Slip], sure: bool, row_of: &[usize]) -> Vec<Cell> {
    let enough = |slip: &&Slip| sure || slip.log_odds > WHERE_UNSURE;
    let odd: Vec<Cell> = found
        .iter()
        .filter(enough)
        .flat_map(|slip| slip.cells())
        .collect();
    let recurs = |&(n, e): &Cell| {
        let row = row_of[n];
        let alike = odd.iter().filter(|(k, end)| *end == e && row_of[*k] == row);
        let (alike, woven) = (alike.count(), row_of.iter().filter(|r| **r == row).count());
        alike > 1 && alike as f64 >= RECURS * woven as f64
    };
    odd.iter().copied().filter(|cell| !recurs(cell)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slip(pick: usize, first: usize, last: usize, log_odds: f64) -> Slip {
        Slip {
            pick,
            first,
            last,
            log_odds,
        }
    }

    #[test]
    fn what_hardly_is_a_slip_is_believed_only_where_the_repeat_is_sure() {
        let rows: Vec<usize> = (0..40).map(|n| n % 4).collect();
        let clear = slip(12, 3, 4, WHERE_UNSURE + 1.0);
        let odd = vec![(12, 3), (12, 4)];
        assert_eq!(believed(&[clear], false, &rows), odd);
        let hardly = slip(12, 3, 4, WHERE_UNSURE - 0.1);
        assert_eq!(believed(&[hardly], true, &rows), odd);
        assert_eq!(believed(&[hardly], false, &rows), []);
    }

    #[test]
    fn what_differs_in_many_picks_of_a_row_is_the_rows_own() {
        let found = [slip(8, 3, 4, 9.0), slip(16, 3, 4, 9.0), slip(21, 3, 3, 9.0)];
        let rows: Vec<usize> = (0..40).map(|n| n % 4).collect();
        assert_eq!(believed(&found, true, &rows), [(21, 3)]);
    }
}
