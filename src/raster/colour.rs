//! From the file's sRGB to light, and from light to CIE L*a*b*.
//!
//! # References
//! IEC 61966-2-1 (sRGB, its transfer curve and primaries), CIE 15 (L*a*b*, D65 white). The cube root is worked
//! out by Halley's method from a third of the exponent, within a few units of the last place.

/// X, Y and Z of linear red, green and blue, each over white's.
const X: [f32; 3] = over(0.950_47, [0.412_456_4, 0.357_576_1, 0.180_437_5]);
const Y: [f32; 3] = [0.212_672_9, 0.715_152_2, 0.072_175];
const Z: [f32; 3] = over(1.088_83, [0.019_333_9, 0.119_192, 0.950_304_1]);
/// Ratio to white up to which L* follows a straight line, and that line: per unit, and at 0.
const TOE: f32 = 216.0 / 24_389.0;
const TOE_LINE: (f32, f32) = (24_389.0 / 27.0 / 116.0, 16.0 / 116.0);
/// What a third of a number's bits needs to be near the bits of its cube root: two thirds of the exponent's
/// offset, less what makes the worst guess least bad (found by trying).
const GUESS: i32 = 0x2a51_2000;
/// Samples that are converted at once.
const LANES: usize = 8;

const fn over(white: f32, [red, green, blue]: [f32; 3]) -> [f32; 3] {
    [red / white, green / white, blue / white]
}

/// Tables for colour conversion.
#[derive(Clone, Debug)]
pub struct Colours {
    linear: [f32; 256],
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
        Self { linear }
    }

    /// The light (0 … 1) that an sRGB code stands for.
    #[must_use]
    pub fn light(&self, code: u8) -> f32 {
        self.linear[usize::from(code)]
    }

    /// L* (0 … 100), a*, b* of linear red, green and blue (0 … 1).
    #[must_use]
    pub fn lab(&self, rgb: [f32; 3]) -> [f32; 3] {
        lab(rgb)
    }

    /// [`lab`](Self::lab) of a row of samples in place: red becomes L*, green a*, blue b*.
    pub(crate) fn lab_of_row(&self, [red, green, blue]: [&mut [f32]; 3]) {
        let (red, last_red) = red.as_chunks_mut::<LANES>();
        let (green, last_green) = green.as_chunks_mut::<LANES>();
        let (blue, last_blue) = blue.as_chunks_mut::<LANES>();
        for ((r, g), b) in red.iter_mut().zip(green).zip(blue) {
            labs(r, g, b);
        }
        for ((r, g), b) in last_red.iter_mut().zip(last_green).zip(last_blue) {
            [*r, *g, *b] = lab([*r, *g, *b]);
        }
    }
}

/// Some samples at once, in place.
fn labs(r: &mut [f32; LANES], g: &mut [f32; LANES], b: &mut [f32; LANES]) {
    for n in 0..LANES {
        [r[n], g[n], b[n]] = lab([r[n], g[n], b[n]]);
    }
}

#[allow(
    clippy::inline_always,
    reason = "eight at once are done as fast as one"
)]
#[inline(always)]
fn lab([r, g, b]: [f32; 3]) -> [f32; 3] {
    let x = root(X[0] * r + X[1] * g + X[2] * b);
    let y = root(Y[0] * r + Y[1] * g + Y[2] * b);
    let z = root(Z[0] * r + Z[1] * g + Z[2] * b);
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// What L*, a*, b* are made of: the cube root of a ratio to white (not negative), a straight line near 0.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::inline_always,
    reason = "bits that are counted with; eight at once are done as fast as one"
)]
#[inline(always)]
fn root(ratio: f32) -> f32 {
    let third = (ratio.to_bits() as i32 as f32 * (1.0 / 3.0)) as i32;
    let mut root = f32::from_bits((third + GUESS) as u32);
    for _ in 0..2 {
        let cube = root * root * root;
        root *= (cube + 2.0 * ratio) / (2.0 * cube + ratio);
    }
    let line = TOE_LINE.1 + TOE_LINE.0 * ratio;
    if ratio > TOE { root } else { line }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cube_root_is_exact_to_the_last_places() {
        for k in 0_u16..2000 {
            let ratio = 0.009 + f32::from(k) * 6e-4;
            let exact = f64::from(ratio).cbrt();
            let off = f64::from(root(ratio)) / exact - 1.0;
            assert!(off.abs() < 5e-7, "{ratio}: {off:e}");
        }
        assert!((root(0.0) - 16.0 / 116.0).abs() < 1e-7);
        assert!((root(TOE) - root(TOE * 1.000_01)).abs() < 1e-5);
    }

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
