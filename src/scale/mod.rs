//! From pixels to millimetres: where on the plane that the band lies on does a pixel look?
//!
//! A scale comes from a scanner's own resolution or a typed one ([`ScaleRequest::Dpi`],
//! [`ScaleRequest::TypedDpi`]), from the printed sheet ([`ScaleRequest::Sheet`]), from an ID-1
//! card ([`ScaleRequest::Card`]), or from two places of known distance ([`ScaleRequest::Points`]). Whatever it comes from, it ends as a [`View`] with its doubt.

mod card;
mod find;
mod least_squares;
mod on_cloth;
mod points;
mod request;
mod resolution;
mod sheet;
mod typed_length;
mod view;

pub use find::{ScaleOptions, find_view};
pub use on_cloth::OnCloth;
pub use request::ScaleRequest;
pub use typed_length::{TypedLength, check_bar};
pub use view::{PrintedMark, View};
