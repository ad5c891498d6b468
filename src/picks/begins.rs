//! At which phase of the repeat does a pick begin?
//!
//! Cells look most like weft, or like warp, in the middle of their picks. But lightness shows relief too, and light
//! that comes from one side (a scanner's does) brightens one flank of every yarn and darkens the other: by lightness
//! the repeat is read up to half a pick off, the more the less warp and weft differ in colour. Picks that are all half a
//! pick off are one too few or too many between their ends.
//!
//! # Method
//! Three witnesses, each right but for a spread, or else knowing nothing:
//!
//! 1. the phase at which cells that should show weft differ most from those that should show warp, lightness counted
//!    little;
//! 2. the same by a* and b* against lightness, in which a shade leaves no trace;
//! 3. where the warp doesn't hide the weft, the phase at which all columns change most (`border`).
//!
//! The phase's density is their product, the first two, which hang together, counted by a third each. How wide each
//! spreads, and how often it knows nothing, is the likeliest on 700 drawn bands, rounded. There the phase was off by
//! 0.11 of a pick (root mean square) as `rows` reads it and is by 0.05 so, by more than a fifth in 52 and in 9.
//!
//! # Limits
//! In weft that hides the warp, and is of its colour, nothing is sure.

use ndarray::{Array2, Axis, Slice, Zip};

use super::border::border_phase;
use super::cover::Cover;
use super::phase::STATES_A_PICK;
use super::rows::{Fit, plateau_middle, variances, windows};

/// What lightness counts beside colour.
const LIGHTNESS: f32 = 0.1;

/// Colour against lightness: L* is taken this much lighter (dark yarns have no colour to speak of), and the quotient
/// brought to the colour of a yarn of middling lightness.
const DARK: f32 = 16.0;
const MIDDLING: f32 = 60.0;

/// What each of the first two witnesses counts.
const COLOUR_WORTH: f64 = 0.35;

/// Spread of a witness by colour, picks: what it has anyhow, and what it has at a contrast of 1 ΔE.
const COLOUR_SPREAD: (f64, f64) = (0.018, 0.05);

/// How often it knows nothing: anyhow, and at a contrast of 1 ΔE; at most.
const COLOUR_ASTRAY: (f64, f64) = (0.005, 0.03);
const MOST_ASTRAY: f64 = 0.95;

/// Least contrast of weft and warp, ΔE.
const LEAST_CONTRAST: f64 = 0.1;

/// Spread of the borders' witness, picks, and how often it knows nothing.
const BORDER_OF_BOTH: (f64, f64) = (0.035, 0.29);
const BORDER_OF_WEFT: (f64, f64) = (0.09, 0.21);

/// Cells that begin at a state have their middles half a state before those of a pick that does.
const HALF_A_STATE: f64 = 0.5;

/// Standard uncertainty where no drawdown is known, picks.
const UNKNOWN_U: f64 = 0.14;

/// Phases that are told apart within a pick.
const STEPS: usize = 100;

/// Other phases are tried so far from the likeliest, in steps, or where the density has a top nearby.
const TRIED: [usize; 3] = [25, 50, 75];
const NEARBY: usize = 12;

/// Where a pick begins.
pub(super) struct Begins {
    /// Log-density of each phase within a pick, the greatest 0.
    log_density: Vec<f64>,
    /// For each state of the repeat, how far the cells differ if the first row began there.
    contrast: Vec<f64>,
}

impl Begins {
    /// `template` holds the repeat in Lab, shape (states, columns · 3); `fit` is how the drawdown lies in it.
    pub(super) fn seen(template: &Array2<f32>, fit: &Fit, cover: Cover) -> Self {
        if fit.correlation <= 0.0 {
            let states = fit.expected.len() * STATES_A_PICK;
            return Self::product(
                &[(witness(fit.offset, UNKNOWN_U, 0.0), 1.0)],
                vec![0.0; states],
            );
        }
        let coloured = contrasts(&with_lightness(template, |colour, _| colour), fit);
        let unshaded = |colour, lightness: f32| MIDDLING * colour / (lightness.max(0.0) + DARK);
        let unshaded = contrasts(&with_lightness(template, unshaded), fit);
        let lightness = template.slice_axis(Axis(1), Slice::from(..).step_by(3));
        let border = border_phase(&lightness.to_owned());
        let (spread, astray) = match cover {
            Cover::Both => BORDER_OF_BOTH,
            Cover::Weft => BORDER_OF_WEFT,
            Cover::Warp => (1.0, 1.0),
        };
        Self::product(
            &[
                (by_cells(&coloured), COLOUR_WORTH),
                (by_cells(&unshaded), COLOUR_WORTH),
                (witness(border, spread, astray), 1.0),
            ],
            coloured,
        )
    }

