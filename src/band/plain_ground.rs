//! A sheet's own ground, printed evenly: how unlike it is each cell, whatever shadow lies on it?
//!
//! # Method
//! 1. Along both long sides of the window nothing lies but the ground: its lightness there, in bins
//!    along the window, is the light at each side.
//! 2. A cell between is ground if some light between the two sides' makes it the ground's colour: a
//!    shadow takes the same share of L* + 16, a* and b*.
//! 3. Its unlikeness is the squared Mahalanobis distance to the ground in that light.
//!
//! # Limits
//! A band so wide or so turned that it covers most of a long side leaves the light there unknown:
//! then nothing is said here, and the ground is learned as any other.

use super::cells::Cells;
use super::ground_kind::{Kind, V4, kind_from};
use super::searched::Searched;

/// Length of a bin, mm.
const BIN_MM: f64 = 2.0;
/// A bin whose colour (a*, b*) or roughness is farther than this from the usual isn't ground.
const STRANGE: f64 = 5.0;
/// Share of a long side's bins that must show ground.
const SHOWN: f64 = 0.5;
/// How much lighter or darker than both sides the light between them may be, share.
const BETWEEN: f64 = 0.02;

/// The ground with the light on it.
pub(super) struct PlainGround {
    kind: Kind,
    usual: f64,
    from_mm: f64,
    /// Light at both long sides, a bin each.
    light: [Vec<f64>; 2],
}

impl PlainGround {
    /// Reads it along the long sides; `None` where they don't show it, or where there is no sheet.
    pub(super) fn read(cells: &Cells, searched: &Searched) -> Option<Self> {
        let (from_mm, to_mm) = searched.main_mm?;
        let bins = ((to_mm - from_mm) / BIN_MM).ceil().max(1.0) as usize;
        let mut seen = [vec![Vec::new(); bins], vec![Vec::new(); bins]];
        for (i, feature) in cells.features.iter().enumerate() {
            if searched.inside[i] && searched.flank[i] && searched.ground[i] == searched.main {
                let p = searched.place(i);
                let bin = (((p.x - from_mm) / BIN_MM) as usize).min(bins - 1);
                seen[usize::from(searched.is_far_side(i))][bin].push(feature.map(f64::from).into());
            }
        }
        let medians = seen.each_ref().map(|side| {
            let of = |cells: &Vec<V4>| (cells.len() >= 3).then(|| median(cells));
            side.iter().map(of).collect::<Vec<Option<V4>>>()
        });
        let all: Vec<V4> = medians.iter().flatten().flatten().copied().collect();
        if all.is_empty() {
            return None;
        }
        let typical = median(&all);
        let strange = |v: &V4| (1..4).any(|k| (v[k] - typical[k]).abs() > STRANGE);
        let usual = typical[0] + 16.0;
        let mut light = [Vec::new(), Vec::new()];
        for (side, medians) in light.iter_mut().zip(&medians) {
            let known: Vec<Option<f64>> = medians
                .iter()
                .map(|v| v.filter(|v| !strange(v)).map(|v| (v[0] + 16.0) / usual))
                .collect();
            if (known.iter().flatten().count() as f64) < SHOWN * bins as f64 {
                return None;
            }
            *side = held(&known);
        }
        let bare: Vec<V4> = seen
            .iter()
            .zip(&light)
            .flat_map(|(side, light)| side.iter().zip(light))
            .flat_map(|(cells, &k)| cells.iter().map(move |v| in_usual_light(v, k)))
            .filter(|v| !strange(v))
            .collect();
        Some(Self {
            kind: kind_from(&bare),
            usual,
            from_mm,
            light,
        })
    }

    /// Unlikeness of a cell at `x_mm` on the plane.
    pub(super) fn unlikeness(&self, feature: &V4, x_mm: f64) -> f32 {
        let last = self.light[0].len() - 1;
        let bin = (((x_mm - self.from_mm) / BIN_MM).max(0.0) as usize).min(last);
        let near = bin.saturating_sub(1)..=(bin + 1).min(last);
        let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
        for k in near.flat_map(|b| [self.light[0][b], self.light[1][b]]) {
            (low, high) = (low.min(k), high.max(k));
        }
        let own = (feature[0] + 16.0) / self.usual;
        let k = own.clamp(low * (1.0 - BETWEEN), high * (1.0 + BETWEEN));
        self.kind.distance(&in_usual_light(feature, k)) as f32
    }
}

fn in_usual_light(v: &V4, k: f64) -> V4 {
    V4::new((v[0] + 16.0) / k - 16.0, v[1] / k, v[2] / k, v[3])
}

fn median(cells: &[V4]) -> V4 {
    V4::from_fn(|k, _| {
        let mut values: Vec<f64> = cells.iter().map(|v| v[k]).collect();
        let at = values.len() / 2;
        *values.select_nth_unstable_by(at, f64::total_cmp).1
    })
}

/// Bins without a value take the nearest one's before them, or the first there is.
fn held(known: &[Option<f64>]) -> Vec<f64> {
    let mut last = known.iter().flatten().next().copied().unwrap_or(1.0);
    known
        .iter()
        .map(|v| {
            last = v.unwrap_or(last);
            last
        })
        .collect()
}
