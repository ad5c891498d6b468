//! What a person puts right where the program saw wrongly: the body's ends, a selvedge, a pick.
//!
//! Every place and number in a correction is that of the band *as the program sees it by itself*,
//! with the start set: mm from the start of the body that it finds, picks as it counts them. So one
//! correction doesn't move another, and their order doesn't matter.
//!
//! What is placed by hand is only as good as a hand: the doubts grow accordingly, and the result
//! says what was changed.
//!
//! | file | does |
//! |---|---|
//! | `file` | [`Corrections`], as they stand in a file and in a result |
//! | `read` | from JSON to corrections, or to what is wrong with them |
//! | `apply` | [`put_right`]: a traced band and its picks, corrected |
//! | `selvedges`, `picks` | the two kinds of change in detail |
//! | `ruler` | from mm on the band to places in the trace |
//! | `words` | what was changed, in words |

mod apply;
mod file;
mod picks;
mod read;
mod ruler;
mod selvedges;
mod words;

pub use apply::{PutRight, put_right};
pub use file::{BodyEnds, CORRECTIONS_SCHEMA, Corrections, LinePlace, SelvedgeLine};
pub use read::{MOST_CORRECTION_BYTES, corrections_from_json, parse_body, read_corrections};
pub use ruler::Ruler;
pub use selvedges::hand_doubt_mm;
pub use words::{corrections_sentence, corrections_warning};

/// Standard uncertainty of a place that a person sets on a magnified picture, mm: within about half a
/// millimetre either way.
pub const BY_HAND_U_MM: f64 = 0.3;
