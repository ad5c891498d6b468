//! The map between the plane that the band lies on and the photo.

use nalgebra::{Matrix3, Vector3};

use crate::geometry::Point;
use crate::measurement::{ScaleMethod, Warning};

/// A pixel without its lens bend is sought until it moves by less, px.
const SETTLED_PX: f64 = 1e-9;

/// A dark mark printed on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PrintedMark {
    /// Its corner of lesser coordinates, mm.
    pub low_mm: Point,
    /// Its corner of greater coordinates, mm.
    pub high_mm: Point,
    /// Whether it is seen to be bare: nothing lies on it.
    pub bare: bool,
}

impl PrintedMark {
    /// Whether a place lies on the mark or nearer to it than `mm` (in x and in y).
    #[must_use]
    pub fn is_near(&self, place: Point, mm: f64) -> bool {
        let (low, high) = (self.low_mm, self.high_mm);
        (low.x - mm..=high.x + mm).contains(&place.x)
            && (low.y - mm..=high.y + mm).contains(&place.y)
    }
}

/// Millimetres of the plane ↔ pixels of the photo, and how well that is known.
///
/// The plane's x and y point as the photo's do when the camera looks straight down (for the sheet,
/// as the sheet's own: right and down with its text upright).
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Plane (mm) → ideal pixel.
    pub plane_to_px: Matrix3<f64>,
    /// Radial lens term: ideal offset `r` from `lens_centre` appears at
    /// `r · (1 + lens_k1 · (|r| / lens_radius_px)²)`.
    pub lens_k1: f64,
    /// Centre of the lens term, px.
    pub lens_centre: Point,
    /// Half the photo's diagonal, px.
    pub lens_radius_px: f64,
    /// One standard uncertainty of lengths along any direction, relative.
    pub relative_u: f64,
    /// Where the scale came from.
    pub method: ScaleMethod,
    /// Angle between the camera's axis and the plane's normal, radians.
    pub tilt: f64,
    /// Height of the camera above the plane, mm, where it is known, with its standard uncertainty.
    pub camera_height_mm: Option<(f64, f64)>,
    /// What else to tell the reader about the scale.
    pub notes: Vec<String>,
    /// Direction of the weaving's start as the sheet marks it, on the plane (unit vector from the
    /// band's middle towards its start), where a sheet says so.
    pub start_direction: Option<Point>,
    /// Two opposite corners of the rectangle of the plane (mm) that the band lies in, where a
    /// sheet says so.
    pub region_mm: Option<(Point, Point)>,
    /// `x` on the plane (mm, rising) at which that rectangle's ground changes: the ends of a
    /// sheet's window, the ends of its page.
    pub ground_changes_mm: Vec<f64>,
    /// A sheet's printed marks.
    pub printed: Vec<PrintedMark>,
    /// What is doubtful about the scale.
    pub warnings: Vec<Warning>,
    /// Direction on the plane of the one length that the scale was taken from; `None` where it was
    /// taken from lengths both ways.
    pub known_along: Option<Point>,
}

/// One standard uncertainty of the scale across a known length against the scale along it,
/// relative: a flatbed's two axes differ by some tenths of a per cent.
const ACROSS_KNOWN_U: f64 = 0.0017;

impl View {
    /// A camera that looks straight down, without lens term: `px_per_mm` along x and y, plane and
    /// photo sharing their origin.
    #[must_use]
    pub fn level(px_per_mm: (f64, f64), relative_u: f64, method: ScaleMethod) -> Self {
        Self {
            plane_to_px: Matrix3::new(px_per_mm.0, 0.0, 0.0, 0.0, px_per_mm.1, 0.0, 0.0, 0.0, 1.0),
            lens_k1: 0.0,
            lens_centre: Point::default(),
            lens_radius_px: 1.0,
            relative_u,
            method,
            tilt: 0.0,
            camera_height_mm: None,
            notes: Vec::new(),
            start_direction: None,
            region_mm: None,
            ground_changes_mm: Vec::new(),
            printed: Vec::new(),
            warnings: Vec::new(),
            known_along: None,
        }
    }

    /// One standard uncertainty of lengths in a direction (a unit vector on the plane), relative.
    ///
    /// ```
    /// use evenfell::geometry::Point;
    /// use evenfell::measurement::ScaleMethod;
    /// use evenfell::scale::View;
    /// let mut view = View::level((10.0, 10.0), 0.001, ScaleMethod::Points);
    /// view.known_along = Some(Point::new(1.0, 0.0));
    /// assert!((view.relative_u_towards(Point::new(1.0, 0.0)) - 0.001).abs() < 1e-12);
    /// assert!(view.relative_u_towards(Point::new(0.0, 1.0)) > 0.0015);
    /// ```
    #[must_use]
    pub fn relative_u_towards(&self, direction: Point) -> f64 {
        let across = self.known_along.map_or(0.0, |known| {
            let along = known.x * direction.x + known.y * direction.y;
            (1.0 - along * along).max(0.0)
        });
        self.relative_u.hypot(across * ACROSS_KNOWN_U)
    }

