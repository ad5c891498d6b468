//! A selvedge sought again where a person says it runs.
//!
//! # Method
//! The rows of the stretch, each moved so that the person's line stands upright in the middle, are
//! a picture of their own; the selvedge is sought in it as everywhere (`selvedge`), but within the
//! corridor and by the step of colour alone: what is cloth and what is ground was judged wrongly
//! there. Where no step is seen the line itself stands. (Judging cloth and ground anew, by normal
//! distributions of the colours beside the corridor, was tried: the band's own shadow counted as
//! cloth, and the edge came out 0.7 mm too far.)

use std::ops::Range;

use ndarray::Array2;

use super::StraightBand;
use super::selvedge::{Flank, Sought, selvedge};
use crate::measurement::Side;

/// Picture kept beyond the corridor, for the colours beside the edge, mm.
const BESIDE_MM: f64 = 1.0;
/// A smaller step (percent of white's light) is no edge.
const LEAST_STEP: f32 = 0.5;

/// `t` of one selvedge at each of `rows`, mm: within `within_mm` of `outward_mm`, the distance from
/// the centre line at each of them, outward positive.
#[must_use]
#[allow(clippy::cast_sign_loss, reason = "columns, clamped to the picture")]
pub fn seek_within(
    band: &StraightBand,
    side: Side,
    rows: Range<usize>,
    outward_mm: &[f64],
    within_mm: f64,
) -> Vec<f64> {
    let flank = match side {
        Side::Left => Flank::Left,
        Side::Right => Flank::Right,
    };
    let last = band.lab[0].ncols() as i64 - 1;
    let half = ((within_mm + BESIDE_MM) / band.step_mm).ceil() as i64;
    let middles: Vec<i64> = outward_mm
        .iter()
        .map(|out| ((flank.sign() * out - band.t0_mm) / band.step_mm).round() as i64)
        .collect();
    let size = (rows.len().min(middles.len()), (2 * half + 1) as usize);
    let upright = StraightBand {
        lab: [0, 1, 2].map(|k| {
            Array2::from_shape_fn(size, |(i, j)| {
                let column = (middles[i] - half + j as i64).clamp(0, last.max(0));
                band.lab[k][(rows.start + i, column as usize)]
            })
        }),
        step_mm: band.step_mm,
        s0_mm: band.s_of(rows.start),
        t0_mm: -(half as f64) * band.step_mm,
        centre_line: band.centre_line,
    };
    let unjudged = |_: usize, _: &[usize], _: &mut [f32], _: Option<&mut [f32]>| ();
    let sought = Sought::between(-within_mm, within_mm);
    let edge = selvedge(&upright, &unjudged, None, flank, &sought);
    (0..size.0)
        .map(|i| {
            let line = flank.sign() * outward_mm[i];
            if edge.step[i] < LEAST_STEP {
                return line;
            }
            let found = band.t0_mm + middles[i] as f64 * band.step_mm + edge.t_mm[i];
            found.clamp(line - within_mm, line + within_mm)
        })
        .collect()
}
