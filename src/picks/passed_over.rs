//! Which picks did the path pass over?
//!
//! A stripe of one pick whose weft turns light and dark round shows the path little to hold on to: it may linger
//! through the stripe and then go on with another row than the next, as it may where a weaver left a row
//! out. But where a row was left out its neighbours lie close together, and where a pick was passed over
//! there is room for it.
//!
//! # Method
//! Where the rows go on out of turn, and the gap is that of the rows that are missing, give or take
//! [`OFF`], with those around it for a measure, they are put in, evenly.
//!
//! # Limits
//! Of at most [`MOST`] missing rows: in a long repeat a jump back looks like many.

use super::locate::Found;
use super::place::Placed;
use crate::stats::median;

/// How far the gap may be from that of the rows that are missing, spacings.
const OFF: f64 = 0.6;

/// At most so many rows are put in at one place.
const MOST: usize = 2;

/// So many gaps on either side say how wide one is.
const AROUND: usize = 5;

/// The places with those that were passed over; `rows` are in the repeat.
pub(super) fn filled(found: &[Found], rows: usize) -> Vec<Found> {
    let gaps: Vec<f64> = found
        .windows(2)
        .map(|pair| pair[1].placed.sample - pair[0].placed.sample)
        .collect();
    let mut all = Vec::with_capacity(found.len());
    for (n, place) in found.iter().enumerate() {
        all.push(*place);
        let (Some(next), Some(gap)) = (found.get(n + 1), gaps.get(n)) else {
            break;
        };
        let missing = (next.row + 2 * rows - place.row - 1) % rows;
        let before = &gaps[n.saturating_sub(AROUND)..n];
        let after = &gaps[n + 1..(n + 1 + AROUND).min(gaps.len())];
        let usual = median(&[before, after].concat()).unwrap_or(*gap);
        let parts = (missing + 1) as f64;
        if missing == 0 || missing > MOST || (gap / usual - parts).abs() > OFF {
            continue;
        }
        all.extend((1..=missing).map(|k| Found {
            row: (place.row + k) % rows,
            placed: Placed {
                sample: place.placed.sample + gap * k as f64 / parts,
                ..place.placed
            },
        }));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places of rows that take turns, but for those left out of `samples`.
    fn found(samples: &[f64], rows: &[usize]) -> Vec<Found> {
        let placed = |sample: &f64| Placed {
            sample: *sample,
            u: 1.0,
        };
        let places = samples.iter().map(placed).zip(rows);
        places.map(|(placed, &row)| Found { row, placed }).collect()
    }

    fn rows_of(found: &[Found]) -> Vec<usize> {
        found.iter().map(|f| f.row).collect()
    }

    #[test]
    fn a_pick_that_was_passed_over_is_put_in_where_there_is_room_for_it() {
        let samples = [0.0, 14.0, 28.0, 56.0, 70.0, 84.0];
        let filled = filled(&found(&samples, &[0, 1, 0, 0, 1, 0]), 2);
        assert_eq!(rows_of(&filled), [0, 1, 0, 1, 0, 1, 0]);
        assert!((filled[3].placed.sample - 42.0).abs() < 1e-9);
    }

    #[test]
    fn a_row_that_the_weaver_left_out_stays_out() {
        let samples = [0.0, 14.0, 28.0, 44.0, 58.0, 72.0];
        let rows = [0, 1, 0, 0, 1, 0];
        assert_eq!(rows_of(&filled(&found(&samples, &rows), 2)), rows);
    }

    #[test]
    fn a_wide_gap_with_all_rows_in_turn_stays_as_it_is() {
        let samples = [0.0, 14.0, 28.0, 62.0, 76.0, 90.0];
        let rows = [0, 1, 2, 0, 1, 2];
        assert_eq!(rows_of(&filled(&found(&samples, &rows), 3)), rows);
    }
}