    fn product(witnesses: &[(Vec<f64>, f64)], contrast: Vec<f64>) -> Self {
        let at = |k: usize| witnesses.iter().map(|(log, worth)| worth * log[k]).sum();
        let log_density: Vec<f64> = (0..STEPS).map(at).collect();
        let most = log_density
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        Self {
            log_density: log_density.iter().map(|log| log - most).collect(),
            contrast,
        }
    }

    /// The likeliest phase, picks within the repeat, and others that are to be tried, each with its log-density less
    /// that of the likeliest; none below `least`.
    pub(super) fn phases(&self, least: f64) -> Vec<(f64, f64)> {
        let best = self.likeliest(0..STEPS);
        let mut steps = vec![best];
        for by in TRIED {
            let about = best + by + STEPS - NEARBY;
            let top = self.likeliest((about..=about + 2 * NEARBY).map(|k| k % STEPS));
            let beside = [top + 1, top + STEPS - 1].map(|k| self.log_density[k % STEPS]);
            let is_top = beside.iter().all(|log| *log <= self.log_density[top]);
            steps.push(if is_top { top } else { (best + by) % STEPS });
        }
        let kept = steps.into_iter().filter(|k| self.log_density[*k] >= least);
        kept.map(|k| (self.in_repeat(k), self.log_density[k]))
            .collect()
    }

    /// The step of the greatest density among some.
    fn likeliest(&self, steps: impl Iterator<Item = usize>) -> usize {
        let by_density =
            |a: &usize, b: &usize| self.log_density[*a].total_cmp(&self.log_density[*b]);
        steps.max_by(by_density).unwrap_or(0)
    }

    /// Standard uncertainty of the likeliest phase, picks.
    pub(super) fn u(&self) -> f64 {
        let best = self.likeliest(0..STEPS);
        let (mut sum, mut whole) = (0.0, 0.0);
        for (k, log) in self.log_density.iter().enumerate() {
            let off = apart(k as f64 / STEPS as f64, best as f64 / STEPS as f64);
            sum += log.exp() * off * off;
            whole += log.exp();
        }
        (sum / whole).sqrt()
    }

    /// The phase within the repeat at which the first row begins, if picks begin at a step.
    fn in_repeat(&self, step: usize) -> f64 {
        let phase = step as f64 / STEPS as f64;
        let rows = self.contrast.len() / STATES_A_PICK;
        let contrast = |row: &usize| {
            let state = ((phase + *row as f64) * STATES_A_PICK as f64 + HALF_A_STATE).round();
            self.contrast[state as usize % self.contrast.len()]
        };
        let row = (0..rows).max_by(|a, b| contrast(a).total_cmp(&contrast(b)));
        phase + row.unwrap_or(0) as f64
    }
}

/// For each state of the repeat, how far weft and warp differ if the first row began there, ΔE.
fn contrasts(template: &Array2<f32>, fit: &Fit) -> Vec<f64> {
    let (states, width) = template.dim();
    let ends = fit.expected[0].len();
    let cells = windows(template, width / 3, (ends, fit.margin));
    let count = (fit.expected.len() * ends) as f64;
    let contrast = |k: usize| (variances(&cells, k, &fit.expected).0 / count).sqrt();
    (0..states).map(contrast).collect()
}

/// What cells of such contrasts say.
fn by_cells(contrasts: &[f64]) -> Vec<f64> {
    let by_contrast = |a: &usize, b: &usize| contrasts[*a].total_cmp(&contrasts[*b]);
    let top = (0..contrasts.len()).max_by(by_contrast).unwrap_or(0);
    let phase = (plateau_middle(contrasts, top) - HALF_A_STATE) / STATES_A_PICK as f64;
    let contrast = contrasts[top].max(LEAST_CONTRAST);
    let spread = COLOUR_SPREAD.0.hypot(COLOUR_SPREAD.1 / contrast);
    let astray = (COLOUR_ASTRAY.0 + COLOUR_ASTRAY.1 / contrast).min(MOST_ASTRAY);
    witness(phase, spread, astray)
}

/// The template with lightness counted little, and colours made of colour and lightness.
fn with_lightness(template: &Array2<f32>, colour: impl Fn(f32, f32) -> f32) -> Array2<f32> {
    let mut out = template.clone();
    Zip::from(out.exact_chunks_mut((1, 3))).for_each(|mut lab| {
        let lightness = lab[[0, 0]];
        for c in [1, 2] {
            lab[[0, c]] = colour(lab[[0, c]], lightness);
        }
        lab[[0, 0]] = LIGHTNESS * lightness;
    });
    out
}

