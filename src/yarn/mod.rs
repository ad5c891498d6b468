//! How much yarn a band takes: sizes, setts, crimp, lengths and masses.
//!
//! | file | holds |
//! |---|---|
//! | `size` | [`Yarn`]: a written size as metres per kilogram |
//! | `sett` | how close a yarn can lie (Ashenhurst) |

mod sett;
mod size;
mod system;

pub use sett::{
    Firmness, diameter_mm, diameters_per_inch, most_picks_per_inch, plain_sett_per_inch,
    sett_per_inch,
};
pub use size::Yarn;
