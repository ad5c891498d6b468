//! Reading the photo between its pixels.

use image::RgbImage;

use super::Colours;
use crate::geometry::Point;

/// A photo that is read as light, between its pixels too.
#[derive(Debug)]
pub struct LinearPhoto<'a> {
    pixels: &'a [u8],
    width: usize,
    height: usize,
    /// The tables that it is read with.
    pub colours: Colours,
}

impl<'a> LinearPhoto<'a> {
    /// Wraps a picture.
    #[must_use]
    pub fn new(picture: &'a RgbImage) -> Self {
        Self {
            pixels: picture.as_raw(),
            width: picture.width() as usize,
            height: picture.height() as usize,
            colours: Colours::new(),
        }
    }

    /// Width, px.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height, px.
    #[must_use]
    pub fn height(&self) -> usize {
        self.height
    }

    /// Linear red, green, blue (0 … 1) of a pixel; `x` and `y` beyond the picture take its rim.
    #[must_use]
    pub fn pixel(&self, x: isize, y: isize) -> [f32; 3] {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        let at = 3 * (y * self.width + x);
        let light = |k: usize| self.colours.light(self.pixels[at + k]);
        [light(0), light(1), light(2)]
    }

    /// The file's codes of up to `count` pixels of row `y` from `x` on, red, green and blue in turn.
    #[must_use]
    pub fn codes(&self, x: usize, y: usize, count: usize) -> &'a [u8] {
        let row = 3 * y * self.width;
        let (from, to) = (x.min(self.width), (x + count).min(self.width));
        self.pixels
            .get(row + 3 * from..row + 3 * to)
            .unwrap_or_default()
    }

    /// Whether a place lies on the picture.
    #[must_use]
    pub fn covers(&self, px: Point) -> bool {
        px.x >= -0.5
            && px.y >= -0.5
            && px.x <= self.width as f64 - 0.5
            && px.y <= self.height as f64 - 0.5
    }

    /// The sum over four by four pixels that all lie on the picture.
    fn cubic_inside(&self, (x0, y0): (usize, usize), wx: &[f32; 4], wy: &[f32; 4]) -> [f32; 3] {
        let mut sum = [0.0; 3];
        for (dy, &v) in wy.iter().enumerate() {
            let codes = self.codes(x0, y0 + dy, 4);
            for (codes, &u) in codes.chunks_exact(3).zip(wx) {
                for (total, code) in sum.iter_mut().zip(codes) {
                    *total += u * v * self.colours.light(*code);
                }
            }
        }
        sum.map(|v| v.clamp(0.0, 1.0))
    }

    /// Light at a place between pixels, by Catmull-Rom cubic interpolation (it keeps the picture's
    /// sharpness, which bilinear interpolation takes from fine picks).
    #[must_use]
    #[allow(
        clippy::cast_possible_truncation,
        reason = "floor of a pixel coordinate"
    )]
    pub fn cubic(&self, px: Point) -> [f32; 3] {
        let (x0, y0) = (px.x.floor(), px.y.floor());
        let wx = catmull_rom((px.x - x0) as f32);
        let wy = catmull_rom((px.y - y0) as f32);
        let (x0, y0) = (x0 as isize - 1, y0 as isize - 1);
        if x0 >= 0 && y0 >= 0 && x0 + 4 <= self.width as isize && y0 + 4 <= self.height as isize {
            return self.cubic_inside((x0 as usize, y0 as usize), &wx, &wy);
        }
        let mut sum = [0.0; 3];
        for (dy, &v) in (0_isize..).zip(wy.iter()) {
            for (dx, &u) in (0_isize..).zip(wx.iter()) {
                let light = self.pixel(x0 + dx, y0 + dy);
                for (total, value) in sum.iter_mut().zip(light) {
                    *total += u * v * value;
                }
            }
        }
        sum.map(|v| v.clamp(0.0, 1.0))
    }
}

/// Weights of the four neighbours at −1, 0, 1, 2 for a place at `f` in 0 … 1.
fn catmull_rom(f: f32) -> [f32; 4] {
    let (f2, f3) = (f * f, f * f * f);
    [
        0.5 * (-f + 2.0 * f2 - f3),
        0.5 * (2.0 - 5.0 * f2 + 3.0 * f3),
        0.5 * (f + 4.0 * f2 - 3.0 * f3),
        0.5 * (f3 - f2),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_a_pixel_centre_the_pixel_itself_comes_back() {
        let mut picture = RgbImage::new(5, 4);
        for (x, y, pixel) in picture.enumerate_pixels_mut() {
            pixel.0 = [(40 * x) as u8, (60 * y) as u8, 7];
        }
        let photo = LinearPhoto::new(&picture);
        let got = photo.cubic(Point::new(3.0, 2.0));
        for (a, b) in got.iter().zip(photo.pixel(3, 2)) {
            assert!((a - b).abs() < 1e-6);
        }
    }
}
