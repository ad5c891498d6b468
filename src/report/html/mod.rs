//! The report that people look at: one file, no script, nothing fetched.
//!
//! | file | holds |
//! |---|---|
//! | `page` | what stands on the page, in words |
//! | `page.html`, `style.css` | how it stands there |
//! | `along`, `plots`, `panel`, `flags` | the band laid straight and, on the same length axis, what was measured along it |
//! | `grid` | the drawdown as it was woven |
//! | `picture` | pictures as data inside the page |

mod along;
mod flags;
mod grid;
mod page;
mod panel;
mod picture;
mod plots;

pub use page::write_html;
