//! Is a colour cloth or ground? Learned from the photo itself.
//!
//! # Method
//! 1. Colours are taken in L* + 16, a*, b*: there a shadow, which takes the same share from red,
//!    green and blue, pulls a colour straight towards the origin (all three coordinates follow
//!    the cube root of light).
//! 2. The ground's colours, from strips beside the band, fall into up to [`GROUND_KINDS`] normal
//!    kinds; each reaches along its ray towards black, the less likely the darker: a cast shadow is
//!    ground. How far it reaches hangs on the yarns (`overlap`).
//! 3. The cloth's colours, from well inside, fall into up to [`CLOTH_KINDS`] normal kinds. A rare one may
//!    be the weft that all turns are of: none counts for less than a tenth. Turns whose colour is known otherwise
//!    add kinds of their own.
//! 4. A colour's log odds is the difference of the two best log densities, both with a floor that
//!    lets an unseen colour say nothing.
//!
//! # Limits
//! Colour alone doesn't tell a white yarn from white paper; the outline's step does.

use nalgebra::{Matrix3, Vector3};

use super::overlap::Overlap;
use crate::raster::{AT_ONCE, relabelled};
use crate::stats::k_means;

/// Kinds of ground told apart.
const GROUND_KINDS: usize = 4;
/// Kinds of cloth colour: yarns, each lit and in its furrow.
const CLOTH_KINDS: usize = 6;
/// What makes a kind of ground. What is rarer beside the band is the band's own fuzz: taken for ground, it drew
/// a woolly band's selvedges in by 0.15 mm each.
const GROUND: Least = Least {
    share: 0.03,
    counted: 0.0,
    spread: 0.8,
};
/// What makes a kind of cloth.
const CLOTH: Least = Least {
    share: 0.01,
    counted: 0.1,
    spread: 1.5,
};
/// Kinds of turns: lit, and in their own shade.
const TURN_KINDS: usize = 3;
/// What makes a kind of turn. Its colours are usual ones of many turns: single turns differ from them by so much.
const TURN: Least = Least {
    share: 0.05,
    counted: 0.1,
    spread: 2.5,
};
/// Rounding of a JPEG up to which it ripples beside an edge no more than the ground's own spread.
const SMOOTH_JPEG: f64 = 0.3;
/// Spread of a JPEG's ripples for each unit of them, Lab units.
const RIPPLES: f64 = 2.0;
/// How dark ground may be, as a factor on L* + 16, and still count as lying in the light: about half of it.
const HARDLY_DARK: f32 = 0.8;
/// Typical darkening by a shadow, on the same factor.
const SHADOW: f32 = 0.12;
/// Log density (per Lab unit³) of a colour that neither has shown.
const UNSEEN: f32 = -15.0;
/// Rounds of k-means.
const ROUNDS: usize = 12;

/// A colour in L* + 16, a*, b*.
pub(super) type Colour = Vector3<f64>;

/// Turns L*, a*, b* into the model's colour.
pub(super) fn colour(lab: [f32; 3]) -> Colour {
    Colour::new(
        f64::from(lab[0]) + 16.0,
        f64::from(lab[1]),
        f64::from(lab[2]),
    )
}

/// One normal kind of colour. In `f32`, which is exact to a ten-thousandth of the odds: every sample of
/// the band asks all kinds.
#[derive(Clone, Debug)]
struct Kind {
    mean: [f32; 3],
    inverse: [[f32; 3]; 3],
    /// log share − ½ log det(2π covariance)
    log_norm: f32,
    /// `inverse · mean`, and one over `mean · inverse · mean`.
    ray: ([f32; 3], f32),
}

/// A coordinate of some colours, or what was worked out for each of them.
type Lanes = [f32; AT_ONCE];

/// The greater of two numbers; simpler than `f32::max`, which thinks of what is no number.
#[inline]
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// The lesser of two numbers.
#[inline]
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

