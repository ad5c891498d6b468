//! What does a place show, looked at closely?
//!
//! The outermost pick hardly ever lies where the spacing of its neighbours leads to expect it, and what is
//! looked at there is partly fringe. So each place is looked at where it shows most.
//!
//! # Method
//! 1. Each cell's colour on the straight way from the warp's colour (0, of its column) to the weft's (1, the
//!    one of two that is nearer). How far the cells that should show weft lie ahead of those that should show
//!    warp is the place's contrast; it is sought half a spacing about the expected middle.
//! 2. The correlation of the levelled samples with the repeat, sought likewise, and how strong the repeat is in
//!    them where it was expected.
//! 3. Whether the cells that should show weft are rather of a colour that wefts of the middle have than of the
//!    warp's or of the ground's beside, and how far their mean colour lies from those of the middle's picks.
//! 4. The cloth's width, and how much the weft turns at the selvedges (`close_turns`).
//! 5. How unusual the place's colours are (`novelty`), among the kinds of colour of the body and among those of the
//!    whole cloth: a header of a yarn that is in the weave shows others' shares of the same colours.
//!
//! Where the weft hides the warp, no cell shows warp, and which cells are the weft's floats and which the furrows between
//! them is easily mistaken: a pick on, each column shows the other. The floats are the lighter ones. In the middle it
//! makes no difference, but the outermost pick has floats and no furrows.
//!
//! Where both yarns are seen and it isn't known which is the weft, each is taken for it in turn, and what the two say of
//! the weft's colour counts as it speaks against the place: fringe has the one's, and no header has both.
//!
//! All is held against the picks of the middle: contrast and correlation against the twentieth that show them
//! worst, for what is hardly seen there won't be seen better at the end.

use std::ops::Range;

use ndarray::Array2;
use rayon::prelude::*;

use super::cell_colours::Cells;
use super::close_cells::Middle;
use super::close_repeat::Repeat;
use super::close_turns::turns;
use super::cloth::Cloth;
use super::colour_kinds::Kinds;
use super::likeness::Place;
use super::novelty::unusual_colours;
use super::rows::Fit;
use crate::stats::{median, quantile};

/// How many signs there are of a place.
pub(super) const SIGNS: usize = 11;

/// From this contrast on, against the usual one, a place is where it shows most.
const SEEN: f64 = 0.3;

/// The middle's twentieth that shows least is never taken to show less than this.
const LEAST_USUAL: f64 = 0.15;

/// Furrows are so much darker than floats, in the units of [`Cells`].
const DARKER: f64 = 0.3;

/// What is seen of the places.
pub(super) struct Closely {
    /// Of each place: contrast up to half the usual and beyond, likeness to the repeat up to six tenths of the
    /// usual and beyond, known wefts, novelty of the weft's colour, strength of the repeat, difference in width,
    /// how unusual all colours are among the whole cloth's and among the body's, turns at the selvedges.
    pub(super) signs: Vec<[f64; SIGNS]>,
    /// Where each place shows most, samples.
    pub(super) middles: Vec<f64>,
}

/// Where the known wefts and the novelty of the weft's colour stand among the signs.
const KNOWN_WEFTS: usize = 4;
const NOVELTY: usize = 5;

impl Closely {
    /// The weft may also be what `other` takes for it.
    pub(super) fn or_else(&mut self, other: &[WeftSigns]) {
        for (own, other) in self.signs.iter_mut().zip(other) {
            own[KNOWN_WEFTS] = own[KNOWN_WEFTS].min(other.known);
            own[NOVELTY] = own[NOVELTY].max(other.novelty);
        }
    }
}

/// What a place says of the colour of its weft, against what the middle does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct WeftSigns {
    known: f64,
    novelty: f64,
}

/// What each place says of the colour of its weft, by the yarn that `fit` takes for it.
pub(super) fn wefts_of(
    cloth: &Cloth,
    fit: &Fit,
    places: &[Place],
    core: &Range<usize>,
) -> Vec<WeftSigns> {
    let cells = Cells::new(cloth, fit);
    let colours = colours_of(&cells, places);
    let middle = Middle::learn(&cells, (places, &colours), core);
    let seen: Vec<WeftSigns> = places
        .par_iter()
        .zip(&colours)
        .map(|(place, colours)| weft_of(&middle, place, colours))
        .collect();
    wefts_against_the_middle(&seen, core, middle.usual_novelty())
}

