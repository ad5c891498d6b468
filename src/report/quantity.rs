//! Values in the units that the weaver uses, with the digits that their doubt leaves them.

use crate::measurement::Quantity;
use crate::stats::{shown, shown_value};
use crate::units::{LengthUnits, MM_PER_INCH, rounded};

/// The units that a report is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Units {
    /// Lengths in inches or centimetres.
    pub lengths: LengthUnits,
    /// Picks per inch or per centimetre.
    pub picks: LengthUnits,
}

impl Units {
    /// Everything in inches, or everything in centimetres.
    #[must_use]
    pub const fn all(units: LengthUnits) -> Self {
        Self {
            lengths: units,
            picks: units,
        }
    }
}

/// What kind of thing a value is: it says which unit it is shown in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A length along or across the band, held in mm.
    Length,
    /// Picks or ends, held per inch.
    Density,
    /// A share, held in %.
    Percent,
    /// Picks, counted and parts of one.
    Picks,
    /// A small length that is said in mm in either system.
    Millimetres,
}

impl Kind {
    /// The factor from the held unit to the shown one, and the shown unit.
    pub(super) fn shown_as(self, units: Units) -> (f64, &'static str) {
        match self {
            Self::Length => match units.lengths {
                LengthUnits::Inches => (1.0 / MM_PER_INCH, "in"),
                LengthUnits::Centimetres => (0.1, "cm"),
            },
            Self::Density => match units.picks {
                LengthUnits::Inches => (1.0, "per inch"),
                LengthUnits::Centimetres => (10.0 / MM_PER_INCH, "per cm"),
            },
            Self::Percent => (1.0, "%"),
            Self::Picks => (1.0, "picks"),
            Self::Millimetres => (1.0, "mm"),
        }
    }

    /// The kind that a unit of the result stands for; `None` for one that isn't converted.
    pub(super) fn of(what: &str, unit: &str) -> Option<Self> {
        match unit {
            "per inch" => Some(Self::Density),
            "%" => Some(Self::Percent),
            "mm" if what.starts_with("waviness") => Some(Self::Millimetres),
            "mm" => Some(Self::Length),
            _ => None,
        }
    }
}

/// A value with its doubt and unit: `1.612 ± 0.003 in`.
pub(super) fn with_unit(quantity: Quantity, kind: Kind, units: Units) -> String {
    let (factor, unit) = kind.shown_as(units);
    let text = shown(quantity.value * factor, quantity.u95 * factor);
    format!("{} {unit}", with_minus(&text))
}

/// The value alone, with its digits and no unit.
pub(super) fn value_only(quantity: Quantity, kind: Kind, units: Units) -> String {
    let (factor, _) = kind.shown_as(units);
    with_minus(&shown_value(quantity.value * factor, quantity.u95 * factor))
}

/// A number with a minus sign as it is printed, not a hyphen.
fn with_minus(number: &str) -> String {
    number.replace('-', "\u{2212}")
}

/// A number that somebody typed, without trailing zeros: `10`, `1.75`.
pub(super) fn plain(value: f64) -> String {
    rounded(value, 3)
}

/// A stretch of the band for a finger: `2.1 to 3.4 in`, or one place where it is short.
pub(super) fn stretch(from_mm: f64, to_mm: f64, units: LengthUnits) -> String {
    let (factor, unit) = Kind::Length.shown_as(Units::all(units));
    let place = |mm: f64| format!("{:.1}", mm * factor);
    let (from, to) = (place(from_mm), place(to_mm));
    if from == to {
        format!("{from} {unit}")
    } else {
        format!("{from} to {to} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_density_reads_per_inch_and_per_cm() {
        let picks = Quantity {
            value: 10.02,
            u95: 0.03,
        };
        assert_eq!(
            with_unit(picks, Kind::Density, Units::all(LengthUnits::Inches)),
            "10.020 ± 0.030 per inch"
        );
        assert_eq!(
            with_unit(picks, Kind::Density, Units::all(LengthUnits::Centimetres)),
            "3.945 ± 0.012 per cm"
        );
    }

    #[test]
    fn a_short_stretch_is_one_place() {
        assert_eq!(stretch(50.0, 51.0, LengthUnits::Inches), "2.0 in");
        assert_eq!(
            stretch(50.0, 71.0, LengthUnits::Centimetres),
            "5.0 to 7.1 cm"
        );
    }

    #[test]
    fn typed_numbers_keep_their_look() {
        assert_eq!(
            (plain(10.0), plain(1.75)),
            ("10".to_owned(), "1.75".to_owned())
        );
    }
}
