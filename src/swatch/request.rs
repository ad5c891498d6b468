//! What a person asks for with `--swatch`.

use std::fmt;
use std::str::FromStr;

use crate::units::quoted;
use crate::{Error, Result};

/// Which part of the picture is cloth all over.
///
/// ```
/// use evenfell::swatch::SwatchRequest;
/// assert_eq!("".parse::<SwatchRequest>()?, SwatchRequest::Whole);
/// assert!("10,20,300".parse::<SwatchRequest>().is_err());
/// # Ok::<(), evenfell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SwatchRequest {
    /// The whole picture.
    #[default]
    Whole,
    /// A rectangle of it, px: its left and upper edge, its width and height.
    Part {
        /// Pixels left of it.
        x: u32,
        /// Pixels above it.
        y: u32,
        /// Its width.
        width: u32,
        /// Its height.
        height: u32,
    },
}

impl SwatchRequest {
    /// The rectangle in a picture of that size: left, top, width, height, px.
    ///
    /// # Errors
    ///
    /// [`Error::Request`] where it reaches beyond the picture.
    pub fn within(self, picture: (u32, u32)) -> Result<[u32; 4]> {
        match self {
            Self::Whole => Ok([0, 0, picture.0, picture.1]),
            Self::Part {
                x,
                y,
                width,
                height,
            } => {
                let inside = |from: u32, length: u32, all: u32| {
                    from.checked_add(length).is_some_and(|to| to <= all)
                };
                if inside(x, width, picture.0) && inside(y, height, picture.1) {
                    return Ok([x, y, width, height]);
                }
                Err(wrong(&format!(
                    "the rectangle {self} reaches beyond the photo, which is {} pixels wide and {} \
                     high",
                    picture.0, picture.1
                )))
            }
        }
    }
}

fn wrong(why: &str) -> Error {
    Error::Request {
        what: "--swatch".to_owned(),
        why: why.to_owned(),
    }
}

impl FromStr for SwatchRequest {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        if text.trim().is_empty() {
            return Ok(Self::Whole);
        }
        let form = "wants left edge, upper edge, width and height in pixels, such as \
                    --swatch=120,80,600,400";
        let numbers = text
            .split(',')
            .map(|part| {
                part.trim().parse::<u32>().map_err(|_| {
                    wrong(&format!(
                        "{form}; {} is no whole number of pixels",
                        quoted(part.trim())
                    ))
                })
            })
            .collect::<Result<Vec<u32>>>()?;
        let &[x, y, width, height] = numbers.as_slice() else {
            return Err(wrong(&format!(
                "{form}; here stand {} numbers instead of four",
                numbers.len()
            )));
        };
        if width == 0 || height == 0 {
            return Err(wrong(&format!("{form}; width and height are above 0")));
        }
        Ok(Self::Part {
            x,
            y,
            width,
            height,
        })
    }
}

impl fmt::Display for SwatchRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => f.write_str("whole"),
            Self::Part {
                x,
                y,
                width,
                height,
            } => write!(f, "{x},{y},{width},{height}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        text.parse::<SwatchRequest>().unwrap_err().to_string()
    }

    #[test]
    fn a_rectangle_is_read_and_written_back() {
        let part: SwatchRequest = " 10, 20,300,40".parse().unwrap();
        assert_eq!(part.to_string(), "10,20,300,40");
        assert_eq!(part.within((310, 60)).unwrap(), [10, 20, 300, 40]);
        assert_eq!(SwatchRequest::Whole.within((7, 5)).unwrap(), [0, 0, 7, 5]);
    }

    #[test]
    fn what_is_no_rectangle_is_said_with_what_would_be_right() {
        assert!(refused("1,2,3").contains("3 numbers instead of four"));
        assert!(refused("1,2,a,4").contains("is no whole number of pixels"));
        assert!(refused("1,2,-3,4").contains("no whole number"));
        assert!(refused("1,2,0,4").contains("above 0"));
        let part: SwatchRequest = "10,20,300,40".parse().unwrap();
        let error = part.within((309, 60)).unwrap_err();
        assert!(error.to_string().contains("309 pixels wide"), "{error}");
        let far: SwatchRequest = "4294967295,0,2,2".parse().unwrap();
        assert!(far.within((4, 4)).is_err());
    }
}