/// Whether in the middle the cells that should show weft are darker than the others: where the weft hides the warp, they
/// are the furrows between its floats then, and the floats lie where warp should be.
pub(super) fn furrows_taken_for_weft(
    cloth: &Cloth,
    fit: &Fit,
    places: &[Place],
    core: &Range<usize>,
) -> bool {
    let cells = Cells::new(cloth, fit);
    let mut lightness = [Vec::new(), Vec::new()];
    for place in &places[core.clone()] {
        let colours = cells.colours_of(place);
        for (j, weft) in cells.shown(place) {
            lightness[usize::from(weft)].push(colours[j][0]);
        }
    }
    let [others, weft] = lightness;
    are_darker(&weft, &others)
}

/// Whether some cells are clearly darker than others, by their lightness in units.
fn are_darker(some: &[f64], others: &[f64]) -> bool {
    let usual = median(some).zip(median(others));
    usual.is_some_and(|(some, others)| others - some > DARKER)
}

fn colours_of(cells: &Cells<'_>, places: &[Place]) -> Vec<Vec<[f64; 3]>> {
    places.par_iter().map(|p| cells.colours_of(p)).collect()
}

/// What one place says by itself.
fn weft_of(middle: &Middle<'_>, place: &Place, colours: &[[f64; 3]]) -> WeftSigns {
    WeftSigns {
        known: middle.known(place, colours),
        novelty: middle.novelty(place, colours),
    }
}

fn wefts_against_the_middle(
    seen: &[WeftSigns],
    core: &Range<usize>,
    usual_novelty: f64,
) -> Vec<WeftSigns> {
    let known: Vec<f64> = seen[core.clone()].iter().map(|s| s.known).collect();
    let least_known = quantile(&known, 0.05).unwrap_or(0.0).max(0.1);
    let against = |s: &WeftSigns| WeftSigns {
        known: (s.known / least_known).clamp(0.0, 1.0),
        novelty: bounded_log(s.novelty.max(0.1) / usual_novelty),
    };
    seen.iter().map(against).collect()
}

/// Looks at each place; `core` are places surely inside the body.
pub(super) fn look_closely(
    cloth: &Cloth,
    (template, fit): (&Array2<f32>, &Fit),
    places: &[Place],
    core: &Range<usize>,
) -> Closely {
    let cells = Cells::new(cloth, fit);
    let colours = colours_of(&cells, places);
    let middle = Middle::learn(&cells, (places, &colours), core);
    let repeat = Repeat {
        level: &cloth.level.samples,
        template,
    };
    let [in_all, of_body] = unusual(cloth, places, core);
    let turns = turns(&cloth.beside.sway_mm, places, core);
    let seen: Vec<Seen> = (0..places.len())
        .into_par_iter()
        .map(|n| {
            let place = &places[n];
            let sought = !core.contains(&n);
            let (contrast, shift) = middle.contrast(place);
            let (likeness, gain) = repeat.seen(place, sought);
            Seen {
                contrast,
                shift,
                likeness,
                gain,
                weft: weft_of(&middle, place, &colours[n]),
                width_mm: cloth.beside.width_mm[cloth.nearest(place.middle)].max(0.1),
                unusual: [in_all[n], of_body[n]],
                turns: turns[n],
            }
        })
        .collect();
    against_the_middle(&seen, places, core, middle.usual_novelty())
}

/// How unusual the colours of each place are, among the kinds of colour of the whole cloth and among the body's:
/// logarithms, 0 at the middle's 95th percentile.
fn unusual(cloth: &Cloth, places: &[Place], core: &Range<usize>) -> [Vec<f64>; 2] {
    let raw = &cloth.raw;
    let rows: Vec<(usize, usize)> = places
        .iter()
        .map(|place| place.samples(cloth, (-0.5, 0.5)))
        .collect();
    let (first, outermost) = (rows[0].0, rows[rows.len() - 1].1);
    let kinds = [
        Kinds::in_all(raw, (first, outermost)),
        Kinds::of_body(raw, (rows[core.start].0, rows[core.end - 1].1)),
    ];
    kinds.map(|kinds| {
        let times = unusual_colours(raw, &kinds, &rows, core.clone());
        times.into_iter().map(bounded_log).collect()
    })
}

/// How many times more than usual, as a bounded logarithm.
fn bounded_log(times: f64) -> f64 {
    times.ln().clamp(-1.5, 3.0)
}

/// What is seen of one place by itself.
struct Seen {
    /// The greatest contrast, and how far from the expected middle, spacings.
    contrast: f64,
    shift: f64,
    /// The greatest correlation with the repeat, and its strength where it was expected.
    likeness: f64,
    gain: f64,
    /// Share of the weft's cells that are of a known weft's colour, and its distance from the known ones.
    weft: WeftSigns,
    width_mm: f64,
    /// How unusual its colours are, among the whole cloth's and among the body's; logarithms.
    unusual: [f64; 2],
    /// How much larger the weft's turns are than usual, a weighed logarithm.
    turns: f64,
}

