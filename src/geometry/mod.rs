//! Points and directions in the plane, in pixels or millimetres.
//!
//! # Conventions
//! * x points right, y points **down**, in the photo and on the plane the band lies on.
//! * **Pixel centres are at integers**: a picture `w` wide spans −0.5 … w − 0.5.
//! * Along the band: `s`, millimetres from the start of the body towards the finish. Across it:
//!   `t`, millimetres from the centre line, **positive to the weaver's right** (with the start
//!   nearest to her). For a band that lies with its start at the left of the photo, `s` points
//!   right and `t` points down.
//! * Angles are radians inside, degrees only in text and results.

/// A place or a direction: x right, y down.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Point {
    /// Rightward.
    pub x: f64,
    /// Downward.
    pub y: f64,
}

impl Point {
    /// A point from its two coordinates.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to another point, in the same unit.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}
