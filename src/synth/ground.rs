//! What the band lies on.

use std::sync::Arc;

use image::RgbImage;

use super::cloth::linear;
use super::rng::Rng;

/// The ground under the band; colours in sRGB, 0 to 1.
#[derive(Clone, Debug)]
pub enum Ground {
    /// Plain paper or card.
    Paper {
        /// Its colour.
        colour: [f64; 3],
        /// How rough it looks, 0 to 1.
        texture: f64,
    },
    /// Felt: short fibres every way.
    Felt {
        /// Its colour.
        colour: [f64; 3],
    },
    /// A wooden table, its grain along `x`.
    Wood {
        /// Its colour.
        colour: [f64; 3],
        /// How strong the grain is, 0 to 1.
        grain: f64,
    },
    /// A cutting mat with a printed grid.
    Mat {
        /// Its colour.
        colour: [f64; 3],
        /// Colour of the lines.
        line: [f64; 3],
        /// Distance between lines, mm.
        grid_mm: f64,
        /// Thickness of a line, mm.
        line_mm: f64,
    },
    /// Any picture, lying on a table: a printed page, for instance.
    Page {
        /// The picture.
        picture: Arc<RgbImage>,
        /// Its width and height on the plane, mm.
        size_mm: (f64, f64),
        /// Place of its top left corner on the plane, mm.
        corner_mm: (f64, f64),
        /// Colour of the table around it.
        table: [f64; 3],
    },
}

/// Side of the noise tile, a power of two.
const TILE: usize = 256;

/// A ground made ready for painting.
pub(super) struct Painter<'a> {
    ground: &'a Ground,
    colour: [f32; 3],
    line: [f32; 3],
    noise: Vec<f32>,
    light: Vec<f32>,
}

impl<'a> Painter<'a> {
    pub(super) fn new(ground: &'a Ground, seed: u64) -> Self {
        let (colour, line) = match ground {
            Ground::Paper { colour, .. }
            | Ground::Felt { colour }
            | Ground::Wood { colour, .. } => (*colour, *colour),
            Ground::Mat { colour, line, .. } => (*colour, *line),
            Ground::Page { table, .. } => (*table, *table),
        };
        Self {
            ground,
            colour: linear(colour),
            line: linear(line),
            noise: noise_tile(seed),
            light: (0..256)
                .map(|v| linear([f64::from(v) / 255.0; 3])[0])
                .collect(),
        }
    }

    /// Linear light of the ground at a place of the plane, mm.
    pub(super) fn at(&self, x: f32, y: f32) -> [f32; 3] {
        match self.ground {
            Ground::Paper { texture, .. } => {
                let rough = 0.035 * *texture as f32;
                let cloud = self.smooth(x * 0.15, y * 0.15);
                self.toned(1.0 + rough * (self.smooth(x * 3.1, y * 3.1) + 0.6 * cloud))
            }
            Ground::Felt { .. } => {
                let (a, b) = (
                    self.smooth(x * 6.0, y * 1.3),
                    self.smooth(y * 6.0 + 31.0, x * 1.3),
                );
                let cloud = self.smooth(x * 0.3, y * 0.3);
                self.toned(1.0 + 0.10 * (a + b) + 0.08 * cloud)
            }
            Ground::Wood { grain, .. } => {
                let warp = self.smooth(x * 0.02, y * 0.08);
                let long = self.smooth(x * 0.05, y * 1.4 + 6.0 * warp);
                let fine = self.smooth(x * 0.6, y * 7.0);
                self.toned(1.0 + *grain as f32 * (0.16 * long + 0.10 * fine + 0.10 * warp))
            }
            Ground::Mat {
                grid_mm, line_mm, ..
            } => self.mat(x, y, *grid_mm as f32, *line_mm as f32),
            Ground::Page {
                picture,
                size_mm,
                corner_mm,
                ..
            } => self.page(x, y, picture, *size_mm, *corner_mm),
        }
    }

    fn toned(&self, gain: f32) -> [f32; 3] {
        self.colour.map(|c| c * gain.max(0.05))
    }

    fn mat(&self, x: f32, y: f32, grid: f32, line: f32) -> [f32; 3] {
        let away = |v: f32| (v / grid - (v / grid).round()).abs() * grid;
        let near = away(x).min(away(y));
        let ink = ((0.5 * line - near) / 0.06 + 0.5).clamp(0.0, 1.0) * 0.85;
        let base = self.toned(
            1.0 + 0.03 * self.smooth(x * 4.0, y * 4.0) + 0.03 * self.smooth(x * 0.2, y * 0.2),
        );
        std::array::from_fn(|c| base[c] + ink * (self.line[c] - base[c]))
    }

    fn page(
        &self,
        x: f32,
        y: f32,
        picture: &RgbImage,
        size: (f64, f64),
        corner: (f64, f64),
    ) -> [f32; 3] {
        let (w, h) = (picture.width() as f32, picture.height() as f32);
        let px = (x - corner.0 as f32) / size.0 as f32 * w - 0.5;
        let py = (y - corner.1 as f32) / size.1 as f32 * h - 0.5;
        if px < -0.5 || py < -0.5 || px > w - 0.5 || py > h - 0.5 {
            return self.toned(1.0 + 0.05 * self.smooth(x, y));
        }
        let (x0, y0) = (px.max(0.0) as u32, py.max(0.0) as u32);
        let (x1, y1) = (
            (x0 + 1).min(picture.width() - 1),
            (y0 + 1).min(picture.height() - 1),
        );
        let (fx, fy) = (
            (px - x0 as f32).clamp(0.0, 1.0),
            (py - y0 as f32).clamp(0.0, 1.0),
        );
        let read = |x: u32, y: u32, c: usize| self.light[usize::from(picture.get_pixel(x, y).0[c])];
        std::array::from_fn(|c| {
            let top = read(x0, y0, c) + (read(x1, y0, c) - read(x0, y0, c)) * fx;
            let low = read(x0, y1, c) + (read(x1, y1, c) - read(x0, y1, c)) * fx;
            top + (low - top) * fy
        })
    }

    /// Smooth noise of mean 0 and spread about 1, one lump a unit.
    fn smooth(&self, x: f32, y: f32) -> f32 {
        let (x, y) = (x + 4096.0, y + 4096.0);
        let (x0, y0) = (x.max(0.0) as usize, y.max(0.0) as usize);
        let (fx, fy) = (x - x0 as f32, y - y0 as f32);
        let (fx, fy) = (fx * fx * (3.0 - 2.0 * fx), fy * fy * (3.0 - 2.0 * fy));
        let read = |x: usize, y: usize| self.noise[(y % TILE) * TILE + x % TILE];
        let top = read(x0, y0) + (read(x0 + 1, y0) - read(x0, y0)) * fx;
        let low = read(x0, y0 + 1) + (read(x0 + 1, y0 + 1) - read(x0, y0 + 1)) * fx;
        top + (low - top) * fy
    }
}

fn noise_tile(seed: u64) -> Vec<f32> {
    let mut rng = Rng::fork(seed, 991);
    (0..TILE * TILE).map(|_| rng.rough_normal()).collect()
}
