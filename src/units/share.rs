//! Percentages.

use super::number::{Quantities, simplify};

/// Reads a percentage as a fraction: `7 %` is 0.07.
///
/// ```
/// assert_eq!(evenfell::units::parse_share("7.5 %"), Ok(0.075));
/// assert!(evenfell::units::parse_share("0.07").is_err());
/// ```
///
/// # Errors
///
/// A sentence that quotes the text and says what would be right.
pub fn parse_share(text: &str) -> Result<f64, String> {
    read(text).map_err(|why| {
        format!(
            "'{}' {why} (a percentage is written like 7 %)",
            super::shown::quoted(text)
        )
    })
}

fn read(text: &str) -> Result<f64, String> {
    let simple = simplify(text)?;
    let mut quantities = Quantities::new(&simple);
    let value = quantities.number()?;
    match quantities.word() {
        "%" | "percent" if quantities.is_empty() => Ok(value / 100.0),
        "per" if quantities.word() == "cent" && quantities.is_empty() => Ok(value / 100.0),
        "" => Err(format!(
            "has no % sign: say {0} % if you mean {0} in a hundred",
            super::rounded(value, 3)
        )),
        _ => Err("is no percentage".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentages_become_fractions() {
        for (text, share) in [
            ("7 %", 0.07),
            ("7%", 0.07),
            ("7 percent", 0.07),
            ("7 per cent", 0.07),
            ("½ %", 0.005),
        ] {
            assert!((parse_share(text).unwrap() - share).abs() < 1e-15, "{text}");
        }
    }

    #[test]
    fn what_is_no_percentage_is_refused() {
        for text in ["7", "0.07", "-7 %", "7 cm", "7 % 3", "", "%"] {
            assert!(parse_share(text).is_err(), "{text}");
        }
    }
}
