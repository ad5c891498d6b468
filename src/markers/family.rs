//! The family of square markers that the sheet carries.
//!
//! The first codes of tag36h11 (© 2013–2016, The Regents of The University of Michigan, BSD
//! 2-clause; the notice stands in NOTICE), whose 36 cells differ in at least 11 places whichever
//! way a marker is turned. Written row by row from the top left cell, 1 is white; taken from
//! `OpenCV`'s copy by `testdata/reference/tag_codes.py`.

/// Cells along a side between the black borders.
pub const INNER_CELLS: usize = 6;

/// Cells along a side with the black border, which is one cell wide.
pub const CELLS: usize = INNER_CELLS + 2;

const CODES: [u64; 28] = [
    0x21a146bab,
    0x92d18fe9b,
    0x7089014bb,
    0x193979e27,
    0x44153d3d7,
    0x35cd5b8cf,
    0xa10ba56a0,
    0x2b874a608,
    0xb57fb8d44,
    0x4e20b5a64,
    0x61d897f2c,
    0xab3469ffc,
    0x594ca45c2,
    0xfa1c2d2e2,
    0x97c24b972,
    0x75928624a,
    0x1caafe99a,
    0x3236ddc16,
    0x884e527d6,
    0x5771a8c7e,
    0xf52925b81,
    0x2e59cc1a1,
    0x7fa58ab31,
    0xeb43384f9,
    0x3913d5345,
    0xd79b1a3b5,
    0x0dfbe768d,
    0x5cd7a031d,
];

/// How many markers there are.
pub const MARKERS: usize = CODES.len();

/// Most cells that may be read wrongly: with a distance of 11, three wrong cells leave a stranger
/// at least eight away.
const MOST_WRONG: u32 = 3;

/// Whether the cell is black in the upright marker, border included: column and row count from 0
/// at the top left.
///
/// Cells outside the marker, and markers that don't exist, are white.
#[must_use]
pub fn is_black(marker: usize, column: usize, row: usize) -> bool {
    let (Some(&code), true) = (CODES.get(marker), column < CELLS && row < CELLS) else {
        return false;
    };
    let inner = 1..=INNER_CELLS;
    if !(inner.contains(&column) && inner.contains(&row)) {
        return true;
    }
    let cell = (row - 1) * INNER_CELLS + column - 1;
    code >> (INNER_CELLS * INNER_CELLS - 1 - cell) & 1 == 0
}

/// A marker that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Which marker.
    pub marker: usize,
    /// How many quarter turns clockwise the marker is turned against the order of the cells.
    pub quarter_turns: usize,
    /// How many of the inner cells were read wrongly.
    pub wrong_cells: u32,
}

/// Reads the inner cells (row by row from the top left of the square as it is seen, 1 is white).
#[must_use]
pub fn read(cells: u64) -> Option<Reading> {
    let mut seen = cells;
    let mut best: Option<Reading> = None;
    for quarter_turns in 0..4 {
        for (marker, code) in CODES.iter().enumerate() {
            let wrong_cells = (seen ^ code).count_ones();
            if wrong_cells <= MOST_WRONG && best.is_none_or(|b| wrong_cells < b.wrong_cells) {
                best = Some(Reading {
                    marker,
                    quarter_turns,
                    wrong_cells,
                });
            }
        }
        seen = turned_back(seen);
    }
    best
}

/// The cells turned by a quarter anticlockwise.
fn turned_back(cells: u64) -> u64 {
    let side = INNER_CELLS;
    let mut turned = 0;
    for row in 0..side {
        for column in 0..side {
            // What stands at the top right comes to the top left.
            let from = column * side + (side - 1 - row);
            turned = turned << 1 | (cells >> (side * side - 1 - from) & 1);
        }
    }
    turned
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_marker_is_read_whichever_way_it_is_turned() {
        for (marker, &code) in CODES.iter().enumerate() {
            let mut seen = code;
            for turns_back in 0..4 {
                let reading = read(seen).expect("a clean code is read");
                assert_eq!(reading.marker, marker);
                assert_eq!(reading.quarter_turns, (4 - turns_back) % 4);
                seen = turned_back(seen);
            }
        }
    }

    #[test]
    fn three_wrong_cells_are_forgiven_and_four_are_not() {
        let reading = read(CODES[9] ^ 0b1011).expect("three cells are wrong");
        assert_eq!((reading.marker, reading.wrong_cells), (9, 3));
        assert_eq!(read(CODES[9] ^ 0b1_1011), None);
        assert_eq!(read(0), None);
        assert_eq!(read(u64::MAX), None);
    }

    #[test]
    fn the_border_is_black_and_beyond_it_is_paper() {
        assert!((0..CELLS).all(|i| is_black(0, i, 0) && is_black(0, 7, i)));
        assert!(!is_black(0, 8, 0) && !is_black(MARKERS, 0, 0));
        // 0x2…: the first four inner cells are black, black, white, black.
        let first: Vec<bool> = (1..5).map(|column| is_black(0, column, 1)).collect();
        assert_eq!(first, [true, true, false, true]);
    }
}
