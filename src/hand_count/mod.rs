//! The weaver's own count beside the program's.
//!
//! | file | does |
//! |---|---|
//! | `request` | reads "11 in 1 in at 2 in" |
//! | `held` | [`hold`]: do the two agree within both doubts, and what would the difference mean? |

mod held;
mod request;

pub use held::hold;
pub use request::HandCountRequest;
