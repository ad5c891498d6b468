//! Lengths, masses and numbers as they are shown to a person.

use super::{KG_PER_POUND, LengthUnits, MM_PER_INCH, MM_PER_YARD};

/// Longest piece of somebody's text that a message quotes, characters.
const QUOTED: usize = 40;

/// `text` as a message quotes it: short, and without control characters.
pub(crate) fn quoted(text: &str) -> String {
    let mut short: String = text
        .chars()
        .take(QUOTED)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(QUOTED).is_some() {
        short.push('…');
    }
    short
}

/// Longest sentence of a parser that a message takes over, characters.
const TAKEN_OVER: usize = 240;

/// A parser's sentence about somebody's text: it may quote all of that, so its middle is left out
/// where it is long. The place in the file stands at its end.
pub(crate) fn taken_over(sentence: &str) -> String {
    let clean = |c: char| if c.is_control() { ' ' } else { c };
    let count = sentence.chars().count();
    if count <= TAKEN_OVER {
        return sentence.chars().map(clean).collect();
    }
    let half = TAKEN_OVER / 2;
    let start = sentence.chars().take(half).map(clean);
    let end = sentence.chars().skip(count - half).map(clean);
    start.chain(['…']).chain(end).collect()
}

/// `value` with at most `places` decimals, without trailing zeros.
///
/// ```
/// assert_eq!(evenfell::units::rounded(9.50, 2), "9.5");
/// assert_eq!(evenfell::units::rounded(120.0, 1), "120");
/// ```
#[must_use]
pub fn rounded(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    if text == "-0" { "0".to_owned() } else { text }
}

/// A length in the unit that a weaver would use for it: cm or m, inches or yards.
///
/// ```
/// use evenfell::units::{LengthUnits, shown_length};
/// assert_eq!(shown_length(231.14, LengthUnits::Inches), "9.1 in");
/// assert_eq!(shown_length(4213.0, LengthUnits::Centimetres), "4.21 m");
/// ```
#[must_use]
pub fn shown_length(mm: f64, units: LengthUnits) -> String {
    match units {
        LengthUnits::Centimetres if mm.abs() < 1000.0 => format!("{} cm", rounded(mm / 10.0, 2)),
        LengthUnits::Centimetres => format!("{} m", rounded(mm / 1000.0, 2)),
        LengthUnits::Inches if mm.abs() < 2.0 * MM_PER_YARD => {
            format!("{} in", rounded(mm / MM_PER_INCH, 2))
        }
        LengthUnits::Inches => format!("{} yd", rounded(mm / MM_PER_YARD, 2)),
    }
}

/// A mass in the unit that goes with `units`: g or kg, ounces or pounds and ounces.
///
/// ```
/// use evenfell::units::{LengthUnits, shown_mass};
/// assert_eq!(shown_mass(0.0142, LengthUnits::Centimetres), "14.2 g");
/// assert_eq!(shown_mass(1.296, LengthUnits::Inches), "2 lb 13.7 oz");
/// ```
#[must_use]
pub fn shown_mass(kg: f64, units: LengthUnits) -> String {
    match units {
        LengthUnits::Centimetres if kg < 1.0 => format!("{} g", rounded(kg * 1000.0, 1)),
        LengthUnits::Centimetres => format!("{} kg", rounded(kg, 3)),
        LengthUnits::Inches => {
            let ounces = (kg / KG_PER_POUND * 160.0).round() / 10.0;
            let pounds = (ounces / 16.0).floor();
            if pounds < 1.0 {
                format!("{} oz", rounded(kg / KG_PER_POUND * 16.0, 2))
            } else {
                format!(
                    "{} lb {} oz",
                    rounded(pounds, 0),
                    rounded(ounces - 16.0 * pounds, 1)
                )
            }
        }
    }
}
