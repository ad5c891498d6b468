//! How does the band lie: its first centre line, from the coarse piece.
//!
//! # Method
//! 1. The piece's long axis, by its moments, in millimetres of the plane.
//! 2. In slices of [`SLICE_MM`] along it the middle between the outermost cells.
//! 3. A robust straight line through the middles; one parabola where it halves the residual. A
//!    cubic would follow the band's meander and skew the rows at its ends.

use super::CentreLine;
use rayon::prelude::*;

use super::cells::Cells;
use super::hint::{BandHint, StartEnd};
use crate::geometry::Point;
use crate::scale::View;

/// Length of a slice, mm.
const SLICE_MM: f64 = 2.0;
/// The parabola is taken where the residual falls below this share of the line's.
const BENT: f64 = 0.7;

/// The first idea of the band's place.
#[derive(Debug)]
pub(super) struct Lay {
    /// The line, its origin at the piece's near end.
    pub line: CentreLine,
    /// Length of the piece, mm.
    pub length_mm: f64,
    /// Median width of the piece, mm.
    pub width_mm: f64,
}

/// Fits the first centre line through the piece; `None` where it is no strip.
pub(super) fn lay_of(cells: &Cells, mask: &[bool], view: &View, hint: &BandHint) -> Option<Lay> {
    let place_of = view.places()?;
    let places: Vec<Point> = mask
        .par_iter()
        .enumerate()
        .filter(|(_, m)| **m)
        .filter_map(|(i, _)| place_of(cells.centre_px(i % cells.width, i / cells.width)))
        .collect();
    if places.len() < 30 {
        return None;
    }
    let (middle, axis) = long_axis(&places);
    let along = start_first(view, middle, axis, hint);
    let right = Point::new(-along.y, along.x);
    let relative: Vec<(f64, f64)> = places
        .iter()
        .map(|p| {
            let (x, y) = (p.x - middle.x, p.y - middle.y);
            (x * along.x + y * along.y, x * right.x + y * right.y)
        })
        .collect();
    let (near, far) = relative
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (u, _)| {
            (a.min(*u), b.max(*u))
        });
    let slices = slices_of(&relative, near, far);
    let mut widths: Vec<f64> = slices.iter().map(|s| s.2).collect();
    widths.sort_by(f64::total_cmp);
    let width = *widths.get(widths.len() / 2)? + cells.size_mm;
    let middles: Vec<(f64, f64)> = slices
        .iter()
        .filter(|s| s.2 > 0.7 * width)
        .map(|s| (s.0, s.1))
        .collect();
    let line = fit_line(
        &middles,
        CentreLine {
            origin: middle,
            along,
            curvature: 0.0,
        },
    )?;
    Some(Lay {
        line: line.moved(near),
        length_mm: far - near,
        width_mm: width,
    })
}

/// Fits a straight line, or one parabola, through places `(s, t)` given along and across `base`
/// (itself taken as straight), and gives it with the origin where `s` is 0.
pub(super) fn fit_line(places: &[(f64, f64)], base: CentreLine) -> Option<CentreLine> {
    let straight = robust_fit(places, 2)?;
    let bent = robust_fit(places, 3);
    let (c, bend) = match bent {
        Some((c, r)) if r < BENT * straight.1 => (c, c[2]),
        _ => (straight.0, 0.0),
    };
    let right = Point::new(-base.along.y, base.along.x);
    let norm = c[1].hypot(1.0);
    let along = Point::new(
        (base.along.x + c[1] * right.x) / norm,
        (base.along.y + c[1] * right.y) / norm,
    );
    Some(CentreLine {
        origin: Point::new(
            base.origin.x + c[0] * right.x,
            base.origin.y + c[0] * right.y,
        ),
        along,
        curvature: 2.0 * bend / (norm * norm * norm),
    })
}

