//! Which cells were woven otherwise than the drawdown says?
//!
//! The pick finder names the cells that differ, each by pick and end. Neighbouring ends of one
//! pick are one slip of the shed: one finding.

use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Finding, FindingKind};
use crate::plan::LengthUnits;

/// One finding for each run of neighbouring ends that differ within a pick; `odd_cells` holds
/// (pick, end), both from 0.
#[must_use]
pub fn mis_woven(
    odd_cells: &[(usize, usize)],
    places: &PickPlaces,
    units: LengthUnits,
) -> Vec<Finding> {
    let mut cells = odd_cells.to_vec();
    cells.sort_unstable();
    cells.dedup();
    cells
        .chunk_by(|a, b| a.0 == b.0 && b.1 == a.1 + 1)
        .filter_map(|run| finding(run, places, units))
        .collect()
}

fn finding(run: &[(usize, usize)], places: &PickPlaces, units: LengthUnits) -> Option<Finding> {
    let (pick, first) = *run.first()?;
    let last = run.last()?.1;
    let at = *places.centres_mm.get(pick)?;
    let half = 0.5 * places.pitch_mm()?;
    let ends: Vec<u32> = (first..=last)
        .map_while(|e| u32::try_from(e + 1).ok())
        .collect();
    let number = u32::try_from(pick + 1).ok()?;
    let (from_mm, to_mm) = (
        (at - half).max(0.0),
        (at + half).min(places.length_mm.value),
    );
    let which = if first == last {
        format!("end {}", first + 1)
    } else {
        format!("ends {} to {}", first + 1, last + 1)
    };
    let seen = format!(
        "pick {number}, {}, goes the wrong way over or under {which} from the left",
        words::place(at, units)
    );
    let finding = Finding {
        kind: FindingKind::MisWoven,
        side: None,
        from_mm,
        to_mm,
        size: f64::from(u32::try_from(run.len()).ok()?),
        unit: if run.len() == 1 { "end" } else { "ends" }.into(),
        pick: Some(number),
        ends: Some(ends),
        text: String::new(),
    };
    Some(words::finish(finding, &seen))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::even_places;

    #[test]
    fn neighbouring_ends_of_a_pick_are_one_finding() {
        let cells = [(30, 7), (12, 3), (30, 6), (30, 9)];
        let found = mis_woven(&cells, &even_places(51, 2.9), LengthUnits::Centimetres);
        let named: Vec<_> = found.iter().map(|f| (f.pick, f.ends.clone())).collect();
        assert_eq!(
            named,
            [
                (Some(13), Some(vec![4])),
                (Some(31), Some(vec![7, 8])),
                (Some(31), Some(vec![10])),
            ]
        );
        assert!(found[1].text.contains("ends 7 to 8"), "{}", found[1].text);
    }

    #[test]
    fn a_cell_beyond_the_last_pick_is_no_finding() {
        assert!(mis_woven(&[(60, 1)], &even_places(51, 2.9), LengthUnits::Inches).is_empty());
    }
}
