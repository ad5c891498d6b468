//! One row a pick, for a spreadsheet.
//!
//! | column | what |
//! |---|---|
//! | `pick` | number of the pick, from 1 at the start of the body |
//! | `row` | drawdown row, from 1; empty without a drawdown |
//! | `at_mm` | centre of the pick, from the start of the body |
//! | `spacing_mm` | from the centre of the pick before; empty at the first |
//! | `local_per_inch` | picks per inch around it (window of 5 picks), between windows' middles straight lines |
//! | `width_mm`, `left_mm`, `right_mm` | width and both selvedges' distance from the centre line there |
//!
//! A cell is empty where nothing was measured.

use std::io::{self, Write};

use crate::measurement::Measurement;

/// The columns, in order.
const COLUMNS: [&str; 8] = [
    "pick",
    "row",
    "at_mm",
    "spacing_mm",
    "local_per_inch",
    "width_mm",
    "left_mm",
    "right_mm",
];

/// Writes one result's picks, header first.
///
/// # Errors
/// What the writer says.
pub fn write_csv(measurement: &Measurement, out: &mut impl Write) -> io::Result<()> {
    CsvWriter::new(out, false)?.write(measurement)
}

/// Writes the picks of one result after another under one header.
#[derive(Debug)]
pub struct CsvWriter<W: Write> {
    table: csv::Writer<W>,
    with_photo: bool,
}

impl<W: Write> CsvWriter<W> {
    /// Writes the header; `with_photo` adds a last column `photo`, for several results in one
    /// table.
    ///
    /// # Errors
    /// What the writer says.
    pub fn new(out: W, with_photo: bool) -> io::Result<Self> {
        let mut table = csv::Writer::from_writer(out);
        let photo = with_photo.then_some("photo");
        table.write_record(COLUMNS.into_iter().chain(photo))?;
        table.flush()?;
        Ok(Self { table, with_photo })
    }

    /// Writes one row a pick.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write(&mut self, measurement: &Measurement) -> io::Result<()> {
        let positions = measurement.picks.as_ref().map(|picks| &picks.positions_mm);
        for index in 0..positions.map_or(0, Vec::len) {
            let mut cells = row(measurement, index);
            if self.with_photo {
                cells.push(measurement.photo.file.clone());
            }
            self.table.write_record(cells)?;
        }
        self.table.flush()
    }
}

/// The cells of the pick `index` (from 0).
fn row(measurement: &Measurement, index: usize) -> Vec<String> {
    let Some(picks) = &measurement.picks else {
        return Vec::new();
    };
    let at = picks.positions_mm[index];
    let row = picks.rows.as_ref().and_then(|rows| rows.get(index));
    let spacing = index
        .checked_sub(1)
        .map(|before| at - picks.positions_mm[before]);
    let local = measurement
        .beat
        .as_ref()
        .and_then(|beat| at_place(&beat.local.at_mm, &beat.local.per_inch, at));
    let profile = measurement.width.as_ref().map(|width| &width.profile);
    let across = |pick: fn(&crate::measurement::WidthProfile) -> &Vec<f64>| {
        cell(
            profile.and_then(|profile| at_place(&profile.at_mm, pick(profile), at)),
            3,
        )
    };
    vec![
        (index + 1).to_string(),
        row.map_or_else(String::new, ToString::to_string),
        format!("{at:.3}"),
        cell(spacing, 3),
        cell(local, 3),
        across(|profile| &profile.width_mm),
        across(|profile| &profile.left_mm),
        across(|profile| &profile.right_mm),
    ]
}

/// A number with so many decimals, or nothing.
fn cell(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(String::new, |value| format!("{value:.decimals$}"))
}

/// The value at a place between samples, by straight lines; the end values beyond the ends.
/// `None` where there is no sample.
fn at_place(places: &[f64], values: &[f64], place: f64) -> Option<f64> {
    let count = places.len().min(values.len());
    let (places, values) = (&places[..count], &values[..count]);
    let after = places.partition_point(|&at| at < place);
    match after {
        0 => values.first().copied(),
        _ if after == count => values.last().copied(),
        _ => {
            let (a, b) = (places[after - 1], places[after]);
            let share = (place - a) / (b - a);
            Some(values[after - 1] + share * (values[after] - values[after - 1]))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_two_samples_the_value_lies_on_a_straight_line() {
        let (places, values) = ([0.0, 10.0, 20.0], [1.0, 3.0, 3.0]);
        assert_eq!(at_place(&places, &values, 5.0), Some(2.0));
        assert_eq!(at_place(&places, &values, -5.0), Some(1.0));
        assert_eq!(at_place(&places, &values, 25.0), Some(3.0));
        assert_eq!(at_place(&[], &[], 25.0), None);
    }
}
