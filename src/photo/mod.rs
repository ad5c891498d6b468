//! A photo, upright and decoded, with what its file says about itself.
//!
//! Answers: *what did the camera or the scanner see, and does its file carry a scale?*
//!
//! # Method
//! 1. The first bytes tell what kind of file it is; what is no picture is refused with words on
//!    how to get one.
//! 2. Width × height are read from the headers and held against [`PhotoOptions`] before any pixel
//!    is decoded.
//! 3. The pixels become 8-bit RGB: JPEG strictly (a cut-off file is an error, not grey rows),
//!    16-bit values rounded, transparency laid over white.
//! 4. The resolution is read from JFIF, EXIF, the TIFF tags and the PNG `pHYs` chunk; a file that
//!    a camera made is known by its exposure, aperture, focal length or lens.
//! 5. The file's own orientation is applied to pixels and resolution alike.
//!
//! # Limits
//! Colour profiles aren't applied (lengths don't need them); of an animated or many-page file
//! the first picture is taken; HEIC, HEIF, AVIF and raw files are recognised but not decoded.
//!
//! # References
//! JFIF 1.02 (ITU-T T.871), Exif 2.32 (CIPA DC-008), TIFF 6.0, PNG third edition (W3C), ISO/IEC
//! 23008-12 for `ftyp`. Departure: a resolution without a unit is left out.

mod binned;
mod blocks;
mod camera;
mod density;
mod exif_tags;
mod kind;
mod open;
mod pixels;
mod segments;
mod upright;

pub(crate) use blocks::{Blocks, Divider};
pub use camera::Camera;
pub use density::{Density, DensitySource};
pub use open::{PhotoOptions, decode, open};
pub use upright::Photo;
