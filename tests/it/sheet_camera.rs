//! Bands lying on the printed sheet, drawn and photographed with known truth.

use std::sync::Arc;

use evenfell::geometry::Point;
use evenfell::photo::{Camera as Maker, Photo};
use evenfell::sheet::{Ground as Printed, Layout, Paper, write_png};
use evenfell::synth::{BandSpec, Camera, Drawn, Ground, Light, Rng, Shade, weave};
use image::RgbImage;

/// Focal length of the camera, as a share of its picture's longer side.
const FOCAL: f64 = 0.75;

/// How the picture is taken.
#[derive(Clone, Debug)]
pub(crate) struct Phone {
    pub(crate) size: (u32, u32),
    /// Radians; 25° is 0.436.
    pub(crate) tilt: f64,
    pub(crate) tilt_direction: f64,
    pub(crate) roll: f64,
    pub(crate) lens_k1: f64,
    pub(crate) noise: f64,
    pub(crate) defocus_px: f64,
    pub(crate) light: Light,
    /// Where the band's middle lies, mm from the window's, and how it is turned.
    pub(crate) off_mm: (f64, f64),
    pub(crate) turn: f64,
    pub(crate) seed: u64,
}

impl Default for Phone {
    fn default() -> Self {
        Self {
            size: (2592, 1944),
            tilt: 0.0,
            tilt_direction: 0.0,
            roll: 0.0,
            lens_k1: 0.0,
            noise: 2.0,
            defocus_px: 0.5,
            light: Light::default(),
            off_mm: (0.0, 0.0),
            turn: 0.0,
            seed: 1,
        }
    }
}

impl Phone {
    /// Any phone that is held reasonably: tilted to 25°, any way up, in any light of a room.
    pub(crate) fn any(seed: u64) -> Self {
        let mut rng = Rng::fork(seed, 77);
        let pi = std::f64::consts::PI;
        let size = *rng.choose(&[(2048, 1536), (2592, 1944), (3264, 2448), (4032, 3024)]);
        let shade = rng.chance(0.5).then(|| Shade {
            at_mm: Point::new(rng.between(60.0, 240.0), rng.between(60.0, 140.0)),
            direction: rng.between(-pi, pi),
            soft_mm: rng.between(10.0, 60.0),
            strength: rng.between(0.1, 0.45),
        });
        Self {
            size,
            tilt: rng.between(0.0, 0.436),
            tilt_direction: rng.between(-pi, pi),
            roll: rng.between(-pi, pi),
            lens_k1: rng.between(-0.06, 0.06),
            noise: rng.between(1.0, 5.0),
            defocus_px: rng.between(0.3, 0.8),
            light: Light {
                direction: rng.between(-pi, pi),
                elevation: rng.between(0.5, 1.3),
                exposure: rng.between(0.45, 0.95),
                gradient: rng.between(0.0, 0.3),
                vignette: rng.between(0.0, 0.35),
                shade,
                ..Light::default()
            },
            off_mm: (rng.between(-12.0, 12.0), rng.between(-6.0, 6.0)),
            turn: rng.between(-0.04, 0.04),
            seed,
        }
    }

    /// The synthetic camera over a sheet, the band's middle near the window's.
    pub(crate) fn over(&self, sheet: &Sheet) -> Camera {
        let longer = f64::from(self.size.0.max(self.size.1));
        let page = sheet.layout.paper.size_mm();
        // From so near that the page just fits, step by step away.
        let mut mm_per_px = page.0 / longer;
        while !self.shows(page, mm_per_px) {
            mm_per_px *= 1.01;
        }
        let middle = sheet.layout.window().centre();
        Camera {
            band_angle: self.turn,
            band_middle_mm: Point::new(middle.x + self.off_mm.0, middle.y + self.off_mm.1),
            defocus_px: self.defocus_px,
            noise: self.noise,
            light: self.light.clone(),
            ground: sheet.ground(),
            ..self.at(page, mm_per_px)
        }
    }

    /// The camera above the page's middle.
    fn at(&self, page: (f64, f64), mm_per_px: f64) -> Camera {
        let (w, h) = (f64::from(self.size.0), f64::from(self.size.1));
        Camera {
            dpi: 25.4 / mm_per_px,
            stated_dpi: None,
            look_at_mm: Point::new(0.5 * page.0, 0.5 * page.1),
            frame_mm: Some((w * mm_per_px, h * mm_per_px)),
            roll: self.roll,
            tilt: self.tilt,
            tilt_direction: self.tilt_direction,
            distance_mm: Some(FOCAL * mm_per_px * w.max(h)),
            lens_k1: self.lens_k1,
            half_colour: true,
            seed: self.seed,
            ..Camera::default()
        }
    }

    /// Whether the whole page is in the picture.
    fn shows(&self, page: (f64, f64), mm_per_px: f64) -> bool {
        let view = self.at(page, mm_per_px).view_px(self.size);
        let inside = |v: f64, side: u32| {
            let side = f64::from(side);
            (0.015 * side..0.985 * side).contains(&v)
        };
        [(0.0, 0.0), (page.0, 0.0), (page.0, page.1), (0.0, page.1)]
            .iter()
            .map(|&(x, y)| view.to_px(Point::new(x, y)))
            .all(|p| inside(p.x, self.size.0) && inside(p.y, self.size.1))
    }
}

/// A printed sheet.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    pub(crate) layout: Layout,
    picture: Arc<RgbImage>,
}

impl Sheet {
    pub(crate) fn new(paper: Paper, ground: Printed) -> Self {
        let layout = Layout::new(paper, ground);
        let mut file = Vec::new();
        write_png(&layout, 300, &mut file).unwrap();
        let mut picture = image::load_from_memory(&file).unwrap().into_rgb8();
        // Paper isn't all the light there is, ink isn't none.
        for pixel in picture.pixels_mut() {
            pixel.0 = pixel
                .0
                .map(|v| 34 + u8::try_from(u32::from(v) * 208 / 255).unwrap());
        }
        Self {
            layout,
            picture: Arc::new(picture),
        }
    }

    fn ground(&self) -> Ground {
        Ground::Page {
            picture: Arc::clone(&self.picture),
            size_mm: self.layout.paper.size_mm(),
            corner_mm: (0.0, 0.0),
            table: [0.42, 0.31, 0.22],
        }
    }
}

/// Takes the picture; the file has no scale of its own.
pub(crate) fn shoot(spec: &BandSpec, phone: &Phone, sheet: &Sheet) -> (Photo, Drawn) {
    let drawn = weave(spec);
    let mut photo = phone.over(sheet).photograph(&drawn).to_photo();
    photo.camera = Some(Maker::default());
    (photo, drawn)
}
