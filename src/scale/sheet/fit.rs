//! One camera for all corners of the markers.

use nalgebra::{DVector, Matrix3};

use crate::geometry::Point;
use crate::markers::{Found, edges, plane};
use crate::scale::least_squares::{self, Fit};
use crate::sheet::Marker;
use crate::stats::median;

/// A marker of the layout with where it was found.
pub(super) type Pair = (Marker, Found);

/// Where a photo's lens term is centred, and half its diagonal, px.
#[derive(Clone, Copy, Debug)]
pub(in crate::scale) struct Frame {
    pub(in crate::scale) centre: Point,
    pub(in crate::scale) radius_px: f64,
}

impl Frame {
    pub(in crate::scale) fn of(width: u32, height: u32) -> Self {
        let (w, h) = (f64::from(width), f64::from(height));
        Self {
            centre: Point::new(0.5 * (w - 1.0), 0.5 * (h - 1.0)),
            radius_px: 0.5 * w.hypot(h),
        }
    }

    /// Where an ideal place appears through a lens term.
    pub(in crate::scale) fn distort(&self, ideal: Point, k1: f64) -> Point {
        let (x, y) = (ideal.x - self.centre.x, ideal.y - self.centre.y);
        let gain = 1.0 + k1 * (x * x + y * y) / (self.radius_px * self.radius_px);
        Point::new(self.centre.x + x * gain, self.centre.y + y * gain)
    }

    /// The ideal place of a pixel.
    pub(in crate::scale) fn straighten(&self, seen: Point, k1: f64) -> Point {
        let (dx, dy) = (seen.x - self.centre.x, seen.y - self.centre.y);
        let (mut x, mut y) = (dx, dy);
        for _ in 0..12 {
            let gain = 1.0 + k1 * (x * x + y * y) / (self.radius_px * self.radius_px);
            (x, y) = (dx / gain, dy / gain);
        }
        Point::new(self.centre.x + x, self.centre.y + y)
    }
}

/// Parameters: eight of the map, the lens term, the ink's spread in tenths of a millimetre.
pub(super) const K1: usize = 8;
const SPREAD: usize = 9;
const COUNT: usize = 10;

/// Standard deviation of the lens term before anything is seen: phones correct their own lenses
/// to a per cent or two; the width lets an uncorrected wide one pass.
const K1_PRIOR: f64 = 0.1;

/// Standard deviation of the ink's spread, tenths of a millimetre.
const SPREAD_PRIOR: f64 = 1.0;

/// Least scatter of a corner that is believed, px.
const LEAST_SIGMA_PX: f64 = 0.02;

/// Millimetres that stand for one in the fit, so that its parameters are of the order of one.
const UNIT_MM: f64 = 100.0;

/// The camera that fits the markers.
#[derive(Clone, Debug)]
pub(super) struct PlaneFit {
    pub(super) fit: Fit,
    pub(super) frame: Frame,
    /// The place of the plane, mm, that is the origin inside the fit.
    origin: Point,
    /// The markers used.
    pub(super) used: Vec<Pair>,
}

impl PlaneFit {
    /// Plane (mm) → ideal pixel, for any parameters near the fit's own.
    pub(super) fn map(&self, p: &DVector<f64>) -> Matrix3<f64> {
        map_of(p, self.frame, self.origin)
    }

    /// Root mean square distance of the corners from where the camera puts them, px.
    pub(super) fn rms_px(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a count of corners")]
        let corners = self.fit.residuals.len() as f64 / 2.0;
        self.frame.radius_px * (self.fit.residuals.norm_squared() / corners).sqrt()
    }
}

/// Mean square misfit of each used marker's corners, px², in their order.
fn misfits(fit: &PlaneFit) -> Vec<f64> {
    let residuals = fit.fit.residuals.as_slice();
    residuals
        .chunks_exact(8)
        .map(|r| r.iter().map(|v| v * v).sum::<f64>() / 4.0 * fit.frame.radius_px.powi(2))
        .collect()
}

fn map_of(p: &DVector<f64>, frame: Frame, origin: Point) -> Matrix3<f64> {
    let inside = Matrix3::new(p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], 1.0);
    let to_unit = Matrix3::new(
        1.0 / UNIT_MM,
        0.0,
        -origin.x / UNIT_MM,
        0.0,
        1.0 / UNIT_MM,
        -origin.y / UNIT_MM,
        0.0,
        0.0,
        1.0,
    );
    let r = frame.radius_px;
    let to_px = Matrix3::new(
        r,
        0.0,
        frame.centre.x,
        0.0,
        r,
        frame.centre.y,
        0.0,
        0.0,
        1.0,
    );
    to_px * inside * to_unit
}

