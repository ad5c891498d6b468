//! From a photo to a result: the stages in their order.
//!
//! | file | does |
//! |---|---|
//! | `conductor` | [`measure`]: trace the band, find the picks, read the figures |
//! | `options` | [`Options`], every stage's own options in one |
//! | `thickness` | how far above the plane picks and selvedges show |
//! | `body` | where the body lies, and how lengths on it become lengths on the cloth |
//! | `second_look` | whether the outline is followed anew, once the turns' colour is known |
//! | `across` | width, draw-in and selvedges |
//! | `swatch` | the same for cloth that fills the picture |
//! | `figures` | [`figures_of`]: figures, findings and verdicts of a traced band and its picks |

mod across;
mod body;
mod conductor;
mod figures;
mod options;
mod second_look;
mod swatch;
mod thickness;

pub use body::Body;
pub use conductor::{Looked, Measured, look, measure, measure_looked, measure_with, ruler};
pub use figures::{Seen, figures_of};
pub use options::{Extent, Options};
