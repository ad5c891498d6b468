//! The picks at a spacing, and once more at another where they lie oddly.
//!
//! # Method
//! 1. The cloth is sampled at the planned spacing, or at the one that it shows, and its picks counted.
//! 2. Hands beat evenly and miss their plan by little. Where the gaps change from one to the next as hands don't, or
//!    where the picks lie far from the plan, a stripe may have been taken for the weave, or a pick been lost
//!    at each stripe: the picks are counted again near the planned spacing, with a path that follows closely and one that
//!    doesn't, and at the spacing that the cloth shows without its plan. The least odd count is taken.
//!
//! # Limits
//! Without a plan there is no second look.

use super::cloth::Cloth;
use super::columns::Columns;
use super::counted::{Counted, count, count_evenly};
use super::cover::Cover;
use super::evenness::unevenness;
use super::options::{PickHint, PickOptions};
use super::pattern::{Lines, Pattern};
use super::stripes::rarer_weft;
use super::unplanned::unplanned;
use crate::band::BandTrace;

/// Picks that lie less oddly than this are believed at once.
const ODD: f64 = 0.25;

/// Others are taken only where they lie so much less oddly.
const LESS_ODD: f64 = 0.05;

/// What the square of the distance from the plan, a logarithm, counts beside the unevenness.
const PLAN_SHARE: f64 = 4.0;

/// What rows count on a stiff path.
const STIFF: f64 = 0.3;

/// The spacings that are near the plan, as shares of the planned one.
const NEAR_PLAN: (f64, f64) = (0.84, 1.2);

/// What picks are sought by.
pub(super) struct Sought<'a> {
    pub(super) hint: &'a PickHint,
    pub(super) options: &'a PickOptions,
    pub(super) lines: &'a Lines,
    pub(super) pattern: Option<&'a Pattern>,
    pub(super) columns: &'a Columns,
    pub(super) trace: &'a BandTrace,
    /// Ends across.
    pub(super) across: f64,
}

impl Sought<'_> {
    /// The picks about so far apart, looked at a second time where they lie oddly and there is a plan.
    pub(super) fn counted_twice(
        &self,
        spacing_mm: f64,
        range: (f64, f64),
    ) -> Result<Counted, String> {
        let first = self.counted(spacing_mm, range, 1.0)?;
        let planned = self.pattern.is_some() && self.hint.picks_per_inch.is_some();
        Ok(if planned {
            self.second_look(first, spacing_mm)
        } else {
            first
        })
    }

    /// The picks about so far apart, sought between a least and a greatest share of that.
    fn counted(&self, spacing_mm: f64, range: (f64, f64), trust: f64) -> Result<Counted, String> {
        let (pattern, trace) = (self.pattern, self.trace);
        let cover = Cover::of(trace, self.across, spacing_mm);
        let header_planned = self.hint.header_picks.map(|picks| picks > 0);
        // Where the weft hides the warp, nothing but a header would be taken for one.
        let no_header = cover == Cover::Weft && header_planned == Some(false);
        let sampling = PickOptions {
            headers: self.options.headers && !no_header,
            spacing_range: range,
            ..self.options.clone()
        };
        let lines_and_pattern = (self.lines, pattern);
        let mut cloth = Cloth::sample(
            self.columns,
            trace,
            spacing_mm,
            lines_and_pattern,
            &sampling,
        )?;
        if trust < 1.0 {
            cloth.level = cloth.level.trusting_less(trust);
        }
        (cloth.cover, cloth.header_planned) = (cover, header_planned);
        cloth.rarer = rarer_weft(&cloth.raw, cloth.body);
        let planned = (pattern, self.options);
        match pattern {
            Some(_) => count(cloth, self.lines, planned, trace),
            None => count_evenly(cloth, self.lines, planned, trace),
        }
    }

    /// The same picks, or others where these lie as uneven as hands don't beat, or far from the plan: at
    /// a spacing near the planned one, or at that which the cloth shows by itself.
    fn second_look(&self, first: Counted, planned_mm: f64) -> Counted {
        let doubt = oddness(&first, planned_mm);
        if doubt < ODD {
            return first;
        }
        let planned = (self.hint.picks_per_inch, self.hint.ends.map(f64::from));
        let by_itself = unplanned(self.columns, self.trace, planned, self.options)
            .ok()
            .map(|found| (found.spacing_mm, found.range, 1.0));
        let near_plan = |trust| Some((planned_mm, NEAR_PLAN, trust));
        let others = [near_plan(1.0), near_plan(STIFF), by_itself];
        let mut best = (doubt - LESS_ODD, first);
        for (spacing_mm, range, trust) in others.into_iter().flatten() {
            if let Ok(other) = self.counted(spacing_mm, range, trust) {
                let odd = oddness(&other, planned_mm);
                if odd < best.0 {
                    best = (odd, other);
                }
            }
        }
        best.1
    }
}

/// How unlikely picks lie: how uneven from gap to gap, and how far from the plan.
fn oddness(counted: &Counted, planned_mm: f64) -> f64 {
    let centres = counted.alone_mm();
    let gaps = (centres.len() - 1) as f64;
    let mean = (centres[centres.len() - 1] - centres[0]) / gaps;
    unevenness(&centres) + PLAN_SHARE * (mean / planned_mm).max(1e-3).ln().powi(2)
}
