//! Reading the photo between its pixels.

use std::ops::Range;

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

    /// Appends the light of a row's pixels; beyond the picture its rim is taken.
    fn push_row(&self, columns: Range<isize>, y: isize, light: &mut Vec<[f32; 4]>) {
        let inside = |x: isize| x.clamp(0, self.width as isize) as usize;
        let (from, to) = (inside(columns.start), inside(columns.end));
        let row = y.clamp(0, self.height as isize - 1) as usize;
        let one = |codes: &[u8]| {
            let light = |k: usize| self.colours.light(codes[k]);
            [light(0), light(1), light(2), 0.0]
        };
        let codes = self.codes(from, row, to - from);
        let rim = |x: usize| one(self.codes(x, row, 1));
        for _ in columns.start..columns.end.min(0) {
            light.push(rim(0));
        }
        light.extend(codes.chunks_exact(3).map(one));
        for _ in columns.start.max(self.width as isize)..columns.end {
            light.push(rim(self.width - 1));
        }
    }

    /// Whether a place lies on the picture.
    #[must_use]
    pub fn covers(&self, px: Point) -> bool {
        px.x >= -0.5
            && px.y >= -0.5
            && px.x <= self.width as f64 - 0.5
            && px.y <= self.height as f64 - 0.5
    }

    /// Light at a place between pixels, by Catmull-Rom cubic interpolation (it keeps the picture's
    /// sharpness, which bilinear interpolation takes from fine picks).
    #[must_use]
    pub fn cubic(&self, px: Point) -> [f32; 3] {
        let place = Place::new(px);
        let four = |y: isize| {
            let one = |x: isize| {
                let [red, green, blue] = self.pixel(x, y);
                [red, green, blue, 0.0]
            };
            [-1, 0, 1, 2].map(|k| one(place.x + k))
        };
        let y = place.y - 1;
        rgb(place.mix([&four(y), &four(y + 1), &four(y + 2), &four(y + 3)]))
    }
}

/// Without the fourth value.
fn rgb([red, green, blue, _]: [f32; 4]) -> [f32; 3] {
    [red, green, blue]
}

/// Places between two pixels that are told apart: a place is read at the nearest of them, at most a
/// 512th of a pixel away.
const PHASES: usize = 256;

/// Weights of the four neighbours at −1, 0, 1, 2 for each of the places between 0 and 1.
static WEIGHTS: [[f32; 4]; PHASES] = catmull_rom();

/// Where a place lies among the pixels around it.
struct Place {
    /// The pixel to its upper left.
    x: isize,
    y: isize,
    /// How far it lies beyond that pixel, in [`PHASES`].
    across: usize,
    down: usize,
}

impl Place {
    #[inline]
    fn new(px: Point) -> Self {
        let ((x, across), (y, down)) = (phase(px.x), phase(px.y));
        Self { x, y, across, down }
    }

    /// The light there, from four pixels of each of the four rows: mixed down the columns first, which
    /// takes fewer weights than pixel by pixel. All four values are worked out, though the last is
    /// nothing: four at once are done as fast as one.
    #[allow(clippy::inline_always, reason = "a call costs as much as its work")]
    #[inline(always)]
    fn mix(&self, rows: [&[[f32; 4]; 4]; 4]) -> [f32; 4] {
        let mut columns = [[0.0; 4]; 4];
        for (row, down) in rows.into_iter().zip(WEIGHTS[self.down]) {
            for (column, light) in columns.iter_mut().zip(row) {
                for c in 0..4 {
                    column[c] += down * light[c];
                }
            }
        }
        let mut sum = [0.0; 4];
        for (column, across) in columns.iter().zip(WEIGHTS[self.across]) {
            for c in 0..4 {
                sum[c] += across * column[c];
            }
        }
        sum.map(|light| if light > 0.0 { light } else { 0.0 })
            .map(|light| if light < 1.0 { light } else { 1.0 })
    }
}

/// A part of a photo as light: what many places near one another are read from.
#[derive(Debug, Default)]
pub(crate) struct Tile {
    corner: (isize, isize),
    width: usize,
    /// Red, green, blue and nothing, row by row.
    light: Vec<[f32; 4]>,
    /// Whether all its places lie on the photo.
    covered: bool,
}

/// Pixels of a tile for each place: a view so slanted that it would take more is read one by one.
const MOST_PIXELS_A_PLACE: usize = 64;

