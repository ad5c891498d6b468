//! What a person asks for with `--scale`.

use std::fmt;
use std::str::FromStr;

use crate::geometry::Point;
use crate::{Error, Result};

use super::typed_length::TypedLength;

/// Where the scale is to come from, as typed with `--scale`.
///
/// ```
/// use evenfell::scale::ScaleRequest;
/// assert_eq!("300dpi".parse::<ScaleRequest>()?, ScaleRequest::TypedDpi(300.0));
/// assert!("300".parse::<ScaleRequest>().is_err());
/// # Ok::<(), evenfell::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub enum ScaleRequest {
    /// The sheet if it is seen, else a scanner's own resolution, else an error.
    #[default]
    Auto,
    /// The printed sheet.
    Sheet,
    /// The file's own resolution.
    Dpi,
    /// A typed resolution, pixels per inch.
    TypedDpi(f64),
    /// An ISO/IEC 7810 ID-1 card beside the band.
    Card,
    /// Two places in the photo and how far apart they are.
    Points {
        /// The first place, px.
        from: Point,
        /// The second place, px.
        to: Point,
        /// Their distance on the plane.
        length: TypedLength,
    },
}

/// The least and the most resolution that a typed one may have, pixels per inch.
///
/// Below 20 a pick is no pixel wide; above 5000 no flatbed resolves anything.
pub(super) const DPI_RANGE: std::ops::RangeInclusive<f64> = 20.0..=5000.0;

const FORMS: &str = "auto, sheet, dpi, 300dpi, card or points:X1,Y1,X2,Y2=120mm";

impl FromStr for ScaleRequest {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let typed = text.trim().to_ascii_lowercase();
        match typed.as_str() {
            "auto" => Ok(Self::Auto),
            "sheet" => Ok(Self::Sheet),
            "dpi" => Ok(Self::Dpi),
            "card" => Ok(Self::Card),
            _ => {
                if let Some(points) = typed.strip_prefix("points:") {
                    parse_points(points)
                } else if let Some(number) = typed.strip_suffix("dpi") {
                    parse_dpi(number)
                } else {
                    Err(wrong(&format!("'{text}' is none of {FORMS}")))
                }
            }
        }
    }
}

fn wrong(why: &str) -> Error {
    Error::Request {
        what: "--scale".to_owned(),
        why: why.to_owned(),
    }
}

fn parse_dpi(number: &str) -> Result<ScaleRequest> {
    let dpi: f64 = number.trim().parse().map_err(|_| {
        wrong(&format!(
            "'{number}dpi' wants a number before dpi, such as 300dpi"
        ))
    })?;
    if !DPI_RANGE.contains(&dpi) {
        return Err(wrong(&format!(
            "{dpi} dpi is no resolution of a scan of a band: {} to {} is what can be",
            DPI_RANGE.start(),
            DPI_RANGE.end()
        )));
    }
    Ok(ScaleRequest::TypedDpi(dpi))
}

fn parse_points(text: &str) -> Result<ScaleRequest> {
    let form = "points wants two places in pixels and their distance, such as \
                points:120,80,1840,95=120mm";
    let (places, length) = text
        .split_once('=')
        .ok_or_else(|| wrong(&format!("{form}; the '=' with a length is missing")))?;
    let numbers = places
        .split(',')
        .map(|part| {
            let part = part.trim();
            part.parse::<f64>()
                .ok()
                .filter(|value| value.is_finite())
                .ok_or_else(|| wrong(&format!("{form}; '{part}' is no number")))
        })
        .collect::<Result<Vec<f64>>>()?;
    let &[x1, y1, x2, y2] = numbers.as_slice() else {
        return Err(wrong(&format!(
            "{form}; these are {} numbers instead of four",
            numbers.len()
        )));
    };
    let length = TypedLength::parse(length).map_err(|why| wrong(&format!("points: {why}")))?;
    Ok(ScaleRequest::Points {
        from: Point::new(x1, y1),
        to: Point::new(x2, y2),
        length,
    })
}

impl fmt::Display for ScaleRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Auto => f.write_str("auto"),
            Self::Sheet => f.write_str("sheet"),
            Self::Dpi => f.write_str("dpi"),
            Self::TypedDpi(dpi) => write!(f, "{dpi}dpi"),
            Self::Card => f.write_str("card"),
            Self::Points { from, to, length } => write!(
                f,
                "points:{},{},{},{}={}mm",
                from.x, from.y, to.x, to.y, length.mm
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(text: &str) -> ScaleRequest {
        text.parse().expect("this is a way to give a scale")
    }

    fn refused(text: &str) -> String {
        text.parse::<ScaleRequest>()
            .expect_err("this is no way to give a scale")
            .to_string()
    }

    #[test]
    fn every_form_of_the_option_is_understood() {
        for (text, request) in [
            ("auto", ScaleRequest::Auto),
            ("sheet", ScaleRequest::Sheet),
            ("dpi", ScaleRequest::Dpi),
            (" 300dpi", ScaleRequest::TypedDpi(300.0)),
            ("600 DPI", ScaleRequest::TypedDpi(600.0)),
            ("card", ScaleRequest::Card),
        ] {
            assert_eq!(parsed(text), request);
        }
        let ScaleRequest::Points { from, to, length } = parsed("points:10.5,20,1210.5,25=4 3/4in")
        else {
            panic!("these are points");
        };
        assert_eq!(
            (from, to),
            (Point::new(10.5, 20.0), Point::new(1210.5, 25.0))
        );
        assert!((length.mm - 4.75 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_is_said_with_what_would_be_right() {
        assert!(refused("300").contains("300dpi"));
        assert!(refused("xdpi").contains("such as 300dpi"));
        assert!(refused("10dpi").contains("20 to 5000"));
        assert!(refused("5001dpi").contains("20 to 5000"));
        assert!(refused("nandpi").contains("20 to 5000"));
        assert!(refused("points:1,2,3,4").contains("'=' with a length is missing"));
        assert!(refused("points:1,2,3=10mm").contains("3 numbers instead of four"));
        assert!(refused("points:1,2,3,b=10mm").contains("'b' is no number"));
        assert!(refused("points:1,2,3,4=10").contains("say mm, cm"));
        assert!(refused("points:1,2,3,4=0mm").contains("above zero"));
        assert!(refused("ruler").contains("card"));
    }

    #[test]
    fn what_was_asked_for_can_be_written_back() {
        for text in [
            "auto",
            "sheet",
            "dpi",
            "300dpi",
            "card",
            "points:1,2,30,4=120mm",
        ] {
            assert_eq!(parsed(text).to_string(), text);
        }
    }
}
