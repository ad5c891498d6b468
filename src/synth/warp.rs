//! The ends' paths, from one cut of the fringe to the other.

use super::layout::{Layout, stream};
use super::rng::{Rng, Wander};
use super::spec::BandSpec;
use super::yarn::{Knot, Part, Yarn, height_between};

/// Distance between knots of the fringe, mm.
const FRINGE_STEP_MM: f64 = 0.4;

/// Way over which stretched warp fans out from the cloth's width to the loom's, mm.
const FANS_OUT_MM: f64 = 80.0;

/// All strands of all ends; `first_look` is the index of the first warp's look.
pub(super) fn warp(
    spec: &BandSpec,
    layout: &Layout,
    first_look: usize,
    floor_mm: f64,
) -> Vec<Yarn> {
    let mut rng = Rng::fork(spec.seed, stream::WARP);
    let mut strands = Vec::new();
    for end in 0..spec.ends {
        let look = first_look
            + spec.warp_stripes.as_ref().map_or(0, |stripes| {
                usize::from(end % (stripes.first + stripes.second).max(1) >= stripes.first)
            });
        let crossings: Vec<(f64, f64)> = layout
            .crossings(spec, end)
            .iter()
            .map(|&(s, over)| (s, if over { -layout.lift.1 } else { layout.lift.1 }))
            .collect();
        for strand in 0..spec.strands.max(1) {
            let middle = 0.5 * (spec.strands.max(1) - 1) as f64;
            let beside = (strand as f64 - middle) * 2.0 * layout.strand_radius;
            strands.push(draw_strand(
                spec, layout, end, beside, &crossings, look, floor_mm, &mut rng,
            ));
        }
    }
    strands
}

#[allow(
    clippy::too_many_arguments,
    reason = "one strand is one end, its place in it, and the cloth it lies in"
)]
fn draw_strand(
    spec: &BandSpec,
    layout: &Layout,
    end: usize,
    beside: f64,
    crossings: &[(f64, f64)],
    look: usize,
    floor_mm: f64,
    rng: &mut Rng,
) -> Yarn {
    let radius =
        layout.strand_radius * (1.0 + spec.warp.thickness_cv * rng.normal()).clamp(0.6, 1.4);
    let thickness = Wander::new(rng, 2.0 * spec.warp.thick_mm.max(0.5));
    let lying = floor_mm + radius * spec.flatness;
    let (first, last) = (crossings[0].0, crossings[crossings.len() - 1].0);
    let knot = |s: f64, aside: f64, z: f64| Knot {
        s,
        t: layout.end(spec, end, s.clamp(first, last)) + beside + aside,
        z,
        r: radius * (1.0 + spec.warp.thickness_cv * thickness.at(s)).clamp(0.5, 1.6),
    };
    let mut knots = Vec::new();
    let fringe = |rng: &mut Rng, from: f64, direction: f64, z0: f64| -> Vec<Knot> {
        let taut_mm = spec.fringe.taut_mm[usize::from(direction > 0.0)];
        if taut_mm > 0.0 {
            let fan = spec.draw_in / (1.0 - spec.draw_in);
            let count = (taut_mm / FRINGE_STEP_MM).ceil() as usize;
            return (1..=count)
                .map(|i| {
                    let x = taut_mm * i as f64 / count as f64;
                    let level = z0 * (1.0 - x / spec.pick_spacing_mm).max(0.0);
                    let at = knot(from + direction * x, 0.0, level);
                    let aside = at.t * fan * (x / FANS_OUT_MM).min(1.0);
                    knot(from + direction * x, aside, level)
                })
                .collect();
        }
        let kept = rng.chance(spec.fringe.kept);
        let cut = (1.0 + spec.fringe.scatter * rng.normal()).clamp(0.3, 1.7);
        let wander = Wander::new(rng, 14.0);
        let spread = 0.6 * rng.normal() * spec.fringe.wander_mm;
        let stub = layout.weft_radius
            + layout.strand_radius
            + 0.3
            + spec.slant.abs() * layout.half_mm
            + spec.zigzag.abs() * spec.pick_spacing_mm;
        let length = if kept {
            (spec.fringe.length_mm * cut).max(stub)
        } else {
            stub
        };
        let count = (length / FRINGE_STEP_MM).ceil().max(2.0) as usize;
        (1..=count)
            .map(|i| {
                let x = length * i as f64 / count as f64;
                let grown = (x / 12.0).min(1.0);
                let aside = grown
                    * (spec.fringe.wander_mm * (wander.at(x) - wander.at(0.0)) * grown + spread);
                let down = (x / (2.0 * spec.pick_spacing_mm)).min(1.0);
                knot(from + direction * x, aside, z0 + (lying - z0) * down)
            })
            .collect()
    };
    let before = fringe(rng, first, -1.0, crossings[0].1);
    let after = fringe(rng, last, 1.0, crossings[crossings.len() - 1].1);
    knots.extend(before.into_iter().rev());
    let step = (spec.pick_spacing_mm / 8.0).max(0.05);
    let count = ((last - first) / step).ceil().max(1.0) as usize;
    for i in 0..=count {
        let s = first + (last - first) * i as f64 / count as f64;
        knots.push(knot(s, 0.0, height_between(crossings, s)));
    }
    knots.extend(after);
    Yarn {
        knots,
        look,
        part: Part::Warp,
        run_mm: rng.between(0.0, 5.0),
        tone: (1.0 + 0.5 * spec.warp.heather * rng.normal()).clamp(0.7, 1.3),
        tucked: (None, None),
    }
}
