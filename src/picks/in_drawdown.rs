//! Which cells differ from the drawdown of the plan?
//!
//! The cloth is cut into columns fine enough for the fields of a cell (`cell_looks`), which yarn should show is the
//! fitted drawdown's to say, and `slips` tells which cells show the other.

use super::cell_looks::{Looks, Spot};
use super::cell_odds::cell_odds;
use super::cloth::Cloth;
use super::columns::Columns;
use super::locate::Located;
use super::rows::Fit;
use super::slips::{Slip, Slips, Unseen, slips};
use crate::band::BandTrace;

/// Smoothing of the selvedges along the columns, spacings.
const SMOOTH: f64 = 1.5;

/// The cells, pick and end from 0, and why others may have gone unseen; `jump` is the pick after which the spacing
/// jumps.
pub(super) fn odd_in_drawdown(
    (cloth, trace): (&Cloth, &BandTrace),
    (located, spacing_mm): (&Located, f64),
    fit: &Fit,
    jump: Option<usize>,
) -> (Vec<(usize, usize)>, Option<Unseen>) {
    let spots: Vec<Spot> = located
        .picks
        .iter()
        .enumerate()
        .map(|(n, f)| Spot {
            sample: f.placed.sample,
            spacing: located.spacing(n),
            row: f.row,
            rarer: cloth.shows_rarer(f.placed.sample),
        })
        .collect();
    let columns = Looks::columns(fit.expected[0].len());
    let fine = Columns::cut(trace, columns, SMOOTH * spacing_mm);
    let looks = Looks::fitted(&fine.resample(&cloth.places), &spots, fit);
    let Slips { told, unseen } = slips(cell_odds(&looks), &looks.weft, jump);
    (told.into_iter().flat_map(Slip::cells).collect(), unseen)
}
