//! Which places hold the first and the last pick, looked at closely?
//!
//! `count` settles both ends together by signs that count alike at every place. That tells at which phase the
//! rows begin, but a place that shows the weave clearly may still be outvoted by where the cloth was seen to
//! end. Here each end is settled by itself, by signs that are sought where a place shows them most.
//!
//! # Method
//! 1. The signs of each place (`close_signs`).
//! 2. A first pick at some place is worth: what each place from there inward is worth as a pick of the body,
//!    bounded; what the place itself is worth as the outermost, and what the next place outward is worth as none;
//!    and how well its outer edge agrees with the end as it was seen (`seen_ends`).
//! 3. The place of the greatest worth is taken, what the signs of `likeness` say counted with it. How much worse the best pair of ends with another count is
//!    says how sure the count is.
//!
//! The weights are those of a conditional logistic regression (D. `McFadden`, "Conditional Logit Analysis of
//! Qualitative Choice Behavior", 1974) on 2700 ends of 1400 drawn bands, shrunk towards those of an earlier fit. With a
//! fifth of the bands left out in turn 53 ends were wrong (65 without the colours of all places and the turns at the
//! selvedges); of 300 other bands with a plan 288 were counted right, and 284 without those.
//!
//! # Limits
//! Without a drawdown which cells show weft is read from the repeat, and the weights are those that were fitted with
//! one: of the same 300 bands 271 were counted right, and 268 where only clear cells were looked at closely.

use super::close_signs::{Closely, SIGNS};
use super::cover::Cover;
use super::seen_ends::SeenEnd;

/// What each sign of a place is worth for its being a pick of the body, and what is to be outweighed.
const INSIDE: [f64; SIGNS] = [2.9, 0.2, 5.3, -0.3, 0.2, -0.9, 1.0, -10.8, -0.7, -0.7, 0.6];
const INSIDE_AT: f64 = -4.2;

/// A place inside is worth at most this, either way.
const MOST_INSIDE: f64 = 3.0;

/// What each sign is worth for a place's being the outermost pick.
const OUTERMOST: [f64; SIGNS] = [0.1, 3.6, 1.7, 0.4, 2.0, 0.0, 0.9, -10.7, 0.0, 0.9, 0.3];

/// What each sign of the next place outward is worth for its being none.
const BEYOND: [f64; SIGNS] = [0.4, 0.1, 0.2, -4.2, 0.2, 0.7, 0.9, -0.5, 1.1, 1.1, -0.5];

/// What it is worth that there is no next place, for the samples end there: fringe or header was worth less at one in
/// ten of the ends of 1400 drawn bands.
const NONE_BEYOND: f64 = 4.8;

/// What the logarithm of the seen end's density is worth.
const AGREEMENT: f64 = 0.2;

/// What the signs that count alike at every place (`likeness`), and the seen end once more, are worth beside all that.
const EARLIER: f64 = 0.14;

/// So many outermost places are looked at.
const OUTERMOST_PLACES: usize = 40;

/// The reaches of a pick that are tried: first, step, in spacings, and their number.
const REACHES: (f64, f64, usize) = (0.15, 0.05, 15);

/// The places of one end, the outermost first.
struct End<'a> {
    closely: &'a Closely,
    favour: &'a [f64],
    /// Index of each place.
    places: Vec<usize>,
}

/// The first and the last pick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Closed {
    pub(super) first: usize,
    pub(super) last: usize,
    /// How much more these are worth by the close look than the best pair with another count; below 0 where it
    /// alone would have taken that.
    pub(super) lead: f64,
}

/// Settles both ends; `favour` is what speaks for each place by the signs that count alike everywhere, `spacings`
/// are the places', in samples. `None` where there are too few places.
pub(super) fn close_ends(
    (closely, favour): (&Closely, &[f64]),
    spacings: &[f64],
    seen: &[SeenEnd; 2],
    cover: Cover,
) -> Option<Closed> {
    let n = closely.signs.len();
    let some = OUTERMOST_PLACES.min((n / 2).checked_sub(2)?);
    let sides = [(0..n).collect(), (0..n).rev().collect()];
    let (worths, earlier): (Vec<Vec<f64>>, Vec<Vec<f64>>) = sides
        .into_iter()
        .zip(seen)
        .zip([-1.0, 1.0])
        .map(|((places, seen), outward)| {
            let end = End {
                closely,
                favour,
                places,
            };
            let agrees = |&k: &usize| {
                let beyond = outward * (seen.at - closely.middles[k]) / spacings[k];
                agreement(seen, beyond, spacings[k], cover)
            };
            let agreed: Vec<f64> = end.places[..some].iter().map(agrees).collect();
            (end.worths(&agreed), end.earlier(&agreed))
        })
        .unzip();
    let (start, finish) = (
        best(&worths[0], &earlier[0])?,
        best(&worths[1], &earlier[1])?,
    );
    let whole = worths[0][start] + worths[1][finish];
    let mut other = f64::NEG_INFINITY;
    for (a, at_start) in worths[0].iter().enumerate() {
        for (b, at_finish) in worths[1].iter().enumerate() {
            if a + b != start + finish {
                other = other.max(at_start + at_finish);
            }
        }
    }
    Some(Closed {
        first: start,
        last: n - 1 - finish,
        lead: whole - other,
    })
}

