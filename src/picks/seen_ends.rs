//! How far does an end of the body lie from where it was seen?
//!
//! Where the cloth was seen to end the body ends too, unless a header lies between, or warp that
//! stands as close beyond the last pick as before it; where a header's colours were seen to begin, the
//! body mostly ends, unless the body's own colours come and go. How often each of that happens, and
//! how far it leads astray, depends on which of warp and weft is seen and on whether the plan has a
//! header.
//!
//! # Method
//! A density of the error, in spacings, for each kind of end: some bells, as they were found on 920 ends of
//! 460 drawn bands (where the plan has a header on 1086 ends of 543), rounded, and one in thirty anywhere. Where the
//! warp hides the weft and nothing marks the last pick, one bell is at none: so it was in a photo of another renderer.
//!
//! # Limits
//! How warp spreads beyond the last pick is that of the drawn bands.

use std::f64::consts::TAU;

use super::cover::Cover;

/// How often a seen end is wrong by any amount.
const ANYWHERE: f64 = 0.03;

/// Over how many picks such an end may lie.
const ANYWHERE_PICKS: f64 = 20.0;

/// Least standard uncertainty of an end, in picks: the outermost pick's own.
const EDGE_U: f64 = 0.06;

/// What of the uncertainty that an end's own trace gives is still its own: the bells hold the rest.
const TRACED_U: f64 = 0.7;

/// How often, how far off (below 0: seen too far outward) and with what spread, in spacings.
type Bell = (f64, f64, f64);

/// What is known of an end before its picks are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EndKind {
    /// Which of warp and weft is seen.
    pub(crate) cover: Cover,
    /// Whether the plan has a header; `None` where it doesn't say.
    pub(crate) header: Option<bool>,
    /// Whether the colours of a header, or of fringe, were seen to begin there.
    pub(crate) foreign: bool,
}

/// One end as it was seen, and how far the body's may lie from it.
#[derive(Clone, Debug)]
pub(crate) struct SeenEnd {
    /// Where, samples.
    pub(crate) at: f64,
    /// Standard uncertainty by its own trace, samples.
    pub(crate) u: f64,
    bells: Vec<Bell>,
}

impl SeenEnd {
    /// An end of some kind, seen at a sample, with its own standard uncertainty.
    pub(crate) fn new(at: f64, u: f64, kind: EndKind) -> Self {
        let bells = match kind.header {
            Some(header) => bells(kind.cover, header, kind.foreign).to_vec(),
            None => [false, true]
                .iter()
                .flat_map(|header| bells(kind.cover, *header, kind.foreign))
                .map(|&(share, middle, spread)| (0.5 * share, middle, spread))
                .collect(),
        };
        Self { at, u, bells }
    }

    /// Log-density of the end being seen `off` spacings farther inward than it lies; `spacing` in samples.
    pub(crate) fn log_density(&self, off: f64, spacing: f64) -> f64 {
        let u = EDGE_U.hypot(TRACED_U * self.u / spacing);
        let sum: f64 = self
            .bells
            .iter()
            .map(|&(share, middle, spread)| {
                let spread = spread.hypot(u);
                share * (-0.5 * ((off - middle) / spread).powi(2)).exp() / (spread * TAU.sqrt())
            })
            .sum();
        ((1.0 - ANYWHERE) * sum + ANYWHERE / ANYWHERE_PICKS).ln()
    }
}

/// The bells of one kind of end.
fn bells(cover: Cover, header: bool, foreign: bool) -> &'static [Bell] {
    match (cover, header, foreign) {
        (Cover::Weft, false, _) => &[(1.0, 0.0, 0.06)],
        (Cover::Weft, true, false) => &[(0.5, -0.01, 0.06), (0.45, 0.42, 0.18), (0.05, -1.5, 1.0)],
        (Cover::Weft, true, true) => &[(0.97, 0.02, 0.06), (0.03, 0.0, 0.6)],
        (Cover::Both, false, false) => &[(0.75, 0.0, 0.06), (0.25, -0.28, 0.12)],
        (Cover::Both, false, true) => &[(0.65, 0.0, 0.07), (0.2, -0.6, 0.2), (0.15, 0.2, 0.5)],
        (Cover::Both, true, false) => &[(0.8, 0.0, 0.06), (0.15, 0.35, 0.25), (0.05, -1.8, 1.0)],
        (Cover::Both, true, true) => &[(0.95, 0.02, 0.06), (0.05, 0.1, 0.7)],
        (Cover::Warp, false, false) => &[(0.35, 0.0, 0.12), (0.65, -0.7, 0.28)],
        (Cover::Warp, false, true) => &[(0.45, -0.64, 0.68), (0.35, 0.0, 0.1), (0.2, 0.36, 0.1)],
        (Cover::Warp, true, false) => &[(0.3, 0.0, 0.1), (0.7, -3.0, 0.8)],
        (Cover::Warp, true, true) => &[(0.9, 0.03, 0.08), (0.05, -0.4, 0.2), (0.05, 0.4, 0.2)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(cover: Cover, header: Option<bool>, foreign: bool) -> SeenEnd {
        let kind = EndKind {
            cover,
            header,
            foreign,
        };
        SeenEnd::new(100.0, 0.0, kind)
    }

    #[test]
    fn every_kind_of_end_has_a_whole_density() {
        for cover in [Cover::Weft, Cover::Both, Cover::Warp] {
            for header in [None, Some(false), Some(true)] {
                for foreign in [false, true] {
                    let end = end(cover, header, foreign);
                    let whole: f64 = (-1000..1000)
                        .map(|k| 0.01 * end.log_density(0.01 * f64::from(k), 14.0).exp())
                        .sum();
                    assert!((whole - 1.0).abs() < 0.02, "{cover:?} {header:?} {foreign}");
                }
            }
        }
    }

    #[test]
    fn warp_beyond_the_last_pick_is_expected_only_where_the_warp_is_dense() {
        let beyond = |cover| end(cover, Some(false), false).log_density(-0.8, 14.0);
        assert!(beyond(Cover::Warp) > beyond(Cover::Weft) + 2.0);
    }

    #[test]
    fn a_header_in_the_cloth_is_expected_only_where_the_plan_has_one() {
        let beyond = |header| end(Cover::Both, header, false).log_density(-2.5, 14.0);
        assert!(beyond(Some(true)) > beyond(None));
        assert!(beyond(None) > beyond(Some(false)) + 1.0);
    }
}
