//! Is a colour cloth or ground? Learned from the photo itself.
//!
//! # Method
//! 1. Colours are taken in L* + 16, a*, b*: there a shadow, which takes the same share from red,
//!    green and blue, pulls a colour straight towards the origin (all three coordinates follow
//!    the cube root of light).
//! 2. The ground's colours, from strips beside the band, fall into up to [`GROUND_KINDS`] normal
//!    kinds; each reaches along its ray towards black down to [`DARKEST`], the less likely the
//!    darker: a cast shadow is ground.
//! 3. The cloth's colours, from well inside, fall into up to [`CLOTH_KINDS`] normal kinds.
//! 4. A colour's log odds is the difference of the two best log densities, both with a floor that
//!    lets an unseen colour say nothing.
//!
//! # Limits
//! Colour alone doesn't tell a white yarn from white paper; the outline's step does.

use nalgebra::{Matrix3, Vector3};

/// Kinds of ground told apart.
const GROUND_KINDS: usize = 4;
/// Kinds of cloth colour: yarns, each lit and in its furrow.
const CLOTH_KINDS: usize = 6;
/// How dark a shadow gets, as a factor on L* + 16: about 0.15 of the light.
const DARKEST: f64 = 0.53;
/// Typical darkening by a shadow, on the same factor.
const SHADOW: f64 = 0.12;
/// Log density (per Lab unit³) of a colour that neither has shown.
const UNSEEN: f64 = -15.0;
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

/// One normal kind of colour.
#[derive(Clone, Debug)]
struct Kind {
    mean: Colour,
    inverse: Matrix3<f64>,
    /// log share − ½ log det(2π covariance)
    log_norm: f64,
    /// `inverse · mean` and `mean · inverse · mean`, which every sample asks for.
    ray: (Colour, f64),
}

impl Kind {
    fn log_density(&self, x: &Colour) -> f64 {
        let d = x - self.mean;
        self.log_norm - 0.5 * d.dot(&(self.inverse * d))
    }

    /// As ground: in the light or in a shadow.
    fn log_density_shaded(&self, x: &Colour) -> f64 {
        let (im, a) = &self.ray;
        let b = x.dot(im);
        let k = ((b + 1.0 / SHADOW) / a).clamp(DARKEST, 1.0);
        let d = x - k * self.mean;
        self.log_norm - 0.5 * d.dot(&(self.inverse * d)) - (1.0 - k) / SHADOW
    }
}

/// Colours of ground and cloth.
#[derive(Clone, Debug)]
pub(super) struct ColourModel {
    ground: Vec<Kind>,
    cloth: Vec<Kind>,
}

impl ColourModel {
    /// Learns both from samples; `None` where either has none.
    pub(super) fn learn(ground: &[Colour], cloth: &[Colour]) -> Option<Self> {
        let model = Self {
            ground: kinds(ground, GROUND_KINDS, 0.8),
            cloth: kinds(cloth, CLOTH_KINDS, 1.5),
        };
        (!model.ground.is_empty() && !model.cloth.is_empty()).then_some(model)
    }

    /// Log odds that a colour is cloth: positive for cloth.
    pub(super) fn log_odds(&self, x: &Colour) -> f64 {
        let best = |values: &mut dyn Iterator<Item = f64>| values.fold(UNSEEN, f64::max);
        best(&mut self.cloth.iter().map(|k| k.log_density(x)))
            - best(&mut self.ground.iter().map(|k| k.log_density_shaded(x)))
    }
}

/// k-means, then a normal kind for each cluster that holds at least 1 % of the samples; `floor` is
/// the least standard deviation of a colour, Lab units.
fn kinds(samples: &[Colour], count: usize, floor: f64) -> Vec<Kind> {
    if samples.len() < 20 {
        return Vec::new();
    }
    let mut centres = start(samples, count);
    let mut label = vec![0_usize; samples.len()];
    for _ in 0..ROUNDS {
        let mut sums = vec![(Colour::zeros(), 0.0); centres.len()];
        for (l, x) in label.iter_mut().zip(samples) {
            *l = nearest(&centres, x);
            sums[*l].0 += x;
            sums[*l].1 += 1.0;
        }
        for (centre, (sum, n)) in centres.iter_mut().zip(&sums) {
            if *n > 0.0 {
                *centre = sum / *n;
            }
        }
    }
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
            if share < 0.01 {
                return None;
            }
            let covariance = covariance / n + Matrix3::identity() * (floor * floor);
            let inverse = covariance.try_inverse()?;
            let det = covariance.determinant();
            let log_norm = share.ln() - 0.5 * (std::f64::consts::TAU.powi(3) * det).ln();
            Some(Kind {
                mean: centres[k],
                inverse,
                log_norm,
                ray: (
                    inverse * centres[k],
                    centres[k].dot(&(inverse * centres[k])),
                ),
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

fn nearest(centres: &[Colour], x: &Colour) -> usize {
    let gap = |k: &usize| (x - centres[*k]).norm_squared();
    (0..centres.len())
        .min_by(|a, b| gap(a).total_cmp(&gap(b)))
        .unwrap_or(0)
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
        let model = ColourModel::learn(&paper, &yarn).expect("both have samples");
        assert!(model.log_odds(&Colour::new(110.0, 1.0, 2.0)) < -5.0);
        assert!(
            model.log_odds(&Colour::new(88.0, 0.8, 1.6)) < -3.0,
            "shadow"
        );
        assert!(model.log_odds(&Colour::new(58.0, 2.0, -29.0)) > 5.0);
    }
}
