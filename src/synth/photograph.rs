//! The picture itself: ground, cloth, light, lens and sensor.

use std::io::Cursor;

use image::codecs::jpeg::{JpegEncoder, PixelDensity};
use image::{Rgb, RgbImage};
use sha2::{Digest, Sha256};

use super::camera::Camera;
use super::cloth::{Cloth, Grid, Lamp};
use super::ground::Painter;
use super::mapping::Mapping;
use super::nodes::{Node, Nodes};
use super::sensor;
use super::weave::Drawn;
use crate::geometry::Point;
use crate::photo::{Density, DensitySource, Photo};

/// Cells of the lit cloth to a pixel.
const CELLS_PER_PX: f64 = 1.0;

/// A picture of a drawn band.
#[derive(Clone, Debug)]
pub struct Photograph {
    /// The picture, before it is written as a JPEG.
    pub pixels: RgbImage,
    /// Where everything lies in it.
    pub mapping: Mapping,
    /// Density to write, dots per inch.
    pub stated_dpi: Option<u16>,
    /// Quality of the JPEG, 1 to 100.
    pub jpeg_quality: u8,
}

impl Photograph {
    /// The bytes of a JPEG file, its density in the JFIF header.
    ///
    /// # Errors
    ///
    /// [`Error::Request`](crate::Error::Request) when the picture is too large for a JPEG.
    pub fn jpeg(&self) -> crate::Result<Vec<u8>> {
        let mut bytes = Cursor::new(Vec::new());
        let mut encoder =
            JpegEncoder::new_with_quality(&mut bytes, self.jpeg_quality.clamp(1, 100));
        if let Some(dpi) = self.stated_dpi {
            encoder.set_pixel_density(PixelDensity::dpi(dpi));
        }
        encoder
            .encode_image(&self.pixels)
            .map_err(|error| crate::Error::Request {
                what: "drawn picture".to_owned(),
                why: error.to_string(),
            })?;
        Ok(bytes.into_inner())
    }

    /// The picture as the program sees a decoded file, without a file in between.
    #[must_use]
    pub fn to_photo(&self) -> Photo {
        let hash = Sha256::digest(self.pixels.as_raw());
        Photo {
            file: "drawn.jpg".to_owned(),
            sha256: hash.iter().map(|byte| format!("{byte:02x}")).collect(),
            pixels: self.pixels.clone(),
            densities: self
                .stated_dpi
                .map(|dpi| Density {
                    x_dpi: f64::from(dpi),
                    y_dpi: f64::from(dpi),
                    source: DensitySource::Jfif,
                })
                .into_iter()
                .collect(),
            camera: None,
            jpeg_rounding: 0.0,
        }
    }
}

impl Camera {
    /// Takes a picture of a band.
    ///
    /// ```
    /// use evenfell::synth::{BandSpec, Camera, weave};
    ///
    /// let spec = BandSpec { picks: 12, ..BandSpec::default() };
    /// let photograph = Camera { dpi: 150.0, ..Camera::default() }.photograph(&weave(&spec));
    /// let start = photograph.mapping.to_px(0.0, 0.0, 0.0);
    /// assert!(start.x > 0.0 && start.x < f64::from(photograph.pixels.width()));
    /// ```
    #[must_use]
    pub fn photograph(&self, drawn: &Drawn) -> Photograph {
        let (size_px, look_at) = self.frame(drawn);
        let mapping = Mapping::new(self, drawn.truth.length_mm, size_px, look_at);
        let cloth = Cloth::new(drawn, 25.4 / self.dpi / CELLS_PER_PX, self.lamp());
        let painter = Painter::new(&self.ground, self.seed);
        let nodes = Nodes::new(self, &mapping, size_px);
        let mut light = vec![[0.0_f32; 3]; size_px.0 as usize * size_px.1 as usize];
        let parallax = mapping.foot.is_some();
        for (y, row) in light.chunks_exact_mut(size_px.0 as usize).enumerate() {
            nodes.along_row(y, |x, node| {
                row[x] = expose(node, &cloth, &painter, parallax)
            });
        }
        sensor::blur(self, &mut light, size_px);
        Photograph {
            pixels: sensor::read(self, &light, size_px),
            mapping,
            stated_dpi: self.stated_dpi,
            jpeg_quality: self.jpeg_quality,
        }
    }

    /// Size of the picture after cropping, px, and the place of the plane in its middle.
    fn frame(&self, drawn: &Drawn) -> ((u32, u32), Point) {
        let (size, middle) = self.whole_frame(drawn);
        let [left, top, right, bottom] = self.crop;
        let kept = |n: u32, before: f64, after: f64| {
            (f64::from(n) * (1.0 - before - after)).round().max(16.0) as u32
        };
        let px_per_mm = self.dpi / 25.4;
        let dx = 0.5 * (left - right) * f64::from(size.0) / px_per_mm;
        let dy = 0.5 * (top - bottom) * f64::from(size.1) / px_per_mm;
        let (sin, cos) = self.roll.sin_cos();
        let middle = Point::new(
            middle.x + dx * cos + dy * sin,
            middle.y + dy * cos - dx * sin,
        );
        (
            (kept(size.0, left, right), kept(size.1, top, bottom)),
            middle,
        )
    }

