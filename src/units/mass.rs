//! Masses.

use super::number::{Quantities, simplify};

/// Kilograms in a pound, exact.
pub const KG_PER_POUND: f64 = 0.453_592_37;

/// Kilograms in the unit that `word` names.
pub(crate) fn kg_per_unit(word: &str) -> Option<f64> {
    Some(match word {
        "g" | "gram" | "grams" | "gramme" | "grammes" => 0.001,
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" => 1.0,
        "oz" | "ounce" | "ounces" => KG_PER_POUND / 16.0,
        "lb" | "lbs" | "pound" | "pounds" => KG_PER_POUND,
        _ => return None,
    })
}

/// Reads a mass in kilograms: `14.2 g`, `1.5 kg`, `3 oz`, `2 lb 13 3/4 oz`.
///
/// ```
/// use evenfell::units::parse_mass_kg;
/// assert!((parse_mass_kg("14.2 g").unwrap() - 0.0142).abs() < 1e-12);
/// assert!((parse_mass_kg("1 lb 8 oz").unwrap() - 0.680_388_555).abs() < 1e-9);
/// ```
///
/// # Errors
///
/// A sentence that quotes the text and says what would be right.
pub fn parse_mass_kg(text: &str) -> Result<f64, String> {
    read(text).map_err(|why| {
        format!(
            "'{}' {why} (a mass is written like 14.2 g, 1.5 kg, 3 oz, 2 lb 4 oz)",
            super::shown::quoted(text)
        )
    })
}

fn read(text: &str) -> Result<f64, String> {
    let simple = simplify(text)?;
    let mut quantities = Quantities::new(&simple);
    let mut total = 0.0;
    let mut last: Option<f64> = None;
    while !quantities.is_empty() {
        let value = quantities.number()?;
        let unit = quantities.word();
        if unit.is_empty() {
            return Err("has no unit: say g, kg, oz or lb".to_owned());
        }
        let kg = kg_per_unit(unit)
            .ok_or_else(|| format!("has the unit '{unit}': say g, kg, oz or lb"))?;
        if last.is_some_and(|heavier| kg >= heavier || value * kg >= heavier) {
            return Err("has parts that don't follow from heavy to light".to_owned());
        }
        last = Some(kg);
        total += value * kg;
    }
    if total.is_finite() {
        Ok(total)
    } else {
        Err("is larger than any mass".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_are_read_in_every_unit() {
        for (text, kg) in [
            ("14.2 g", 0.0142),
            ("1 1/2 kg", 1.5),
            ("16 oz", KG_PER_POUND),
            ("2 lb 13 3/4 oz", KG_PER_POUND * (2.0 + 13.75 / 16.0)),
            ("1 pound", KG_PER_POUND),
        ] {
            let read = parse_mass_kg(text).unwrap();
            assert!((read - kg).abs() < 1e-12, "{text}: {read}");
        }
    }

    #[test]
    fn a_wrong_mass_says_what_would_be_right() {
        for (text, says) in [
            ("14", "no unit"),
            ("3 stone", "'stone'"),
            ("-1 g", "below zero"),
            ("3 oz 1 lb", "heavy to light"),
            ("", "empty"),
        ] {
            assert!(parse_mass_kg(text).unwrap_err().contains(says), "{text}");
        }
    }
}
