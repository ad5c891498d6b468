//! Values with their doubt.

mod estimate;
mod shown;

pub use estimate::Estimate;
pub use shown::{shown, shown_value};
