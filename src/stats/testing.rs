//! Seeded noise for the tests.

/// Normal numbers from a seed.
#[derive(Debug)]
pub(crate) struct Normal {
    state: u64,
}

impl Normal {
    pub(crate) fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next number: mean 0, standard deviation 1 (Box and Muller).
    pub(crate) fn draw(&mut self) -> f64 {
        let (a, b) = (self.uniform().max(1e-12), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// The next number between 0 and 1 (`SplitMix64`).
    pub(crate) fn uniform(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}
