//! Blocks of pixels added up: what every smaller picture is made of.
//!
//! # Method
//! The rows of a block are added first, column by column, then the columns: so most additions run along
//! whole rows. All sums are whole numbers and exact.

use std::ops::{AddAssign, Range};

use image::RgbImage;

/// Sums over blocks of `side` × `side` pixels, row of blocks by row of blocks; what is left over at the
/// right and the bottom is cut off.
pub(crate) struct Blocks<'a> {
    pixels: &'a [u8],
    row_bytes: usize,
    side: usize,
    /// Blocks along x and y.
    pub(crate) size: (u32, u32),
}

impl<'a> Blocks<'a> {
    /// Blocks of a photo.
    pub(crate) fn new(photo: &'a RgbImage, side: u32) -> Self {
        let side = side.max(1);
        Self {
            pixels: photo.as_raw(),
            row_bytes: 3 * photo.width() as usize,
            side: side as usize,
            size: (photo.width() / side, photo.height() / side),
        }
    }

    /// Hands the sums of red, green and blue of every block of row `y` to `take`, from the left.
    pub(crate) fn row(&self, y: usize, mut take: impl FnMut(usize, [u32; 3])) {
        let blocks = self.size.0 as usize;
        let (mut narrow, mut wide) = (Vec::new(), Vec::new());
        for first in (0..blocks).step_by(AT_ONCE) {
            let part = first..blocks.min(first + AT_ONCE);
            let take = |x: usize, sums: [u32; 3]| take(first + x, sums);
            if self.side > NARROW {
                self.columns(y, part, &mut wide);
                added::<0, u32>(self.side, &wide, take);
                continue;
            }
            self.columns(y, part, &mut narrow);
            let columns: &[u16] = &narrow;
            // Sides known beforehand are unrolled.
            match self.side {
                2 => added::<2, _>(2, columns, take),
                3 => added::<3, _>(3, columns, take),
                4 => added::<4, _>(4, columns, take),
                side => added::<0, _>(side, columns, take),
            }
        }
    }

    /// The sums of every column of codes over the rows of blocks `y`, for some of the blocks.
    fn columns<S>(&self, y: usize, blocks: Range<usize>, columns: &mut Vec<S>)
    where
        S: Copy + From<u8> + AddAssign,
    {
        let a_block = 3 * self.side;
        columns.clear();
        columns.resize(blocks.len() * a_block, S::from(0));
        for line in y * self.side..(y + 1) * self.side {
            let codes = &self.pixels[line * self.row_bytes..][blocks.start * a_block..];
            for (sum, code) in columns.iter_mut().zip(codes) {
                *sum += S::from(*code);
            }
        }
    }
}

/// Blocks whose columns lie within the processor's nearest memory.
const AT_ONCE: usize = 512;

/// So many codes surely add up in 16 bits.
const NARROW: usize = 256;

/// The sums of every `side` pixels; `SIDE` is the same, or 0.
#[inline]
fn added<const SIDE: usize, S: Copy + Into<u32>>(
    side: usize,
    columns: &[S],
    mut take: impl FnMut(usize, [u32; 3]),
) {
    let side = if SIDE > 0 { SIDE } else { side };
    for (x, block) in columns.chunks_exact(3 * side).enumerate() {
        let (mut red, mut green, mut blue) = (0, 0, 0);
        for k in 0..side {
            red += block[3 * k].into();
            green += block[3 * k + 1].into();
            blue += block[3 * k + 2].into();
        }
        take(x, [red, green, blue]);
    }
}

/// Division by one whole number, rounded down, by a multiplication.
#[derive(Clone, Copy)]
pub(crate) struct Divider(u64);

impl Divider {
    /// By `divisor`; exact where the quotient fits 8 bits and dividend times divisor 52.
    pub(crate) fn new(divisor: u32) -> Self {
        Self((1_u64 << 52).div_ceil(u64::from(divisor.max(1))))
    }

    /// The quotient, cut to 8 bits.
    pub(crate) fn byte(self, dividend: u32) -> u8 {
        let quotient = u64::from(dividend).saturating_mul(self.0) >> 52;
        u8::try_from(quotient).unwrap_or(u8::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dividing_by_multiplying_is_exact() {
        for divisor in [1_u32, 3, 4, 9, 49, 625, 4096] {
            let divider = Divider::new(divisor);
            for dividend in (0..256 * divisor).step_by(1 + divisor as usize / 5) {
                assert_eq!(u32::from(divider.byte(dividend)), dividend / divisor);
            }
            assert_eq!(divider.byte(256 * divisor - 1), 255);
        }
    }
}
