//! How firmly and how evenly were the picks beaten in?
//!
//! From the places of the picks: picks per inch (whole and local), the spread of the spacing with
//! the noise of measuring taken out, and that spread split by cause. Every interval is the doubt
//! of measuring *this* band.
//!
//! | file | figure |
//! |---|---|
//! | [`picks_per_inch`], [`local_picks`] | how dense |
//! | [`spacing_cv`] | how uneven, pick to pick |
//! | [`split()`] | drift, rhythm, waves, scatter |
//! | [`parts()`] | the same pick by pick, for drawings |

mod density;
mod neighbours;
mod parts;
mod spacing;
mod split;
#[cfg(test)]
pub(crate) mod testing;

pub use density::{LOCAL_PICKS, MM_PER_INCH, local_picks, picks_per_inch};
pub use parts::{BeatParts, parts};
pub use spacing::{PickPlaces, spacing_cv};
pub use split::{WAVES_PICKS, split};
