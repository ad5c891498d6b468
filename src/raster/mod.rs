//! Sampling pictures and telling their colours: the only module that reads between pixels.
//!
//! Pixel centres are at integers (see [`crate::geometry`]): a picture `w` wide spans
//! −0.5 … w − 0.5. Light is mixed as light: what lies between two pixels is interpolated on linear
//! intensities, never on the gamma-coded values of the file, because a lens blurs light and an
//! edge's half-way place is half-way in light.

mod colour;
mod nearest;
mod sample;

pub use colour::Colours;
pub(crate) use nearest::{AT_ONCE, Nearest, relabelled};
pub use sample::LinearPhoto;
pub(crate) use sample::Tile;
