//! Do the weft's turns lie beyond the selvedge that was followed?
//!
//! A thin weft of nearly the ground's colour, or as grey as a shadow, may be left out where it turns: the outline then
//! follows the outer warp. In the photo such a turn hardly shows; all turns of a selvedge laid over one another do.
//!
//! # Method
//! 1. What lies beside a selvedge, folded over two picks ([`Folded`]).
//! 2. Known colours: cells beyond the selvedge whose colour the cloth just inside has, and no shadow. A shadow's
//!    colours lie on the straight way from the ground's towards black.
//! 3. A second edge: where a phase differs from the others from the selvedge on and up to an edge as sharp as
//!    yarn's. Shadows end softly, and what is printed on the ground doesn't begin at the selvedge.
//! 4. Light that comes and goes: how far the lightness at each distance swings as often as turns come, once in two picks.
//!    Shadows swing with the turns that throw them, and less and less the farther out; turns hold on and end all at once.
//! 5. Any of them says that turns were missed. How far out it reaches bounds what the width lacks.
//!
//! Of 1887 drawn bands, on most of which the bounds were chosen, 22 show one of the signs and 8 of these are within
//! 0.15 mm of the true width; widths outside of their interval went from 78 to 67, and those more than 0.25 mm off
//! without any warning from 20 to 14. Of 300 others 3 show one: two too narrow by 0.15 mm or more, one right. Swinging
//! light came later: of 360 bands that another renderer drew it tells four more, which are 0.3 to 2.8 mm too narrow, and
//! of 1400 drawn bands one more, which is right.
//!
//! # Limits
//! Turns of a colour and a light that the ground has to the last shade, turns that don't come at every second pick,
//! and a hand so uneven that they smear when folded. It takes eight picks.

use std::f64::consts::TAU;

use super::folded::{Folded, PHASES, REACH_PICKS, STEP_SAMPLES, distance, from_shadow};
use crate::band::BandTrace;
use crate::stats::{Smoother, median};

/// So many samples from the selvedge nothing of its blur is left: for colours, and for an edge.
const BLUR_SAMPLES: (f64, f64) = (1.5, 2.5);

/// Turns reach no farther out, and from here on all is ground; in picks.
const FARTHEST_TURN: f64 = 0.75;
const GROUND_PICKS: f64 = 1.0;

/// How far a colour of the cloth is from any shadow, and one beyond the selvedge, CIE L*a*b*.
const NO_SHADOW: (f64, f64) = (4.0, 2.8);

/// A known colour is nearer than so many times the nearest shadow's.
const KNOWN: f64 = 0.6;

/// A turn lies at no more of the phases at one distance.
const MOST_PHASES: f64 = 0.8;

/// Known colours on so much of a pick by a pick are a turn.
const TURN_AREA: f64 = 0.01;

/// Sharpness of a yarn's edge over what is usual there, CIE L*a*b* a step, and the Gaussian (steps) that it is taken by.
const SHARP: f64 = 0.8;
const EDGE_SIGMA: f64 = 1.5;

/// A turn differs from the other phases by so much, CIE L*a*b*, and everywhere by such a share of its greatest difference.
const TURN_DIFFERS: f64 = 2.0;
const EVERYWHERE: f64 = 0.5;

/// Between the selvedge and the turns' end the light swings about as much everywhere, within such a share, and beyond by
/// less.
const HOLDS_ON: f64 = 0.5;

/// From a turn's end so many samples outward the swing falls by so much, CIE L*. Shadows reach less far than turns: the
/// first is asked for at the selvedge, and evenly less farther out, nothing a pick away, but never less than the second.
const END_SAMPLES: f64 = 2.5;
/// See [`END_SAMPLES`].
const END_FALLS: (f64, f64) = (4.0, 1.0);

/// The farthest end of a swing that is looked for, picks.
const FARTHEST_SWING: f64 = 0.9;

/// How far out turns seem to lie beyond the selvedges that were followed, mm; `None` where nothing says so.
///
/// `centres_mm` are the picks' middles in the trace's own `s`.
#[must_use]
pub fn hidden_turns(trace: &BandTrace, centres_mm: &[f64]) -> Option<f64> {
    let sides = Folded::both(trace, centres_mm).into_iter().flatten();
    let told = sides.flat_map(|folded| {
        let signs = [
            folded.known_colours(),
            folded.second_edge(),
            folded.swinging_light(),
        ];
        signs.into_iter().flatten()
    });
    told.max_by(f64::total_cmp)
}

impl Folded {
    /// How far beyond the selvedge colours lie that the cloth has and no shadow, mm; `None` where there are too few.
    fn known_colours(&self) -> Option<f64> {
        let inner = self.innermost_mm();
        let ground = self.ground(GROUND_PICKS);
        let inside = self.steps(
            inner + REACH_PICKS.0 * self.pitch_mm,
            inner - self.sample_mm,
        );
        let cloth: Vec<[f64; 3]> = (0..PHASES)
            .flat_map(|phase| inside.clone().map(move |k| self.colour(phase, k)))
            .filter(|lab| from_shadow(lab, &ground) > NO_SHADOW.0)
            .collect();
        let is_known = |lab: [f64; 3]| {
            let shadow = from_shadow(&lab, &ground);
            let near = |own: &[f64; 3]| distance(&lab, own) < KNOWN * shadow;
            shadow > NO_SHADOW.1 && cloth.iter().any(near)
        };
        let beyond = self.edge_mm.map(|edge| {
            self.steps(
                edge + BLUR_SAMPLES.0 * self.sample_mm,
                inner + FARTHEST_TURN * self.pitch_mm,
            )
        });
        let (mut cells, mut farthest) = (0, 0.0_f64);
        for k in 0..self.at_mm.len() {
            let phases: Vec<usize> = (0..PHASES).filter(|p| beyond[*p].contains(&k)).collect();
            let known: Vec<&usize> = phases
                .iter()
                .filter(|phase| is_known(self.colour(**phase, k)))
                .collect();
            // What all phases show is a blurred selvedge.
            if known.len() as f64 > MOST_PHASES * phases.len() as f64 {
                continue;
            }
            cells += known.len();
            for phase in known {
                farthest = farthest.max(self.at_mm[k] - self.edge_mm[*phase]);
            }
        }
        (cells as f64 * self.cell() > TURN_AREA).then_some(farthest)
    }

