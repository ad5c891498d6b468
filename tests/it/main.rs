//! All integration tests, in one binary.

#![allow(
    clippy::unwrap_used,
    reason = "a test that meets something unexpected should stop there"
)]

mod band_on_sheet;
mod card_seen;
mod cli;
mod corrections;
mod coverage;
mod coverage_grid;
#[cfg(feature = "desk")]
mod desk;
mod figures;
mod golden;
mod grey;
mod hidden_turns;
mod in_loom;
mod leaning;
mod made_files;
mod made_trace;
mod own_repeat;
mod page_camera;
mod page_rules;
mod pages;
mod part;
mod peak_memory;
mod photos_in;
mod plan_command;
mod program;
mod properties;
mod real_photo;
mod reference;
mod sample;
mod sample_band;
mod scales_in;
mod second_look;
mod sheet_camera;
mod sheet_drawn;
mod sheet_seen;
mod spoiled_files;
mod sturdy;
mod swatch;
mod unwoven;
mod weaves;
mod yarn_and_class;
