//! Selvedges sought again along the lines that a person drew.

use super::{BY_HAND_U_MM, Corrections, Ruler};
use crate::band::{BandTrace, seek_within};
use crate::measurement::Side;
use crate::{Error, Result};

/// Share of both selvedges from which lines drawn by hand stand for what the photo doesn't show.
const MOSTLY_DRAWN: f64 = 0.9;

/// Seeks the selvedges again, and lets the doubt of the width grow.
pub(super) fn seek(trace: &mut BandTrace, corrections: &Corrections, ruler: &Ruler) -> Result<()> {
    for (number, line) in (1..).zip(&corrections.selvedges) {
        let rows = rows_of(trace, line.stretch_mm(), ruler);
        if rows.len() < 2 {
            return Err(Error::Request {
                what: format!("corrections: selvedges, entry {number}"),
                why: "the line lies off the band, or is shorter than a pixel".to_owned(),
            });
        }
        let straight = &trace.straight;
        let outward: Vec<f64> = rows
            .clone()
            .map(|row| {
                let at = ruler.at(straight.s_of(row));
                line.out_at(at).unwrap_or(f64::NAN) / ruler.across.factor
            })
            .collect();
        let (from, to) = (straight.t0_mm, last_column_mm(trace));
        let sign = if line.side == Side::Left { -1.0 } else { 1.0 };
        let inside = |out: &f64| (from..=to).contains(&(sign * out));
        if !outward.iter().all(inside) {
            return Err(Error::Request {
                what: format!("corrections: selvedges, entry {number}"),
                why: format!(
                    "the line runs off the picture of the band, which reaches {:.1} mm to the left \
                     and {:.1} mm to the right of its middle",
                    -from, to
                ),
            });
        }
        let within = line.within_mm / ruler.across.factor;
        let found = seek_within(straight, line.side, rows.clone(), &outward, within);
        let edge = match line.side {
            Side::Left => &mut trace.left_mm,
            Side::Right => &mut trace.right_mm,
        };
        edge[rows].copy_from_slice(&found);
    }
    let length = trace.cloth_mm.1 - trace.cloth_mm.0;
    let drawn =
        [Side::Left, Side::Right].map(|side| share(corrections, side, length * ruler.along.factor));
    if drawn[0].min(drawn[1]) > MOSTLY_DRAWN {
        trace.selvedges_unseen = None;
    }
    trace.edge_bias_mm = trace
        .edge_bias_mm
        .hypot(BY_HAND_U_MM * drawn[0].max(drawn[1]));
    Ok(())
}

/// Standard uncertainty that lines drawn by hand add to a selvedge's rms waviness over a body of
/// that length, mm; 0 where none was drawn.
///
/// An error of rms e over a share p of the length changes the rms by at most e·√p.
#[must_use]
pub fn hand_doubt_mm(corrections: &Corrections, side: Side, length_mm: f64) -> f64 {
    BY_HAND_U_MM * share(corrections, side, length_mm).sqrt()
}

/// Share of a length over which lines were drawn on a side, at most 1.
fn share(corrections: &Corrections, side: Side, length_mm: f64) -> f64 {
    let lines = corrections
        .selvedges
        .iter()
        .filter(|line| line.side == side);
    let drawn: f64 = lines
        .filter_map(super::SelvedgeLine::stretch_mm)
        .map(|(from, to)| to - from)
        .sum();
    (drawn / length_mm.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
}

/// `t` of the last column of the straight band, mm.
fn last_column_mm(trace: &BandTrace) -> f64 {
    let columns = trace.straight.lab[0].ncols().saturating_sub(1);
    trace.straight.t0_mm + columns as f64 * trace.straight.step_mm
}

/// Rows of the straight band between two places along it.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rows, clamped to the picture"
)]
fn rows_of(
    trace: &BandTrace,
    stretch_mm: Option<(f64, f64)>,
    ruler: &Ruler,
) -> std::ops::Range<usize> {
    let Some((from, to)) = stretch_mm else {
        return 0..0;
    };
    let straight = &trace.straight;
    let row = |at: f64| (ruler.s(at) - straight.s0_mm) / straight.step_mm;
    let rows = trace.left_mm.len() as f64;
    let first = row(from).ceil().clamp(0.0, rows) as usize;
    let last = (row(to).floor() + 1.0).clamp(0.0, rows) as usize;
    first..last.max(first)
}
