//! Where is the band, how does it lie, and where does its cloth begin and end?

mod centre_line;
mod straight;

pub use centre_line::CentreLine;
pub use straight::{BandTrace, StraightBand};
