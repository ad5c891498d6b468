//! Where does the body begin and end, now that its picks are known?
//!
//! # Method
//! Two things speak of an end: where the cloth was seen to end (or a header to begin), and how far a
//! pick reaches beyond its middle. The second isn't known beforehand, for weft may be thin against its
//! spacing or bulge over its neighbours, but it is the same at both ends, so each end tells the other.
//! And where the phase that the cells gave is off for all picks alike, both ends together say by how
//! much.

use super::cloth::Cloth;
use super::cover::Cover;
use crate::band::BandTrace;

/// Standard uncertainty, in spacings, of one pick's outer edge against the usual reach of its cloth.
const REACH_U: f64 = 0.08;

/// A pick reaches at least and at most so far beyond its middle, in spacings.
const REACH_LIMITS: (f64, f64) = (0.1, 0.95);

/// Standard uncertainty, in spacings, of what all middles share.
const SHARE_U: f64 = 0.15;

/// Standard uncertainty, in spacings, of the border that colours show between header and body.
const HEADER_EDGE_U: f64 = 0.12;

/// By how much all middles lie too far towards the finish, mm: where the cells say little about where
/// in its pick a phase lies, both ends of the cloth together say it better. Nothing where the two ends
/// disagree by more than such a shift can be.
pub(super) fn common_shift(cloth: &Cloth, centres_mm: &[f64], trace: &BandTrace) -> f64 {
    let n = centres_mm.len();
    let (start, finish) = end_spacings(centres_mm);
    let a = centres_mm[0] - 0.5 * start - cloth.s_mm(cloth.edges.0);
    let b = centres_mm[n - 1] + 0.5 * finish - cloth.s_mm(cloth.edges.1);
    let spacing = 0.5 * (start + finish);
    if (a - b).abs() > 0.8 * spacing || (0.5 * (a + b)).abs() > 0.4 * spacing {
        return 0.0;
    }
    let own = (SHARE_U * spacing).powi(2);
    let seen = 0.5 * (0.5 * (trace.cloth_u_mm.0 + trace.cloth_u_mm.1)).powi(2);
    let weight = own / (own + seen + 0.5 * (REACH_U * spacing).powi(2));
    weight * 0.5 * (a + b)
}

/// Spacing of the outermost picks at the start and at the finish, mm, over three gaps where there are
/// as many.
fn end_spacings(centres_mm: &[f64]) -> (f64, f64) {
    let n = centres_mm.len();
    let near = 3.min(n - 1);
    (
        (centres_mm[near] - centres_mm[0]) / near as f64,
        (centres_mm[n - 1] - centres_mm[n - 1 - near]) / near as f64,
    )
}

/// Outer edge of the first and of the last pick, each with its standard uncertainty, mm.
///
/// Two things speak of an edge: where the cloth was seen to end, and how far a pick reaches beyond the
/// outermost middle, which the other end tells. Each counts by its doubt. Where they lie farther
/// apart than both doubts allow, the picks are believed (fringe is taken for cloth more easily than for
/// a pick) and the doubt grows.
pub(super) fn body_ends(cloth: &Cloth, centres_mm: &[f64], trace: &BandTrace) -> [(f64, f64); 2] {
    let (start, finish) = end_spacings(centres_mm);
    let end = |middle: f64, spacing: f64, edge: f64, header: bool, traced: f64| OuterEdge {
        spacing,
        reach: edge - middle,
        u: if header {
            HEADER_EDGE_U * spacing
        } else {
            traced.max(0.04)
        }
        .hypot(cloth.cover.end_u() * spacing),
    };
    let (first, last) = (centres_mm[0], centres_mm[centres_mm.len() - 1]);
    let (from, to) = (cloth.s_mm(cloth.edges.0), cloth.s_mm(cloth.edges.1));
    let start = end(-first, start, -from, cloth.headers.0, trace.cloth_u_mm.0);
    let finish = end(last, finish, to, cloth.headers.1, trace.cloth_u_mm.1);
    // Weft that hides the warp may bulge, but its end is seen sharply: the usual reach serves.
    let reach = match cloth.cover {
        Cover::Weft | Cover::Both => Cover::Both.reach(),
        Cover::Warp => Cover::Warp.reach(),
    };
    let (a, a_u) = start.beyond(&finish, reach);
    let (b, b_u) = finish.beyond(&start, reach);
    [(first - a, a_u), (last + b, b_u)]
}

/// The outer edge of the outermost pick, as it was seen at one end.
struct OuterEdge {
    /// Spacing of the picks there, mm.
    spacing: f64,
    /// From the outermost middle outward to where the body was seen to end, mm.
    reach: f64,
    /// One standard uncertainty of that, mm.
    u: f64,
}

impl OuterEdge {
    /// From the outermost middle outward to the pick's edge, and its standard uncertainty, mm; a
    /// pick's reach is usually `usual` spacings, give or take `usual_u`.
    fn beyond(&self, other: &Self, (usual, usual_u): (f64, f64)) -> (f64, f64) {
        // What the other end says of the reach, in spacings, beside what is usual.
        let there = (other.reach / other.spacing).clamp(REACH_LIMITS.0, REACH_LIMITS.1);
        let there_u = (other.u / other.spacing).hypot(2.0 * REACH_U);
        let (a, b) = (usual_u.powi(-2), there_u.powi(-2));
        let share = (a * usual + b * there) / (a + b);
        let by_picks = share * self.spacing;
        let picks_u = REACH_U.hypot((a + b).powf(-0.5)) * self.spacing;
        let apart = (self.reach - by_picks).abs();
        let doubt = self.u.hypot(picks_u);
        if apart > 3.0 * doubt || self.reach < REACH_LIMITS.0 * self.spacing {
            return (
                by_picks,
                picks_u.hypot(0.25 * apart.min(2.0 * self.spacing)),
            );
        }
        let (a, b) = (self.u.powi(-2), picks_u.powi(-2));
        // Where the two disagree by more than they should, the doubt grows with it (R. T. Birge,
        // "The Calculation of Errors by the Method of Least Squares", Phys. Rev. 40, 1932).
        let stretch = (apart / doubt).max(1.0);
        (
            (a * self.reach + b * by_picks) / (a + b),
            (a + b).powf(-0.5) * stretch,
        )
    }
}
