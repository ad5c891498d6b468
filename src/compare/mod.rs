//! Several bands side by side: a class, one weaver over time, or several photos of one band.
//!
//! | file | question |
//! |---|---|
//! | `side_by_side` | [`compare()`]: everything below, put together |
//! | `sample`, `criterion` | what is held against what |
//! | `places` | who stands before whom, when every figure has its doubt? |
//! | `group` | what is usual in this class? |
//! | `remarks` | what went well, and what is the one thing to work on? |
//! | `progress` | is the weaver getting better? |
//! | `repeat` | how much of a difference is only the photo's? |
//! | `states` | what did the band lose off the loom and in the wash? |
//! | `names` | whose band is whose |
//! | `comparison`, `words` | the result as JSON, text and CSV |

mod comparison;
mod criterion;
mod group;
mod names;
mod places;
mod progress;
mod remarks;
mod repeat;
mod sample;
mod side_by_side;
mod states;
mod words;

pub use comparison::{
    COMPARISON_SCHEMA, Comparison, Group, NotCompared, Order, PlanShrinkage, Progress,
    Repeatability, Spread, Standing, StateStep, States, Trend,
};
pub use criterion::Criterion;
pub use names::Names;
pub use sample::{Planned, Sample, SampleFigures, Waviness};
pub use side_by_side::{CompareOptions, compare};
pub use words::{comparison_text, write_comparison_csv};
pub(crate) use words::{repeat_lines, state_lines};
