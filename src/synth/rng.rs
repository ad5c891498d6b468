//! The renderer's own random numbers: the same seed gives the same band on every machine.

/// A small generator: Weyl sequence with a mixing step (Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", 2014).
#[derive(Clone, Debug)]
pub struct Rng {
    state: u64,
}

impl Rng {
    /// A generator; every seed gives its own sequence.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// A generator for one purpose (`label`), so that more draws for one thing never move another.
    #[must_use]
    pub fn fork(seed: u64, label: u64) -> Self {
        let mut rng = Self::new(seed ^ label.wrapping_mul(0xd6e8_feb8_6659_fd93));
        rng.next_u64();
        rng
    }

    /// The next 64 random bits.
    pub fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 (included) to 1 (excluded).
    pub fn unit(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        let span = (high.max(low) - low + 1) as f64;
        low + (self.unit() * span) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// One of the choices; the first where there is none to choose.
    pub fn choose<'a, T>(&mut self, choices: &'a [T]) -> &'a T {
        &choices[self.whole(0, choices.len().max(1) - 1)]
    }

    /// A normal number of mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// A near-normal number (sum of eight bytes) of mean 0 and standard deviation 1: fast enough
    /// for every pixel, never beyond 4.9.
    pub fn rough_normal(&mut self) -> f32 {
        const SD: f32 = 209.02; // of a sum of eight bytes
        let bits = self.next_u64();
        let sum: u32 = bits.to_le_bytes().iter().map(|&byte| u32::from(byte)).sum();
        (sum as f32 - 1020.0) / SD
    }
}

/// A smooth random line of rms 1: sines around one wavelength with random phases.
#[derive(Clone, Debug)]
pub(super) struct Wander {
    waves: Vec<(f64, f64, f64)>,
}

impl Wander {
    /// A line whose waves are 0.6 to 1.8 times `wavelength` long.
    pub(super) fn new(rng: &mut Rng, wavelength: f64) -> Self {
        const WAVES: usize = 6;
        let amplitude = (2.0 / WAVES as f64).sqrt();
        let waves = (0..WAVES)
            .map(|_| {
                let length = wavelength * rng.between(0.6, 1.8);
                let phase = rng.between(0.0, std::f64::consts::TAU);
                (amplitude, std::f64::consts::TAU / length, phase)
            })
            .collect();
        Self { waves }
    }

    /// Its value at `x`, in the wavelength's unit.
    pub(super) fn at(&self, x: f64) -> f64 {
        self.waves
            .iter()
            .map(|&(amplitude, rate, phase)| amplitude * (rate * x + phase).sin())
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_mean_0_and_sd_1() {
        let mut rng = Rng::new(7);
        let n = 20_000;
        for rough in [false, true] {
            let values: Vec<f64> = (0..n)
                .map(|_| {
                    if rough {
                        f64::from(rng.rough_normal())
                    } else {
                        rng.normal()
                    }
                })
                .collect();
            let mean = values.iter().sum::<f64>() / f64::from(n);
            let square = values.iter().map(|v| v * v).sum::<f64>() / f64::from(n);
            assert!(mean.abs() < 0.03, "{mean}");
            assert!((square - 1.0).abs() < 0.04, "{square}");
        }
    }

    #[test]
    fn whole_numbers_reach_both_ends() {
        let mut rng = Rng::new(3);
        let seen: Vec<usize> = (0..200).map(|_| rng.whole(2, 4)).collect();
        for wanted in 2..=4 {
            assert!(seen.contains(&wanted));
        }
        assert!(seen.iter().all(|n| (2..=4).contains(n)));
    }
}
