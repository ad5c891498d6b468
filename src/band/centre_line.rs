//! The line down the middle of the band: straight, or one parabola where the band lies curved.

use crate::geometry::Point;

/// The band's centre line on the plane, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CentreLine {
    /// Where `s` is 0.
    pub origin: Point,
    /// Unit vector from start towards finish at the origin.
    pub along: Point,
    /// Curvature, 1/mm: the line bends by `curvature · s² / 2` towards the weaver's right.
    pub curvature: f64,
}

impl CentreLine {
    /// The place on the plane (mm) at `s_mm` along the line and `t_mm` to the weaver's right of it.
    #[must_use]
    pub fn place(&self, s_mm: f64, t_mm: f64) -> Point {
        let right = Point::new(-self.along.y, self.along.x);
        let bend = 0.5 * self.curvature * s_mm * s_mm;
        let slope = self.curvature * s_mm;
        let norm = (1.0 + slope * slope).sqrt();
        let (u, v) = (s_mm - t_mm * slope / norm, bend + t_mm / norm);
        Point::new(
            self.origin.x + u * self.along.x + v * right.x,
            self.origin.y + u * self.along.y + v * right.y,
        )
    }

    /// The same line with its origin moved along it by `s_mm`.
    #[must_use]
    pub fn moved(&self, s_mm: f64) -> Self {
        let right = Point::new(-self.along.y, self.along.x);
        let slope = self.curvature * s_mm;
        let norm = slope.hypot(1.0);
        Self {
            origin: self.place(s_mm, 0.0),
            along: Point::new(
                (self.along.x + slope * right.x) / norm,
                (self.along.y + slope * right.y) / norm,
            ),
            curvature: self.curvature,
        }
    }

    /// `(s, t)` of a place of the plane, mm: the inverse of [`CentreLine::place`].
    #[must_use]
    pub fn coordinates(&self, place: Point) -> (f64, f64) {
        let right = Point::new(-self.along.y, self.along.x);
        let (x, y) = (place.x - self.origin.x, place.y - self.origin.y);
        let u = x * self.along.x + y * self.along.y;
        let v = x * right.x + y * right.y;
        let (mut s, mut t) = (u, v);
        for _ in 0..8 {
            let slope = self.curvature * s;
            let norm = slope.hypot(1.0);
            t = (v - 0.5 * self.curvature * s * s) * norm;
            s = u + t * slope / norm;
        }
        (s, t)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_and_back_on_a_bent_line() {
        let line = CentreLine {
            origin: Point::new(30.0, 50.0),
            along: Point::new(0.6, -0.8),
            curvature: 0.001,
        };
        let (s, t) = line.coordinates(line.place(120.0, 17.0));
        assert!(
            (s - 120.0).abs() < 1e-6 && (t - 17.0).abs() < 1e-6,
            "{s} {t}"
        );
        let moved = line.moved(40.0);
        let gap = moved.place(80.0, 17.0).distance(line.place(120.0, 17.0));
        assert!(gap < 0.3, "{gap}");
    }
}
