//! Which colour do turns have that plainly lie beyond the selvedge that was followed?
//!
//! Where the warp covers the weft, the weft shows where it turns and nowhere else: the cloth's colours, learned from well
//! inside, lack it, and the ground's, learned from beside the band, may hold it. Told its colour, the outline is followed
//! anew.
//!
//! # Method
//! 1. What lies beside each selvedge, folded over two picks ([`Folded`]).
//! 2. Where a phase shows a colour that the ground has in no shadow, and the opposite phase far less of it, that is a
//!    turn's colour: turns alternate, fuzz and printed lines don't.
//! 3. All places nearer to that colour than to the ground's in any shadow are the turn. It joins the selvedge, is
//!    broader than what blur makes, and leaves a gap before the next.
//!
//! Of 1400 drawn bands three show such turns. Two widths are right with them (too narrow by 0.9 and 1.7 mm before); the
//! third isn't followed along its selvedges at all. Of 220 bands that another renderer drew, with far greater turns, 22
//! do, which were 1.1 to 4.7 mm too narrow.
//!
//! # Limits
//! Turns as grey as a shadow on a grey ground; [`hidden_turns`](super::hidden_turns) tells some of them, but not their
//! colour. A line of the turns' own colour that is printed along the selvedge.

use std::ops::Range;

use super::folded::{Folded, PHASES, STEP_SAMPLES, distance, from_shadow};
use crate::band::BandTrace;
use crate::stats::median;

/// From here on all is ground, and turns reach no farther, in picks.
const GROUND_PICKS: f64 = 1.15;

/// So many samples from the selvedge little of its blur is left.
const BLUR_SAMPLES: f64 = 1.5;

/// A turn's colour is farther from any shadow's than the ground's own by so much, CIE L*a*b*, and by such a share of what
/// it is darker than the ground: yarn tints its own shadow. The opposite phase shows no more than such a share of it.
const NO_SHADOW: f64 = 3.5;
/// See [`NO_SHADOW`].
const TINTED: f64 = 0.2;
/// See [`NO_SHADOW`].
const OPPOSITE: f64 = 0.5;

/// A turn begins so near to the selvedge and is so broad outward, samples.
const JOINS_SAMPLES: f64 = 5.0;
/// See [`JOINS_SAMPLES`].
const BROAD_SAMPLES: f64 = 3.0;

/// It reaches out so far, picks, fills so much of a square pick, and lies at no more phases than these.
const REACH_PICKS: f64 = 0.15;
/// See [`REACH_PICKS`].
const AREA: f64 = 0.1;
/// See [`REACH_PICKS`].
const MOST_PHASES: usize = 10;

/// Turns that were seen beyond the selvedges.
#[derive(Clone, Debug)]
pub struct SeenTurns {
    /// Their colours, CIE L*a*b*.
    pub lab: Vec<[f32; 3]>,
    /// By how much the mean width grows with them, both sides together, mm.
    pub wider_mm: f64,
}

/// Turns that plainly lie beyond the selvedges that were followed; `None` where none do.
///
/// `centres_mm` are the picks' middles in the trace's own `s`.
#[must_use]
pub fn seen_turns(trace: &BandTrace, centres_mm: &[f64]) -> Option<SeenTurns> {
    let sides: Vec<Folded> = Folded::both(trace, centres_mm)
        .into_iter()
        .flatten()
        .collect();
    let sides: Vec<Beside<'_>> = sides.iter().filter_map(Beside::new).collect();
    let own = sides.iter().filter_map(Beside::colour_of_turns);
    let (_, own) = own.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let mut seen = SeenTurns {
        lab: Vec::new(),
        wider_mm: 0.0,
    };
    for side in &sides {
        side.add_turns(&own, &mut seen);
    }
    Some(seen)
}

/// One folded selvedge, held against its ground.
struct Beside<'a> {
    folded: &'a Folded,
    ground: [f64; 3],
    /// Where turns are sought at each phase: steps.
    beyond: [Range<usize>; PHASES],
}

impl<'a> Beside<'a> {
    fn new(folded: &'a Folded) -> Option<Self> {
        let end_mm = GROUND_PICKS * folded.pitch_mm;
        let beyond = folded
            .edge_mm
            .map(|edge| folded.steps(edge + BLUR_SAMPLES * folded.sample_mm, end_mm));
        beyond.iter().any(|steps| !steps.is_empty()).then(|| Self {
            folded,
            ground: folded.ground(GROUND_PICKS),
            beyond,
        })
    }

