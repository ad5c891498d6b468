//! Where is the beat looser or tighter than elsewhere?
//!
//! # Method
//! 1. The spacings are a straight line (a creep of the beat is no stretch), steps up or down over stretches, and
//!    the hand's scatter, in which a spacing takes after the one before it.
//! 2. The stretch that explains most of what is left, of at least the picks of a local window and at most half of
//!    the band, is told where it differs by more than the tolerance and by more than its interval, and where chance
//!    is no excuse: the scatter that is left makes such a step anywhere along the band in
//!    [`FALSE_SHARE`](super::FALSE_SHARE) of bands. Then the next one, with those before it taken as known.
//! 3. A stretch ends where its step does, which is where a local mean has fallen to half.
//!
//! Windows of five picks, each held against the chance of its scatter, are what a weaver counts by, but found 115 of 281
//! stretches of drawn bands where this finds 247: a stretch's whole length speaks for it.
//!
//! # Limits
//! A slip shorter than the window isn't told. A stretch that swells and fades is told as one step of its mean.

use super::chance::stands_out;
use super::words;
use crate::beat::{LOCAL_PICKS, PickPlaces};
use crate::measurement::{Finding, FindingKind};
use crate::plan::LengthUnits;
use crate::stats::{LevelRun, gaps, level_run, normal_quantile};
use std::ops::Range;

/// Greatest share of the band's spacings in a stretch: one that holds more is what is usual.
const MOST_SHARE: f64 = 0.5;

/// Longest stretch that is looked for, in spacings: a longer one is a band woven in two ways.
const MOST_SPACINGS: usize = 200;

/// So many stretches are told at most: a band with more has no usual beat.
const MOST_STRETCHES: usize = 6;

/// Looks that a band's spacings are worth: a stretch may begin at each, and be short or long.
const LOOKS_PER_SPACING: f64 = 2.0;

/// One stretch.
struct Stretch {
    /// Its spacings; spacing k lies between picks k and k + 1 (from 0).
    spacings: Range<usize>,
    /// Its picks per inch less the usual ones there, as a share of the usual ones.
    off: f64,
}

/// Loose and tight stretches, in their order along the band.
///
/// `tolerance` is the share that picks per inch may differ by.
#[must_use]
pub fn loose_and_tight(places: &PickPlaces, tolerance: f64, units: LengthUnits) -> Vec<Finding> {
    let spacing = gaps(&places.centres_mm);
    let most = (MOST_SHARE * spacing.len() as f64) as usize;
    let lengths = LOCAL_PICKS - 1..=most.min(MOST_SPACINGS);
    let mut known: Vec<Range<usize>> = Vec::new();
    let mut found: Vec<Stretch> = Vec::new();
    while found.len() < MOST_STRETCHES {
        let Some(run) = level_run(&spacing, &known, lengths.clone()) else {
            break;
        };
        let stretch = Stretch::new(places, &run);
        if !is_no_chance(&run, spacing.len()) || stretch.off.abs() <= tolerance {
            break;
        }
        known.push(run.run);
        if stretch.off.abs() > stretch.doubt(places) {
            found.push(stretch);
        }
    }
    found.sort_by_key(|stretch| stretch.spacings.start);
    found
        .iter()
        .map(|stretch| finding(stretch, places, units))
        .collect()
}

/// Whether scatter makes such a run too seldom, anywhere along the band, to be an excuse.
fn is_no_chance(run: &LevelRun, spacings: usize) -> bool {
    let looks = LOOKS_PER_SPACING * spacings as f64;
    run.t.abs() > stands_out(looks, run.freedom)
}

impl Stretch {
    fn new(places: &PickPlaces, run: &LevelRun) -> Self {
        let spacings = run.run.clone();
        Self {
            off: -run.step * spacings.len() as f64 / length_mm(&spacings, places),
            spacings,
        }
    }

    /// Half of the 95 % interval that the places of its outermost picks leave to `off`.
    fn doubt(&self, places: &PickPlaces) -> f64 {
        let Range { start, end } = self.spacings;
        let u = places.centre_u_mm[start].hypot(places.centre_u_mm[end]);
        normal_quantile(0.975) * u / length_mm(&self.spacings, places)
    }

