//! What is each boundary of each row worth as the cloth's outermost edge?

use rayon::prelude::*;

use super::likeness::{DEAD_ODDS, Likeness, MOST_ODDS, Table, by_colour};
use super::path::JumpCost;
use super::selvedge::OddsAt;
use super::steps::Steps;
use super::strip::Strip;
use super::texture::Texture;

/// Length in which costs are counted, so that they don't depend on the resolution, mm.
const UNIT_MM: f64 = 0.1;
/// Worth of a full step, per [`UNIT_MM`] of selvedge.
const STEP_WORTH: f64 = 6.0;
/// Price of outline that runs across, per [`UNIT_MM`], where no step is seen along it.
const JUMP_EACH: f64 = 1.5;
/// Price of the longest jump of a selvedge: as of 6 mm.
const SELVEDGE_CAP: f64 = 60.0 * JUMP_EACH;
/// The same of any other edge: as of 1.5 mm.
const OTHER_CAP: f64 = 15.0 * JUMP_EACH;
/// Ground just inside a selvedge costs no more than that of such a length, mm.
const MOST_GROUND_MM: f64 = 1.5;
/// How much ground as broad as itself cloth makes up for: a printed line is no yarn across a gap.
const REGAINED: f32 = 2.0;
/// Ground just inside of a selvedge over such a length speaks as much against it as a clean edge farther
/// out, mm.
const GROUND_AN_EDGE_MM: f64 = 0.5;
/// Just inside any other edge ground counts fully against it, mm; farther in, open cloth may show
/// ground between its yarns.
const RIM_MM: f64 = 0.4;
/// How much ground farther in counts there.
const GAP_SHARE: f32 = 0.3;

/// Worths of a strip's boundaries, and the prices of going from one to another.
pub(super) struct Worths {
    /// Rows of `columns + 1` boundaries, each before its column.
    pub worth: Table,
    /// Price of crossing each column between two rows.
    pub jumps: Table,
    /// Price of the longest jump.
    pub cap: f32,
    /// What speaks against each boundary, in clean edges: those farther out, and ground just inside.
    pub against: Table,
}

impl Worths {
    /// Of a selvedge.
    pub(super) fn of_selvedge(strip: &Strip<'_>, odds: &OddsAt<'_>, texture: &Texture) -> Self {
        let steps = Steps::new(strip);
        let likeness = Likeness::new(strip, odds, texture);
        let mut jumps = steps.prices_across(strip);
        let each = price_of_a_column(strip);
        jumps.iter_mut().for_each(|price| *price *= each);
        let n = strip.columns;
        let mut against = vec![0.0; strip.rows * (n + 1)];
        let mut worth = against.clone();
        let full = (0.5 * STEP_WORTH * strip.band.step_mm / UNIT_MM) as f32;
        let an_edge_of_ground = (GROUND_AN_EDGE_MM / strip.band.step_mm) as f32 * MOST_ODDS;
        let lines = (worth.par_chunks_mut(n + 1)).zip(against.par_chunks_mut(n + 1));
        lines.enumerate().for_each(|(i, (worth, against))| {
            let row = i * n..(i + 1) * n;
            let thick = &likeness.thick[row.clone()];
            let ground = ground_before_cloth(strip, &likeness.any[row.clone()], thick);
            weigh(strip, &steps, i, (&cloth_outside(thick), &ground), worth);
            let farther = steps.farther_out(strip, i, &likeness.lit[row]);
            for (b, against) in against.iter_mut().enumerate() {
                worth[b] -= full * farther[b];
                *against = farther[b] + ground[b] / an_edge_of_ground;
            }
        });
        Self {
            worth,
            against,
            jumps,
            cap: SELVEDGE_CAP as f32,
        }
    }

    /// What going from row to row costs.
    pub(super) fn cost(&self) -> JumpCost<'_> {
        JumpCost {
            each: &self.jumps,
            cap: self.cap,
        }
    }

    /// Of an edge that isn't one: an end of the cloth, where thin things are warp, or a place that a
    /// person names.
    pub(super) fn of_other_edge(strip: &Strip<'_>, odds: &OddsAt<'_>) -> Self {
        let steps = Steps::new(strip);
        let any = by_colour(strip, odds);
        let n = strip.columns;
        let mut worth = vec![0.0; strip.rows * (n + 1)];
        let lines = worth.par_chunks_mut(n + 1).enumerate();
        lines.for_each(|(i, worth)| {
            let any = &any[i * n..(i + 1) * n];
            let ground = ground_inside(strip, any);
            weigh(strip, &steps, i, (&cloth_outside(any), &ground), worth);
        });
        let crossings = strip.rows.saturating_sub(1) * strip.columns;
        Self {
            against: vec![0.0; worth.len()],
            worth,
            jumps: vec![price_of_a_column(strip); crossings],
            cap: OTHER_CAP as f32,
        }
    }
}

fn price_of_a_column(strip: &Strip<'_>) -> f32 {
    (JUMP_EACH * strip.band.step_mm / UNIT_MM) as f32
}

/// Worths of row `i`'s boundaries: the step across each, less the cloth outside and the ground inside.
fn weigh(
    strip: &Strip<'_>,
    steps: &Steps,
    i: usize,
    (cloth, ground): (&[f32], &[f32]),
    worth: &mut [f32],
) {
    let unit = strip.band.step_mm / UNIT_MM;
    let (region, full) = ((unit * unit) as f32, (0.5 * STEP_WORTH * unit) as f32);
    let row = &steps.step[i * worth.len()..];
    for (b, worth) in worth.iter_mut().enumerate() {
        let share = (row[b] / steps.seen).min(1.0) + (row[b] / steps.full).min(1.0);
        *worth = full * share - region * (cloth[b] + ground[b]);
    }
}

/// Cloth outside of each boundary of a row.
fn cloth_outside(odds: &[f32]) -> Vec<f32> {
    let mut cloth = vec![0.0; odds.len() + 1];
    for (c, o) in odds.iter().enumerate().rev() {
        cloth[c] = cloth[c + 1] + (o - DEAD_ODDS).clamp(0.0, MOST_ODDS);
    }
    cloth
}

/// Ground between each boundary of a row and the first solid cloth inside of it: what ground open
/// cloth shows behind its outermost yarn says nothing.
fn ground_before_cloth(strip: &Strip<'_>, any: &[f32], thick: &[f32]) -> Vec<f32> {
    let most = (MOST_GROUND_MM / strip.band.step_mm) as f32 * MOST_ODDS;
    let mut ground = vec![0.0; any.len() + 1];
    for (c, (any, thick)) in any.iter().zip(thick).enumerate() {
        ground[c + 1] = if *thick > DEAD_ODDS {
            (ground[c] - REGAINED * (thick - DEAD_ODDS).min(MOST_ODDS)).max(0.0)
        } else {
            (ground[c] + (-any - DEAD_ODDS).clamp(0.0, MOST_ODDS)).min(most)
        };
    }
    ground
}

/// Ground inside of each boundary of a row, less of it farther in.
fn ground_inside(strip: &Strip<'_>, any: &[f32]) -> Vec<f32> {
    let mut sums = vec![0.0; any.len() + 1];
    for (c, o) in any.iter().enumerate() {
        sums[c + 1] = sums[c] + (-o - DEAD_ODDS).clamp(0.0, MOST_ODDS);
    }
    let rim = strip.samples(RIM_MM);
    (0..sums.len())
        .map(|b| {
            let deep = sums[b.saturating_sub(rim)];
            (sums[b] - deep) + GAP_SHARE * deep
        })
        .collect()
}
