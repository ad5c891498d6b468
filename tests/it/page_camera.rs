//! A camera that takes pictures of a page, independent of the library's own: pinhole, one radial
//! lens term, light that falls off, blur by averaging, noise.

use evenfell::geometry::Point;
use evenfell::photo::{Camera, Photo};
use image::{GrayImage, RgbImage};
use nalgebra::{Matrix3, Rotation3, Vector3};
use rayon::prelude::*;

/// How a picture is taken.
#[derive(Clone, Debug)]
pub(crate) struct Shot {
    pub(crate) size: (u32, u32),
    /// Focal length as a share of the longer side.
    pub(crate) focal: f64,
    pub(crate) tilt: f64,
    /// Which way it tilts, on the page.
    pub(crate) tilt_direction: f64,
    pub(crate) roll: f64,
    /// From the camera to the place of the page in the middle of the picture, mm.
    pub(crate) distance_mm: f64,
    pub(crate) look_at_mm: Point,
    pub(crate) k1: f64,
    /// Share of light at the picture's dark end.
    pub(crate) dim: f64,
    pub(crate) noise: f64,
    /// Width of the averaging, px.
    pub(crate) blur_px: f64,
    pub(crate) seed: u64,
}

impl Default for Shot {
    fn default() -> Self {
        Self {
            size: (2048, 1536),
            focal: 0.75,
            tilt: 0.0,
            tilt_direction: 0.0,
            roll: 0.0,
            distance_mm: 270.0,
            look_at_mm: Point::new(148.5, 105.0),
            k1: 0.0,
            dim: 0.85,
            noise: 3.0,
            blur_px: 1.2,
            seed: 1,
        }
    }
}

/// The camera as it truly stood.
#[derive(Clone, Debug)]
pub(crate) struct Truth {
    pub(crate) plane_to_px: Matrix3<f64>,
    centre: Point,
    radius: f64,
    k1: f64,
    pub(crate) height_mm: f64,
}

impl Truth {
    pub(crate) fn of(shot: &Shot) -> Self {
        let axis = Vector3::new(-shot.tilt_direction.sin(), shot.tilt_direction.cos(), 0.0);
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), shot.roll)
            * Rotation3::from_axis_angle(&nalgebra::Unit::new_normalize(axis), shot.tilt);
        let back = turn.inverse() * Vector3::z();
        let stand =
            Vector3::new(shot.look_at_mm.x, shot.look_at_mm.y, 0.0) - back * shot.distance_mm;
        let (w, h) = (f64::from(shot.size.0), f64::from(shot.size.1));
        let focal = shot.focal * w.max(h);
        let centre = Point::new(0.5 * (w - 1.0), 0.5 * (h - 1.0));
        let lens = Matrix3::new(focal, 0.0, centre.x, 0.0, focal, centre.y, 0.0, 0.0, 1.0);
        let r = turn.matrix();
        let t = -(r * stand);
        let plane = Matrix3::from_columns(&[r.column(0).into(), r.column(1).into(), t]);
        Self {
            plane_to_px: lens * plane,
            centre,
            radius: 0.5 * w.hypot(h),
            k1: shot.k1,
            height_mm: -stand.z,
        }
    }

    pub(crate) fn to_px(&self, place: Point) -> Point {
        let v = self.plane_to_px * Vector3::new(place.x, place.y, 1.0);
        let (x, y) = (v.x / v.z - self.centre.x, v.y / v.z - self.centre.y);
        let gain = 1.0 + self.k1 * (x * x + y * y) / self.radius.powi(2);
        Point::new(self.centre.x + x * gain, self.centre.y + y * gain)
    }
}

/// Noise of one row.
struct Noise(u64);

