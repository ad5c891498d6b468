//! A length that a person typed, and how well she can have known it.

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

impl TypedLength {
    /// Reads a length with mm, cm or in, fractions allowed: `120mm`, `11.95 cm`, `4 3/4in`.
    ///
    /// Its doubt is half a unit of the last digit, everywhere alike likely, and at most
    /// half a millimetre, which is what a ruler gives.
    ///
    /// # Errors
    ///
    /// What would be right, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let typed = text.trim().to_ascii_lowercase();
        let wants = || {
            format!("the length '{text}' wants a unit of mm, cm or in, such as 120mm or 4 3/4in")
        };
        let at = typed
            .find(|c: char| c.is_ascii_alphabetic() || c == '"')
            .ok_or_else(wants)?;
        let (number, unit) = typed.split_at(at);
        let unit_mm = match unit.trim() {
            "mm" => 1.0,
            "cm" => 10.0,
            "in" | "inch" | "inches" | "\"" => 25.4,
            _ => return Err(wants()),
        };
        let (value, step) = parse_number(number.trim()).ok_or_else(wants)?;
        let mm = value * unit_mm;
        if !(mm > 0.0 && mm <= LONGEST_MM) {
            return Err(format!(
                "the length '{text}' must be above zero and at most {LONGEST_MM} mm"
            ));
        }
        let half_step_mm = (0.5 * step * unit_mm).min(RULER_HALF_STEP_MM);
        Ok(Self {
            mm,
            u_mm: half_step_mm / 3.0_f64.sqrt(),
        })
    }
}

/// A number, whole, decimal or with a fraction, and the size of its last digit.
fn parse_number(text: &str) -> Option<(f64, f64)> {
    let fraction = |part: &str| {
        let (above, below) = part.split_once('/')?;
        let (above, below): (u32, u32) = (above.trim().parse().ok()?, below.trim().parse().ok()?);
        (below > 0).then(|| (f64::from(above) / f64::from(below), 1.0 / f64::from(below)))
    };
    if text.contains('/') {
        return match text.rsplit_once(char::is_whitespace) {
            Some((whole, part)) => {
                let whole: u32 = whole.trim().parse().ok()?;
                let (value, step) = fraction(part)?;
                Some((f64::from(whole) + value, step))
            }
            None => fraction(text),
        };
    }
    let value: f64 = text.parse().ok()?;
    let digits = text.split_once('.').map_or(0, |(_, digits)| digits.len());
    let step = 0.1_f64.powi(i32::try_from(digits).ok()?);
    value.is_finite().then_some((value, step))
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
