//! From the file's sRGB to light, and from light to CIE L*a*b*.
//!
//! # References
//! IEC 61966-2-1 (sRGB, its transfer curve and primaries), CIE 15 (L*a*b*, D65 white). Departure:
//! both curves are read from tables with linear interpolation, within 0.02 of L*.

/// Entries of the cube-root table over 0 … 1.1.
const ROOT_STEPS: usize = 4096;
/// The highest ratio to white in the cube-root table.
const ROOT_TOP: f32 = 1.1;

/// X, Y and Z of linear red, green and blue, and white's X and Z.
const X: [f32; 3] = [0.412_456_4, 0.357_576_1, 0.180_437_5];
const Y: [f32; 3] = [0.212_672_9, 0.715_152_2, 0.072_175];
const Z: [f32; 3] = [0.019_333_9, 0.119_192, 0.950_304_1];
const WHITE_X: f32 = 0.950_47;
const WHITE_Z: f32 = 1.088_83;
/// Samples that are converted at once.
const LANES: usize = 8;

/// Tables for colour conversion.
#[derive(Clone, Debug)]
pub struct Colours {
    linear: [f32; 256],
    /// Each entry with the next one.
    root: Box<[[f32; 2]; ROOT_STEPS + 1]>,
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
        let root = |i: usize| {
            let t = ROOT_TOP * i as f32 / ROOT_STEPS as f32;
            if t > 216.0 / 24_389.0 {
                t.cbrt()
            } else {
                (24_389.0 / 27.0 * t + 16.0) / 116.0
            }
        };
        let mut pairs = Box::new([[0.0; 2]; ROOT_STEPS + 1]);
        for (i, pair) in pairs.iter_mut().enumerate() {
            *pair = [root(i), root(i + 1)];
        }
        Self {
            linear,
            root: pairs,
        }
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
        let x = (X[0] * r + X[1] * g + X[2] * b) / WHITE_X;
        let y = Y[0] * r + Y[1] * g + Y[2] * b;
        let z = (Z[0] * r + Z[1] * g + Z[2] * b) / WHITE_Z;
        let (fx, fy, fz) = (self.root(x), self.root(y), self.root(z));
        [116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)]
    }

    /// [`lab`](Self::lab) of a row of samples in place: red becomes L*, green a*, blue b*.
    pub(crate) fn lab_of_row(&self, [red, green, blue]: [&mut [f32]; 3]) {
        let (red, last_red) = red.as_chunks_mut::<LANES>();
        let (green, last_green) = green.as_chunks_mut::<LANES>();
        let (blue, last_blue) = blue.as_chunks_mut::<LANES>();
        for ((r, g), b) in red.iter_mut().zip(green).zip(blue) {
            self.labs(r, g, b);
        }
        for ((r, g), b) in last_red.iter_mut().zip(last_green).zip(last_blue) {
            [*r, *g, *b] = self.lab([*r, *g, *b]);
        }
    }

    /// Some samples at once, by the same steps as [`lab`](Self::lab).
    fn labs(&self, r: &mut [f32; LANES], g: &mut [f32; LANES], b: &mut [f32; LANES]) {
        let (mut x, mut y, mut z) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        for n in 0..LANES {
            x[n] = (X[0] * r[n] + X[1] * g[n] + X[2] * b[n]) / WHITE_X;
            y[n] = Y[0] * r[n] + Y[1] * g[n] + Y[2] * b[n];
            z[n] = (Z[0] * r[n] + Z[1] * g[n] + Z[2] * b[n]) / WHITE_Z;
        }
        self.roots(&mut x);
        self.roots(&mut y);
        self.roots(&mut z);
        for n in 0..LANES {
            r[n] = 116.0 * y[n] - 16.0;
            g[n] = 500.0 * (x[n] - y[n]);
            b[n] = 200.0 * (y[n] - z[n]);
        }
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the table"
    )]
    fn roots(&self, t: &mut [f32; LANES]) {
        let mut cell = [0_i32; LANES];
        for n in 0..LANES {
            t[n] = (t[n] / ROOT_TOP).clamp(0.0, 1.0) * ROOT_STEPS as f32;
            cell[n] = t[n] as i32;
        }
        for n in 0..LANES {
            let [low, high] = self.root[(cell[n] as usize).min(ROOT_STEPS)];
            t[n] = low + (t[n] - cell[n] as f32) * (high - low);
        }
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the table"
    )]
    fn root(&self, t: f32) -> f32 {
        let at = (t / ROOT_TOP).clamp(0.0, 1.0) * ROOT_STEPS as f32;
        let i = at as u16;
        let share = at - f32::from(i);
        let [low, high] = self.root[usize::from(i).min(ROOT_STEPS)];
        low + share * (high - low)
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
