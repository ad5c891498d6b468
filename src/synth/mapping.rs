//! From a place on the band to a pixel, and back: exact, so that tests can check.

use nalgebra::{Matrix2, Matrix3, Vector2};

use super::camera::Camera;
use crate::geometry::Point;
use crate::measurement::ScaleMethod;
use crate::scale::View;

/// How one band appears in one picture.
#[derive(Clone, Debug)]
pub struct Mapping {
    /// Plane (mm) ↔ pixels.
    pub view: View,
    /// Place on the plane straight below the camera, mm, and the camera's height above the plane;
    /// `None` for a scanner.
    pub foot: Option<(Point, f64)>,
    angle: f64,
    curvature: f64,
    middle: Point,
    middle_s: f64,
}

impl Mapping {
    /// The mapping of a camera that takes a picture of `size_px` of a band `length_mm` long.
    pub(super) fn new(
        camera: &Camera,
        length_mm: f64,
        size_px: (u32, u32),
        look_at: Point,
    ) -> Self {
        let centre = Point::new(
            0.5 * (f64::from(size_px.0) - 1.0),
            0.5 * (f64::from(size_px.1) - 1.0),
        );
        let (view, foot) = view(camera, look_at, centre);
        Self {
            view,
            foot,
            angle: camera.band_angle,
            curvature: camera.curvature,
            middle: camera.band_middle_mm,
            middle_s: 0.5 * length_mm,
        }
    }

    /// The place on the plane (mm) at `s_mm` from the start of the body, `t_mm` to the weaver's
    /// right of the centre line.
    #[must_use]
    pub fn to_plane(&self, s_mm: f64, t_mm: f64) -> Point {
        let ds = s_mm - self.middle_s;
        let k = self.curvature;
        let (x, y) = if k.abs() < 1e-9 {
            (ds, t_mm)
        } else {
            let radius = 1.0 / k;
            let (sin, cos) = (k * ds).sin_cos();
            ((radius - t_mm) * sin, radius - (radius - t_mm) * cos)
        };
        let (sin, cos) = self.angle.sin_cos();
        Point::new(
            self.middle.x + x * cos - y * sin,
            self.middle.y + x * sin + y * cos,
        )
    }

    /// `s` and `t` (mm) of a place on the plane.
    #[must_use]
    pub fn to_band(&self, place_mm: Point) -> (f64, f64) {
        let (dx, dy) = (place_mm.x - self.middle.x, place_mm.y - self.middle.y);
        let (sin, cos) = self.angle.sin_cos();
        let (x, y) = (dx * cos + dy * sin, dy * cos - dx * sin);
        let k = self.curvature;
        if k.abs() < 1e-9 {
            return (x + self.middle_s, y);
        }
        let radius = 1.0 / k;
        let sign = k.signum();
        let away = x.hypot(radius - y);
        let turn = (x * sign).atan2((radius - y) * sign);
        (turn / k + self.middle_s, radius - sign * away)
    }

    /// The pixel at which a place on the band appears that lies `height_mm` above the plane.
    #[must_use]
    pub fn to_px(&self, s_mm: f64, t_mm: f64, height_mm: f64) -> Point {
        let place = self.to_plane(s_mm, t_mm);
        let seen = match self.foot {
            None => place,
            Some((foot, camera)) => {
                let grow = camera / (camera - height_mm);
                Point::new(
                    foot.x + (place.x - foot.x) * grow,
                    foot.y + (place.y - foot.y) * grow,
                )
            }
        };
        self.view.to_px(seen)
    }

    /// The place on the band that a pixel shows, if what it shows lies `height_mm` above the plane.
    #[must_use]
    pub fn px_to_band(&self, px: Point, height_mm: f64) -> Option<(f64, f64)> {
        let seen = self.view.to_plane(px)?;
        let place = match self.foot {
            None => seen,
            Some((foot, camera)) => {
                let share = height_mm / camera;
                Point::new(
                    seen.x + (foot.x - seen.x) * share,
                    seen.y + (foot.y - seen.y) * share,
                )
            }
        };
        Some(self.to_band(place))
    }
}

impl Camera {
    /// The view of a picture of `size_px` that looks at `look_at_mm`.
    #[must_use]
    pub fn view_px(&self, size_px: (u32, u32)) -> View {
        Mapping::new(self, 0.0, size_px, self.look_at_mm).view
    }
}

fn view(camera: &Camera, look_at: Point, centre: Point) -> (View, Option<(Point, f64)>) {
    let px_per_mm = camera.dpi / 25.4;
    let scale = Matrix2::new(
        px_per_mm * (1.0 + camera.axis_error.0),
        0.0,
        0.0,
        px_per_mm * (1.0 + camera.axis_error.1),
    );
    let (roll_sin, roll_cos) = camera.roll.sin_cos();
    let roll = Matrix2::new(roll_cos, -roll_sin, roll_sin, roll_cos);
    let (ny, nx) = camera.tilt_direction.sin_cos();
    let recede = Vector2::new(nx, ny);
    let (tilt_sin, tilt_cos) = camera
        .distance_mm
        .map_or((0.0, 1.0), |_| camera.tilt.sin_cos());
    let lean = Matrix2::identity() + (tilt_cos - 1.0) * recede * recede.transpose();
    let fall = camera
        .distance_mm
        .map_or(Vector2::zeros(), |d| recede * (tilt_sin / d));
    let flat = scale * roll * lean;
    let middle = Vector2::new(centre.x, centre.y);
    let full = flat + middle * fall.transpose();
    let projection = Matrix3::new(
        full[(0, 0)],
        full[(0, 1)],
        centre.x,
        full[(1, 0)],
        full[(1, 1)],
        centre.y,
        fall.x,
        fall.y,
        1.0,
    );
    let shift = Matrix3::new(1.0, 0.0, -look_at.x, 0.0, 1.0, -look_at.y, 0.0, 0.0, 1.0);
    let mut view = View::level((px_per_mm, px_per_mm), 0.0, ScaleMethod::Dpi);
    view.plane_to_px = projection * shift;
    view.lens_k1 = camera.lens_k1;
    view.lens_centre = centre;
    view.lens_radius_px = (centre.x + 0.5).hypot(centre.y + 0.5);
    view.tilt = if camera.distance_mm.is_some() {
        camera.tilt
    } else {
        0.0
    };
    let foot = camera.distance_mm.map(|d| {
        let foot = Point::new(look_at.x - d * tilt_sin * nx, look_at.y - d * tilt_sin * ny);
        (foot, d * tilt_cos)
    });
    view.camera_height_mm = foot.map(|(_, height)| (height, 0.0));
    (view, foot)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_on_a_bent_band_under_a_tilted_camera_comes_back_from_its_pixel() {
        let camera = Camera {
            band_angle: 1.9,
            curvature: -1.0 / 900.0,
            tilt: 0.2,
            tilt_direction: 0.7,
            roll: 0.4,
            distance_mm: Some(320.0),
            lens_k1: 0.02,
            band_middle_mm: Point::new(30.0, -12.0),
            ..Camera::default()
        };
        let mapping = Mapping::new(&camera, 150.0, (3000, 2000), Point::new(10.0, 5.0));
        for (s, t, h) in [(0.0, -17.0, 0.0), (75.0, 0.0, 2.0), (150.0, 16.0, 1.0)] {
            let px = mapping.to_px(s, t, h);
            let (s1, t1) = mapping.px_to_band(px, h).expect("the plane is in view");
            assert!((s - s1).abs() < 1e-6 && (t - t1).abs() < 1e-6, "{s1} {t1}");
        }
    }
}