/// Polynomial of `terms` coefficients by reweighted least squares (Tukey's biweight), and the
/// robust spread of its residuals.
pub(super) fn robust_fit(places: &[(f64, f64)], terms: usize) -> Option<([f64; 3], f64)> {
    use nalgebra::{DMatrix, DVector};
    if places.len() < terms + 2 {
        return None;
    }
    let reach = places.iter().map(|p| p.0.abs()).fold(1e-9, f64::max);
    let mut weights = vec![1.0; places.len()];
    let mut c = [0.0; 3];
    let mut spread = 0.0;
    for _ in 0..10 {
        let (mut a, mut b) = ([[0.0; 3]; 3], [0.0; 3]);
        for (&(s, t), &w) in places.iter().zip(&weights) {
            let x = s / reach;
            let row = [1.0, x, x * x];
            for k in 0..3 {
                for n in 0..3 {
                    a[k][n] += w * row[k] * row[n];
                }
                b[k] += w * t * row[k];
            }
        }
        let normal = DMatrix::from_fn(terms, terms, |k, n| a[k][n]);
        let solved = normal.lu().solve(&DVector::from_fn(terms, |k, _| b[k]))?;
        for (k, value) in c.iter_mut().enumerate().take(terms) {
            *value = solved[k] / [1.0, reach, reach * reach][k];
        }
        let residual = |&(s, t): &(f64, f64)| t - c[0] - c[1] * s - c[2] * s * s;
        let mut sizes: Vec<f64> = places.iter().map(|p| residual(p).abs()).collect();
        let middle = sizes.len() / 2;
        sizes.select_nth_unstable_by(middle, f64::total_cmp);
        spread = 1.4826 * sizes[middle];
        for (w, p) in weights.iter_mut().zip(places) {
            let r = residual(p) / (4.685 * spread.max(1e-6));
            *w = if r.abs() < 1.0 {
                (1.0 - r * r).powi(2)
            } else {
                0.0
            };
        }
    }
    Some((c, spread))
}

fn long_axis(places: &[Point]) -> (Point, Point) {
    let n = places.len() as f64;
    let mx = places.iter().map(|p| p.x).sum::<f64>() / n;
    let my = places.iter().map(|p| p.y).sum::<f64>() / n;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in places {
        let (x, y) = (p.x - mx, p.y - my);
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    (Point::new(mx, my), Point::new(angle.cos(), angle.sin()))
}

/// Turns the axis so that it runs from the weaving's start to its finish.
fn start_first(view: &View, middle: Point, axis: Point, hint: &BandHint) -> Point {
    let back = Point::new(-axis.x, -axis.y);
    if hint.start.is_none()
        && let Some(d) = view.start_direction
    {
        return if axis.x * d.x + axis.y * d.y > 0.0 {
            back
        } else {
            axis
        };
    }
    let (a, b) = (
        view.to_px(middle),
        view.to_px(Point::new(middle.x + axis.x, middle.y + axis.y)),
    );
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let lies = dx.abs() >= dy.abs();
    // The override names the end even of a band that lies across the other way.
    let forward = match hint.start {
        Some(StartEnd::Left) if dx.abs() > 0.2 * dy.abs() => dx > 0.0,
        Some(StartEnd::Right) if dx.abs() > 0.2 * dy.abs() => dx < 0.0,
        Some(StartEnd::Top) if dy.abs() > 0.2 * dx.abs() => dy > 0.0,
        Some(StartEnd::Bottom) if dy.abs() > 0.2 * dx.abs() => dy < 0.0,
        _ if lies => dx > 0.0,
        _ => dy < 0.0,
    };
    if forward { axis } else { back }
}

/// For each slice along: its `u`, the middle and the width between its outermost cells.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a slice's number, clamped"
)]
fn slices_of(relative: &[(f64, f64)], near: f64, far: f64) -> Vec<(f64, f64, f64)> {
    let count = ((far - near) / SLICE_MM).ceil().max(1.0) as usize;
    let mut span = vec![(f64::INFINITY, f64::NEG_INFINITY); count];
    for &(u, v) in relative {
        let slot = &mut span[(((u - near) / SLICE_MM) as usize).min(count - 1)];
        *slot = (slot.0.min(v), slot.1.max(v));
    }
    span.iter()
        .enumerate()
        .filter(|(_, s)| s.1 > s.0)
        .map(|(i, s)| {
            (
                near + (i as f64 + 0.5) * SLICE_MM,
                (s.0 + s.1) / 2.0,
                s.1 - s.0,
            )
        })
        .collect()
}
