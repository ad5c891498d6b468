//! Where is the band, how does it lie, and where does its cloth begin and end?

mod cells;
mod centre_line;
mod ground;
mod hint;
mod lay;
mod piece;
mod straight;
mod straighten;
mod trace;

pub use centre_line::CentreLine;
pub use hint::{BandHint, BandOptions, StartEnd};
pub use straight::{BandTrace, StraightBand};
pub use trace::trace_band;
