//! How much yarn a band takes: sizes, setts, crimp, lengths and masses.
//!
//! | file | holds |
//! |---|---|
//! | `size` | [`Yarn`]: a written size as metres per kilogram |
//! | `sett` | how close a yarn can lie (Ashenhurst) |
//! | `crimp` | how much longer a pick is than the cloth is wide (Peirce) |
//! | `yardage`, `pooled`, `weighed` | [`yardage()`]: yarn for the next bands, as planned and as measured |

mod crimp;
mod pooled;
mod sett;
mod size;
mod system;
mod weighed;
mod yardage;
mod yardage_result;
mod yardage_text;

pub use crimp::{ClothGeometry, estimate_weft_crimp};
pub use sett::{
    Firmness, diameter_mm, diameters_per_inch, most_picks_per_inch, plain_sett_per_inch,
    sett_per_inch,
};
pub use size::Yarn;
pub use weighed::Weighed;
pub use yardage::{YardageOptions, yardage};
pub use yardage_result::{
    Amount, Crimp, CrimpEstimate, CrimpSource, MeasuredAmount, MeasuredYarn, PlannedYarn,
    YARDAGE_SCHEMA, Yardage,
};
pub use yardage_text::yardage_text;