impl Kind {
    /// Raises `best` to the log densities of the colours `x`.
    fn raise_by_density(&self, x: &[Lanes; 3], best: &mut Lanes) {
        for n in 0..AT_ONCE {
            let far = self.distance2([x[0][n], x[1][n], x[2][n]], 1.0);
            best[n] = greater(best[n], self.log_norm - 0.5 * far);
        }
    }

    /// The same as ground, in the light or in a shadow down to `darkest`.
    fn raise_by_ground(&self, x: &[Lanes; 3], darkest: f32, best: &mut Lanes) {
        for n in 0..AT_ONCE {
            let x = [x[0][n], x[1][n], x[2][n]];
            let light = greater(lesser(self.light_of(x, 1.0 / SHADOW), 1.0), darkest);
            let far = self.distance2(x, light);
            let density = self.log_norm - 0.5 * far - (1.0 - light) * (1.0 / SHADOW);
            best[n] = greater(best[n], density);
        }
    }

    /// The same as ground in hardly any shadow, down to `darkest`.
    fn raise_by_lit_ground(&self, x: &[Lanes; 3], darkest: f32, best: &mut Lanes) {
        for n in 0..AT_ONCE {
            let x = [x[0][n], x[1][n], x[2][n]];
            let light = greater(lesser(self.light_of(x, 0.0), 1.0), darkest);
            let density = self.log_norm - 0.5 * self.distance2(x, light);
            best[n] = greater(best[n], density);
        }
    }

    /// The light, as a share of the mean's, in which a colour is likeliest, each share being so much
    /// likelier than the one below it.
    #[inline]
    fn light_of(&self, x: [f32; 3], likelier: f32) -> f32 {
        let (im, each) = &self.ray;
        (x[0] * im[0] + x[1] * im[1] + x[2] * im[2] + likelier) * each
    }

    /// Squared Mahalanobis distance of a colour from the mean, in so much of its light.
    #[inline]
    fn distance2(&self, x: [f32; 3], light: f32) -> f32 {
        let (m, mean) = (&self.inverse, &self.mean);
        let (d0, d1, d2) = (
            x[0] - light * mean[0],
            x[1] - light * mean[1],
            x[2] - light * mean[2],
        );
        d0 * (m[0][0] * d0 + m[0][1] * d1 + m[0][2] * d2)
            + d1 * (m[1][0] * d0 + m[1][1] * d1 + m[1][2] * d2)
            + d2 * (m[2][0] * d0 + m[2][1] * d1 + m[2][2] * d2)
    }
}

/// Samples that a model is learned from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen<'a> {
    /// Beside the band.
    pub ground: &'a [Colour],
    /// Well inside the cloth.
    pub cloth: &'a [Colour],
    /// Turns of the weft, where their colour is known otherwise.
    pub turns: &'a [Colour],
}

/// Colours of ground and cloth.
#[derive(Clone, Debug)]
pub(super) struct ColourModel {
    ground: Vec<Kind>,
    cloth: Vec<Kind>,
    /// What colour can't tell apart.
    pub overlap: Overlap,
}

impl ColourModel {
    /// Learns both from samples; `None` where either has none. `rounding` is the JPEG's (see
    /// [`Photo`](crate::photo::Photo)): its ripples on the ground beside the cloth are none farther out.
    pub(super) fn learn(seen: Seen<'_>, rounding: f64) -> Option<Self> {
        let ground_kind = Least {
            spread: GROUND.spread.hypot(RIPPLES * ripples(rounding)),
            ..GROUND
        };
        let (ground_kinds, cloth_kinds) = rayon::join(
            || kinds(seen.ground, GROUND_KINDS, ground_kind),
            || {
                let mut cloth = kinds(seen.cloth, CLOTH_KINDS, CLOTH);
                cloth.extend(kinds(seen.turns, TURN_KINDS, TURN));
                cloth
            },
        );
        if ground_kinds.is_empty() || cloth_kinds.is_empty() {
            return None;
        }
        let mut model = Self {
            ground: ground_kinds,
            cloth: cloth_kinds,
            overlap: Overlap::NONE,
        };
        Overlap::settle(&mut model, seen.cloth);
        Some(model)
    }

