//! What is off, and where on the band can the weaver put her finger on it?
//!
//! A finding must clear three hurdles: it is larger than the plan tolerates, larger than its own
//! interval, and larger than chance makes the hand's usual scatter look somewhere along a band
//! ([`FALSE_SHARE`]).
//!
//! | file | finds |
//! |---|---|
//! | [`loose_and_tight`] | stretches of loose or tight beat |
//! | [`drift`] | a creep of the beat |
//! | [`edge_runs`] | a selvedge pulled in or standing out (`edge_bumps`: bumps of one breadth around every pick) |
//! | [`taper`] | a band that grows wider or narrower |
//! | [`mis_woven`], [`row_order`] | cells that differ from the drawdown or the cloth's own repeat, rows out of turn |
//! | [`against_plan`] | each figure held against the plan |
//! | [`quality`] | a photo too blurred, too coarse, blown out or shaded |
//! | [`verdict_sentences`] | all of it in one to three sentences |

mod against_plan;
mod chance;
mod creep;
mod edge_bumps;
mod edge_runs;
mod focus;
mod light;
mod pattern;
mod quality;
mod row_order;
mod sentences;
mod stretches;
mod taper;
#[cfg(test)]
pub(crate) mod testing;
mod words;

pub use against_plan::against_plan;
pub use chance::FALSE_SHARE;
pub use creep::drift;
pub use edge_runs::edge_runs;
pub use pattern::mis_woven;
pub use quality::{QualityOptions, quality};
pub use row_order::row_order;
pub use sentences::verdict_sentences;
pub use stretches::loose_and_tight;
pub use taper::taper;
