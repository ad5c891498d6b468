//! Picks put in and taken out, and those of a body that was set anew.

use super::{BY_HAND_U_MM, Corrections, Ruler};
use crate::picks::PickTrack;
use crate::stats::median;
use crate::{Error, Result};

/// A pick is put in no nearer to another than this share of the spacing.
const NEAREST: f64 = 0.3;
/// A pick that was found again lies within this share of the spacing of where it was.
const SAME: f64 = 0.5;

fn refuse(what: &str, why: String) -> Error {
    Error::Request {
        what: format!("corrections: {what}"),
        why,
    }
}

/// Takes picks out of `track`, then puts some in. `own` is the track as the program found it by
/// itself, whose numbers count.
///
/// A pick whose stretch was cut off by a body set by hand is gone already.
pub(super) fn edit(
    track: &mut PickTrack,
    own: &PickTrack,
    corrections: &Corrections,
    ruler: &Ruler,
) -> Result<()> {
    let spacing = spacing_of(own);
    let mut gone = Vec::new();
    for &number in &corrections.deleted_picks {
        let place = own.centres_mm.get(number as usize - 1).ok_or_else(|| {
            let why = format!(
                "there is no pick {number}: the program counts {} by itself",
                own.centres_mm.len()
            );
            refuse("deleted_picks", why)
        })?;
        gone.extend(nearest(&track.centres_mm, *place, SAME * spacing));
    }
    gone.sort_unstable();
    for index in gone.into_iter().rev() {
        remove(track, index);
    }
    for &at in &corrections.inserted_picks_mm {
        insert(track, ruler.s(at), at, spacing)?;
    }
    if track.centres_mm.is_empty() {
        return Err(refuse("deleted_picks", "no pick is left".to_owned()));
    }
    Ok(())
}

/// Whether there is room for another pick between the body as found and as set.
pub(super) fn is_wider(own: &PickTrack, body: (f64, f64)) -> bool {
    let room = 0.5 * spacing_of(own);
    body.0 < own.body_mm.0 - room || body.1 > own.body_mm.1 + room
}

/// The picks of a body set anew: those that were found and lie in it, and of `more`, which were
/// looked for in the wider body, those before the first and behind the last.
///
/// `more` may lie off as a whole, for its ends pull at it: it is laid onto what was found.
pub(super) fn between(own: &PickTrack, more: Option<&PickTrack>, body: (f64, f64)) -> PickTrack {
    let mut track = own.clone();
    for index in (0..track.centres_mm.len()).rev() {
        let centre = track.centres_mm[index];
        if centre <= body.0 || centre >= body.1 {
            remove(&mut track, index);
        }
    }
    track.body_mm = body;
    let Some(more) = more else {
        return track;
    };
    let spacing = spacing_of(own);
    let off: Vec<f64> = more
        .centres_mm
        .iter()
        .filter_map(|at| {
            let index = nearest(&own.centres_mm, *at, SAME * spacing)?;
            Some(at - own.centres_mm[index])
        })
        .collect();
    let off = median(&off).unwrap_or(0.0);
    let new = more.centres_mm.iter().zip(&more.centre_u_mm);
    for (at, u) in new.map(|(at, u)| (at - off, *u)) {
        let alone = nearest(&own.centres_mm, at, SAME * spacing).is_none();
        if alone && at > body.0 && at < body.1 {
            place(&mut track, at, u);
        }
    }
    track
}

/// Mean distance between picks, mm.
pub(super) fn spacing_of(track: &PickTrack) -> f64 {
    let (from, to) = track.body_mm;
    (to - from) / track.centres_mm.len().max(1) as f64
}

/// Index of the pick nearest to a place, if it lies within `reach`.
pub(super) fn nearest(centres: &[f64], place: f64, reach: f64) -> Option<usize> {
    let apart = |index: &usize| (centres[*index] - place).abs();
    (0..centres.len())
        .min_by(|a, b| apart(a).total_cmp(&apart(b)))
        .filter(|index| apart(index) <= reach)
}

fn remove(track: &mut PickTrack, index: usize) {
    track.centres_mm.remove(index);
    track.centre_u_mm.remove(index);
    track.noise_u_mm.remove(index);
    if let Some((a, b)) = &mut track.halves_mm {
        a.remove(index);
        b.remove(index);
    }
    if let Some(rows) = &mut track.rows {
        rows.remove(index);
    }
    track.odd_cells.retain(|(pick, _)| *pick != index);
    for (pick, _) in &mut track.odd_cells {
        *pick -= usize::from(*pick > index);
    }
}

fn insert(track: &mut PickTrack, s: f64, at_mm: f64, spacing: f64) -> Result<()> {
    let (from, to) = track.body_mm;
    if s <= from || s >= to {
        let why = format!(
            "{at_mm} mm lies outside the body, which runs from {:.1} to {:.1} mm: move the body's \
             end first",
            at_mm + from - s,
            at_mm + to - s
        );
        return Err(refuse("inserted_picks_mm", why));
    }
    if let Some(index) = nearest(&track.centres_mm, s, NEAREST * spacing) {
        let why = format!(
            "at {at_mm} mm there is a pick already, number {}",
            index + 1
        );
        return Err(refuse("inserted_picks_mm", why));
    }
    place(track, s, BY_HAND_U_MM);
    Ok(())
}