    /// How far beyond the selvedge a phase that differs from the others ends sharply, mm.
    fn second_edge(&self) -> Option<f64> {
        let sharp = self.sharpness();
        let usual: Vec<f64> = (0..self.at_mm.len())
            .map(|k| median(&sharp.each_ref().map(|phase| phase[k])).unwrap_or(0.0))
            .collect();
        let outermost = self.outermost_mm();
        let sought = self.steps(
            outermost + BLUR_SAMPLES.1 * self.sample_mm,
            outermost + FARTHEST_TURN * self.pitch_mm,
        );
        let colours = self.usual_colours();
        let mut farthest: Option<f64> = None;
        for (phase, (own, edge)) in sharp.iter().zip(self.edge_mm).enumerate() {
            let differs = |k: usize| distance(&self.colour(phase, k), &colours[k]);
            for k in sought.clone().skip(1) {
                let peaks = k + 1 < sought.end && own[k] >= own[k - 1] && own[k] > own[k + 1];
                let before = self.steps(edge, self.at_mm[k]);
                let within = self.steps(
                    edge + BLUR_SAMPLES.0 * self.sample_mm,
                    self.at_mm[k] - self.sample_mm,
                );
                if !peaks || within.is_empty() {
                    continue;
                }
                let valley = own[before].iter().copied().fold(f64::MAX, f64::min);
                let least = within.clone().map(differs).fold(f64::MAX, f64::min);
                let most = within.map(differs).fold(0.0, f64::max);
                let holds_on = least > EVERYWHERE * most && least > TURN_DIFFERS;
                if holds_on && own[k] - valley.max(usual[k]) > SHARP {
                    let reach = self.at_mm[k] - edge;
                    farthest = Some(farthest.map_or(reach, |f| f.max(reach)));
                }
            }
        }
        farthest
    }

    /// How far beyond the selvedge the light's swinging with the turns ends at once, mm.
    fn swinging_light(&self) -> Option<f64> {
        let swings: Vec<f64> = (0..self.at_mm.len()).map(|k| self.swing(k)).collect();
        let outermost = self.outermost_mm();
        let sought = self.steps(
            outermost + BLUR_SAMPLES.0 * self.sample_mm,
            outermost + FARTHEST_SWING * self.pitch_mm,
        );
        let end = (END_SAMPLES / STEP_SAMPLES) as usize;
        let (mut least, mut most) = (f64::MAX, 0.0_f64);
        let mut reach = None;
        for k in sought.filter(|k| k + end < swings.len()) {
            let swing = swings[k];
            (least, most) = (least.min(swing), most.max(swing));
            let beyond = swings.iter().skip(k + end).copied().fold(0.0, f64::max);
            let out_picks = (self.at_mm[k] - outermost) / self.pitch_mm;
            let falls = (END_FALLS.0 * (1.0 - out_picks)).max(END_FALLS.1);
            let holds_on = least > HOLDS_ON * swing && swing > HOLDS_ON * most;
            if holds_on && beyond < HOLDS_ON * swing && swing - beyond > falls {
                reach = Some(self.at_mm[k] - self.innermost_mm());
            }
        }
        reach
    }

    /// How far the lightness swings once in two picks at a distance, CIE L*.
    fn swing(&self, k: usize) -> f64 {
        let (mut sine, mut cosine) = (0.0, 0.0);
        for phase in 0..PHASES {
            let (s, c) = (TAU * phase as f64 / PHASES as f64).sin_cos();
            let lightness = self.lab[[phase, k, 0]];
            sine += lightness * s;
            cosine += lightness * c;
        }
        2.0 / PHASES as f64 * sine.hypot(cosine)
    }

    /// By how much the colour changes in a step outward, at each phase and distance.
    fn sharpness(&self) -> [Vec<f64>; PHASES] {
        let n = self.at_mm.len();
        let smoother = Smoother::new(n, EDGE_SIGMA);
        std::array::from_fn(|phase| {
            let [light, a, b] = [0, 1, 2].map(|plane| {
                let own: Vec<f64> = (0..n).map(|k| self.lab[[phase, k, plane]]).collect();
                smoother.smooth(&own)
            });
            let colour = |k: usize| [light[k], a[k], b[k]];
            (0..n)
                .map(|k| {
                    let (before, after) = (k.saturating_sub(1), (k + 1).min(n - 1));
                    0.5 * distance(&colour(after), &colour(before))
                })
                .collect()
        })
    }

    /// The usual colour of all phases at each distance.
    fn usual_colours(&self) -> Vec<[f64; 3]> {
        let usual = |k: usize, plane: usize| {
            let all: [f64; PHASES] = std::array::from_fn(|phase| self.lab[[phase, k, plane]]);
            median(&all).unwrap_or(0.0)
        };
        (0..self.at_mm.len())
            .map(|k| [0, 1, 2].map(|plane| usual(k, plane)))
            .collect()
    }
}
