//! Square markers in a photo: which are seen, and where their corners lie to a few hundredths of
//! a pixel.
//!
//! # Method
//! 1. The photo made small; dark shapes by a threshold that follows the light; their borders;
//!    those with four straight sides.
//! 2. The 8 × 8 cells of each read in the full photo; black as a plane across the marker, so that
//!    light may fall off; the code held against the [`family`], turned four ways.
//! 3. The four sides again in the full photo, by gradient centroids and lines; corners where they
//!    meet.
//!
//! # Limits
//! A marker of which any side is half covered isn't found. Cells must be some 3 px wide in the
//! small picture (1300 px, or 2600 px in a second look).
//!
//! # References
//! E. Olson, "`AprilTag`: A robust and flexible visual fiducial system", ICRA 2011 (the family).
//! Departures: shapes come from borders of a thresholded picture, corners from lines fitted in
//! the full photo.

mod cells;
pub(crate) mod edges;
pub mod family;
mod find;
pub(crate) mod light;
pub(crate) mod plane;
pub(crate) mod quads;

pub use find::{Found, find};
