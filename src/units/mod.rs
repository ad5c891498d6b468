//! Lengths, masses, shares and densities as a person writes them.
//!
//! Every function here takes what was typed and gives a number in one fixed unit (mm, kg, a
//! fraction, picks per inch), or a sentence that says what would be right. Conversions are
//! computed from the exact definitions 1 yd = 0.9144 m and 1 lb = 0.453 592 37 kg.

mod density;
mod length;
mod mass;
mod number;
mod share;
mod shown;

pub use density::{Density, parse_density};
pub use length::{LengthUnits, MM_PER_INCH, MM_PER_YARD, parse_length_mm};
pub(crate) use length::{mm_per_unit, units_of};
pub(crate) use mass::kg_per_unit;
pub use mass::{KG_PER_POUND, parse_mass_kg};
pub(crate) use number::{Quantities, simplify};
pub use share::parse_share;
pub(crate) use shown::{quoted, taken_over};
pub use shown::{rounded, shown_length, shown_mass};
