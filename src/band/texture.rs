//! How rough is a sample's neighbourhood, and does cloth or ground look like that?
//!
//! A shadow is smooth, and yarn of the shadow's colour isn't: what colour alone can't tell.

use super::StraightBand;

/// Added to the spread before its logarithm is taken, L*: less is a smooth picture's own noise.
const LEAST: f32 = 0.3;

/// Roughness of a sample: the logarithm of the spread of L* among it and its eight neighbours.
pub(super) fn roughness(band: &StraightBand, i: usize, j: usize) -> f32 {
    let l = &band.lab[0];
    let (rows, columns) = l.dim();
    let (mut sum, mut squares) = (0.0, 0.0);
    let middle = l[(i, j)];
    for r in [i.saturating_sub(1), i, (i + 1).min(rows - 1)] {
        for c in [j.saturating_sub(1), j, (j + 1).min(columns - 1)] {
            let v = l[(r, c)] - middle;
            sum += v;
            squares += v * v;
        }
    }
    roughness_of((squares - sum * sum / 9.0) / 8.0)
}

/// Roughness of so much variance of L*.
pub(super) fn roughness_of(variance: f32) -> f32 {
    (LEAST + variance.max(0.0).sqrt()).ln()
}

/// Least spread of a surface's roughness.
const LEAST_UNREST: f32 = 0.3;
/// Most that the texture may say, log odds.
const MOST: f32 = 2.0;

/// From such a share of hidden cloth on, texture counts fully, and how much it counts where none is hidden:
/// fuzz and a JPEG's ripples beside the cloth are rough too.
const MUCH_HIDDEN: f32 = 0.2;
/// See [`MUCH_HIDDEN`].
const LEAST_WEIGHT: f32 = 0.5;

/// Spreads of L* that are tried for where cloth begins to be likelier: so many, so far apart.
const STEPS: u16 = 200;
/// See [`STEPS`].
const STEP: f32 = 0.1;

/// Roughness of ground and cloth, each a normal distribution: mean and standard deviation.
#[derive(Clone, Copy, Debug)]
pub(super) struct Texture {
    ground: (f32, f32),
    cloth: (f32, f32),
    /// Variance of L* up to which nothing looks more like cloth.
    smooth: f32,
    /// How much it counts.
    weight: f32,
}

impl Texture {
    /// Learns both from samples; `hidden` is the share of the cloth that colour alone doesn't tell.
    pub(super) fn learn(ground: &[f32], cloth: &[f32], hidden: f32) -> Self {
        let normal = |values: &[f32]| {
            let n = values.len().max(1) as f32;
            let mean = values.iter().sum::<f32>() / n;
            let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f32>() / n;
            (mean, variance.sqrt().max(LEAST_UNREST))
        };
        let mut texture = Self {
            ground: normal(ground),
            cloth: normal(cloth),
            smooth: 0.0,
            weight: (hidden / MUCH_HIDDEN).clamp(LEAST_WEIGHT, 1.0),
        };
        let rough = (0..STEPS).map(|k| (f32::from(k) * STEP).powi(2));
        texture.smooth = rough
            .take_while(|variance| texture.log_odds(roughness_of(*variance)) <= 0.0)
            .last()
            .unwrap_or(0.0);
        texture
    }

    /// Variance of L* up to which nothing looks more like cloth.
    pub(super) fn smooth(&self) -> f32 {
        self.smooth
    }

    /// What such a roughness adds to the log odds of being cloth: smooth yarn isn't ground for that.
    pub(super) fn for_cloth(&self, roughness: f32) -> f32 {
        self.weight * self.log_odds(roughness).max(0.0)
    }

    /// Log odds that something so rough is cloth.
    pub(super) fn log_odds(&self, roughness: f32) -> f32 {
        let density = |(mean, sd): (f32, f32)| {
            let z = (roughness - mean) / sd;
            -0.5 * z * z - sd.ln()
        };
        (density(self.cloth) - density(self.ground)).clamp(-MOST, MOST)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_as_rough_as_the_cloth_is_cloth() {
        let spread = |middle: f32| -> Vec<f32> {
            (0..50).map(|k| middle + 0.02 * (k % 20) as f32).collect()
        };
        let texture = Texture::learn(&spread(-0.5), &spread(1.5), 1.0);
        assert!(texture.log_odds(1.6) > 1.9);
        assert!(texture.log_odds(-0.4) < -1.9);
        assert!(texture.log_odds(0.7).abs() < 1.0);
    }
}