    /// How far the colour at a phase and a step lies from the ground's in any shadow.
    fn off_ground(&self, phase: usize, k: usize) -> f64 {
        from_shadow(&self.folded.colour(phase, k), &self.ground)
    }

    /// The phase and the step that show a turn most plainly.
    fn plainest(&self) -> Option<(usize, usize)> {
        let folded = self.folded;
        let outside = folded.steps(GROUND_PICKS * folded.pitch_mm, f64::MAX);
        let bare: Vec<f64> = (0..PHASES)
            .flat_map(|phase| outside.clone().map(move |k| (phase, k)))
            .map(|(phase, k)| self.off_ground(phase, k))
            .collect();
        let least = NO_SHADOW + median(&bare)?;
        let places =
            (0..PHASES).flat_map(|phase| self.beyond[phase].clone().map(move |k| (phase, k)));
        let plain = places.filter_map(|(phase, k)| {
            let off = self.off_ground(phase, k);
            let half = PHASES / 2;
            let opposite =
                (half - 1..=half + 1).map(|by| self.off_ground((phase + by) % PHASES, k));
            let opposite = opposite.sum::<f64>() / 3.0;
            let darker = self.ground[0] - self.folded.colour(phase, k)[0];
            let no_shadow = off > least.max(TINTED * darker);
            (no_shadow && opposite < OPPOSITE * off).then_some((off, (phase, k)))
        });
        plain
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, place)| place)
    }

    /// Whether what lies at a phase and a step is nearer to the turns' colour than to the ground's in any shadow.
    fn is_turn(&self, own: &[f64; 3], phase: usize, k: usize) -> bool {
        let near = distance(&self.folded.colour(phase, k), own);
        self.beyond[phase].contains(&k) && near < self.off_ground(phase, k)
    }

    /// The colour of turns, and how far it lies from the ground's in any shadow; `None` where there are none.
    fn colour_of_turns(&self) -> Option<(f64, [f64; 3])> {
        let folded = self.folded;
        let (phase, k) = self.plainest()?;
        let own = folded.colour(phase, k);
        let inward = (self.beyond[phase].start..=k).rev();
        let outward = k..self.beyond[phase].end;
        let first = inward
            .take_while(|k| self.is_turn(&own, phase, *k))
            .last()?;
        let last = outward
            .take_while(|k| self.is_turn(&own, phase, *k))
            .last()?;
        let broad = (last - first + 1) as f64 * STEP_SAMPLES;
        let joins = (folded.at_mm[first] - folded.edge_mm[phase]) / folded.sample_mm;
        let reach = (folded.at_mm[last] - folded.edge_mm[phase]) / folded.pitch_mm;
        let middle = usize::midpoint(first, last);
        let phases = (0..PHASES).filter(|p| self.is_turn(&own, *p, middle));
        let places = (0..PHASES).flat_map(|p| self.beyond[p].clone().map(move |k| (p, k)));
        let cells = places.filter(|(p, k)| self.is_turn(&own, *p, *k));
        let is_one = broad >= BROAD_SAMPLES
            && joins < JOINS_SAMPLES
            && reach > REACH_PICKS
            && phases.count() <= MOST_PHASES
            && cells.count() as f64 * folded.cell() > AREA;
        is_one.then(|| (self.off_ground(phase, k), own))
    }

    /// Adds the turns of a colour.
    fn add_turns(&self, own: &[f64; 3], seen: &mut SeenTurns) {
        let folded = self.folded;
        for (phase, steps) in self.beyond.iter().enumerate() {
            let turn: Vec<usize> = steps
                .clone()
                .filter(|k| self.is_turn(own, phase, *k))
                .collect();
            let colours = turn.iter().map(|k| folded.colour(phase, *k));
            seen.lab.extend(colours.map(|lab| lab.map(|v| v as f32)));
            let reach = turn
                .last()
                .map(|k| folded.at_mm[*k] - folded.edge_mm[phase]);
            seen.wider_mm += reach.unwrap_or(0.0) / PHASES as f64;
        }
    }
}
