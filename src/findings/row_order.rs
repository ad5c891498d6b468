//! Was a row of the drawdown left out, doubled, or woven out of turn?
//!
//! # Method
//! 1. The step from each pick's row to the next one's, round the repeat. Most picks step by one:
//!    that sense is the drawdown's (a photo of the back may run it the other way).
//! 2. Every other step is a slip; slips within [`TOGETHER`] picks of each other are one finding.
//! 3. No step at all: the row was doubled. A step of two: a row was left out. Anything else, or
//!    several slips together: out of turn.
//! 4. Where the picks about a slip don't lie as far apart as those around them, a pick was missed or taken
//!    for two there, and the repeat followed out of step: no finding.
//!
//! # Limits
//! In a repeat of two rows a doubled row and one left out look the same, and the text says so. A
//! doubled row has the pick lie in the same shed as the one before, which the cloth may hide.

use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Finding, FindingKind};
use crate::plan::LengthUnits;
use crate::stats::{gaps, median};

/// Slips at most this many picks apart are one finding.
const TOGETHER: usize = 3;

/// Least and most spacing about a slip, against the usual one around it. On 740 drawn bands without a slip
/// and 215 spoiled photos, all but one of some thirty that were found lay beyond.
const EVEN: (f64, f64) = (0.72, 1.38);

/// Spacings at either side that tell the usual one.
const AROUND: usize = 6;

/// Slips in the order of the rows, along the band. Nothing without known rows, or in a repeat of
/// one row.
#[must_use]
pub fn row_order(places: &PickPlaces, units: LengthUnits) -> Vec<Finding> {
    let Some((rows, of)) = places.rows.as_ref().filter(|(_, of)| *of > 1) else {
        return Vec::new();
    };
    let step = |pair: &[usize]| (pair[1] % of + of - pair[0] % of) % of;
    let steps: Vec<usize> = rows.windows(2).map(step).collect();
    let forward = steps.iter().filter(|s| **s == 1).count();
    let backward = steps.iter().filter(|s| **s == of - 1).count();
    let usual = if forward >= backward { 1 } else { of - 1 };
    let slips: Vec<usize> = (0..steps.len()).filter(|k| steps[*k] != usual).collect();
    let gaps = gaps(&places.centres_mm);
    slips
        .chunk_by(|a, b| b - a <= TOGETHER)
        .filter(|run| run.iter().all(|slip| evenly_spaced(*slip, &gaps)))
        .filter_map(|run| finding(run, &steps, usual, rows, *of, places, units))
        .collect()
}

/// Whether the spacing after pick `slip`, and those before and after it, are the usual ones.
fn evenly_spaced(slip: usize, gaps: &[f64]) -> bool {
    let about = slip.saturating_sub(1)..(slip + 2).min(gaps.len());
    let around = slip.saturating_sub(AROUND)..(slip + AROUND + 1).min(gaps.len());
    let beside: Vec<f64> = around
        .filter(|k| !about.contains(k))
        .map(|k| gaps[k])
        .collect();
    let Some(usual) = median(&beside) else {
        return true;
    };
    about
        .into_iter()
        .all(|k| (EVEN.0 * usual..=EVEN.1 * usual).contains(&gaps[k]))
}

/// What a run of slips is, in words; `first` is the first pick concerned (from 0).
fn slip(run: &[usize], steps: &[usize], usual: usize, rows: &[usize], of: usize) -> String {
    let (before, after) = (run[0], run[run.len() - 1] + 1);
    let two = 2 * usual % of;
    match (run, steps[before]) {
        ([_], 0) if of == 2 => format!(
            "picks {} and {} lie in the same row {}: it was doubled, or the row between was left \
             out",
            before + 1,
            after + 1,
            rows[before] % of + 1
        ),
        ([_], 0) => format!(
            "row {} was woven twice, in picks {} and {}",
            rows[before] % of + 1,
            before + 1,
            after + 1
        ),
        ([_], step) if step == two => format!(
            "row {} was left out between picks {} and {}",
            (rows[before] + usual) % of + 1,
            before + 1,
            after + 1
        ),
        _ => format!(
            "{} are out of turn: rows {}",
            words::picks(number(before + 1), number(after + 1)),
            (before..=after)
                .map(|k| (rows[k] % of + 1).to_string())
                .collect::<Vec<_>>()
                .join(", ")
        ),
    }
}

fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

fn finding(
    run: &[usize],
    steps: &[usize],
    usual: usize,
    rows: &[usize],
    of: usize,
    places: &PickPlaces,
    units: LengthUnits,
) -> Option<Finding> {
    let (before, after) = (*run.first()?, *run.last()? + 1);
    let from_mm = *places.centres_mm.get(before)?;
    let to_mm = *places.centres_mm.get(after)?;
    let finding = Finding {
        kind: FindingKind::RowOrder,
        side: None,
        from_mm,
        to_mm,
        size: f64::from(number(run.len())),
        unit: if run.len() == 1 { "row" } else { "rows" }.into(),
        pick: Some(number(after + 1)),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let seen = format!(
        "{}, {}",
        slip(run, steps, usual, rows, of),
        words::place(f64::midpoint(from_mm, to_mm), units)
    );
    Some(words::finish(finding, &seen))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::even_places;

    fn found(rows: &[usize], of: usize) -> Vec<Finding> {
        let mut places = even_places(rows.len(), 2.5);
        places.rows = Some((rows.to_vec(), of));
        row_order(&places, LengthUnits::Centimetres)
    }

    #[test]
    fn rows_in_their_order_are_no_finding_either_way_round() {
        let forward: Vec<usize> = (0..30).map(|k| k % 5).collect();
        let backward: Vec<usize> = (0..30).map(|k| 4 - k % 5).collect();
        assert!(found(&forward, 5).is_empty() && found(&backward, 5).is_empty());
    }

    #[test]
    fn a_row_left_out_doubled_or_out_of_turn_is_told_apart() {
        let left_out = found(&[0, 1, 2, 3, 4, 0, 1, 3, 4, 0, 1, 2], 5);
        assert!(
            left_out[0]
                .text
                .contains("Row 3 was left out between picks 7 and 8")
        );
        let doubled = found(&[0, 1, 2, 3, 3, 4, 0, 1, 2], 5);
        assert!(
            doubled[0]
                .text
                .contains("Row 4 was woven twice, in picks 4 and 5")
        );
        let turned = found(&[0, 1, 2, 3, 4, 0, 2, 1, 3, 4, 0, 1], 5);
        assert_eq!(turned.len(), 1, "{turned:?}");
        assert!(
            turned[0].text.contains("out of turn: rows 1, 3, 2, 4"),
            "{}",
            turned[0].text
        );
    }

    #[test]
    fn a_pick_that_was_missed_is_no_row_left_out() {
        let rows = [0, 1, 2, 3, 4, 0, 1, 3, 4, 0, 1, 2, 3];
        let mut places = even_places(rows.len(), 2.5);
        places.rows = Some((rows.to_vec(), 5));
        let found = |places: &PickPlaces| row_order(places, LengthUnits::Inches).len();
        assert_eq!(found(&places), 1);
        places.centres_mm[7..].iter_mut().for_each(|at| *at += 2.2);
        assert_eq!(found(&places), 0);
    }

    #[test]
    fn in_a_repeat_of_two_both_readings_are_given() {
        let twice = found(&[0, 1, 0, 0, 1, 0, 1], 2);
        assert_eq!((twice.len(), twice[0].pick), (1, Some(4)));
        assert!(
            twice[0]
                .text
                .contains("doubled, or the row between was left out")
        );
    }
}
