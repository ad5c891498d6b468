//! From a photo to a result: the stages in their order.
//!
//! | file | does |
//! |---|---|
//! | `options` | [`Options`], every stage's own options in one |
//! | `figures` | [`figures_of`]: figures, findings and verdicts of a traced band and its picks |
//! | `body` | where the body lies, and how lengths on it become lengths on the cloth |

mod body;
mod figures;
mod options;

pub use body::Body;
pub use figures::{Seen, figures_of};
pub use options::Options;
