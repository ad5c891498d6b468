//! How the light falls: blown-out threads, and shadows across the band.
//!
//! A shadow darkens ground and band at the same place. The ground beside the band (both sides,
//! clear of the selvedges) is followed along the band; a shadow is a step of its lightness over a
//! few millimetres that is larger than the slow change that lamps give. A pale header or a dark
//! stripe of weft darkens the band alone and is none.

use ndarray::Array2;
use rayon::prelude::*;

use crate::band::BandTrace;
use crate::stats::{gaussian_low_pass, median, whole};

/// Lightness from which a sample counts as pure white, L*.
const WHITE: f32 = 99.6;

/// Clearance between selvedge and ground strip, mm: a cast edge shadow and single hairs stay out.
const CLEAR_MM: f64 = 1.5;

/// Length over which a shadow's edge may spread, mm.
const SHADOW_EDGE_MM: f64 = 6.0;

/// Samples this far apart, along and across, are enough for the lightness of a strip, mm.
const LOOK_MM: f64 = 0.4;

/// Share of the body's samples that are pure white.
pub(super) fn blown_out(trace: &BandTrace, body_mm: (f64, f64)) -> f64 {
    let lightness = &trace.straight.lab[0];
    let (mut white, mut all) = (0_u32, 0_u32);
    for (row, from, to) in body_rows(trace, body_mm) {
        for column in from..to {
            all += 1;
            white += u32::from(lightness[(row, column)] >= WHITE);
        }
    }
    f64::from(white) / f64::from(all.max(1))
}

/// The largest step of the ground's lightness along the body that both sides or the band share,
/// L*; 0 where too little ground is in the picture.
pub(super) fn shadow_step(trace: &BandTrace, body_mm: (f64, f64)) -> f64 {
    let lightness = &trace.straight.lab[0];
    let columns = lightness.ncols();
    let clear = whole(CLEAR_MM / trace.straight.step_mm);
    let every = whole(LOOK_MM / trace.straight.step_mm).max(1);
    let rows: Vec<_> = body_rows(trace, body_mm).step_by(every).collect();
    let strip = |of: &(dyn Fn(usize, usize) -> (usize, usize) + Sync)| -> Option<Vec<f64>> {
        let line = |(row, from, to): &(usize, usize, usize)| {
            let (a, b) = of(*from, *to);
            middle(lightness, *row, (a..b).step_by(every))
        };
        rows.par_iter().map(line).collect()
    };
    let left = strip(&|from, _| (0, from.saturating_sub(clear)));
    let right = strip(&|_, to| ((to + clear).min(columns), columns));
    let band = strip(&|from, to| (from, to));
    let (Some(left), Some(right), Some(band)) = (left, right, band) else {
        return 0.0;
    };
    let reach = whole(SHADOW_EDGE_MM / trace.straight.step_mm / every as f64);
    let steps = [left, right, band].map(|line| {
        let slow = gaussian_low_pass(&line, reach as f64);
        let ends = slow.iter().zip(slow.iter().skip(reach));
        ends.map(|(a, b)| b - a).collect::<Vec<f64>>()
    });
    // The same way on all three, allowing the shadow to fall aslant.
    let sign = |k: usize, line: &[f64], up: f64| {
        let near = &line[k.saturating_sub(reach)..(k + reach + 1).min(line.len())];
        near.iter().map(|v| v * up).fold(f64::MIN, f64::max)
    };
    let shared = |k: usize, up: f64| {
        let least = |of: usize| sign(k, &steps[of], up);
        least(0).min(least(1)).min(2.0 * least(2))
    };
    (0..steps[0].len())
        .flat_map(|k| [shared(k, 1.0), shared(k, -1.0)])
        .fold(0.0, f64::max)
}

/// Rows of the body with their first and one-past-last column inside the selvedges.
fn body_rows(
    trace: &BandTrace,
    body_mm: (f64, f64),
) -> impl Iterator<Item = (usize, usize, usize)> + '_ {
    let straight = &trace.straight;
    let (rows, columns) = straight.lab[0].dim();
    let column = move |t: f64| whole((t - straight.t0_mm) / straight.step_mm).min(columns);
    (0..rows.min(trace.left_mm.len()).min(trace.right_mm.len()))
        .filter(move |row| {
            let s = straight.s_of(*row);
            s >= body_mm.0 && s <= body_mm.1
        })
        .map(move |row| {
            let from = column(trace.left_mm[row]);
            (row, from, column(trace.right_mm[row]).max(from))
        })
}

/// Middle lightness of some columns of a row; `None` where they are fewer than three.
fn middle(
    lightness: &Array2<f32>,
    row: usize,
    columns: impl Iterator<Item = usize>,
) -> Option<f64> {
    let values: Vec<f64> = columns.map(|c| f64::from(lightness[(row, c)])).collect();
    (values.len() >= 3).then(|| median(&values))?
}
