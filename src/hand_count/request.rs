//! A count as a person types it: how many picks, over what length, from where.

use std::str::FromStr;

use crate::units::{Quantities, parse_length_mm, quoted, simplify};
use crate::{Error, Result};

/// Most picks that a person counts by hand.
const MOST_PICKS: f64 = 10_000.0;

/// Picks per inch that no loom exceeds.
const MOST_PER_INCH: f64 = 400.0;

/// A typed hand count.
///
/// ```
/// use evenfell::hand_count::HandCountRequest;
/// let count: HandCountRequest = "11 in 1 in at 2 in".parse()?;
/// assert_eq!((count.picks, count.over_mm, count.at_mm), (11.0, 25.4, Some(50.8)));
/// assert!("11 per inch".parse::<HandCountRequest>().is_err());
/// # Ok::<(), evenfell::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct HandCountRequest {
    /// Picks counted; a fraction where the weaver counted one.
    pub picks: f64,
    /// Length they were counted over, mm.
    pub over_mm: f64,
    /// Where that length begins, mm from the start of the body; `None`: anywhere.
    pub at_mm: Option<f64>,
    /// The length and the place as they were typed.
    pub typed: (String, Option<String>),
}

const FORM: &str = "wants how many picks, over what length and from where, such as \
                    \"11 in 1 in at 2 in\" or \"43 in 10 cm\"";

fn wrong(why: &str) -> Error {
    Error::Request {
        what: "--hand-count".to_owned(),
        why: why.to_owned(),
    }
}

/// A number that stands by itself, fractions allowed.
fn number_alone(text: &str) -> std::result::Result<f64, String> {
    let simple = simplify(text)?;
    let mut quantities = Quantities::new(&simple);
    let number = quantities.number()?;
    if quantities.is_empty() {
        Ok(number)
    } else {
        Err(format!("goes on with '{}'", quoted(quantities.rest())))
    }
}

impl FromStr for HandCountRequest {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let text = text.trim();
        let (count, at) = match text.split_once(" at ") {
            Some((count, at)) => (count, Some(at.trim())),
            None => (text, None),
        };
        let (picks, over) = count
            .split_once(" in ")
            .ok_or_else(|| wrong(&format!("{FORM}; this is \"{}\"", quoted(text))))?;
        let picks = picks.trim().trim_end_matches("picks").trim();
        let number = number_alone(picks)
            .map_err(|why| wrong(&format!("{FORM}; the count \"{}\" {why}", quoted(picks))))?;
        if !(number > 0.0 && number <= MOST_PICKS) {
            return Err(wrong(&format!(
                "{FORM}; a count is above 0 and at most {MOST_PICKS:.0}, not {picks}"
            )));
        }
        let over_mm = parse_length_mm(over).map_err(|why| wrong(&format!("the length {why}")))?;
        if over_mm <= 0.0 {
            return Err(wrong("the length that was counted over is above 0"));
        }
        let density = number * 25.4 / over_mm;
        if density > MOST_PER_INCH {
            return Err(wrong(&format!(
                "{picks} picks in {} is {density:.0} per inch, more than any loom makes: check the \
                 count and the unit",
                over.trim()
            )));
        }
        let at_mm = at
            .map(|at| parse_length_mm(at).map_err(|why| wrong(&format!("the place {why}"))))
            .transpose()?;
        Ok(Self {
            picks: number,
            over_mm,
            at_mm,
            typed: (over.trim().to_owned(), at.map(str::to_owned)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        let error = text.parse::<HandCountRequest>().unwrap_err();
        assert_eq!(error.exit_code(), 2);
        error.to_string()
    }

    #[test]
    fn counts_are_read_as_they_are_said() {
        let read = |text: &str| text.parse::<HandCountRequest>().unwrap();
        assert_eq!(read("11 in 1 in at 2 in").at_mm, Some(50.8));
        assert!((read("10 1/2 picks in 1 in").picks - 10.5).abs() < 1e-9);
        assert!((read("43 in 10 cm at 0 cm").over_mm - 100.0).abs() < 1e-9);
        assert_eq!(read("43 in 10 cm").typed, ("10 cm".into(), None));
    }

    #[test]
    fn what_is_wrong_is_said_with_what_would_be_right() {
        assert!(refused("").contains("11 in 1 in at 2 in"));
        assert!(refused("11 per inch").contains("11 in 1 in at 2 in"));
        assert!(refused("many in 1 in").contains("the count"));
        assert!(refused("0 in 1 in").contains("above 0"));
        assert!(refused("-3 in 1 in").contains("--hand-count"));
        assert!(refused("11 in 1").contains("no unit"));
        assert!(refused("11 in 0 in").contains("above 0"));
        assert!(refused("11 in 1 in at there").contains("the place"));
        assert!(refused("900 in 1 cm").contains("more than any loom makes"));
    }
}