/// Puts a pick at `s` among the others.
fn place(track: &mut PickTrack, s: f64, u_mm: f64) {
    let index = track.centres_mm.partition_point(|centre| *centre < s);
    track.centres_mm.insert(index, s);
    track.centre_u_mm.insert(index, u_mm);
    track.noise_u_mm.insert(index, u_mm);
    // One place for both halves of the width: they can't witness to it any more.
    track.halves_mm = None;
    if let Some(rows) = &mut track.rows {
        let row = row_between(rows, index);
        rows.insert(index, row);
    }
    for (pick, _) in &mut track.odd_cells {
        *pick += usize::from(*pick >= index);
    }
}

/// The row of a pick put in before `index`: the one that the neighbours leave out, else the same as
/// the pick before it: two picks in one shed look like one.
fn row_between(rows: &[usize], index: usize) -> usize {
    let of = rows.iter().max().map_or(1, |most| most + 1);
    let before = index.checked_sub(1).and_then(|k| rows.get(k));
    match (before, rows.get(index)) {
        (Some(before), Some(after)) if (before + 2) % of == *after => (before + 1) % of,
        (Some(before), None) => (before + 1) % of,
        (Some(before), Some(_)) => *before,
        (None, Some(after)) => (after + of - 1) % of,
        (None, None) => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::OnCloth;

    const PLAIN: OnCloth = OnCloth {
        factor: 1.0,
        relative_u: 0.001,
    };
    const RULER: Ruler = Ruler {
        start_mm: 5.0,
        along: PLAIN,
        across: PLAIN,
    };

    fn track() -> PickTrack {
        let centres: Vec<f64> = (0..20).map(|k| 6.0 + 2.0 * f64::from(k)).collect();
        PickTrack {
            centre_u_mm: vec![0.02; 20],
            noise_u_mm: vec![0.02; 20],
            halves_mm: Some((centres.clone(), centres.clone())),
            rows: Some((0..20).map(|k| k % 4).collect()),
            body_mm: (5.0, 45.0),
            body_u_mm: (0.1, 0.1),
            odd_cells: vec![(4, 2), (9, 1)],
            centres_mm: centres,
            ..PickTrack::default()
        }
    }

    fn edited(corrections: &Corrections) -> Result<PickTrack> {
        let mut changed = track();
        edit(&mut changed, &track(), corrections, &RULER)?;
        Ok(changed)
    }

    #[test]
    fn a_pick_taken_out_takes_its_row_and_its_cells_along() {
        let corrections = Corrections {
            deleted_picks: vec![5, 1],
            ..Corrections::default()
        };
        let changed = edited(&corrections).expect("both picks are there");
        assert_eq!(changed.centres_mm.len(), 18);
        assert!(!changed.centres_mm.contains(&14.0));
        assert_eq!(changed.odd_cells, [(7, 1)]);
        assert_eq!(
            changed.rows.map(|rows| rows[2..5].to_vec()),
            Some(vec![3, 1, 2])
        );
        assert_eq!(changed.halves_mm.map(|(a, _)| a.len()), Some(18));
    }

    #[test]
    fn a_pick_put_in_carries_the_hands_doubt_and_the_row_that_is_left_out() {
        let corrections = Corrections {
            deleted_picks: vec![7],
            inserted_picks_mm: vec![13.1],
            ..Corrections::default()
        };
        let changed = edited(&corrections).expect("there is room");
        assert!((changed.centres_mm[6] - 18.1).abs() < 1e-12);
        assert!((changed.centre_u_mm[6] - BY_HAND_U_MM).abs() < 1e-12);
        assert_eq!(changed.rows, track().rows);
        assert_eq!(changed.halves_mm, None);
    }

    #[test]
    fn a_pick_between_two_that_follow_each_other_lies_in_the_shed_before() {
        let corrections = Corrections {
            inserted_picks_mm: vec![14.0],
            ..Corrections::default()
        };
        let changed = edited(&corrections).expect("there is room");
        assert_eq!(
            changed.rows.map(|rows| rows[6..9].to_vec()),
            Some(vec![2, 2, 3])
        );
        assert_eq!(changed.odd_cells, [(4, 2), (10, 1)]);
    }

    #[test]
    fn picks_that_are_not_there_or_there_already_are_refused() {
        let says = |corrections: &Corrections| edited(corrections).unwrap_err().to_string();
        let deleted = Corrections {
            deleted_picks: vec![21],
            ..Corrections::default()
        };
        assert!(says(&deleted).contains("counts 20"));
        let inserted = |at| Corrections {
            inserted_picks_mm: vec![at],
            ..Corrections::default()
        };
        assert!(says(&inserted(13.2)).contains("there is a pick already, number 7"));
        assert!(says(&inserted(41.0)).contains("outside the body, which runs from 0.0 to 40.0 mm"));
    }
}
