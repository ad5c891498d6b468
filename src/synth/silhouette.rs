//! The outline of the drawn yarn, from its own geometry.
//!
//! Every yarn seen from above is a union of discs along its path. The outline at a place along the
//! band is the outermost disc there; hairs have no part in it.

use super::spec::Side;
use super::yarn::{Knot, Part, Yarn};

/// Distance between places of an outline, mm.
pub(super) const STEP_MM: f64 = 0.05;

/// Longest step between discs, in radii: the outline between two discs is short by a 1/800 radius.
const DISC_STEP: f64 = 0.1;

/// The outermost yarn on a side at `from_mm`, `from_mm` + [`STEP_MM`], …, outward positive.
pub(super) fn outermost(
    yarns: &[Yarn],
    side: Side,
    from_mm: f64,
    count: usize,
    deep_mm: f64,
) -> Vec<f64> {
    let sign = side.sign();
    let mut out = vec![f64::NEG_INFINITY; count];
    for_each_disc(
        yarns,
        |knot| sign * knot.t + knot.r > deep_mm,
        |knot| {
            let first = ((knot.s - knot.r - from_mm) / STEP_MM).ceil().max(0.0);
            let mut i = first as usize;
            while i < count {
                let d = from_mm + i as f64 * STEP_MM - knot.s;
                if d > knot.r {
                    break;
                }
                let reach = sign * knot.t + (knot.r * knot.r - d * d).max(0.0).sqrt();
                out[i] = out[i].max(reach);
                i += 1;
            }
        },
    );
    out
}

/// The foremost yarn along the band at each of the columns `t`: smallest `s` where `sign` is −1,
/// largest where it is +1; only of the yarns that `takes` accepts. Columns without yarn are `None`.
pub(super) fn foremost(
    yarns: &[Yarn],
    sign: f64,
    columns: &[f64],
    takes: impl Fn(Part) -> bool,
) -> Vec<Option<f64>> {
    let mut out: Vec<Option<f64>> = vec![None; columns.len()];
    let chosen: Vec<&Yarn> = yarns.iter().filter(|yarn| takes(yarn.part)).collect();
    for_each_disc(
        chosen,
        |_| true,
        |knot| {
            let first = columns.partition_point(|&t| t < knot.t - knot.r);
            for (&t, slot) in columns[first..].iter().zip(&mut out[first..]) {
                let d = t - knot.t;
                if d > knot.r {
                    break;
                }
                let reach = sign * knot.s + (knot.r * knot.r - d * d).max(0.0).sqrt();
                *slot = Some(slot.map_or(reach, |best| best.max(reach)));
            }
        },
    );
    out.into_iter()
        .map(|reach| reach.map(|reach| sign * reach))
        .collect()
}

/// Calls `see` with discs close together along every yarn where `near` says they matter.
fn for_each_disc<'a>(
    yarns: impl IntoIterator<Item = &'a Yarn>,
    near: impl Fn(&Knot) -> bool,
    mut see: impl FnMut(&Knot),
) {
    for yarn in yarns {
        for pair in yarn.knots.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if !near(&a) && !near(&b) {
                continue;
            }
            let length = (b.s - a.s).hypot(b.t - a.t);
            let radius = (0.5 * (a.r + b.r)).max(0.02);
            let count = (length / (DISC_STEP * radius)).ceil().max(1.0) as usize;
            for i in 0..=count {
                let x = i as f64 / count as f64;
                let mix = |p: f64, q: f64| p + (q - p) * x;
                see(&Knot {
                    s: mix(a.s, b.s),
                    t: mix(a.t, b.t),
                    z: mix(a.z, b.z),
                    r: mix(a.r, b.r),
                });
            }
        }
    }
}
