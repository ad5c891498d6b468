//! Measures a finished narrow hand-woven band from a flat photo or scan.
//!
//! # From photo to report
//!
//! | stage | takes | gives |
//! |---|---|---|
//! | [`photo`] | a file | an upright [`Photo`](photo::Photo) |
//! | [`scale`] | a photo | a [`View`](scale::View): millimetres of the plane the band lies on ↔ pixels |
//! | [`band`] | a photo and its view | the band's outline, centre line and the [`StraightBand`](band::StraightBand) |
//! | [`width`] | a straight band | both selvedges, width, draw-in, waviness |
//! | [`picks`] | a straight band, the plan | every pick's place and drawdown row |
//! | [`swatch`] | cloth that fills the picture | the same without selvedges or plan |
//! | [`beat`] | the picks | spacing, drift, rhythm, waves, scatter |
//! | [`findings`] | all figures, the plan | what is off, and where |
//! | [`measure`] | a photo, its view, the plan | all of the above in their order: a result |
//! | [`measurement`] | | the result, as it is written and read back |
//! | [`report`] | a result | text, JSON, CSV, HTML, the marked photo |
//!
//! Beside them: [`plan`] (what the weaver meant to weave), [`corrections`] (what she puts right), [`synth`] (drawn bands with known truth),
//! the printed [`sheet`] and its [`markers`], and the ground all stand on: [`units`], [`stats`],
//! [`geometry`], [`raster`], [`files`].

#![warn(clippy::print_stdout, clippy::print_stderr)]

pub mod band;
pub mod beat;
pub mod compare;
pub mod corrections;
pub mod error;
pub mod files;
pub mod findings;
pub mod geometry;
pub mod hand_count;
pub mod markers;
pub mod measure;
pub mod measurement;
pub mod photo;
pub mod picks;
pub mod plan;
pub mod raster;
pub mod report;
pub mod scale;
pub mod sheet;
pub mod stages;
pub mod stats;
pub mod swatch;
pub mod synth;
pub mod units;
pub mod width;
pub mod yarn;

pub use error::{Error, Result};
