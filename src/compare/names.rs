//! Whose band is whose: a teacher's list of names.
//!
//! One line a band, `photo,name`: the photo's file name with or without its ending, then what the
//! weaver is called. A first line that says `photo,name` is a heading. Lines may stand in any order,
//! and not every band needs one.

use std::path::Path;

use super::sample::Sample;
use crate::units::quoted;
use crate::{Error, Result};

/// Names by photo.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Names {
    /// Photo (with or without ending) and name.
    lines: Vec<(String, String)>,
}

impl Names {
    /// Reads a list that stands in the file `file`.
    ///
    /// ```
    /// use evenfell::compare::Names;
    /// assert!(Names::from_csv("class.csv", "quay-1,Ada\nquay-2.jpg,Bo\n").is_ok());
    /// assert!(Names::from_csv("class.csv", "Ada\n").is_err());
    /// ```
    ///
    /// # Errors
    /// [`Error::Request`] for a line without exactly a photo and a name, and for a photo that stands
    /// there twice.
    pub fn from_csv(file: &str, text: &str) -> Result<Self> {
        let refuse = |why: String| Error::Request {
            what: file.to_owned(),
            why,
        };
        let mut table = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        let mut names = Self::default();
        for row in table.records() {
            let row = row.map_err(|error| refuse(format!("isn't a list of names: {error}")))?;
            let line = row.position().map_or(0, csv::Position::line);
            let (Some(photo), Some(name), 2) = (row.get(0), row.get(1), row.len()) else {
                return Err(refuse(format!(
                    "line {line} isn't photo,name: write the photo's file name, a comma, and the name"
                )));
            };
            if (photo, name) == ("photo", "name") {
                continue;
            }
            if photo.is_empty() || name.is_empty() {
                return Err(refuse(format!(
                    "line {line} lacks the photo or the name: write both, or leave the line out"
                )));
            }
            if names.lines.iter().any(|(other, _)| other == photo) {
                return Err(refuse(format!(
                    "line {line} names {} a second time: keep one of the two",
                    quoted(photo)
                )));
            }
            names.lines.push((photo.to_owned(), name.to_owned()));
        }
        Ok(names)
    }

    /// Gives every sample the name that the list has for its photo.
    ///
    /// # Errors
    /// [`Error::Request`] for a name whose photo isn't among the samples.
    pub fn give(&self, samples: &mut [Sample]) -> Result<()> {
        for (photo, name) in &self.lines {
            let mut given = false;
            for sample in samples.iter_mut() {
                let file = &sample.measurement.photo.file;
                let stem = Path::new(file).file_stem();
                if file == photo || stem.is_some_and(|stem| stem.to_string_lossy() == **photo) {
                    sample.name.clone_from(name);
                    given = true;
                }
            }
            if !given {
                let known: Vec<&str> = samples
                    .iter()
                    .map(|sample| sample.measurement.photo.file.as_str())
                    .collect();
                return Err(Error::Request {
                    what: format!("the name {}", quoted(name)),
                    why: format!(
                        "is for {}, which isn't among the bands: {}",
                        quoted(photo),
                        known.join(", ")
                    ),
                });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::made::Made;

    fn samples() -> Vec<Sample> {
        ["quay-1", "quay-2"]
            .map(|name| {
                let made = Made {
                    name: name.to_owned(),
                    ..Made::default()
                };
                Sample {
                    name: name.to_owned(),
                    measurement: made.measurement(),
                    plan: None,
                }
            })
            .to_vec()
    }

    #[test]
    fn a_name_is_for_the_photo_with_or_without_its_ending() {
        let text = "photo,name\nquay-2.png,\"Bo, of the late ferry\"\nquay-1,Ada\n";
        let mut samples = samples();
        let names = Names::from_csv("class.csv", text).expect("a list");
        names.give(&mut samples).expect("both are there");
        let given: Vec<&str> = samples.iter().map(|sample| sample.name.as_str()).collect();
        assert_eq!(given, ["Ada", "Bo, of the late ferry"]);
    }

    #[test]
    fn a_list_that_cannot_be_meant_is_refused_with_its_line() {
        for (text, says) in [
            ("quay-1,Ada\nquay-2\n", "line 2 isn't photo,name"),
            ("quay-1,\n", "lacks the photo or the name"),
            ("quay-1,Ada\nquay-1,Bo\n", "a second time"),
        ] {
            let error = Names::from_csv("class.csv", text).expect_err(text);
            assert!(error.to_string().contains(says), "{error}");
        }
        let names = Names::from_csv("class.csv", "quay-9,Ada\n").expect("a list");
        let error = names.give(&mut samples()).expect_err("no such photo");
        assert!(error.to_string().contains("quay-1.png"), "{error}");
    }
}