    /// Usual colours of the cloth's kinds.
    pub(super) fn cloth_means(&self) -> Vec<Colour> {
        let means = self.cloth.iter().map(|kind| kind.mean.map(f64::from));
        means.map(Colour::from).collect()
    }

    /// Log odds of some colours against ground in any light.
    pub(super) fn odds_of(&self, colours: &[Colour]) -> Vec<f32> {
        self.of_colours(colours, None)
    }

    /// The same against ground that lies in the light.
    pub(super) fn odds_against_lit(&self, colours: &[Colour]) -> Vec<f32> {
        let mut against_lit = vec![0.0; colours.len()];
        self.of_colours(colours, Some(&mut against_lit));
        against_lit
    }

    fn of_colours(&self, colours: &[Colour], against_lit: Option<&mut [f32]>) -> Vec<f32> {
        let plane = |k: usize, less: f32| -> Vec<f32> {
            colours.iter().map(|c| c[k] as f32 - less).collect()
        };
        let (l, a, b) = (plane(0, 16.0), plane(1, 0.0), plane(2, 0.0));
        let columns: Vec<usize> = (0..colours.len()).collect();
        let mut any = vec![0.0; l.len()];
        self.log_odds([&l, &a, &b], &columns, &mut any, against_lit);
        any
    }

    /// Log odds that the colours (L*, a*, b*) at some columns of a row are cloth, positive for cloth:
    /// against ground in any light, and where asked for against ground that lies in the light.
    pub(super) fn log_odds(
        &self,
        lab: [&[f32]; 3],
        columns: &[usize],
        odds: &mut [f32],
        mut against_lit: Option<&mut [f32]>,
    ) {
        let darkest = self.overlap.darkest;
        let chunks = columns.chunks(AT_ONCE).zip(odds.chunks_mut(AT_ONCE));
        for (k, (columns, odds)) in chunks.enumerate() {
            let mut x = [[0.0; AT_ONCE]; 3];
            for (n, column) in columns.iter().enumerate() {
                x[0][n] = lab[0][*column] + 16.0;
                x[1][n] = lab[1][*column];
                x[2][n] = lab[2][*column];
            }
            let [mut cloth, mut ground, mut lit] = [[UNSEEN; AT_ONCE]; 3];
            for kind in &self.cloth {
                kind.raise_by_density(&x, &mut cloth);
            }
            for kind in &self.ground {
                kind.raise_by_ground(&x, darkest, &mut ground);
            }
            for (odds, (cloth, ground)) in odds.iter_mut().zip(cloth.iter().zip(&ground)) {
                *odds = cloth - ground;
            }
            let Some(against_lit) = against_lit.as_deref_mut() else {
                continue;
            };
            for kind in &self.ground {
                kind.raise_by_lit_ground(&x, greater(darkest, HARDLY_DARK), &mut lit);
            }
            let out = against_lit[k * AT_ONCE..].iter_mut();
            for (odds, (cloth, lit)) in out.zip(cloth.iter().zip(&lit)) {
                *odds = cloth - lit;
            }
        }
    }
}

/// What a cluster of colours needs to be a kind.
#[derive(Clone, Copy)]
struct Least {
    /// Share of the samples.
    share: f64,
    /// Least share that it counts with.
    counted: f64,
    /// Standard deviation of a colour, Lab units.
    spread: f64,
}

/// By how much a JPEG's rounding (see [`Photo`](crate::photo::Photo)) shows as ripples beside an edge.
pub(super) fn ripples(rounding: f64) -> f64 {
    (rounding - SMOOTH_JPEG).max(0.0)
}

