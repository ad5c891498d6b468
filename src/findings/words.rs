//! A finding in words: what is seen, by number and place, and what to try next time.

use crate::beat::{MM_PER_INCH, PickPlaces};
use crate::measurement::{Finding, FindingKind, Side};
use crate::plan::LengthUnits;

/// A stretch along the band as a weaver finds it with a ruler: "5.0 to 7.0 cm".
pub(super) fn stretch(from_mm: f64, to_mm: f64, units: LengthUnits) -> String {
    let (unit, name) = unit(units);
    let (from, to) = (from_mm.max(0.0) / unit, to_mm.max(0.0) / unit);
    format!("{from:.1} to {to:.1} {name} from the start")
}

/// A place along the band: "12.3 cm from the start".
pub(super) fn place(at_mm: f64, units: LengthUnits) -> String {
    let (unit, name) = unit(units);
    format!("{:.1} {name} from the start", at_mm.max(0.0) / unit)
}

fn unit(units: LengthUnits) -> (f64, &'static str) {
    match units {
        LengthUnits::Inches => (MM_PER_INCH, "in"),
        LengthUnits::Centimetres => (10.0, "cm"),
    }
}

/// Numbers (from 1) of the first and last pick whose centre lies within a stretch.
pub(super) fn picks_within(places: &PickPlaces, from_mm: f64, to_mm: f64) -> Option<(u32, u32)> {
    let inside = |at: &&f64| **at >= from_mm && **at <= to_mm;
    let before = places.centres_mm.iter().take_while(|at| **at < from_mm);
    let first = u32::try_from(before.count()).ok()?;
    let within = u32::try_from(places.centres_mm.iter().filter(inside).count()).ok()?;
    (within > 0).then_some((first + 1, first + within))
}

/// "picks 18 to 24" or "pick 18".
pub(super) fn picks(first: u32, last: u32) -> String {
    if first == last {
        format!("pick {first}")
    } else {
        format!("picks {first} to {last}")
    }
}

/// "left" or "right".
pub(super) fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
    }
}

/// The sentence with its first letter made large.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// What to try at the next band, for a kind of finding and its sign.
pub(super) fn advice(finding: &Finding) -> &'static str {
    match finding.kind {
        FindingKind::LooseStretch => "Press the fell a little firmer there",
        FindingKind::TightStretch => "Press the fell a little lighter there",
        FindingKind::Drift if finding.size > 0.0 => {
            "Watch the beat towards the finish: measure an inch of picks every hand's breadth and \
             press a little firmer as you go"
        }
        FindingKind::Drift => {
            "Watch the beat towards the finish: measure an inch of picks every hand's breadth and \
             press a little lighter as you go"
        }
        FindingKind::EdgePull => "Leave a little more slack in the turn",
        FindingKind::EdgeLoop => "Draw the turn up until it just touches the outer end",
        FindingKind::Taper if finding.size < 0.0 => {
            "Leave each pick lying at a slant before it is beaten, and hold a ruler across every \
             few centimetres"
        }
        FindingKind::Taper => {
            "Draw each turn up alike, and hold a ruler across every few centimetres"
        }
        FindingKind::MisWoven if finding.across_mm.is_some() => {
            "Look across the open shed before beating"
        }
        FindingKind::MisWoven => "Check the shed against the drawdown before beating",
        FindingKind::RowOrder => "Say the row's number aloud, or move a marker along the drawdown",
    }
}

/// Puts a finding's text together: what is seen, then what to try.
pub(super) fn finish(mut finding: Finding, seen: &str) -> Finding {
    finding.text = format!("{}. {}.", sentence(seen), advice(&finding));
    finding
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::even_places;

    #[test]
    fn picks_are_numbered_from_1() {
        let places = even_places(20, 2.0);
        assert_eq!(picks_within(&places, 0.0, 5.5), Some((1, 3)));
        assert_eq!(picks_within(&places, 37.5, 60.0), Some((20, 20)));
        assert_eq!(picks_within(&places, 1.2, 2.8), None);
    }

    #[test]
    fn places_are_told_in_the_plans_units() {
        assert_eq!(
            stretch(50.8, 76.2, LengthUnits::Inches),
            "2.0 to 3.0 in from the start"
        );
        assert_eq!(
            place(123.4, LengthUnits::Centimetres),
            "12.3 cm from the start"
        );
    }
}
