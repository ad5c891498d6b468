//! So many to the inch, or to the centimetre.

use super::length::{is_imperial, mm_per_unit};
use super::number::{Quantities, simplify};
use super::{LengthUnits, MM_PER_INCH};

/// A density, and the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Density {
    /// How many to the inch.
    pub per_inch: f64,
    /// The unit it was written in.
    pub units: LengthUnits,
}

/// Reads a density: `10 per inch`, `4 per cm`, `4/cm`, `42 per 10 cm`, `10 picks per inch`.
///
/// ```
/// let picks = evenfell::units::parse_density("4 per cm").unwrap();
/// assert!((picks.per_inch - 10.16).abs() < 1e-12);
/// ```
///
/// # Errors
///
/// A sentence that quotes the text and says what would be right.
pub fn parse_density(text: &str) -> Result<Density, String> {
    read(text).map_err(|why| {
        format!(
            "'{}' {why} (write it like 10 per inch or 4 per cm)",
            super::shown::quoted(text)
        )
    })
}

fn read(text: &str) -> Result<Density, String> {
    let simple = simplify(text)?;
    let mut quantities = Quantities::new(&simple);
    let count = quantities.number()?;
    let mut word = quantities.word();
    if matches!(word, "pick" | "picks" | "end" | "ends" | "row" | "rows") {
        word = quantities.word();
    }
    if !matches!(word, "per" | "/" | "a" | "to") {
        return Err("doesn't say how many per what".to_owned());
    }
    if quantities.rest().starts_with("the ") {
        quantities.word();
    }
    let over = if quantities.rest().starts_with(|c: char| c.is_ascii_digit()) {
        quantities.number()?
    } else {
        1.0
    };
    let unit = quantities.word();
    let mm = mm_per_unit(unit)
        .filter(|_| quantities.is_empty())
        .ok_or_else(|| "doesn't end in a unit of length: say per inch or per cm".to_owned())?;
    let per_inch = count / (over * mm) * MM_PER_INCH;
    if !per_inch.is_finite() {
        return Err("divides by nothing".to_owned());
    }
    let units = if is_imperial(unit) {
        LengthUnits::Inches
    } else {
        LengthUnits::Centimetres
    };
    Ok(Density { per_inch, units })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn densities_are_read_per_inch_and_per_centimetre() {
        for (text, per_inch, units) in [
            ("10 per inch", 10.0, LengthUnits::Inches),
            ("10 1/2 per in", 10.5, LengthUnits::Inches),
            ("10/in", 10.0, LengthUnits::Inches),
            ("10 picks per inch", 10.0, LengthUnits::Inches),
            ("10 picks to the inch", 10.0, LengthUnits::Inches),
            ("4 per cm", 10.16, LengthUnits::Centimetres),
            ("42 per 10 cm", 10.668, LengthUnits::Centimetres),
        ] {
            let read = parse_density(text).unwrap();
            assert!((read.per_inch - per_inch).abs() < 1e-9, "{text}: {read:?}");
            assert_eq!(read.units, units, "{text}");
        }
    }

    #[test]
    fn a_wrong_density_says_what_would_be_right() {
        for text in [
            "10",
            "10 per",
            "10 in",
            "per inch",
            "10 per pound",
            "10 per 0 cm",
            "-1 per cm",
            "10 per inch of band",
            "",
        ] {
            let why = parse_density(text).unwrap_err();
            assert!(why.contains("10 per inch or 4 per cm"), "{text}: {why}");
        }
    }
}
