//! Reads the cells of a marker inside a four-cornered shape.

use image::RgbImage;

use super::family::{CELLS, INNER_CELLS, Reading, read};
use super::{light, plane};
use crate::geometry::Point;

/// Least contrast between a marker's black and white, grey levels.
const LEAST_CONTRAST: f64 = 20.0;

/// Places within a cell that are averaged, from its middle, in cells.
const WITHIN_CELL: [f64; 3] = [-0.22, 0.0, 0.22];

/// How many of the border's 28 cells may look white (a thread across it, a glint).
const WHITE_BORDER_CELLS: usize = 3;

/// Reads the marker whose black square has these corners (clockwise as seen), px.
pub(super) fn of(photo: &RgbImage, corners: &[Point; 4]) -> Option<Reading> {
    #[expect(clippy::cast_precision_loss, reason = "eight cells")]
    let half = CELLS as f64 / 2.0;
    let square =
        [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| Point::new(x, y));
    let to_photo = plane::of_four(&square, corners)?;
    let mut values = [[0.0; CELLS]; CELLS];
    for (row, line) in values.iter_mut().enumerate() {
        for (column, value) in line.iter_mut().enumerate() {
            let middle = Point::new(centre(column), centre(row));
            let mut sum = 0.0;
            for dy in WITHIN_CELL {
                for dx in WITHIN_CELL {
                    let place = Point::new(middle.x + dx, middle.y + dy);
                    sum += light::at(photo, plane::apply(&to_photo, place)?)?;
                }
            }
            *value = sum / 9.0;
        }
    }
    read_cells(&values)
}

/// A cell's middle, in cells from the marker's middle.
fn centre(i: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "eight cells")]
    let (i, all) = (i as f64, CELLS as f64);
    i + 0.5 - all / 2.0
}

fn is_border(column: usize, row: usize) -> bool {
    let inner = 1..=INNER_CELLS;
    !(inner.contains(&column) && inner.contains(&row))
}

fn read_cells(values: &[[f64; CELLS]; CELLS]) -> Option<Reading> {
    // Light falls off across the marker: black is a plane through the border, and white lies a
    // constant above it. The cells are symmetric about the middle, so the sums part.
    let (mut n, mut sum, mut sum_x, mut sum_y, mut square) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let cells = || (0..CELLS).flat_map(|row| (0..CELLS).map(move |column| (column, row)));
    for (column, row) in cells().filter(|&(c, r)| is_border(c, r)) {
        let value = values[row][column];
        n += 1.0;
        sum += value;
        sum_x += value * centre(column);
        sum_y += value * centre(row);
        square += centre(column) * centre(column);
    }
    let above_black = |column: usize, row: usize| {
        let black = sum / n + sum_x / square * centre(column) + sum_y / square * centre(row);
        values[row][column] - black
    };
    let mut inner: Vec<f64> = cells()
        .filter(|&(c, r)| !is_border(c, r))
        .map(|(c, r)| above_black(c, r))
        .collect();
    inner.sort_by(f64::total_cmp);
    // In the codes of the sheet 14 to 22 of the 36 cells are white.
    let white = inner[inner.len() - 9];
    if white < LEAST_CONTRAST {
        return None;
    }
    let is_white = |column: usize, row: usize| above_black(column, row) > 0.5 * white;
    let border_white = cells()
        .filter(|&(c, r)| is_border(c, r) && is_white(c, r))
        .count();
    if border_white > WHITE_BORDER_CELLS {
        return None;
    }
    let bits = cells()
        .filter(|&(c, r)| !is_border(c, r))
        .fold(0, |bits, (c, r)| bits << 1 | u64::from(is_white(c, r)));
    read(bits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::markers::family::{MARKERS, is_black};

    #[test]
    fn every_marker_is_read_in_light_that_falls_off() {
        for marker in 0..MARKERS {
            let mut values = [[0.0; CELLS]; CELLS];
            for (row, line) in values.iter_mut().enumerate() {
                for (column, value) in line.iter_mut().enumerate() {
                    let level = if is_black(marker, column, row) {
                        30.0
                    } else {
                        90.0
                    };
                    *value = level + 9.0 * centre(column) - 6.0 * centre(row);
                }
            }
            let reading = read_cells(&values).expect("it is read");
            assert_eq!((reading.marker, reading.quarter_turns), (marker, 0));
        }
    }

    #[test]
    fn a_dark_patch_is_no_marker() {
        assert_eq!(read_cells(&[[40.0; CELLS]; CELLS]), None);
    }
}