/// k-means, then a normal kind for each cluster that is one.
fn kinds(samples: &[Colour], count: usize, least: Least) -> Vec<Kind> {
    if samples.len() < 20 {
        return Vec::new();
    }
    let relabel = |label: &mut [usize], centres: &[Colour]| relabelled(label, samples, centres);
    let (centres, label) = k_means::<_, 3>(samples, start(samples, count), ROUNDS, relabel);
    (0..centres.len())
        .filter_map(|k| {
            let mut covariance = Matrix3::zeros();
            let mut n = 0.0;
            for (x, _) in samples.iter().zip(&label).filter(|(_, l)| **l == k) {
                let d = x - centres[k];
                covariance += d * d.transpose();
                n += 1.0;
            }
            let share = n / samples.len() as f64;
            if share < least.share {
                return None;
            }
            let covariance = covariance / n + Matrix3::identity() * least.spread.powi(2);
            let inverse = covariance.try_inverse()?;
            let det = covariance.determinant();
            let log_norm =
                share.max(least.counted).ln() - 0.5 * (std::f64::consts::TAU.powi(3) * det).ln();
            let narrow = |v: &Colour| [v[0] as f32, v[1] as f32, v[2] as f32];
            let ray = inverse * centres[k];
            Some(Kind {
                mean: narrow(&centres[k]),
                inverse: [0, 1, 2].map(|i| narrow(&inverse.row(i).transpose())),
                log_norm: log_norm as f32,
                ray: (narrow(&ray), (1.0 / centres[k].dot(&ray)) as f32),
            })
        })
        .collect()
}

/// Starts that lie far apart but not on single odd samples: medians of L*-sorted groups, split
/// evenly.
fn start(samples: &[Colour], count: usize) -> Vec<Colour> {
    let mut order: Vec<usize> = (0..samples.len()).collect();
    // The direction of greatest spread among the three axes.
    let spread = |axis: usize| {
        let mean = samples.iter().map(|x| x[axis]).sum::<f64>() / samples.len() as f64;
        samples
            .iter()
            .map(|x| (x[axis] - mean).powi(2))
            .sum::<f64>()
    };
    let axis = (0..3)
        .max_by(|a, b| spread(*a).total_cmp(&spread(*b)))
        .unwrap_or(0);
    order.sort_by(|&a, &b| samples[a][axis].total_cmp(&samples[b][axis]));
    (0..count)
        .map(|k| samples[order[(2 * k + 1) * order.len() / (2 * count)]])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shadow_on_paper_is_ground_and_a_blue_yarn_is_cloth() {
        let jitter = |i: usize| ((i * 37 % 11) as f64 - 5.0) / 5.0;
        let paper: Vec<Colour> = (0..400)
            .map(|i| Colour::new(110.0 + jitter(i), 1.0 + 0.3 * jitter(i + 3), 2.0))
            .collect();
        let yarn: Vec<Colour> = (0..400)
            .map(|i| Colour::new(60.0 + 8.0 * jitter(i), 2.0, -30.0 + 2.0 * jitter(i + 5)))
            .collect();
        let seen = Seen {
            ground: &paper,
            cloth: &yarn,
            turns: &[],
        };
        let model = ColourModel::learn(seen, 0.0).expect("both have samples");
        let (mut odds, mut lit) = ([0.0; 3], [0.0; 3]);
        let lightness = [110.0_f32, 88.0, 58.0].map(|l| l - 16.0);
        let lab: [&[f32]; 3] = [&lightness, &[1.0, 0.8, 2.0], &[2.0, 1.6, -29.0]];
        model.log_odds(lab, &[0, 1, 2], &mut odds, Some(&mut lit));
        assert!(odds[0] < -5.0, "paper: {odds:?}");
        assert!(odds[1] < -3.0, "shadow: {odds:?}");
        assert!(odds[2] > 5.0, "yarn: {odds:?}");
    }
}
