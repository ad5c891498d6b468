//! Sampling pictures: the only module that reads between pixels.
//!
//! Pixel centres are at integers (see [`crate::geometry`]).
