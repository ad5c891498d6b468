//! The projective map that takes four places to four others.

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

use crate::geometry::Point;

/// The map from `from` to `to`; `None` where three of the places lie on a line.
pub(crate) fn of_four(from: &[Point; 4], to: &[Point; 4]) -> Option<Matrix3<f64>> {
    let mut a = SMatrix::<f64, 8, 8>::zeros();
    let mut b = SVector::<f64, 8>::zeros();
    for (i, (p, q)) in from.iter().zip(to).enumerate() {
        for (row, target, shift) in [(2 * i, q.x, 0), (2 * i + 1, q.y, 3)] {
            a[(row, shift)] = p.x;
            a[(row, shift + 1)] = p.y;
            a[(row, shift + 2)] = 1.0;
            a[(row, 6)] = -target * p.x;
            a[(row, 7)] = -target * p.y;
            b[row] = target;
        }
    }
    let h = a.lu().solve(&b)?;
    let map = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0);
    map.iter().all(|v| v.is_finite()).then_some(map)
}

/// Where the map takes a place; `None` at the horizon.
pub(crate) fn apply(map: &Matrix3<f64>, place: Point) -> Option<Point> {
    let v = map * Vector3::new(place.x, place.y, 1.0);
    (v.z.abs() > f64::EPSILON).then(|| Point::new(v.x / v.z, v.y / v.z))
}
