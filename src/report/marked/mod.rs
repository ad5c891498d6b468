//! The photo with what was found drawn on it.

mod digits;
mod draw;
mod photo;

pub use photo::marked_photo;
