//! What the weaver meant to weave.
//!
//! | file | holds |
//! |---|---|
//! | `contents` | [`Plan`] and its parts, checked and in fixed units |
//! | `read`, `section`, `node` | from JSON to a plan, or to every mistake with its place |
//! | `drawdown` | [`Drawdown`], the over/under grid |
//! | `file` | the file's JSON Schema and the starter plan |
//! | `worked`, `text` | what a plan works out to, and how that reads |

mod contents;
mod drawdown;
mod file;
mod node;
mod read;
mod section;
mod text;
mod worked;

pub use crate::units::LengthUnits;
pub use contents::{Plan, Shrinkage, Tolerance, Warp, Weft};
pub use drawdown::Drawdown;
pub use file::{
    PlanFile, STARTER_PLAN, ShrinkageFile, ToleranceFile, WarpFile, WeftFile, plan_schema,
};
#[cfg(test)]
pub(crate) use read::keys as read_keys;
pub use read::{MOST_BYTES, read};
pub use text::plan_text;
pub use worked::{PLAN_WORKED_SCHEMA, PlanWorked, work_out};

/// Most ends that a loom takes.
pub const MOST_ENDS: u32 = 10_000;
/// Most ends or picks to the inch.
pub const MOST_PER_INCH: f64 = 400.0;
