//! How many picks are there on cloth that fills the picture, when nothing is known of it?
//!
//! A close-up on the loom, a corner of a large piece: no selvedge, no header, no plan, any weave.
//! Only the direction of the weaving is told.
//!
//! | file | does |
//! |---|---|
//! | `request` | what a person asks for: the whole picture or a rectangle of it |
//! | `lay` | samples that rectangle along the weaving |
//! | `pyramid` | the same picture coarser and coarser, so that any thread is a few pixels wide somewhere |
//! | `marks` | what a thread leaves in a picture: its brightness, its two flanks, its crown, its furrow |
//! | `spectrum` | how strongly those marks repeat, by direction and distance |
//! | `spacing` | which repeat is the pick, by those marks |
//! | `strips` | which it is, by how the cells of narrow strips recur |
//! | `follow` | every pick's phase along the cloth |
//! | `by_phase` | the picks by that |
//! | `as_band` | the same picks told one by one, as a band's are |
//! | `waves` | the complex waves that `follow` works with |
//! | `doubts` | what is to be warned of |
//! | `find` | [`find_swatch_picks`]: all of it, with its doubts |
//!
//! # Limits
//! The weft lies within 12° of square to the direction that was told. Where two spacings fit nearly
//! as well, the better one is given with a warning; cloth in broad stripes of several wefts may be
//! refused.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rows, columns and bins of a picture that fits in memory, clamped where they could overflow"
)]

mod as_band;
mod by_phase;
mod doubts;
mod find;
mod follow;
mod lay;
mod marks;
mod pyramid;
mod request;
mod spacing;
mod spectrum;
mod strips;
mod waves;

pub use find::{SwatchEvidence, SwatchOptions, SwatchOutcome, ToldSingly, find_swatch_picks};
pub use lay::{Laid, lay_swatch};
pub use request::SwatchRequest;
