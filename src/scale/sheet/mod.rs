//! The scale from the printed sheet.
//!
//! # Method
//! 1. The sheet's markers are found in the photo ([`crate::markers`]), their sides as places on
//!    straight edges.
//! 2. One camera for all corners: plane → photo by a projective map, one radial lens term, and
//!    the ink's spread (a printed or blurred square looks larger or smaller than it was drawn, all
//!    round alike), by robust least squares. The edges are made straight by the lens term before
//!    their lines are crossed, and again with the better one.
//! 3. Markers that lie far off (bent paper, a covered corner) are left out and the fit repeated.
//! 4. The doubt of lengths in the window from the covariance; bent paper and the printer's own
//!    scaling add to it.
//! 5. The camera's height and tilt: from the focal length in the EXIF tags, else from a prior, and
//!    from how the map departs from a level view.
//!
//! # Limits
//! The picture is taken to be whole, not cropped: the lens term and the camera's axis are centred
//! on it. A sheet that isn't flat within a millimetre reads wrong by some tenths of a per cent.
//!
//! # References
//! Z. Zhang, "A flexible new technique for camera calibration", IEEE PAMI 22 (2000), for the
//! constraints that a plane puts on the focal length; P. J. Huber, *Robust Statistics* (1981).
//! Departure: the focal length is not solved for but weighed against its prior, since a level view
//! leaves it open.

mod camera;
#[cfg(test)]
mod coverage;
mod fit;
mod notes;
mod region;
mod view;

pub(super) use camera::focal_prior;
pub(super) use fit::Frame;
pub(super) use view::{look, view};