    /// The pixel at which a place of the plane (mm) appears.
    #[must_use]
    pub fn to_px(&self, place_mm: Point) -> Point {
        let v = self.plane_to_px * Vector3::new(place_mm.x, place_mm.y, 1.0);
        let (x, y) = (
            v.x / v.z - self.lens_centre.x,
            v.y / v.z - self.lens_centre.y,
        );
        let r2 = (x * x + y * y) / (self.lens_radius_px * self.lens_radius_px);
        let gain = 1.0 + self.lens_k1 * r2;
        Point::new(self.lens_centre.x + x * gain, self.lens_centre.y + y * gain)
    }

    /// The place of the plane (mm) that a pixel looks at; `None` where the pixel sees no plane.
    #[must_use]
    pub fn to_plane(&self, px: Point) -> Option<Point> {
        self.places()?(px)
    }

    /// [`to_plane`](Self::to_plane) of many pixels: what they have in common is worked out once.
    pub(crate) fn places(&self) -> Option<impl Fn(Point) -> Option<Point> + Sync + '_> {
        let inverse = self.plane_to_px.try_inverse()?;
        let bend = self.lens_k1 / (self.lens_radius_px * self.lens_radius_px);
        Some(move |px: Point| {
            let (dx, dy) = (px.x - self.lens_centre.x, px.y - self.lens_centre.y);
            let (mut x, mut y) = (dx, dy);
            for _ in 0..20 {
                let shrink = 1.0 / (1.0 + bend * (x * x + y * y));
                let next = (dx * shrink, dy * shrink);
                let settled = (next.0 - x).abs() + (next.1 - y).abs() < SETTLED_PX;
                (x, y) = next;
                if settled {
                    break;
                }
            }
            let v = inverse * Vector3::new(self.lens_centre.x + x, self.lens_centre.y + y, 1.0);
            let z = v.z;
            (z.abs() > f64::EPSILON && z.is_finite()).then(|| Point::new(v.x / z, v.y / z))
        })
    }

    /// The view of the same photo with `factor` × `factor` pixels averaged to one.
    #[must_use]
    pub fn binned(&self, factor: u32) -> Self {
        let f = f64::from(factor.max(1));
        let coarser = |px: f64| (px - 0.5 * (f - 1.0)) / f;
        let shift = 0.5 * (f - 1.0) / f;
        let to_coarse = Matrix3::new(1.0 / f, 0.0, -shift, 0.0, 1.0 / f, -shift, 0.0, 0.0, 1.0);
        Self {
            plane_to_px: to_coarse * self.plane_to_px,
            lens_centre: Point::new(coarser(self.lens_centre.x), coarser(self.lens_centre.y)),
            lens_radius_px: self.lens_radius_px / f,
            ..self.clone()
        }
    }

    /// Pixels per millimetre around a place of the plane: the geometric mean over directions.
    #[must_use]
    pub fn px_per_mm(&self, place_mm: Point) -> f64 {
        let h = 0.5;
        let at = |dx: f64, dy: f64| self.to_px(Point::new(place_mm.x + dx, place_mm.y + dy));
        let (xa, xb, ya, yb) = (at(-h, 0.0), at(h, 0.0), at(0.0, -h), at(0.0, h));
        let cross = (xb.x - xa.x) * (yb.y - ya.y) - (xb.y - xa.y) * (yb.x - ya.x);
        cross.abs().sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_seen_in_the_block_that_its_pixel_went_into() {
        let mut view = View::level((30.0, 31.0), 0.001, ScaleMethod::Dpi);
        view.lens_k1 = 0.05;
        view.lens_centre = Point::new(900.0, 600.0);
        view.lens_radius_px = 1000.0;
        let place = Point::new(20.0, 17.0);
        let (fine, coarse) = (view.to_px(place), view.binned(3).to_px(place));
        assert!((coarse.x - (fine.x - 1.0) / 3.0).abs() < 1e-9, "{coarse:?}");
        assert!((coarse.y - (fine.y - 1.0) / 3.0).abs() < 1e-9, "{coarse:?}");
    }

    #[test]
    fn a_pixel_and_back() {
        let mut view = View::level((11.8, 11.8), 0.001, ScaleMethod::Dpi);
        view.lens_k1 = 0.04;
        view.lens_centre = Point::new(1000.0, 700.0);
        view.lens_radius_px = 1200.0;
        view.plane_to_px[(2, 0)] = 1e-4;
        let place = Point::new(120.0, 31.0);
        let back = view
            .to_plane(view.to_px(place))
            .expect("the plane is in view");
        assert!(place.distance(back) < 1e-6, "{back:?}");
    }
}