/// Log-density of each step's phase by one witness.
fn witness(phase: f64, spread: f64, astray: f64) -> Vec<f64> {
    let scale = (1.0 - astray) / (spread * std::f64::consts::TAU.sqrt());
    let at = |k: usize| {
        let off = apart(k as f64 / STEPS as f64, phase) / spread;
        (scale * (-0.5 * off * off).exp() + astray)
            .max(f64::MIN_POSITIVE)
            .ln()
    };
    (0..STEPS).map(at).collect()
}

/// How far two phases lie apart, picks, whole ones left out.
fn apart(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(1.0);
    d.min(1.0 - d)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ENDS: usize = 4;
    const COLUMNS: usize = 3 * ENDS;

    /// Plain weave whose first row begins at `begins`: +1 where weft lies on top, seen from a phase, an end.
    fn on_top(begins: f64, state: usize, end: usize) -> f64 {
        let phase = state as f64 / STATES_A_PICK as f64 - begins;
        let row = phase.rem_euclid(2.0).floor() as usize;
        if (row + end).is_multiple_of(2) {
            1.0
        } else {
            -1.0
        }
    }

    /// Its repeat in Lab: weft and warp differ by so much in b*, and lightness is relief that leads by half a pick.
    fn repeat(begins: f64, difference: f64) -> Array2<f32> {
        Array2::from_shape_fn((2 * STATES_A_PICK, 3 * COLUMNS), |(k, at)| {
            let end = at / 9;
            let value = match at % 3 {
                0 => 50.0 + 8.0 * on_top(begins + 0.5, k, end),
                2 => difference * on_top(begins, k, end),
                _ => 0.0,
            };
            value as f32
        })
    }

    fn plain(offset: f64) -> Fit {
        let cell = |r: usize, e: usize| if (r + e).is_multiple_of(2) { 1.0 } else { -1.0 };
        let row = |r: usize| (0..ENDS).map(|e| cell(r, e)).collect();
        Fit {
            correlation: 0.9,
            expected: (0..2).map(row).collect(),
            ..Fit::unknown(2, ENDS, offset)
        }
    }

    fn off(begins: &Begins, phase: f64) -> f64 {
        apart(begins.phases(-4.0)[0].0, phase)
    }

    #[test]
    fn relief_that_leads_by_half_a_pick_moves_no_phase_where_the_yarns_differ_in_colour() {
        for phase in [0.2, 0.75] {
            let by_lightness = phase + 0.5;
            let begins = Begins::seen(&repeat(phase, 6.0), &plain(by_lightness), Cover::Warp);
            assert!(off(&begins, phase) < 0.1, "{}", off(&begins, phase));
            assert!(begins.u() < 0.15);
        }
    }

    #[test]
    fn yarns_of_one_colour_are_told_apart_by_the_borders_unless_the_warp_hides_them() {
        // All that is seen changes at 0.8, half a pick after where the cells seem to begin.
        let seen = |cover| Begins::seen(&repeat(0.3, 0.0), &plain(0.3), cover);
        assert!(off(&seen(Cover::Both), 0.8) < 0.06);
        assert!(seen(Cover::Warp).u() > seen(Cover::Both).u());
    }

    #[test]
    fn the_likeliest_phase_is_tried_first_and_none_that_is_far_less_likely() {
        let sure = Begins::seen(&repeat(0.2, 12.0), &plain(0.2), Cover::Warp).phases(-2.0);
        assert_eq!(sure.len(), 1, "{sure:?}");
        let unsure = Begins::seen(&repeat(0.2, 0.1), &plain(0.2), Cover::Warp).phases(-4.0);
        assert!(unsure.len() > 1 && unsure[0].1.abs() < 1e-12, "{unsure:?}");
        assert!(unsure.iter().all(|(_, log)| (-4.0..=0.0).contains(log)));
    }

    #[test]
    fn the_row_of_the_phase_is_the_one_that_the_cells_show() {
        let mut fit = plain(1.4);
        // Three rows of which no two are alike.
        fit.expected = vec![
            vec![1.0, -1.0, -1.0, 1.0],
            vec![-1.0, 1.0, -1.0, -1.0],
            vec![-1.0, -1.0, 1.0, 1.0],
        ];
        let begins = 1.4;
        let template = Array2::from_shape_fn((3 * STATES_A_PICK, 3 * COLUMNS), |(k, at)| {
            let phase = (k as f64 / STATES_A_PICK as f64 - begins).rem_euclid(3.0);
            let cell = fit.expected[phase.floor() as usize % 3][at / 9];
            if at % 3 == 2 { 6.0 * cell as f32 } else { 40.0 }
        });
        let found = Begins::seen(&template, &fit, Cover::Warp).phases(-4.0)[0].0;
        assert!((found - begins).abs() < 0.03, "{found}");
    }
}
