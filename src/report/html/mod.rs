//! The report that people look at: one file, no script, nothing fetched.
//!
//! | file | holds |
//! |---|---|
//! | `page` | what stands on the page, in words |
//! | `page.html`, `style.css` | how it stands there |
//! | `along`, `plots`, `panel`, `flags`, `along_words` | the band laid straight and, on the same length axis, what was measured along it |
//! | `close_up` | the place of a finding |
//! | `beat` | the beat by cause, a small picture each |
//! | `grid` | the drawdown as it was woven |
//! | `class/` | the page of several bands |
//! | `picture`, `svg` | pictures as data inside the page; names for drawings |

mod along;
mod along_words;
mod beat;
mod class;
mod close_up;
mod flags;
mod grid;
mod page;
mod panel;
mod picture;
mod plots;
mod svg;

pub use class::{ClassBand, write_class_html};
pub use page::write_html;
