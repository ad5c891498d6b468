//! The scale from an ISO/IEC 7810 ID-1 card (85.60 × 53.98 mm) lying flat beside the band.
//!
//! # Method
//! 1. Four-cornered pieces of the photo made small, cut at many levels of each colour and both
//!    ways round, with sides as long as a card's.
//! 2. Their four straight sides in the full photo ([`crate::markers`]); the round corners are
//!    left out, the corners of the fit are where the sides meet.
//! 3. A camera for the four corners: focal length from the EXIF tags, else a prior; a small lens
//!    term with its doubt. What no card can look like is dropped; the best of the rest is the card.
//! 4. The plane lies below the card's top by its thickness, 0.76 mm.
//!
//! # Limits
//! A card of the ground's own colour isn't found. One card fixes the tilt badly far from itself:
//! the interval says so. Lengths are best where the card lies beside the band's middle.
//!
//! # References
//! ISO/IEC 7810 (size, thickness, corner radius 3.18 mm).

mod fit;
mod search;

pub(super) use fit::view;
