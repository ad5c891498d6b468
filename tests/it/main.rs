//! All integration tests, in one binary.

#![allow(
    clippy::unwrap_used,
    reason = "a test that meets something unexpected should stop there"
)]

mod figures;
mod made_files;
mod made_trace;
mod photos_in;
mod plan_command;
mod reference;
mod scales_in;
mod sheet_drawn;