fn against_the_middle(
    seen: &[Seen],
    places: &[Place],
    core: &Range<usize>,
    usual_novelty: f64,
) -> Closely {
    let middle = |of: fn(&Seen) -> f64| seen[core.clone()].iter().map(of).collect::<Vec<f64>>();
    let usual = |of: fn(&Seen) -> f64| median(&middle(of)).unwrap_or(0.0);
    let low = |of: fn(&Seen) -> f64| quantile(&middle(of), 0.05).unwrap_or(0.0);
    let (contrast, gain) = (usual(|s| s.contrast).max(1e-6), usual(|s| s.gain).max(1e-6));
    let least_contrast = (low(|s| s.contrast) / contrast).max(LEAST_USUAL);
    let least_likeness = low(|s| s.likeness).max(LEAST_USUAL);
    let wefts: Vec<WeftSigns> = seen.iter().map(|s| s.weft).collect();
    let wefts = wefts_against_the_middle(&wefts, core, usual_novelty);
    let width = usual(|s| s.width_mm).max(0.1);
    let signs = seen.iter().zip(wefts).map(|(s, weft)| {
        let shown = s.contrast / contrast / least_contrast;
        let like = s.likeness / least_likeness;
        [
            shown.clamp(0.0, 0.5),
            (shown - 0.5).clamp(0.0, 0.5),
            like.clamp(0.0, 0.6),
            (like - 0.6).clamp(0.0, 0.4),
            weft.known,
            weft.novelty,
            (s.gain / gain).clamp(-0.5, 1.5),
            (s.width_mm / width).ln().abs().min(0.4),
            s.unusual[0],
            s.unusual[1],
            s.turns,
        ]
    });
    let middles = seen.iter().zip(places).map(|(s, place)| {
        let shift = if s.contrast / contrast > SEEN {
            s.shift
        } else {
            0.0
        };
        place.middle + shift * place.spacing
    });
    Closely {
        signs: signs.collect(),
        middles: middles.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(contrast: f64, shift: f64) -> Seen {
        Seen {
            contrast,
            shift,
            likeness: 0.9,
            gain: 1.0,
            weft: WeftSigns {
                known: 1.0,
                novelty: 0.1,
            },
            width_mm: 30.0,
            unusual: [-0.4, -0.3],
            turns: 0.1,
        }
    }

    #[test]
    fn a_place_lies_where_it_shows_most_unless_it_shows_nothing() {
        let mut all: Vec<Seen> = (0..20).map(|_| seen(0.8, 0.0)).collect();
        (all[0], all[19]) = (seen(0.02, -0.4), seen(0.7, 0.3));
        let places: Vec<Place> = (0..20)
            .map(|k| Place {
                middle: 14.0 * f64::from(k),
                spacing: 14.0,
                phase: 0.5,
                inward: 1.0,
            })
            .collect();
        let closely = against_the_middle(&all, &places, &(5..15), 0.25);
        assert!((closely.middles[0]).abs() < 1e-9);
        assert!((closely.middles[19] - 14.0 * 19.3).abs() < 1e-9);
        assert!(closely.signs[0][0] < 0.05 && closely.signs[19][1] > 0.3);
    }

    #[test]
    fn furrows_are_told_from_floats_by_their_lightness_and_nothing_from_nothing() {
        let (floats, furrows) = ([9.5, 9.7, 3.0, 9.6], [6.9, 7.1, 12.0, 7.0]);
        assert!(are_darker(&furrows, &floats));
        assert!(!are_darker(&floats, &furrows));
        assert!(!are_darker(&floats, &floats) && !are_darker(&[], &floats));
    }

    #[test]
    fn where_either_yarn_may_be_the_weft_what_speaks_against_a_place_counts() {
        let closely = |known, novelty| Closely {
            signs: vec![[0.5, 0.5, 0.6, 0.4, known, novelty, 1.0, 0.0, 0.0, 0.0, 0.0]],
            middles: vec![7.0],
        };
        let mut fringe = closely(1.0, -0.5);
        fringe.or_else(&[WeftSigns {
            known: 0.1,
            novelty: 2.0,
        }]);
        assert_eq!(fringe.signs, closely(0.1, 2.0).signs);
        let mut header = closely(0.2, 1.5);
        header.or_else(&[WeftSigns {
            known: 0.9,
            novelty: -0.2,
        }]);
        assert_eq!(header.signs, closely(0.2, 1.5).signs);
    }
}
