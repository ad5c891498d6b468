//! Values with their doubt, and the few statistics that every stage needs.
//!
//! | file | question |
//! |---|---|
//! | [`Estimate`] | how large, and how sure? |
//! | [`shown`] | with how many digits is that written? |
//! | [`median`], [`quantile`](quantile()), [`robust_sd`], [`theil_sen`] | what is usual, whatever the odd ones do? |
//! | [`LineFit`] | does it creep? |
//! | [`gaussian_low_pass`] | what is slow, what is fast? |
//! | [`coverage_factor`] | how wide is 95 % where few values speak? |
//! | [`effective_count`] | how many independent values is a row of neighbours worth? |
//! | `gaps` | how far is it from each place to the next? |
//! | `crest` | where between its steps is a row greatest? |
//! | `level_run` | over which run does a row lie higher or lower than elsewhere? |
//! | `k_means` | which points lie together? |
//! | [`MeanSquare`] | how large is a spread once the noise of measuring is taken out? |

mod coverage_factor;
mod crest;
mod effective_count;
mod estimate;
mod gaps;
mod gaussian_filter;
mod k_means;
mod level_run;
mod line_fit;
mod mean_square;
mod parted;
mod quantile;
mod robust;
mod running;
mod shown;
mod smooth;
#[cfg(test)]
pub(crate) mod testing;
mod whole;

pub use coverage_factor::coverage_factor;
pub(crate) use crest::crest;
pub use effective_count::effective_count;
pub use estimate::Estimate;
pub(crate) use gaps::gaps;
pub use gaussian_filter::{ALPHA, gaussian_low_pass, white_noise_gain};
pub(crate) use k_means::{k_means, told_anew};
pub(crate) use level_run::{LevelRun, level_run};
pub use line_fit::LineFit;
pub use mean_square::MeanSquare;
pub(crate) use parted::parted;
pub use quantile::{normal_quantile, t_quantile};
pub(crate) use robust::NORMAL_MAD;
pub use robust::{mad, median, quantile, robust_sd, theil_sen};
pub(crate) use running::{running_max, running_min};
pub use shown::{shown, shown_value};
pub use smooth::gaussian_smooth;
pub(crate) use smooth::{Smoother, without_slow};
pub(crate) use whole::whole;