fn best(worths: &[f64], earlier: &[f64]) -> Option<usize> {
    let all = |k: usize| worths[k] + EARLIER * earlier[k];
    (0..worths.len()).max_by(|&a, &b| all(a).total_cmp(&all(b)))
}

impl End<'_> {
    /// The same by the signs that count alike everywhere.
    fn earlier(&self, agreed: &[f64]) -> Vec<f64> {
        let mut inside = 0.0;
        let mut worths: Vec<f64> = (0..agreed.len())
            .rev()
            .map(|k| {
                inside += self.favour[self.places[k]];
                inside + agreed[k]
            })
            .collect();
        worths.reverse();
        worths
    }

    /// What a body that begins at each of the outermost places is worth by the close look, `agreed` being how well
    /// each agrees with the end as it was seen.
    fn worths(&self, agreed: &[f64]) -> Vec<f64> {
        let signs = |k: usize| &self.closely.signs[self.places[k]];
        let mut inside = 0.0;
        let mut worths: Vec<f64> = (0..agreed.len())
            .rev()
            .map(|k| {
                let own = (dot(&INSIDE, signs(k)) + INSIDE_AT) / MOST_INSIDE;
                inside += MOST_INSIDE * own.tanh();
                let beyond = k
                    .checked_sub(1)
                    .map_or(NONE_BEYOND, |next| dot(&BEYOND, signs(next)));
                inside + dot(&OUTERMOST, signs(k)) + beyond + AGREEMENT * agreed[k]
            })
            .collect();
        worths.reverse();
        worths
    }
}

fn dot(weights: &[f64; SIGNS], signs: &[f64; SIGNS]) -> f64 {
    weights.iter().zip(signs).map(|(w, s)| w * s).sum()
}

/// Log-density of the end being seen where it was, `beyond` spacings outward of the outermost middle, with the
/// likeliest reach of a pick.
fn agreement(seen: &SeenEnd, beyond: f64, spacing: f64, cover: Cover) -> f64 {
    let (first, step, count) = REACHES;
    let (usual, spread) = cover.reach();
    (0..count)
        .map(|k| {
            let reach = first + k as f64 * step;
            let unusual = (reach - usual) / spread;
            seen.log_density(reach - beyond, spacing) - 0.5 * unusual * unusual
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::super::seen_ends::EndKind;
    use super::*;

    /// A pick as the middle shows it, one that is half hidden, and fringe.
    const PICK: [f64; SIGNS] = [0.5, 0.5, 0.6, 0.4, 1.0, -0.5, 1.0, 0.01, -0.4, -0.3, 0.1];
    const HIDDEN: [f64; SIGNS] = [0.5, 0.2, 0.6, 0.1, 0.9, 0.8, 0.7, 0.03, 0.3, 0.3, 0.0];
    const FRINGE: [f64; SIGNS] = [0.1, 0.0, 0.2, 0.0, 0.1, 2.5, 0.0, 0.1, 1.5, 1.5, -1.5];

    /// Thirty places 14 samples apart, of which 5 to 24 hold a pick; `outermost` is what 5 and 24 show.
    fn closed(outermost: [f64; SIGNS], seen: (f64, f64)) -> Closed {
        closed_between((5, 24), outermost, seen)
    }

    /// The same of others, which all begin and end with `outermost`.
    fn closed_between(
        (first, last): (usize, usize),
        outermost: [f64; SIGNS],
        seen: (f64, f64),
    ) -> Closed {
        let mut signs = vec![FRINGE; 30];
        signs[first..=last].fill(PICK);
        (signs[first], signs[last]) = (outermost, outermost);
        let closely = Closely {
            signs,
            middles: (0..30).map(|k| 14.0 * f64::from(k)).collect(),
        };
        let kind = EndKind {
            cover: Cover::Both,
            header: Some(false),
            foreign: false,
        };
        let ends = [seen.0, seen.1].map(|at| SeenEnd::new(14.0 * at, 1.0, kind));
        let mut favour = [-4.0; 30];
        favour[first..=last].fill(3.0);
        close_ends((&closely, &favour), &[14.0; 30], &ends, Cover::Both).expect("enough places")
    }

    #[test]
    fn an_end_that_was_seen_two_picks_off_doesnt_outvote_clear_picks() {
        let closed = closed(PICK, (6.5, 26.5));
        assert_eq!((closed.first, closed.last), (5, 24));
    }

    #[test]
    fn an_outermost_pick_that_is_half_hidden_counts_and_is_less_sure() {
        let (clear, hidden) = (closed(PICK, (4.5, 24.5)), closed(HIDDEN, (4.5, 24.5)));
        assert_eq!((hidden.first, hidden.last), (5, 24));
        assert!(hidden.lead < clear.lead, "{hidden:?} {clear:?}");
    }

    #[test]
    fn the_last_place_of_all_counts_where_it_shows_a_pick() {
        // The end was seen a pick farther in, as where the cloth is cut off at its last pick.
        let closed = closed_between((0, 29), PICK, (0.6, 28.4));
        assert_eq!((closed.first, closed.last), (0, 29));
    }

    #[test]
    fn fringe_counts_nowhere_even_where_the_end_was_seen_there() {
        let closed = closed(PICK, (3.5, 25.5));
        assert_eq!((closed.first, closed.last), (5, 24));
    }
}