impl Noise {
    fn new(seed: u64, row: f64) -> Self {
        let mut noise = Self((seed ^ row.to_bits()).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        for _ in 0..4 {
            noise.unit();
        }
        noise
    }

    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// Near enough normal, of mean 0 and spread 1.
    fn normal(&mut self) -> f64 {
        (self.unit() + self.unit() + self.unit() + self.unit() - 2.0) * 3.0_f64.sqrt()
    }
}

/// Takes a picture of a page that is `page_mm` large; around it lies dark wood.
pub(crate) fn photograph(page: &GrayImage, page_mm: (f64, f64), shot: &Shot) -> (Photo, Truth) {
    let truth = Truth::of(shot);
    let back = truth.plane_to_px.try_inverse().unwrap();
    let (w, h) = shot.size;
    let x_scale = f64::from(page.width()) / page_mm.0;
    let y_scale = f64::from(page.height()) / page_mm.1;
    let paper = |place: Point| {
        let (x, y) = (place.x * x_scale - 0.5, place.y * y_scale - 0.5);
        let (fx, fy) = (x.floor(), y.floor());
        let inside = |v: f64, side: u32| v >= 0.0 && v < f64::from(side) - 1.0;
        if !(inside(fx, page.width()) && inside(fy, page.height())) {
            let in_page =
                (0.0..page_mm.0).contains(&place.x) && (0.0..page_mm.1).contains(&place.y);
            let grain = 55.0 + 12.0 * (0.9 * place.y + 2.0 * (0.07 * place.x).sin()).sin();
            return if in_page { 255.0 } else { grain };
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "inside the page"
        )]
        let (ix, iy) = (fx as u32, fy as u32);
        let at = |dx: u32, dy: u32| f64::from(page.get_pixel(ix + dx, iy + dy).0[0]);
        let (ax, ay) = (x - fx, y - fy);
        (at(0, 0) * (1.0 - ax) + at(1, 0) * ax) * (1.0 - ay)
            + (at(0, 1) * (1.0 - ax) + at(1, 1) * ax) * ay
    };
    let plane = |seen: Point| {
        let (dx, dy) = (seen.x - truth.centre.x, seen.y - truth.centre.y);
        let (mut ux, mut uy) = (dx, dy);
        for _ in 0..6 {
            let gain = 1.0 + truth.k1 * (ux * ux + uy * uy) / truth.radius.powi(2);
            (ux, uy) = (dx / gain, dy / gain);
        }
        let v = back * Vector3::new(truth.centre.x + ux, truth.centre.y + uy, 1.0);
        Point::new(v.x / v.z, v.y / v.z)
    };
    let mut pixels = RgbImage::new(w, h);
    let rows = pixels.par_chunks_exact_mut(3 * w as usize).enumerate();
    rows.for_each(|(y, row)| {
        let y = f64::from(u32::try_from(y).unwrap());
        let mut noise = Noise::new(shot.seed, y);
        let mut here = plane(Point::new(0.0, y));
        for (x, pixel) in (0..w).zip(row.chunks_exact_mut(3)) {
            let x = f64::from(x);
            // Within a pixel the map is straight.
            let (right, below) = (plane(Point::new(x + 1.0, y)), plane(Point::new(x, y + 1.0)));
            let mut sum = 0.0;
            for sub in 0..9_u32 {
                let off = |k: u32| (f64::from(k) - 1.0) / 3.0 * shot.blur_px;
                let (a, b) = (off(sub % 3), off(sub / 3));
                sum += paper(Point::new(
                    here.x + a * (right.x - here.x) + b * (below.x - here.x),
                    here.y + a * (right.y - here.y) + b * (below.y - here.y),
                ));
            }
            here = right;
            let light = 0.93 * (shot.dim + (1.0 - shot.dim) * x / f64::from(w));
            let value = sum / 9.0 * light + 8.0 + shot.noise * noise.normal();
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a grey level; the cast saturates"
            )]
            pixel.fill(value.round() as u8);
        }
    });
    let photo = Photo {
        file: "sheet.jpg".to_owned(),
        sha256: String::new(),
        pixels,
        densities: Vec::new(),
        camera: Some(Camera::default()),
        jpeg_rounding: 0.0,
    };
    (photo, truth)
}
