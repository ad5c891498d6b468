//! The cloth stands above the plane: how much too long does a length on it read?
//!
//! Seen from a camera `H` above the plane, what lies `h` above it looks nearer: lengths read
//! `h / (H − h)` too long. Picks lie at the cloth's top, selvedges at half its thickness. A scanner
//! sees the cloth at one scale whatever its thickness: nothing to correct.

use super::View;
use crate::geometry::Point;

/// From a length as it reads on the plane to the length on the cloth, with the doubt of both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnCloth {
    /// Length on the cloth = length on the plane × this.
    pub factor: f64,
    /// One standard uncertainty of lengths from the scale and the height together, relative.
    pub relative_u: f64,
}

impl OnCloth {
    /// For things `height` above the plane, mm: the value and its standard uncertainty; lengths in
    /// the direction `towards` (a unit vector on the plane).
    ///
    /// ```
    /// use evenfell::geometry::Point;
    /// use evenfell::measurement::ScaleMethod;
    /// use evenfell::scale::{OnCloth, View};
    /// let mut view = View::level((10.0, 10.0), 0.001, ScaleMethod::Sheet);
    /// view.camera_height_mm = Some((300.0, 0.0));
    /// let picks = OnCloth::at_height(&view, (2.0, 0.0), Point::new(1.0, 0.0));
    /// assert!((100.0 * picks.factor - 99.333).abs() < 1e-3);
    /// ```
    #[must_use]
    pub fn at_height(view: &View, height: (f64, f64), towards: Point) -> Self {
        let relative_u = view.relative_u_towards(towards);
        let Some((camera, camera_u)) = view.camera_height_mm.filter(|(h, _)| *h > 0.0) else {
            return Self {
                factor: 1.0,
                relative_u,
            };
        };
        let factor = (1.0 - height.0 / camera).max(0.5);
        let by_height = height.1 / camera;
        let by_camera = height.0 * camera_u / (camera * camera);
        let own = by_height.hypot(by_camera) / factor;
        Self {
            factor,
            relative_u: relative_u.hypot(own),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::ScaleMethod;

    #[test]
    fn a_scan_is_not_corrected() {
        let view = View::level((12.0, 12.0), 0.0015, ScaleMethod::Dpi);
        let lengths = OnCloth::at_height(&view, (4.0, 1.0), Point::new(1.0, 0.0));
        assert!((lengths.factor - 1.0).abs() < 1e-12);
        assert!((lengths.relative_u - 0.0015).abs() < 1e-12);
    }

    #[test]
    fn a_doubtful_thickness_widens_the_doubt() {
        let mut view = View::level((12.0, 12.0), 0.0, ScaleMethod::Sheet);
        view.camera_height_mm = Some((400.0, 40.0));
        let lengths = OnCloth::at_height(&view, (4.0, 1.0), Point::new(1.0, 0.0));
        assert!((lengths.factor - 0.99).abs() < 1e-9);
        let expected = f64::hypot(1.0 / 400.0, 4.0 * 40.0 / 160_000.0) / 0.99;
        assert!((lengths.relative_u - expected).abs() < 1e-9);
    }
}
