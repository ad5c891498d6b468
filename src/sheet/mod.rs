//! The printed backing sheet that gives a photo its scale.
//!
//! Answers: *what do I lay the band on, so that a snapshot becomes a measurement?*
//!
//! A page in landscape with a clear window for the band, square markers round it, a mark for the
//! start of the weaving, a bar to hold a ruler against, and three lines on how to. [`Layout`] says
//! where everything is; [`write_pdf`], [`write_svg`] and [`write_png`] draw it.
//!
//! # Conventions
//! Millimetres from the page's top left corner, x right, y down, the text upright.
//!
//! # Limits
//! Printers scale: the bar is there to be measured. Paper is no scale by itself (ISO 216 lets an
//! A4 differ by 2 mm).
//!
//! The lettering is cut out of an open font; its licence stands beside it in `fonts/`.

mod drawing;
mod layout;
mod lettering;
mod pdf;
mod png;
mod svg;

pub use layout::{CHECK_BAR_MM, Ground, Layout, Marker, Paper, Rect};
pub use pdf::write_pdf;
pub use png::{DPI_RANGE, check_dpi, write_png};
pub use svg::write_svg;
