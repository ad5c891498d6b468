//! Where is the band, how does it lie, and where does its cloth begin and end?

#![allow(
    clippy::cast_possible_truncation,
    reason = "rows, columns and cells of a picture that fits in memory, clamped where they could overflow"
)]

mod cells;
mod centre_line;
mod cloth_end;
mod colour_model;
mod corridor;
mod disc;
mod doubt;
mod ground;
mod ground_kind;
mod hint;
mod hollows;
mod lay;
mod lean;
mod light;
mod likeness;
mod odds;
mod outline;
mod overlap;
mod path;
mod piece;
mod plain_ground;
mod searched;
mod selvedge;
mod show;
mod steps;
mod straight;
mod straighten;
mod strip;
mod texture;
mod trace;
mod within_pixel;
mod worth;

pub use centre_line::CentreLine;
pub use corridor::seek_within;
pub use hint::{BandHint, BandOptions, StartEnd};
pub use lean::Lean;
pub(crate) use lean::place_across;
pub use straight::{BandTrace, StraightBand};
pub(crate) use straighten::{Reading, Window, straighten};
pub use trace::trace_band;
