//! A length that a person typed, and how well she can have known it.

use crate::units::parse_length_mm;
use crate::{Error, Result};

/// A typed length and its doubt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TypedLength {
    /// The length, mm.
    pub mm: f64,
    /// One standard uncertainty, mm.
    pub u_mm: f64,
}

/// What a ruler read by eye gives, mm: half of one of its millimetres.
///
/// A coarser last digit ("12cm", "4in") means that the rest is zero, not that nobody looked.
const RULER_HALF_STEP_MM: f64 = 0.5;

/// Longest length that may be typed, mm: more than any table that a photo shows.
const LONGEST_MM: f64 = 20_000.0;

/// What a printer can make of the 100 mm of the check bar, mm: a page fitted to a smaller one is
/// still a sheet.
const PRINTED_BAR_MM: std::ops::RangeInclusive<f64> = 60.0..=150.0;

impl TypedLength {
    /// Reads a length with its unit, fractions allowed: `120mm`, `11.95 cm`, `4 3/4in`.
    ///
    /// Its doubt is half a unit of the last digit, everywhere alike likely, and at most
    /// half a millimetre, which is what a ruler gives.
    ///
    /// # Errors
    ///
    /// What would be right, in words.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfell::scale::TypedLength;
    /// let length = TypedLength::parse("11.95 cm").unwrap();
    /// assert!((length.mm - 119.5).abs() < 1e-9);
    /// assert!((length.u_mm - 0.05 / 3.0_f64.sqrt()).abs() < 1e-9);
    /// ```
    pub fn parse(text: &str) -> std::result::Result<Self, String> {
        let mm = parse_length_mm(text)?;
        if !(mm > 0.0 && mm <= LONGEST_MM) {
            return Err(format!(
                "'{}' must be above zero and at most {LONGEST_MM} mm",
                text.trim()
            ));
        }
        let half_step_mm = last_step_mm(text)
            .map_or(RULER_HALF_STEP_MM, |step| 0.5 * step)
            .min(RULER_HALF_STEP_MM);
        Ok(Self {
            mm,
            u_mm: half_step_mm / 3.0_f64.sqrt(),
        })
    }
}

/// Reads what the sheet's check bar, drawn 100 mm long, measures on the paper.
///
/// # Errors
///
/// [`Error::Request`] for what is no length, and for one that no printer makes of 100 mm.
pub fn check_bar(text: &str) -> Result<TypedLength> {
    let wrong = |why: String| Error::Request {
        what: "--print-bar".to_owned(),
        why,
    };
    let bar = TypedLength::parse(text).map_err(wrong)?;
    if PRINTED_BAR_MM.contains(&bar.mm) {
        return Ok(bar);
    }
    Err(wrong(format!(
        "a bar of {} mm is no print of the sheet, whose bar is drawn 100 mm long: measure it from \
         end to end and give it with its unit, such as 99.6mm",
        bar.mm
    )))
}

/// The size of the last digit, or of the part below a fraction's bar, mm; `None` where the length
/// is written in another way (`4¾ in`).
fn last_step_mm(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits_end = text.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (number, unit) = text.split_at(digits_end);
    let unit_mm = parse_length_mm(&format!("1{unit}")).ok()?;
    let from = number
        .rfind(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '/')))
        .map_or(0, |at| at + 1);
    let last = number.get(from..)?;
    if let Some((_, below)) = last.split_once('/') {
        let below: u32 = below.parse().ok()?;
        return (below > 0).then(|| unit_mm / f64::from(below));
    }
    let decimals = last
        .split_once(['.', ','])
        .map_or(0, |(_, after)| after.len());
    Some(unit_mm * 0.1_f64.powi(i32::try_from(decimals).ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_and_fractions() {
        for (text, mm) in [
            ("120mm", 120.0),
            ("12 cm", 120.0),
            ("4in", 101.6),
            ("4 3/4 in", 120.65),
            ("3/4\"", 19.05),
            ("119.5mm", 119.5),
        ] {
            let length = TypedLength::parse(text).expect("this is a length");
            assert!((length.mm - mm).abs() < 1e-9, "{text}: {length:?}");
        }
    }

    #[test]
    fn the_doubt_is_half_the_last_digit_but_no_more_than_a_ruler_gives() {
        for (text, half_mm) in [
            ("120mm", 0.5),
            ("120.0mm", 0.05),
            ("12cm", 0.5),
            ("12.05cm", 0.05),
            ("4 3/32in", 25.4 / 64.0),
            ("4 ¾ in", 0.5),
        ] {
            let length = TypedLength::parse(text).expect("this is a length");
            let u = half_mm / 3.0_f64.sqrt();
            assert!((length.u_mm - u).abs() < 1e-9, "{text}: {length:?}");
        }
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in [
            "", "mm", "120", "120km", "0mm", "1/0in", "1e9mm", "nanmm", "a/bin",
        ] {
            assert!(TypedLength::parse(text).is_err(), "{text}");
        }
    }
}
