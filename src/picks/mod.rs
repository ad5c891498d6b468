//! Where does every pick lie, and which row of the drawdown is it?

mod cells;
mod cloth;
mod coherence;
mod columns;
mod count;
mod doubt;
mod find;
mod header;
mod level;
mod likeness;
mod locate;
mod options;
mod pattern;
mod phase;
mod picture;
mod pitch;
mod place;
mod repeat;
mod rows;
mod settle;
mod spectrum;
mod track;

pub use find::{Evidence, PickOutcome, find_picks};
pub use options::{PickHint, PickOptions};
pub use track::PickTrack;
