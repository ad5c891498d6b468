//! The page of several bands side by side, with a half page for each weaver to take home.
//!
//! | file | holds |
//! |---|---|
//! | `page`, `class.html`, `class.css` | what stands on the page, and how |
//! | `bands` | every band at one scale: its picture, else an outline drawn from its result |
//! | `standing` | places by one criterion, ties drawn as ties, each figure with its interval |
//! | `over_time` | one weaver's progress |
//! | `sentences` | the orders in a sentence each |
//! | `slip` | what a weaver takes home |

mod bands;
mod over_time;
mod page;
mod sentences;
mod slip;
mod standing;

pub use page::{ClassBand, write_class_html};