    /// Where it begins and ends, mm from the start of the body.
    fn reach_mm(&self, places: &PickPlaces) -> (f64, f64) {
        let Range { start, end } = self.spacings;
        let whole = places.length_mm.value;
        let from = (start > 0).then(|| places.centres_mm[start]);
        let to = (end + 1 < places.count()).then(|| places.centres_mm[end]);
        (from.unwrap_or(0.0), to.unwrap_or(whole))
    }
}

/// Length of some spacings, mm.
fn length_mm(spacings: &Range<usize>, places: &PickPlaces) -> f64 {
    places.centres_mm[spacings.end] - places.centres_mm[spacings.start]
}

fn finding(stretch: &Stretch, places: &PickPlaces, units: LengthUnits) -> Finding {
    let (from_mm, to_mm) = stretch.reach_mm(places);
    let loose = stretch.off < 0.0;
    let size = 100.0 * stretch.off.abs();
    let numbers = words::picks_within(places, from_mm, to_mm);
    let finding = Finding {
        kind: if loose {
            FindingKind::LooseStretch
        } else {
            FindingKind::TightStretch
        },
        side: None,
        from_mm,
        to_mm,
        size,
        unit: "%".into(),
        pick: numbers.map(|(first, _)| first),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let which = numbers.map_or_else(|| "the picks".into(), |(a, b)| words::picks(a, b));
    let fewer = if loose { "fewer" } else { "more" };
    let unit = match units {
        LengthUnits::Inches => "inch",
        LengthUnits::Centimetres => "centimetre",
    };
    let seen = format!(
        "{which}, {}, are beaten {}: {size:.0} % {fewer} picks to the {unit} than usual on this band",
        words::stretch(from_mm, to_mm, units),
        if loose {
            "more loosely"
        } else {
            "more tightly"
        },
    );
    words::finish(finding, &seen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::places_of;
    use crate::stats::testing::Normal;

    fn band(cv: f64, seed: u64, factor: impl Fn(f64) -> f64) -> PickPlaces {
        let mut normal = Normal::new(seed);
        let mut at = 0.0;
        let spacing: Vec<f64> = (0..52)
            .map(|_| {
                let step = 2.8 * factor(at) * (1.0 + cv * normal.draw());
                at += step;
                step
            })
            .collect();
        places_of(&spacing)
    }

    #[test]
    fn a_loose_stretch_is_found_where_it_is() {
        for seed in 0..40 {
            let places = band(0.04, seed, |at| {
                if (50.0..70.0).contains(&at) { 1.3 } else { 1.0 }
            });
            let found = loose_and_tight(&places, 0.08, LengthUnits::Centimetres);
            assert_eq!(found.len(), 1, "seed {seed}: {found:?}");
            let one = &found[0];
            assert_eq!(one.kind, FindingKind::LooseStretch);
            assert!(
                one.text.contains("fewer picks to the centimetre"),
                "{one:?}"
            );
            let shared = one.to_mm.min(70.0) - one.from_mm.max(50.0);
            assert!(shared > 12.0, "seed {seed}: {one:?}");
            assert!(one.to_mm - one.from_mm < 36.0, "seed {seed}: {one:?}");
        }
    }

    #[test]
    fn a_tight_stretch_at_the_finish_reaches_the_end() {
        let places = band(0.03, 3, |at| if at > 110.0 { 0.75 } else { 1.0 });
        let found = loose_and_tight(&places, 0.08, LengthUnits::Centimetres);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].kind, FindingKind::TightStretch);
        assert!((found[0].to_mm - places.length_mm.value).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_invented_on_even_bands() {
        let invented: usize = (0..600)
            .map(|seed| {
                let cv = [0.01, 0.04, 0.08][usize::try_from(seed % 3).unwrap_or(0)];
                let places = band(cv, 1000 + seed, |_| 1.0);
                loose_and_tight(&places, 0.08, LengthUnits::Inches).len()
            })
            .sum();
        assert!(invented <= 2, "{invented} of 600");
    }
}
