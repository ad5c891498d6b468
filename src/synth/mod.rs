//! Drawn bands with known truth: what would the measuring say of a band that is known exactly?
//!
//! # Method
//! 1. A [`BandSpec`] says what is woven; [`weave`] lays every yarn: one continuous weft that turns
//!    around the outermost ends, and the ends with their fringe, each a tube along a smooth path.
//! 2. The [`Truth`] is measured from that geometry: pick centres from the weft's own path, the
//!    outline as the union of discs along all yarn, at 0.05 mm.
//! 3. A [`Camera`] rasterises the tubes into a height field (the topmost yarn wins), lights it,
//!    lays it on a [`Ground`] and takes the picture; its [`Mapping`] is exact.
//!
//! Everything follows from seeds; the same spec and camera give the same bytes.
//!
//! # Limits
//! Yarns don't push each other aside: where two would meet, the higher one hides the lower one.
//! Light is a lamp and a sky, without reflection from yarn to yarn.

#![allow(
    clippy::cast_possible_truncation,
    reason = "a renderer turns real numbers into cells and levels, clamped where they could overflow"
)]

mod camera;
mod cloth;
mod demo;
mod drawdowns;
mod ground;
mod hairs;
mod layout;
mod mapping;
mod nodes;
mod palette;
mod photograph;
mod planned;
mod random;
mod random_camera;
mod random_swatch;
mod rng;
mod sensor;
mod silhouette;
mod spec;
mod spoil;
#[cfg(test)]
mod tests;
mod truth;
mod tube;
mod warp;
mod waviness;
mod weave;
mod weft;
mod yarn;

pub use camera::{Camera, Glare, Light, Shade};
pub use demo::{DEMO_PLAN, demo_band};
pub use ground::Ground;
pub use mapping::Mapping;
pub use photograph::Photograph;
pub use random::{random_spec, with_faults, with_single_slips};
pub use random_camera::{random_camera, random_phone_camera};
pub use random_swatch::random_swatch;
pub use rng::Rng;
pub use spec::{
    BandSpec, EdgeMark, Face, Fringe, Header, LongTurn, RowFault, Side, Stretch, Stripes, Turns,
    YarnLook,
};
pub use spoil::{Spoilage, spoil};
pub use truth::{Outline, Truth};
pub use waviness::waviness_mm;
pub use weave::{Drawn, weave};
