//! Pictures of what the outline stage saw.

use image::{Rgb, RgbImage};
use ndarray::Array2;

use super::cells::Cells;
use super::{BandTrace, StraightBand};

/// The cells' colours with the band's piece tinted.
pub(super) fn piece(cells: &Cells, mask: &[bool]) -> RgbImage {
    let mut picture = RgbImage::new(cells.width as u32, cells.height as u32);
    for (i, pixel) in picture.pixels_mut().enumerate() {
        let [l, a, b, _] = cells.features[i];
        let grey = byte(l * 2.55);
        *pixel = if mask[i] {
            Rgb([grey, byte(grey as f32 * 0.5 + 127.0), grey])
        } else {
            Rgb([byte(l * 2.55 + a), grey, byte(l * 2.55 - b)])
        };
    }
    picture
}

/// Log odds of cloth: green for cloth, dark for ground, start at the left.
pub(super) fn odds(odds: &Array2<f32>) -> RgbImage {
    let (rows, columns) = odds.dim();
    RgbImage::from_fn(rows as u32, columns as u32, |x, y| {
        let o = odds[(x as usize, y as usize)].clamp(-6.0, 6.0);
        let v = byte(127.0 + 21.0 * o);
        Rgb([v / 2, v, v / 2])
    })
}

/// The straight band with selvedges and cloth ends drawn on it, start at the left.
pub(super) fn trace(trace: &BandTrace) -> RgbImage {
    let band = &trace.straight;
    let (rows, columns) = band.lab[0].dim();
    let mut picture = RgbImage::from_fn(rows as u32, columns as u32, |x, y| {
        plain(band, x as usize, y as usize)
    });
    let mut dot = |s: f64, t: f64, colour: [u8; 3]| {
        let (x, y) = (
            (s - band.s0_mm) / band.step_mm,
            (t - band.t0_mm) / band.step_mm,
        );
        if x >= 0.0 && y >= 0.0 && x < rows as f64 && y < columns as f64 {
            picture.put_pixel(x as u32, y as u32, Rgb(colour));
        }
    };
    for i in 0..rows {
        let s = band.s_of(i);
        dot(s, trace.left_mm[i] + band.step_mm / 2.0, [255, 0, 255]);
        dot(s, trace.right_mm[i] + band.step_mm / 2.0, [255, 0, 255]);
    }
    for j in (0..columns).step_by(2) {
        let t = band.t0_mm + j as f64 * band.step_mm;
        dot(trace.cloth_mm.0, t, [0, 255, 255]);
        dot(trace.cloth_mm.1, t, [0, 255, 255]);
    }
    picture
}

fn plain(band: &StraightBand, i: usize, j: usize) -> Rgb<u8> {
    let [l, a, b] = [0, 1, 2].map(|k| band.lab[k][(i, j)]);
    let v = l * 2.55;
    Rgb([byte(v + 2.0 * a + 0.3 * b), byte(v - a), byte(v - 1.6 * b)])
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped"
)]
fn byte(v: f32) -> u8 {
    v.round().clamp(0.0, 255.0) as u8
}
