//! The picks at a spacing, and once more at another where they lie oddly.
//!
//! # Method
//! 1. The cloth is sampled at the planned spacing, or at the one that it shows, and its picks counted.
//! 2. Hands beat evenly, miss their plan by little, and the weft turns at each selvedge once in two picks. Where the gaps
//!    change from one to the next as hands don't, where the picks lie far from the plan, or where another number of picks
//!    agrees better with the turns, a stripe may have been taken for the weave, or a pick been lost
//!    at each stripe: the picks are counted again near the planned spacing, with a path that follows closely and one that
//!    doesn't, at the spacing that the cloth shows without its plan, and at that of the turns. The least odd count is taken.
//!
//! # Limits
//! Without a plan there is no second look.

use std::iter;

use super::cloth::Cloth;
use super::columns::Columns;
use super::counted::{Counted, count, count_evenly};
use super::cover::Cover;
use super::evenness::unevenness;
use super::options::{PickHint, PickOptions};
use super::pattern::{Lines, Pattern};
use super::selvedge_turns::Agreement;
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

/// Turns at the selvedges that agree so much better with another number of picks speak against these.
const TURNS_DISAGREE: f64 = 0.12;

/// What the agreement with the turns counts beside the unevenness.
const TURNS_SHARE: f64 = 0.5;

/// The spacings that are near what the turns show, as shares of it.
const NEAR_TURNS: (f64, f64) = (0.8, 1.25);

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
        // Where the weft hides the warp, nothing but a header would be taken for one.
        let no_header = cover == Cover::Weft && self.hint.header_picks == Some(0);
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
            (self.hint.header_picks, cover),
        )?;
        if trust < 1.0 {
            cloth.level = cloth.level.trusting_less(trust);
        }
        cloth.rarer = rarer_weft(&cloth.raw, cloth.body);
        let planned = (pattern, self.options);
        match pattern {
            Some(_) => count(cloth, self.lines, planned, trace),
            None => count_evenly(cloth, self.lines, planned, trace),
        }
    }

    /// The same picks, or others where these lie as uneven as hands don't beat, far from the plan or out of step with
    /// the turns at the selvedges: at a spacing near the planned one, at that which the cloth shows by itself, or at
    /// that which the turns show.
    fn second_look(&self, first: Counted, planned_mm: f64) -> Counted {
        let looked = |counted: Counted| Look::at(counted, self.columns, planned_mm);
        let first = looked(first);
        if first.unlikely < ODD && first.shown_by_turns().is_none() {
            return first.counted;
        }
        let again = |(spacing_mm, range, trust): (f64, (f64, f64), f64)| {
            self.counted(spacing_mm, range, trust).ok().map(looked)
        };
        let planned = (self.hint.picks_per_inch, self.hint.ends.map(f64::from));
        let by_itself = unplanned(self.columns, self.trace, planned, self.options)
            .ok()
            .map(|found| (found.spacing_mm, found.range, 1.0));
        let near_plan = |trust| Some((planned_mm, NEAR_PLAN, trust));
        let others = [near_plan(1.0), near_plan(STIFF), by_itself];
        let mut others: Vec<Look> = others.into_iter().flatten().filter_map(again).collect();
        let by_turns = iter::once(&first)
            .chain(&others)
            .filter_map(Look::shown_by_turns)
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((_, spacing_mm)) = by_turns {
            let near_turns = [1.0, STIFF].map(|trust| (spacing_mm, NEAR_TURNS, trust));
            others.extend(near_turns.into_iter().filter_map(again));
        }
        let mut best = (first.odd() - LESS_ODD, first.counted);
        for other in others {
            let odd = other.odd();
            if odd < best.0 {
                best = (odd, other.counted);
            }
        }
        best.1
    }
}

/// Picks as they were found, and how unlikely they lie.
struct Look {
    counted: Counted,
    /// How uneven, and how far from the plan.
    unlikely: f64,
    /// How well they agree with the turns at the selvedges.
    turns: Option<Agreement>,
}

impl Look {
    fn at(counted: Counted, columns: &Columns, planned_mm: f64) -> Self {
        let centres_mm = counted.alone_mm();
        let apart = counted.mean_spacing_mm() / planned_mm;
        Self {
            unlikely: unevenness(&centres_mm) + PLAN_SHARE * apart.max(1e-3).ln().powi(2),
            turns: Agreement::of(columns, &centres_mm),
            counted,
        }
    }

    fn odd(&self) -> f64 {
        self.unlikely - TURNS_SHARE * self.turns.map_or(0.0, |turns| turns.own)
    }

    /// The spacing that the turns agree with, mm, after how well they do; `None` where it is about the one found.
    fn shown_by_turns(&self) -> Option<(f64, f64)> {
        let turns = self.turns.filter(|t| t.against() >= TURNS_DISAGREE)?;
        Some((turns.best, self.counted.mean_spacing_mm() / turns.factor))
    }
}