/// A corner of a marker whose ink has spread, mm.
fn spread(marker: &Marker, corner: usize, tenths: f64) -> Point {
    let at = marker.corners()[corner];
    let grow = 1.0 + 0.1 * tenths / (0.5 * marker.side_mm);
    let along = |v: f64, m: f64| m + grow * (v - m);
    Point::new(along(at.x, marker.centre.x), along(at.y, marker.centre.y))
}

/// Fits one camera to the markers; `None` where their corners don't fix one.
pub(super) fn fit(pairs: &[Pair], frame: Frame) -> Option<PlaneFit> {
    let mut fitted = fit_all(pairs, frame)?;
    // A marker may be bent or half covered: at most a few go, one by one, the worst first.
    while fitted.used.len() > FEWEST {
        let each = misfits(&fitted);
        let typical = median(&each)?;
        let (worst, &size) = each.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
        if size < OUTLIER_PX2.max(OUTLIER_TIMES * typical) {
            break;
        }
        let mut rest = fitted.used.clone();
        rest.remove(worst);
        fitted = fit_all(&rest, frame)?;
    }
    Some(fitted)
}

/// Fewest markers that are kept when outliers are left out.
pub(super) const FEWEST: usize = 4;

/// A marker farther off than this, px² (mean square of its corners), may be an outlier …
const OUTLIER_PX2: f64 = 0.5;

/// … if it is as many times farther off (in squares) than the typical one.
const OUTLIER_TIMES: f64 = 36.0;

fn fit_all(pairs: &[Pair], frame: Frame) -> Option<PlaneFit> {
    #[expect(clippy::cast_precision_loss, reason = "a count of markers")]
    let n = pairs.len() as f64;
    let mean = |of: fn(&Marker) -> f64| pairs.iter().map(|(m, _)| of(m)).sum::<f64>() / n;
    let origin = Point::new(mean(|m| m.centre.x), mean(|m| m.centre.y));
    let mut start = start(pairs, frame, origin)?;
    let mut fitted = None;
    // The lens term bends the edges between the corners: three rounds settle it.
    for _ in 0..3 {
        let seen = corners(pairs, frame, start[K1])?;
        let data = |p: &DVector<f64>| {
            let map = map_of(p, frame, origin);
            let r = frame.radius_px;
            let offsets = pairs.iter().zip(&seen).flat_map(|((marker, _), seen)| {
                (0..4).flat_map(move |i| {
                    let ideal = plane::apply(&map, spread(marker, i, p[SPREAD]))
                        .unwrap_or(Point::new(f64::MAX, f64::MAX));
                    let at = frame.distort(ideal, p[K1]);
                    [(at.x - seen[i].x) / r, (at.y - seen[i].y) / r]
                })
            });
            DVector::from_iterator(8 * pairs.len(), offsets)
        };
        let priors = [(K1, 0.0, K1_PRIOR), (SPREAD, 0.0, SPREAD_PRIOR)];
        let least = LEAST_SIGMA_PX / frame.radius_px;
        let fit = least_squares::fit(start, &data, &priors, least)?;
        start = fit.parameters.clone();
        fitted = Some(fit);
    }
    Some(PlaneFit {
        fit: fitted?,
        frame,
        origin,
        used: pairs.to_vec(),
    })
}

/// The markers' corners as they appear, from edges made straight by the lens term.
fn corners(pairs: &[Pair], frame: Frame, k1: f64) -> Option<Vec<[Point; 4]>> {
    pairs
        .iter()
        .map(|(_, found)| {
            let ideal = edges::corners_of(&found.sides, |p| frame.straighten(p, k1))?;
            Some(ideal.map(|p| frame.distort(p, k1)))
        })
        .collect()
}

/// A start from the four corners that lie farthest out.
fn start(pairs: &[Pair], frame: Frame, origin: Point) -> Option<DVector<f64>> {
    let all: Vec<(Point, Point)> = pairs
        .iter()
        .flat_map(|(marker, found)| {
            let on_plane = marker.corners();
            (0..4).map(move |i| (on_plane[i], found.corners[i]))
        })
        .collect();
    let outmost = |x: f64, y: f64| {
        all.iter().copied().max_by(|a, b| {
            let score = |p: &Point| x * p.x + y * p.y;
            score(&a.0).total_cmp(&score(&b.0))
        })
    };
    let ends = [
        outmost(-1.0, -1.0)?,
        outmost(1.0, -1.0)?,
        outmost(1.0, 1.0)?,
        outmost(-1.0, 1.0)?,
    ];
    let unit =
        ends.map(|(p, _)| Point::new((p.x - origin.x) / UNIT_MM, (p.y - origin.y) / UNIT_MM));
    let r = frame.radius_px;
    let seen =
        ends.map(|(_, q)| Point::new((q.x - frame.centre.x) / r, (q.y - frame.centre.y) / r));
    let map = plane::of_four(&unit, &seen)?;
    let mut parameters = DVector::zeros(COUNT);
    for i in 0..8 {
        parameters[i] = map[(i / 3, i % 3)];
    }
    Some(parameters)
}
