//! Where the camera stood: its height above the plane and its tilt.

use nalgebra::{DVector, Matrix2, Matrix3, Vector2, Vector3};

use super::fit::{Frame, PlaneFit};
use crate::photo::Camera;
use crate::scale::least_squares::Fit;

/// Where the camera stood.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pose {
    /// Height above the plane, mm, and its standard uncertainty.
    pub(super) height_mm: (f64, f64),
    /// Angle between the camera's axis and the plane's normal, radians.
    pub(super) tilt: f64,
}

/// Focal length of a phone's main camera as a share of the picture's longer side, where the file
/// doesn't say it, and the standard deviation of its logarithm: 24 to 30 mm for a 36 mm wide
/// picture, with room for others.
const FOCAL_SHARE: f64 = 0.75;
const FOCAL_LOG_SD: f64 = 0.12;

/// Standard deviation of the logarithm where the file says it: makers reckon the equivalent by
/// the picture's diagonal or by its width, and round it to whole millimetres.
const STATED_LOG_SD: f64 = 0.04;

/// Diagonal of a 36 × 24 mm picture, mm.
const DIAGONAL_35MM: f64 = 43.266_615;

/// How far a real camera and a real sheet depart from the model in the two constraints (paper not
/// flat, axis not in the middle), one standard deviation.
const MODEL_SD: f64 = 0.003;

/// The focal lengths that are weighed, as shares of the longer side, and how many.
const FOCAL_RANGE: (f64, f64) = (0.4, 4.0);
const FOCALS: u32 = 240;

/// The focal length known beforehand: the logarithm of its pixels and that one's standard
/// deviation.
pub(in crate::scale) fn focal_prior(
    camera: Option<&Camera>,
    frame: Frame,
    longer_px: f64,
) -> (f64, f64) {
    match camera.and_then(|camera| camera.focal_length_35mm) {
        Some(mm) => {
            let px = mm * 2.0 * frame.radius_px / DIAGONAL_35MM;
            (px.ln(), STATED_LOG_SD)
        }
        None => ((FOCAL_SHARE * longer_px).ln(), FOCAL_LOG_SD),
    }
}

/// The camera's pose: every focal length weighed by how well it explains the map and by what is
/// known of it beforehand.
pub(super) fn pose(fit: &PlaneFit, prior: (f64, f64), longer_px: f64) -> Option<Pose> {
    let of = |p: &DVector<f64>| fit.map(p);
    weigh(&fit.fit, &of, fit.frame, prior, longer_px)
}

fn weigh(
    fit: &Fit,
    map: &dyn Fn(&DVector<f64>) -> Matrix3<f64>,
    frame: Frame,
    prior: (f64, f64),
    longer_px: f64,
) -> Option<Pose> {
    let (low, high) = (
        (FOCAL_RANGE.0 * longer_px).ln(),
        (FOCAL_RANGE.1 * longer_px).ln(),
    );
    let mut all = Vec::new();
    for i in 0..FOCALS {
        let log = low + (high - low) * f64::from(i) / f64::from(FOCALS - 1);
        let focal = log.exp();
        let misfit = misfit(fit, map, frame, focal)?;
        let chi2 = misfit + ((log - prior.0) / prior.1).powi(2);
        let (height, tilt) = stand(&map(&fit.parameters), frame, focal)?;
        all.push((chi2, height, tilt));
    }
    let least = all.iter().map(|a| a.0).fold(f64::INFINITY, f64::min);
    let weight = |chi2: f64| (-0.5 * (chi2 - least)).exp();
    let total: f64 = all.iter().map(|a| weight(a.0)).sum();
    let mean = |of: &dyn Fn(&(f64, f64, f64)) -> f64| {
        all.iter().map(|a| weight(a.0) * of(a)).sum::<f64>() / total
    };
    let height = mean(&|a| a.1);
    let variance = mean(&|a| (a.1 - height).powi(2));
    // The map itself gives the height at a known focal length to a few tenths of a per cent.
    let u = variance.sqrt().hypot(0.003 * height);
    (height.is_finite() && height > 0.0).then_some(Pose {
        height_mm: (height, u),
        tilt: mean(&|a| a.2),
    })
}

/// How badly a focal length explains the map: the plane's two directions must be at right angles
/// and equally long behind the lens.
fn misfit(
    fit: &Fit,
    map: &dyn Fn(&DVector<f64>) -> Matrix3<f64>,
    frame: Frame,
    focal: f64,
) -> Option<f64> {
    let constraints = |p: &DVector<f64>| {
        let (a, b) = directions(&map(p), frame, focal);
        let lengths = a.norm() * b.norm();
        Vector2::new(a.dot(&b) / lengths, (a.norm() / b.norm()).ln())
    };
    let at = constraints(&fit.parameters);
    let mut slopes = nalgebra::Matrix2xX::zeros(fit.parameters.len());
    let step = 1e-6;
    for i in 0..fit.parameters.len() {
        let (mut above, mut below) = (fit.parameters.clone(), fit.parameters.clone());
        above[i] += step;
        below[i] -= step;
        let slope = (constraints(&above) - constraints(&below)) / (2.0 * step);
        slopes.set_column(i, &slope);
    }
    let covariance: Matrix2<f64> =
        &slopes * &fit.covariance * slopes.transpose() + Matrix2::identity() * MODEL_SD * MODEL_SD;
    Some(at.dot(&(covariance.try_inverse()? * at)))
}

/// The plane's x and y directions behind the lens, of a length that is the same for both.
fn directions(map: &Matrix3<f64>, frame: Frame, focal: f64) -> (Vector3<f64>, Vector3<f64>) {
    let behind = |column: usize| {
        let v = map.column(column);
        Vector3::new(
            (v[0] - frame.centre.x * v[2]) / focal,
            (v[1] - frame.centre.y * v[2]) / focal,
            v[2],
        )
    };
    (behind(0), behind(1))
}

/// Height above the plane, mm, and tilt of the camera with that focal length.
fn stand(map: &Matrix3<f64>, frame: Frame, focal: f64) -> Option<(f64, f64)> {
    let (a, b) = directions(map, frame, focal);
    let v = map.column(2);
    let origin = Vector3::new(
        (v[0] - frame.centre.x * v[2]) / focal,
        (v[1] - frame.centre.y * v[2]) / focal,
        v[2],
    );
    let size = (a.norm() * b.norm()).sqrt();
    let normal = a.cross(&b).normalize();
    let height = normal.dot(&origin).abs() / size;
    let tilt = normal.z.abs().min(1.0).acos();
    (height.is_finite() && tilt.is_finite()).then_some((height, tilt))
}
