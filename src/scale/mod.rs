//! From pixels to millimetres: where on the plane that the band lies on does a pixel look?

mod view;

pub use view::View;
