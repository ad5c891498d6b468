//! What speaks against a place holding a pick of the body?
//!
//! # Method
//! Six signs, each by how many of the middle's own spreads a place lies below the middle's median:
//!
//! 1. the cells that should show weft have the weft's colour,
//! 2. the cells that should show warp have the warp's,
//! 3. the cells that should show weft look rather like weft than like warp,
//! 4. the cells that should show warp look rather like warp than like the ground beside,
//! 5. the cloth is as wide as in its middle,
//! 6. from here to the next pick inward, cells turn dark and light as the drawdown says.
//!
//! A sign counts only against a place, and as the logarithm of its spreads: the outermost picks always
//! look a little unlike, having only one neighbour. Weights are those of a logistic regression on the
//! outermost places of 460 drawn bands, held against the same with a third left out.
//!
//! # Limits
//! Needs a drawdown, if only a guessed one; where that takes warp for weft, so do the first four signs.

use std::ops::Range;

use ndarray::Array2;

use super::cell_colours::{Cells, Yarns};
use super::cloth::Cloth;
use super::likeness::Place;
use super::phase::STATES_A_PICK;
use super::rows::Fit;
use crate::stats::{median, quantile};

/// What every place is granted before anything speaks against it.
pub(super) const GRANTED: f64 = 4.0;

/// More spreads below the median than this say no more.
const MOST_SPREADS: f64 = 60.0;

/// One sign: what a logarithm of spreads costs, and the least spread, for a middle that is very even.
struct Sign {
    weight: f64,
    least_spread: f64,
}

const WEFT_COLOUR: Sign = Sign {
    weight: 0.4,
    least_spread: 0.1,
};
const WARP_COLOUR: Sign = Sign {
    weight: 0.3,
    least_spread: 0.1,
};
const WEFT_NOT_WARP: Sign = Sign {
    weight: 1.0,
    least_spread: 0.5,
};
const WARP_NOT_GROUND: Sign = Sign {
    weight: 1.2,
    least_spread: 0.5,
};
const WIDTH: Sign = Sign {
    weight: 0.8,
    least_spread: 0.01,
};
const TURNS: Sign = Sign {
    weight: 1.3,
    least_spread: 0.06,
};

impl Sign {
    /// What each place loses, given what is seen of each (more is better; `None` says nothing).
    fn losses(&self, seen: &[Option<f64>], core: &Range<usize>) -> Vec<f64> {
        let known: Vec<f64> = seen[core.clone()].iter().filter_map(|v| *v).collect();
        let (Some(usual), Some(low)) = (median(&known), quantile(&known, 0.05)) else {
            return vec![0.0; seen.len()];
        };
        let spread = ((usual - low) / 1.645).max(self.least_spread);
        seen.iter()
            .map(|v| {
                let spreads = v.map_or(0.0, |v| (usual - v) / spread);
                self.weight * spreads.clamp(0.0, MOST_SPREADS).ln_1p()
            })
            .collect()
    }
}

/// What speaks against each place, 0 where nothing does; `core` are places surely inside the body.
pub(super) fn misfit(
    cloth: &Cloth,
    (template, fit): (&Array2<f32>, &Fit),
    places: &[Place],
    core: &Range<usize>,
) -> Vec<f64> {
    let mut losses = WIDTH.losses(&narrower(cloth, places, core), core);
    let mut add = |sign: &Sign, seen: &[Option<f64>]| {
        for (loss, more) in losses.iter_mut().zip(sign.losses(seen, core)) {
            *loss += more;
        }
    };
    let cells = Cells::new(cloth, fit);
    let colours: Vec<_> = places.iter().map(|p| cells.colours_of(p)).collect();
    let yarns = Yarns::learn(&cells, (places, &colours), core);
    let seen = yarns.against(&cells, (places, &colours));
    add(&WEFT_COLOUR, &seen[0]);
    add(&WARP_COLOUR, &seen[1]);
    add(&WEFT_NOT_WARP, &seen[2]);
    add(&WARP_NOT_GROUND, &seen[3]);
    let turns: Vec<Option<f64>> = places.iter().map(|p| turns(cloth, template, p)).collect();
    add(&TURNS, &turns);
    losses
}

/// How far the cloth's width at each place is from the middle's, as a logarithm, below 0.
fn narrower(cloth: &Cloth, places: &[Place], core: &Range<usize>) -> Vec<Option<f64>> {
    let widths: Vec<f64> = places
        .iter()
        .map(|p| cloth.beside.width_mm[cloth.nearest(p.middle)].max(0.1))
        .collect();
    let usual = median(&widths[core.clone()]).unwrap_or(1.0);
    widths
        .iter()
        .map(|w| Some(-(w / usual).ln().abs()))
        .collect()
}

/// How much the cells turn dark and light from a place to the next inward, against what the repeat does.
fn turns(cloth: &Cloth, template: &Array2<f32>, place: &Place) -> Option<f64> {
    let level = &cloth.level.samples;
    let width = level.dim().1 - 3;
    let last = level.dim().0 as i64 - 1;
    let states = template.dim().0 as i64;
    let state = |phase: f64| (phase * STATES_A_PICK as f64).round() as i64;
    let (from, to) = place.window();
    let (mut both, mut own, mut rows) = (0.0, 0.0, 0);
    for d in (from * place.spacing).round() as i64..=(to * place.spacing).round() as i64 {
        let here = place.middle.round() as i64 + d;
        let next = (here as f64 + place.inward * place.spacing).round() as i64;
        if !(0..=last).contains(&here) || !(0..=last).contains(&next) {
            continue;
        }
        rows += 1;
        let at = state(place.phase + d as f64 / place.spacing);
        let then = at + place.inward as i64 * STATES_A_PICK as i64;
        let row = |i: i64| template.row(i.rem_euclid(states) as usize);
        let (t_here, t_next) = (row(at), row(then));
        let (s_here, s_next) = (level.row(here as usize), level.row(next as usize));
        for k in 0..width {
            let expected = f64::from(t_here[k] - t_next[k]);
            both += f64::from(s_here[k] - s_next[k]) * expected;
            own += expected * expected;
        }
    }
    (rows > 1).then(|| both / own.max(1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_costs_nothing_where_a_place_is_as_usual_and_more_the_farther_it_is_below() {
        let mut seen: Vec<Option<f64>> = (0..20)
            .map(|k| Some(1.0 + 0.01 * f64::from(k % 5)))
            .collect();
        seen[0] = Some(0.4);
        seen[1] = Some(0.8);
        seen[2] = None;
        let losses = TURNS.losses(&seen, &(5..20));
        assert!(losses[0] > losses[1] && losses[1] > 1.0, "{losses:?}");
        assert!(losses[2].abs() < 1e-12 && losses[3..].iter().all(|l| *l < 0.5));
    }

    #[test]
    fn where_nothing_of_the_middle_is_known_nothing_is_lost() {
        let losses = WIDTH.losses(&[Some(0.0), None, None], &(1..3));
        assert_eq!(losses, [0.0; 3]);
    }
}
