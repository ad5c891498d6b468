//! Square markers in a photo: which are seen, and where their corners lie to a few hundredths of
//! a pixel.

pub mod family;
