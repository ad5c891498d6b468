//! Values with their doubt.

mod estimate;

pub use estimate::Estimate;
