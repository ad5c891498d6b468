//! Lengths.

use super::number::{Quantities, simplify};

/// Millimetres in an inch, exact.
pub const MM_PER_INCH: f64 = 25.4;
/// Millimetres in a yard, exact.
pub const MM_PER_YARD: f64 = 914.4;
/// Millimetres in a foot, exact.
const MM_PER_FOOT: f64 = 304.8;

/// In which units lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum LengthUnits {
    /// Inches, picks per inch.
    Inches,
    /// Centimetres, picks per centimetre.
    #[default]
    Centimetres,
}

/// Millimetres in the unit that `word` names.
pub(crate) fn mm_per_unit(word: &str) -> Option<f64> {
    Some(match word {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => 1.0,
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => 10.0,
        "m" | "metre" | "metres" | "meter" | "meters" => 1000.0,
        "in" | "inch" | "inches" | "\"" | "''" => MM_PER_INCH,
        "ft" | "foot" | "feet" | "'" => MM_PER_FOOT,
        "yd" | "yds" | "yard" | "yards" => MM_PER_YARD,
        _ => return None,
    })
}

/// Whether the unit that `word` names is one of inches, feet and yards.
pub(super) fn is_imperial(word: &str) -> bool {
    matches!(word, "\"" | "''" | "'") || word.starts_with(['i', 'f', 'y'])
}

/// The units in which `text` is written, where it is a length.
pub(crate) fn units_of(text: &str) -> Option<LengthUnits> {
    let simple = simplify(text).ok()?;
    let mut quantities = Quantities::new(&simple);
    quantities.number().ok()?;
    let unit = quantities.word();
    mm_per_unit(unit)?;
    Some(if is_imperial(unit) {
        LengthUnits::Inches
    } else {
        LengthUnits::Centimetres
    })
}

/// Reads a length in millimetres as a person writes it.
///
/// Units: mm cm m in ft yd, spelled out or short, `″` and `′` too; fractions as `1 3/4` or `1¾`;
/// a longer unit may be followed by a shorter one of the same system: `2 ft 3 in`, `1 m 20 cm`.
///
/// ```
/// use evenfell::units::parse_length_mm;
/// assert!((parse_length_mm("1 3/4 in").unwrap() - 44.45).abs() < 1e-9);
/// assert_eq!(parse_length_mm("9.5 cm"), Ok(95.0));
/// assert!(parse_length_mm("9").unwrap_err().contains("no unit"));
/// ```
///
/// # Errors
///
/// A sentence that quotes the text and says what would be right.
pub fn parse_length_mm(text: &str) -> Result<f64, String> {
    read(text).map_err(|why| {
        format!(
            "'{}' {why} (a length is written like 9 in, 1 3/4 in, 9.5 cm, 120 mm, 3 yd)",
            super::shown::quoted(text)
        )
    })
}

fn read(text: &str) -> Result<f64, String> {
    let simple = simplify(text)?;
    let mut quantities = Quantities::new(&simple);
    let mut total = 0.0;
    let mut last: Option<(f64, bool)> = None;
    while !quantities.is_empty() {
        let value = quantities.number()?;
        let unit = quantities.word();
        if unit.is_empty() {
            return Err("has no unit: say mm, cm, m, in, ft or yd".to_owned());
        }
        let mm = mm_per_unit(unit)
            .ok_or_else(|| format!("has the unit '{unit}': say mm, cm, m, in, ft or yd"))?;
        if let Some((longer, imperial)) = last {
            if imperial != is_imperial(unit) {
                return Err("mixes inches and centimetres".to_owned());
            }
            if mm >= longer || value * mm >= longer {
                return Err("has parts that don't follow from long to short".to_owned());
            }
        }
        last = Some((mm, is_imperial(unit)));
        total += value * mm;
    }
    if total.is_finite() {
        Ok(total)
    } else {
        Err("is larger than any length".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_in_every_unit_and_way_of_writing() {
        for (text, mm) in [
            ("1 3/4 in", 44.45),
            ("1¾″", 44.45),
            ("1 3/4\"", 44.45),
            ("1.75 inches", 44.45),
            ("9 in.", 228.6),
            ("9.5 cm", 95.0),
            ("9.5cm", 95.0),
            ("120 MM", 120.0),
            ("3 yd", 2743.2),
            ("1 yard", 914.4),
            ("1.2 m", 1200.0),
            ("2 ft 3 in", 685.8),
            ("2′ 3″", 685.8),
            ("1 m 20 cm", 1200.0),
            ("2\u{a0}m", 2000.0),
            ("0 in", 0.0),
        ] {
            let read = parse_length_mm(text);
            assert!(
                read.as_ref().is_ok_and(|v| (v - mm).abs() < 1e-9),
                "{text}: {read:?}"
            );
        }
    }

    #[test]
    fn a_wrong_length_says_what_would_be_right() {
        for (text, says) in [
            ("9", "no unit"),
            ("", "empty"),
            ("in", "no number"),
            ("-2 cm", "below zero"),
            ("9,5 cm", "comma"),
            ("3 furlongs", "'furlongs'"),
            ("3 in 2 ft", "long to short"),
            ("2 ft 15 in", "long to short"),
            ("1 in 2 cm", "mixes"),
            ("1 in x", "no number"),
            ("1/0 in", "divides by zero"),
        ] {
            let why = parse_length_mm(text).unwrap_err();
            assert!(why.contains(says), "{text}: {why}");
        }
        assert!(parse_length_mm(&"x".repeat(5000)).unwrap_err().len() < 300);
    }
}