impl Tile {
    /// Takes in what `places` are read from; whether it could.
    pub(crate) fn take(&mut self, photo: &LinearPhoto<'_>, places: &[Point]) -> bool {
        let (mut low, mut high) = (
            Point::new(f64::INFINITY, f64::INFINITY),
            Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        );
        let (lesser, greater) = (
            |a: f64, b: f64| if a < b { a } else { b },
            |a: f64, b: f64| if a > b { a } else { b },
        );
        for px in places {
            low = Point::new(lesser(px.x, low.x), lesser(px.y, low.y));
            high = Point::new(greater(px.x, high.x), greater(px.y, high.y));
        }
        self.covered = photo.covers(low) && photo.covers(high);
        let before = |v: f64| phase(v).0;
        let low = (before(low.x) - 1, before(low.y) - 1);
        let high = (before(high.x) + 3, before(high.y) + 3);
        let side = |low: isize, high: isize| usize::try_from(high.saturating_sub(low)).unwrap_or(0);
        let (width, height) = (side(low.0, high.0), side(low.1, high.1));
        if width.saturating_mul(height) > MOST_PIXELS_A_PLACE * places.len().max(64) {
            return false;
        }
        (self.corner, self.width) = (low, width);
        self.light.clear();
        for y in low.1..high.1 {
            photo.push_row(low.0..high.0, y, &mut self.light);
        }
        true
    }

    /// Whether all the places that were taken in lie on the photo.
    pub(crate) fn covered(&self) -> bool {
        self.covered
    }

    /// Where a pixel that was taken in lies among the others.
    #[inline]
    fn index(&self, x: isize, y: isize) -> usize {
        (y - self.corner.1) as usize * self.width + (x - self.corner.0) as usize
    }

    /// Light at one of the places that were taken in, by straight lines between the four pixels around it, and
    /// nothing as the fourth value: softer than the cubic, and a third of its work.
    #[inline]
    pub(crate) fn linear(&self, px: Point) -> [f32; 4] {
        let place = Place::new(px);
        let first = self.index(place.x, place.y);
        let pair = |at: usize| {
            let light = self.light.get(at..);
            light
                .and_then(<[_]>::first_chunk::<2>)
                .unwrap_or(&[[0.0; 4]; 2])
        };
        let (above, below) = (pair(first), pair(first + self.width));
        let [across, down] = [place.across, place.down].map(|phase| phase as f32 / PHASES as f32);
        let mut sum = [0.0; 4];
        for c in 0..4 {
            let left = above[0][c] + down * (below[0][c] - above[0][c]);
            let right = above[1][c] + down * (below[1][c] - above[1][c]);
            sum[c] = left + across * (right - left);
        }
        sum
    }

    /// [`LinearPhoto::cubic`] at one of the places that were taken in, and nothing as the fourth value.
    #[inline]
    pub(crate) fn cubic(&self, px: Point) -> [f32; 4] {
        let place = Place::new(px);
        let first = self.index(place.x - 1, place.y - 1);
        let row = |k: usize| {
            let light = self.light.get(first + k * self.width..);
            light.and_then(<[_]>::first_chunk::<4>).unwrap_or(&DARK)
        };
        place.mix([row(0), row(1), row(2), row(3)])
    }
}

/// Four pixels without light.
const DARK: [[f32; 4]; 4] = [[0.0; 4]; 4];

/// The pixel at or before a coordinate, kept within what any picture has, and how far beyond it the
/// coordinate lies, in [`PHASES`]; without a call into the mathematics library, which the plain
/// instruction set needs for `f64::floor`.
#[inline]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped; a remainder is positive"
)]
fn phase(v: f64) -> (isize, usize) {
    let v = v.clamp(-1e9, 1e9) * PHASES as f64 + 0.5;
    let towards_zero = v as i64;
    let whole = towards_zero - i64::from(towards_zero as f64 > v);
    let phases = PHASES as i64;
    (
        whole.div_euclid(phases) as isize,
        whole.rem_euclid(phases) as usize,
    )
}

const fn catmull_rom() -> [[f32; 4]; PHASES] {
    let mut weights = [[0.0; 4]; PHASES];
    let mut phase = 0;
    while phase < PHASES {
        let f = phase as f32 / PHASES as f32;
        let (f2, f3) = (f * f, f * f * f);
        weights[phase] = [
            0.5 * (-f + 2.0 * f2 - f3),
            0.5 * (2.0 - 5.0 * f2 + 3.0 * f3),
            0.5 * (f + 4.0 * f2 - 3.0 * f3),
            0.5 * (f3 - f2),
        ];
        phase += 1;
    }
    weights
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

    #[test]
    fn a_tile_reads_what_the_photo_reads_within_it_and_beyond_its_rim() {
        let picture = RgbImage::from_fn(9, 8, |x, y| {
            image::Rgb([(x * 28) as u8, (y * 31) as u8, (x * y) as u8])
        });
        let photo = LinearPhoto::new(&picture);
        let places: Vec<Point> = (0..60)
            .map(|k| {
                let at = |k: i32, of: i32| f64::from(k % of) / 2.0 - 3.7;
                Point::new(at(k * 7, 31), at(k * 5, 29))
            })
            .collect();
        let mut tile = Tile::default();
        assert!(tile.take(&photo, &places));
        for place in places {
            let bits = |light: [f32; 3]| light.map(f32::to_bits);
            assert_eq!(
                bits(rgb(tile.cubic(place))),
                bits(photo.cubic(place)),
                "{place:?}"
            );
        }
        let apart = [Point::default(), Point::new(1e6, 1e6)];
        assert!(!tile.take(&photo, &apart));
    }
}
