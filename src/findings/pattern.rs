//! Which cells were woven otherwise than the drawdown says, or the cloth's own repeat?
//!
//! The pick finder names the cells that differ, each by pick and end. Neighbouring ends of one
//! pick are one slip of the shed: one finding. Against the cloth's own repeat ends have their place across, and their
//! numbers only where these are sure.

use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Finding, FindingKind};
use crate::picks::OwnEnds;
use crate::plan::LengthUnits;

/// One finding for each run of neighbouring ends that differ within a pick; `odd_cells` holds
/// (pick, end), both from 0, `own` where the ends lie if it was the cloth's own repeat that told them.
#[must_use]
pub fn mis_woven(
    (odd_cells, own): (&[(usize, usize)], Option<&OwnEnds>),
    places: &PickPlaces,
    units: LengthUnits,
) -> Vec<Finding> {
    let mut cells = odd_cells.to_vec();
    cells.sort_unstable();
    cells.dedup();
    cells
        .chunk_by(|a, b| a.0 == b.0 && b.1 == a.1 + 1)
        .filter_map(|run| finding((run, own), places, units))
        .collect()
}

fn finding(
    (run, own): (&[(usize, usize)], Option<&OwnEnds>),
    places: &PickPlaces,
    units: LengthUnits,
) -> Option<Finding> {
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
    let across_mm = own.map(|own| own.across_mm(first, last));
    let numbered = own.is_none_or(|own| own.numbered);
    let which = match (across_mm, numbered) {
        (None, _) => format!("{} from the left", numbers(first, last)),
        (Some(across), true) => {
            format!(
                "{} from the left ({})",
                numbers(first, last),
                beside(across)
            )
        }
        (Some(across), false) => format!("{} {}", count(run.len()), beside(across)),
    };
    let against = own.map_or("", |_| ", against the cloth's own repeat");
    let seen = format!(
        "pick {number}, {}, goes the wrong way over or under {which}{against}",
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
        ends: Some(ends).filter(|_| numbered),
        across_mm,
        text: String::new(),
    };
    Some(words::finish(finding, &seen))
}

/// "end 4" or "ends 6 to 7", from 0.
fn numbers(first: usize, last: usize) -> String {
    if first == last {
        format!("end {}", first + 1)
    } else {
        format!("ends {} to {}", first + 1, last + 1)
    }
}

fn count(ends: usize) -> String {
    match ends {
        1 => "one end".into(),
        2 => "two ends".into(),
        _ => format!("{ends} ends"),
    }
}

/// "12 to 15 mm from the left selvedge".
fn beside([from, to]: [f64; 2]) -> String {
    format!("{from:.0} to {to:.0} mm from the left selvedge")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::even_places;

    #[test]
    fn neighbouring_ends_of_a_pick_are_one_finding() {
        let cells = [(30, 7), (12, 3), (30, 6), (30, 9)];
        let found = mis_woven(
            (&cells, None),
            &even_places(51, 2.9),
            LengthUnits::Centimetres,
        );
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
    fn against_the_cloths_own_repeat_ends_have_a_place_and_numbers_only_where_they_are_sure() {
        let own = |numbered| OwnEnds {
            first: 0.02,
            pitch: 0.08,
            width_mm: 40.0,
            numbered,
        };
        let found = |own: OwnEnds| {
            let cells = [(30, 6), (30, 7)];
            mis_woven(
                (&cells, Some(&own)),
                &even_places(51, 2.9),
                LengthUnits::Centimetres,
            )
            .remove(0)
        };
        let (sure, unsure) = (found(own(true)), found(own(false)));
        assert_eq!(sure.ends, Some(vec![7, 8]));
        assert_eq!(unsure.ends, None);
        assert!((unsure.across_mm.unwrap()[0] - 20.0).abs() < 1e-9);
        let place = "two ends 20 to 26 mm from the left selvedge, against the cloth's own repeat";
        assert!(unsure.text.contains(place), "{}", unsure.text);
        assert!(
            sure.text.contains("ends 7 to 8 from the left (20 to 26 mm"),
            "{}",
            sure.text
        );
        assert!(!sure.text.contains("drawdown"), "{}", sure.text);
    }

    #[test]
    fn a_cell_beyond_the_last_pick_is_no_finding() {
        assert!(
            mis_woven(
                (&[(60, 1)], None),
                &even_places(51, 2.9),
                LengthUnits::Inches
            )
            .is_empty()
        );
    }
}
