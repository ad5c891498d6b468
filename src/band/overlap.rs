//! How much of the cloth could be ground by its colour, and how dark may a shadow then be thought?
//!
//! A cast shadow is ground in less light. Yarn of the ground's own hue looks like that too: in a photo without
//! colour, any yarn darker than the ground does.
//!
//! # Method
//! 1. The share of the cloth's colours, from well inside, that ground in some shadow explains about as well.
//! 2. While that is more than [`MOST_HIDDEN`], shadows are thought to be less dark. What is darker is cloth
//!    then, or a shadow that is taken for it: the selvedges' doubt says so (`doubt`).
//! 3. What is still hidden once hardly any shadow is believed in has the ground's own colour.
//! 4. The kind of cloth that is most like ground in the light: turns of such a yarn are easily missed.

use super::colour_model::{Colour, ColourModel};
use super::likeness::DEAD_ODDS;

/// How dark a shadow gets, as a factor on L* + 16: about 0.15 of the light.
const DARKEST: f32 = 0.53;
/// By how much shadows are thought lighter at a time, and the lightest.
const LIGHTER: (f32, f32) = (0.07, 0.95);
/// Share of the cloth that may be hidden: its furrows often are.
const MOST_HIDDEN: f32 = 0.15;

/// What colour can't tell apart.
#[derive(Clone, Copy, Debug)]
pub(super) struct Overlap {
    /// Share of the cloth that could be ground in some shadow.
    pub hidden: f32,
    /// Share that could be ground in such shadows as are believed in.
    pub still_hidden: f32,
    /// The darkest shadow that is believed in, as a factor on L* + 16.
    pub darkest: f32,
    /// Log odds of cloth, against ground in the light, of the yarn that is most like it.
    pub likest: f32,
}

impl Overlap {
    /// Before anything is known: shadows get as dark as they may.
    pub(super) const NONE: Self = Self {
        hidden: 0.0,
        still_hidden: 0.0,
        darkest: DARKEST,
        likest: f32::INFINITY,
    };

    /// How much darker shadows could be than what is believed in, from 0 to 1.
    pub(super) fn shadows_doubted(&self) -> f32 {
        (self.darkest - DARKEST) / (LIGHTER.1 - DARKEST)
    }

    /// Of a model and the colours that it has learned its cloth from; `darkest` in the model is changed.
    pub(super) fn settle(model: &mut ColourModel, cloth: &[Colour]) {
        let mut hidden = share_hidden(model, cloth);
        model.overlap.hidden = hidden;
        while hidden > MOST_HIDDEN && model.overlap.darkest < LIGHTER.1 {
            let lighter = model.overlap.darkest + LIGHTER.0;
            model.overlap.darkest = lighter.min(LIGHTER.1);
            hidden = share_hidden(model, cloth);
        }
        model.overlap.still_hidden = hidden;
        let lit = model.odds_against_lit(&model.cloth_means());
        model.overlap.likest = lit.into_iter().fold(f32::INFINITY, f32::min);
    }
}

fn share_hidden(model: &ColourModel, cloth: &[Colour]) -> f32 {
    let any = model.odds_of(cloth);
    any.iter().filter(|odds| **odds < DEAD_ODDS).count() as f32 / any.len().max(1) as f32
}

#[cfg(test)]
mod tests {
    use super::super::colour_model::Seen;
    use super::*;

    fn spread(l: f64, a: f64, b: f64) -> Vec<Colour> {
        let jitter = |i: usize| ((i * 37 % 11) as f64 - 5.0) / 5.0;
        let one = |i: usize| Colour::new(l + 3.0 * jitter(i), a + jitter(i + 3), b + jitter(i + 7));
        (0..400).map(one).collect()
    }

    fn learned(ground: &[Colour], cloth: &[Colour]) -> Option<ColourModel> {
        let seen = Seen {
            ground,
            cloth,
            turns: &[],
        };
        ColourModel::learn(seen, 0.0)
    }

    /// Yarn without colour, lit and in its furrows.
    fn grey_yarn() -> Vec<Colour> {
        (0..400)
            .map(|i| Colour::new(62.0 + f64::from(i * 7 % 30), 0.0, 0.0))
            .collect()
    }

    fn paper() -> Vec<Colour> {
        (0..400)
            .map(|i| Colour::new(109.0 + 0.1 * f64::from(i * 7 % 20), 0.0, 0.0))
            .collect()
    }

    #[test]
    fn blue_yarn_on_paper_leaves_shadows_as_dark_as_they_get() {
        let model = learned(&spread(110.0, 0.0, 2.0), &spread(70.0, 3.0, -30.0));
        let overlap = model.expect("both have samples").overlap;
        assert!(overlap.hidden < 0.02, "{overlap:?}");
        assert!(overlap.shadows_doubted() < 0.01, "{overlap:?}");
        assert!(overlap.likest > 3.0, "{overlap:?}");
    }

    #[test]
    fn grey_yarn_on_paper_is_no_shadow() {
        let model = learned(&paper(), &grey_yarn());
        let overlap = model.expect("both have samples").overlap;
        assert!(overlap.hidden > 0.5, "{overlap:?}");
        assert!(overlap.still_hidden < 0.15, "{overlap:?}");
        assert!(
            (0.2..0.9).contains(&overlap.shadows_doubted()),
            "{overlap:?}"
        );
    }

    #[test]
    fn yarn_of_the_ground_s_colour_stays_hidden() {
        let model = learned(&spread(110.0, 0.0, 0.0), &spread(109.0, 0.0, 0.0));
        let overlap = model.expect("both have samples").overlap;
        assert!(overlap.still_hidden > 0.5, "{overlap:?}");
        assert!(overlap.likest < DEAD_ODDS, "{overlap:?}");
    }
}
