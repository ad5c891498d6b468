//! From the file's sRGB to light, and from light to CIE L*a*b*.
//!
//! # References
//! IEC 61966-2-1 (sRGB, its transfer curve and primaries), CIE 15 (L*a*b*, D65 white). Departure:
//! both curves are read from tables with linear interpolation, within 0.02 of L*.

/// Entries of the cube-root table over 0 … 1.1.
const ROOT_STEPS: usize = 4096;
/// The highest ratio to white in the cube-root table.
const ROOT_TOP: f32 = 1.1;

/// Tables for colour conversion.
#[derive(Clone, Debug)]
pub struct Colours {
    linear: [f32; 256],
    root: Vec<f32>,
}

impl Default for Colours {
    fn default() -> Self {
        Self::new()
    }
}

impl Colours {
    /// Fills the tables.
    #[must_use]
    pub fn new() -> Self {
        let mut linear = [0.0; 256];
        for (code, value) in (0_u8..=255).zip(linear.iter_mut()) {
            let v = f32::from(code) / 255.0;
            *value = if v <= 0.040_45 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            };
        }
        let root = (0..ROOT_STEPS + 2)
            .map(|i| {
                let t = ROOT_TOP * i as f32 / ROOT_STEPS as f32;
                if t > 216.0 / 24_389.0 {
                    t.cbrt()
                } else {
                    (24_389.0 / 27.0 * t + 16.0) / 116.0
                }
            })
            .collect();
        Self { linear, root }
    }

    /// The light (0 … 1) that an sRGB code stands for.
    #[must_use]
    pub fn light(&self, code: u8) -> f32 {
        self.linear[usize::from(code)]
    }

    /// L* (0 … 100), a*, b* of linear red, green and blue (0 … 1).
    #[must_use]
    pub fn lab(&self, rgb: [f32; 3]) -> [f32; 3] {
        let [r, g, b] = rgb;
        let x = (0.412_456_4 * r + 0.357_576_1 * g + 0.180_437_5 * b) / 0.950_47;
        let y = 0.212_672_9 * r + 0.715_152_2 * g + 0.072_175 * b;
        let z = (0.019_333_9 * r + 0.119_192 * g + 0.950_304_1 * b) / 1.088_83;
        let (fx, fy, fz) = (self.root(x), self.root(y), self.root(z));
        [116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)]
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the table"
    )]
    fn root(&self, t: f32) -> f32 {
        let at = (t / ROOT_TOP).clamp(0.0, 1.0) * ROOT_STEPS as f32;
        let i = at as usize;
        let share = at - i as f32;
        self.root[i] + share * (self.root[i + 1] - self.root[i])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_is_100_and_red_is_where_the_standard_puts_it() {
        let colours = Colours::new();
        let white = colours.lab([1.0; 3]);
        assert!((white[0] - 100.0).abs() < 0.02 && white[1].abs() < 0.05 && white[2].abs() < 0.05);
        let red = colours.lab([colours.light(255), 0.0, 0.0]);
        for (got, want) in red.iter().zip([53.24, 80.09, 67.20]) {
            assert!((got - want).abs() < 0.05, "{red:?}");
        }
    }
}
