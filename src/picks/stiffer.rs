//! The repeat followed along the cloth, less closely where that is needed.
//!
//! A path that follows the samples closely loses a pick, or counts one twice, where a stripe's weft turns light and
//! dark round; what it learns that way fits itself. A path that trusts the samples less goes on as evenly as hands do.
//!
//! # Method
//! 1. The repeat is followed as usual (`interlaced`).
//! 2. Where its gaps change from one to the next more than hands make them, it is followed again by stiffer
//!    paths, and what those learnt once more as closely as usual.
//! 3. The path is taken that is least odd: uneven, or unlike the drawdown.

use rayon::prelude::*;

use super::cloth::Cloth;
use super::evenness::unevenness;
use super::guessed::guessed;
use super::interlaced::{Followed, follow_again, followed_through};
use super::pattern::{Lines, Pattern};

/// Hands beat more evenly than this: mean change of the logarithm from one gap to the next.
const UNEVEN: f64 = 0.22;

/// Being more even than this is no merit.
const EVEN: f64 = 0.1;

/// What correlation with the drawdown counts beside that.
const LIKENESS: f64 = 0.5;

/// Another path is taken where it is so much less odd.
const LESS_ODD: f64 = 0.05;

/// Shares of their trust that rows keep on stiffer paths.
const STIFFER: [f64; 2] = [0.3, 0.1];

/// The repeat as it lies along the cloth; `None` where too few picks are in view.
pub(crate) fn followed(
    cloth: &Cloth,
    lines: &Lines,
    pattern: Option<&Pattern>,
) -> Option<Followed> {
    let usual = followed_through(cloth, lines, pattern, &cloth.level)?;
    let uneven = usual.unevenness(cloth.body);
    if uneven < UNEVEN {
        return Some(usual);
    }
    let stiffer: Vec<Followed> = STIFFER
        .par_iter()
        .filter_map(|share| {
            let level = cloth.level.trusting_less(*share);
            followed_through(cloth, lines, pattern, &level)
        })
        .collect();
    // What a stiff path learnt may be followed as closely as usual.
    let closely = stiffer.iter().filter_map(|stiff| {
        let known = (stiff.phases.clone(), stiff.fit.clone());
        let own = pattern.is_none().then(|| guessed(&stiff.phases.template));
        let pattern = pattern.or(own.as_ref())?;
        let rarer = cloth.rarer.as_deref();
        Some(follow_again(
            &cloth.level,
            cloth.body,
            pattern,
            rarer,
            known,
        ))
    });
    let mut best = (oddness(&usual, cloth.body) - LESS_ODD, usual);
    let closely: Vec<Followed> = closely.collect();
    for followed in closely.into_iter().chain(stiffer) {
        let odd = oddness(&followed, cloth.body);
        if odd < best.0 {
            best = (odd, followed);
        }
    }
    Some(best.1)
}

/// How uneven a path is, beyond what hands may be, and how little of the drawdown it shows.
fn oddness(followed: &Followed, body: (usize, usize)) -> f64 {
    followed.unevenness(body).max(EVEN) - LIKENESS * followed.fit.correlation
}

impl Followed {
    /// How much one gap between picks differs from the next inside the body, mean of the logarithms.
    pub(crate) fn unevenness(&self, (from, to): (usize, usize)) -> f64 {
        let picks = &self.phases.picks[from..to];
        let mut places = Vec::new();
        for i in 1..picks.len() {
            if picks[i].floor() > picks[i - 1].floor() {
                let passed = picks[i].floor();
                places.push(i as f64 - 1.0 + (passed - picks[i - 1]) / (picks[i] - picks[i - 1]));
            }
        }
        unevenness(&places)
    }
}
