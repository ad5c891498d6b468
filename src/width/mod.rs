//! How wide is the band, how much has it drawn in, and how straight are its selvedges?
//!
//! | file | figure |
//! |---|---|
//! | [`BodyEdges`] | both selvedges of the body, laid on the cloth |
//! | [`mean_width`], [`draw_in_percent`] | the headline: silhouette over length |
//! | [`width_over_turns`] | what a ruler across reads |
//! | [`width_range`] | the narrowest and the widest place |
//! | [`seen_turns`] | which colour turns have that plainly lie beyond the selvedges that were followed |
//! | [`hidden_turns`] | whether the weft's turns lie beyond the selvedges that were followed |
//! | [`TurnlessEdges`] | both selvedges pick by pick, the weft turns averaged out |
//! | [`Waviness`] | Wq and Wt of each selvedge |

mod edges;
mod folded;
mod hidden_turns;
mod mean;
mod range;
mod seen_turns;
#[cfg(test)]
pub(crate) mod testing;
mod turnless;
mod turns;
mod waviness;

pub use edges::BodyEdges;
pub use hidden_turns::hidden_turns;
pub use mean::{draw_in_percent, mean_width};
pub use range::width_range;
pub use seen_turns::{SeenTurns, seen_turns};
pub use turnless::TurnlessEdges;
pub use turns::width_over_turns;
pub use waviness::{LONG_CUTOFF_MM, SHORT_CUTOFF_PICKS, Waviness};
