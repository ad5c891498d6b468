//! What the weaver meant to weave.
//!
//! | file | holds |
//! |---|---|
//! | `contents` | [`Plan`] and its parts, checked and in fixed units |
//! | `read`, `section`, `node` | from JSON to a plan, or to every mistake with its place |
//! | `drawdown` | [`Drawdown`], the over/under grid |

mod contents;
mod drawdown;
mod node;
mod read;
mod section;

pub use crate::units::LengthUnits;
pub use contents::{Plan, Shrinkage, Tolerance, Warp, Weft};
pub use drawdown::Drawdown;
pub use read::{MOST_BYTES, read};

/// Most ends that a loom takes.
pub const MOST_ENDS: u32 = 10_000;
/// Most ends or picks to the inch.
pub const MOST_PER_INCH: f64 = 400.0;
