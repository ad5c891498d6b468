//! Which cells the band is looked for in, and which of them show the same ground.
//!
//! A photo without a sheet is searched whole, on one ground. On a printed sheet the window is one
//! ground; where a long band runs on over the sheet's marks, the paper beside the window and the
//! table beyond the page are grounds of their own, learned from what lies along the two long sides,
//! where no band is. Printed marks that are seen to be bare are no band.

use rayon::prelude::*;

use super::cells::Cells;
use super::hint::BandHint;
use crate::geometry::Point;
use crate::scale::View;

/// How far from a long side of the searched room all is ground, mm.
const FLANK_MM: f64 = 6.0;

/// How far around a printed mark cells are mixed with its ink, mm.
const MARK_BLUR_MM: f64 = 1.0;

/// The searched cells.
#[derive(Debug)]
pub(super) struct Searched {
    /// Whether a cell is searched.
    pub inside: Vec<bool>,
    /// The ground that it belongs to, by number.
    pub ground: Vec<u8>,
    /// Whether it lies along a long side of the room, and on no printed mark.
    pub flank: Vec<bool>,
    /// Number of the ground that the band mostly lies on.
    pub main: u8,
    /// Where that ground lies along the room, mm; `None` where there is no room.
    pub main_mm: Option<(f64, f64)>,
    places: Vec<Point>,
    middle_mm: f64,
}

impl Searched {
    /// The cells of a photo.
    pub(super) fn new(cells: &Cells, view: &View, hint: &BandHint) -> Self {
        let count = cells.width * cells.height;
        let Some((a, b)) = hint.region_mm else {
            return Self {
                inside: vec![true; count],
                ground: vec![0; count],
                flank: vec![false; count],
                main: 0,
                main_mm: None,
                places: Vec::new(),
                middle_mm: 0.0,
            };
        };
        let (low, high) = (
            Point::new(a.x.min(b.x), a.y.min(b.y)),
            Point::new(a.x.max(b.x), a.y.max(b.y)),
        );
        let number = |x: f64| {
            let before = hint.ground_changes_mm.iter().filter(|at| **at <= x).count();
            u8::try_from(before).unwrap_or(u8::MAX)
        };
        let mut searched = Self {
            inside: vec![false; count],
            ground: vec![0; count],
            flank: vec![false; count],
            main: number(hint.main_ground_mm.unwrap_or(0.5 * (low.x + high.x))),
            main_mm: hint.main_stretch(),
            places: vec![Point::default(); count],
            middle_mm: 0.5 * (low.y + high.y),
        };
        let near = near_room(cells, view, (low, high));
        let place_of = view.places();
        let found = (searched.places.par_iter_mut())
            .zip(searched.inside.par_iter_mut())
            .zip(searched.ground.par_iter_mut())
            .zip(searched.flank.par_iter_mut());
        let found = found.with_min_len(cells.width).enumerate();
        found.for_each(|(i, (((place, inside), ground), flank))| {
            let (x, y) = (i % cells.width, i / cells.width);
            let seen = place_of.as_ref().filter(|_| near(x, y));
            let Some(p) = seen.and_then(|place_of| place_of(cells.centre_px(x, y))) else {
                return;
            };
            let mark = hint.printed.iter().find(|m| m.is_near(p, MARK_BLUR_MM));
            let near_side = p.y - low.y < FLANK_MM || high.y - p.y < FLANK_MM;
            *place = p;
            *inside = (low.x..=high.x).contains(&p.x)
                && (low.y..=high.y).contains(&p.y)
                && mark.is_none_or(|mark| !mark.bare);
            *ground = number(p.x);
            *flank = mark.is_none() && near_side;
        });
        searched
    }

    /// A searched cell's place on the plane, mm; the origin, for a cell that isn't.
    pub(super) fn place(&self, i: usize) -> Point {
        self.places.get(i).copied().unwrap_or_default()
    }

    /// Whether a cell lies on the room's far half, of greater `y`.
    pub(super) fn is_far_side(&self, i: usize) -> bool {
        self.place(i).y > self.middle_mm
    }
}

/// Whether a cell may lie in the room between two corners, by where the room's rim lies in the photo.
fn near_room(
    cells: &Cells,
    view: &View,
    (low, high): (Point, Point),
) -> impl Fn(usize, usize) -> bool + use<> {
    const STEPS: u32 = 64;
    let (mut from, mut to) = (
        (f64::INFINITY, f64::INFINITY),
        (f64::NEG_INFINITY, f64::NEG_INFINITY),
    );
    for step in 0..=STEPS {
        let share = f64::from(step) / f64::from(STEPS);
        let (x, y) = (
            low.x + share * (high.x - low.x),
            low.y + share * (high.y - low.y),
        );
        for (x, y) in [(x, low.y), (x, high.y), (low.x, y), (high.x, y)] {
            let px = view.to_px(Point::new(x, y));
            from = (from.0.min(px.x), from.1.min(px.y));
            to = (to.0.max(px.x), to.1.max(px.y));
        }
    }
    // The rim bows by less than a cell between two of its places.
    let side = cells.size_px as f64;
    move |x, y| {
        let within = |at: usize, from: f64, to: f64| {
            (from - 2.0 * side..=to + side).contains(&(at as f64 * side))
        };
        within(x, from.0, to.0) && within(y, from.1, to.1)
    }
}