    /// The same before cropping.
    fn whole_frame(&self, drawn: &Drawn) -> ((u32, u32), Point) {
        let px_per_mm = self.dpi / 25.4;
        let size = |mm: f64| (mm * px_per_mm).round().clamp(16.0, 20_000.0) as u32;
        if let Some((width, height)) = self.frame_mm {
            return ((size(width), size(height)), self.look_at_mm);
        }
        let mapping = Mapping::new(self, drawn.truth.length_mm, (16, 16), Point::default());
        let (from, to, across) = drawn.extent_mm;
        let (mut low, mut high) = (
            Point::new(f64::INFINITY, f64::INFINITY),
            Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        );
        let (sin, cos) = self.roll.sin_cos();
        for i in 0..=8 {
            for t in [-across, across] {
                let place = mapping.to_plane(from + (to - from) * f64::from(i) / 8.0, t);
                let turned =
                    Point::new(place.x * cos - place.y * sin, place.x * sin + place.y * cos);
                low = Point::new(low.x.min(turned.x), low.y.min(turned.y));
                high = Point::new(high.x.max(turned.x), high.y.max(turned.y));
            }
        }
        let middle = Point::new(0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
        let back = Point::new(
            middle.x * cos + middle.y * sin,
            middle.y * cos - middle.x * sin,
        );
        let around = 2.0 * self.margin_mm;
        (
            (size(high.x - low.x + around), size(high.y - low.y + around)),
            back,
        )
    }

    /// The lamp as the band sees it.
    fn lamp(&self) -> Lamp {
        let turn = self.light.direction - self.band_angle - self.roll;
        let (sin, cos) = turn.sin_cos();
        let (up, level) = self.light.elevation.sin_cos();
        Lamp {
            towards: ((level * cos) as f32, (level * sin) as f32, up as f32),
            soft: self.light.soft as f32,
        }
    }
}

/// Steps in which a slanting ray is followed from the cloth's top to the ground.
const RAY_STEPS: u8 = 12;

/// Linear light that reaches one pixel.
fn expose(node: &Node, cloth: &Cloth, painter: &Painter<'_>, parallax: bool) -> [f32; 3] {
    let over = if parallax {
        struck(node, cloth)
    } else {
        cloth.lit.at(node.s, node.t)
    };
    if over[3] > 0.998 {
        return std::array::from_fn(|c| over[c] * node.gain + node.glare);
    }
    let ground = painter.at(node.x, node.y);
    let under = (1.0 - over[3]) * (1.0 - cloth.shadow.at(node.s, node.t));
    std::array::from_fn(|c| (over[c] + under * ground[c]) * node.gain + node.glare)
}

/// What a slanting ray meets first of the cloth.
///
/// Yarn that rises above the middle plane is as thick below it: at a selvedge it is round, and a
/// ray may pass under it. Yarn that doesn't lies on the ground.
fn struck(node: &Node, cloth: &Cloth) -> [f32; 4] {
    let at = |height: f32| (node.s + node.ds * height, node.t + node.dt * height);
    let depth = |height: f32| {
        let (s, t) = at(height);
        let upper = cloth.height.at(s, t);
        let lower = if upper > 0.5 * cloth.thickness_mm {
            (cloth.thickness_mm - upper).max(0.0)
        } else {
            0.0
        };
        (upper - height).min(height - lower)
    };
    let step = cloth.thickness_mm / f32::from(RAY_STEPS);
    for i in (1..=RAY_STEPS).rev() {
        let height = f32::from(i) * step;
        if depth(height) < 0.0 {
            continue;
        }
        let (mut out, mut hit) = (height + step, height);
        for _ in 0..5 {
            let middle = 0.5 * (out + hit);
            if depth(middle) >= 0.0 {
                hit = middle;
            } else {
                out = middle;
            }
        }
        let (s, t) = at(hit);
        return cloth.lit.at(s, t);
    }
    // Single hairs have no height of their own.
    if cloth.height.at(node.s, node.t) > 0.0 {
        return [0.0; 4];
    }
    cloth.lit.at(node.s, node.t)
}

impl Grid<f32> {
    /// The value between cells; 0 outside.
    pub(super) fn at(&self, s: f32, t: f32) -> f32 {
        let Some((i, fx, fy)) = self.between(s, t) else {
            return 0.0;
        };
        let v = &self.values;
        let top = v[i] + (v[i + 1] - v[i]) * fx;
        let low = v[i + self.nx] + (v[i + self.nx + 1] - v[i + self.nx]) * fx;
        top + (low - top) * fy
    }
}

impl Grid<[f32; 4]> {
    /// The value between cells; nothing outside.
    pub(super) fn at(&self, s: f32, t: f32) -> [f32; 4] {
        let Some((i, fx, fy)) = self.between(s, t) else {
            return [0.0; 4];
        };
        let (a, b) = (&self.values[i], &self.values[i + 1]);
        let (c, d) = (&self.values[i + self.nx], &self.values[i + self.nx + 1]);
        std::array::from_fn(|k| {
            let top = a[k] + (b[k] - a[k]) * fx;
            let low = c[k] + (d[k] - c[k]) * fx;
            top + (low - top) * fy
        })
    }
}

impl<T> Grid<T> {
    /// Index of the cell above and left, and the way to the next ones.
    fn between(&self, s: f32, t: f32) -> Option<(usize, f32, f32)> {
        let x = (s - self.origin_mm.0 as f32) / self.cell_mm as f32;
        let y = (t - self.origin_mm.1 as f32) / self.cell_mm as f32;
        let inside = x >= 0.0 && y >= 0.0 && x < (self.nx - 1) as f32 && y < (self.ny - 1) as f32;
        inside.then(|| {
            let (x0, y0) = (x as usize, y as usize);
            (y0 * self.nx + x0, x - x0 as f32, y - y0 as f32)
        })
    }
}

/// A pixel of 8-bit colour.
pub(super) type Pixel = Rgb<u8>;
