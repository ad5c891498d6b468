//! Without a plan: how far apart are the picks, and how many lie in the repeat?
//!
//! # Method
//! 1. How strongly the cloth beats at each spacing, all along (`steps`); the spacings that may be the
//!    picks' (`spacings`).
//! 2. What speaks for each of them (`spacing_signs`); the likeliest is taken, and how likely it is said.
//! 3. The repeat is the least number of picks after which the cloth is nearly as like itself as it ever is.
//!
//! # Limits
//! Picks that lie two by two in one shed are taken for one.

use ndarray::{Axis, Slice};
use rayon::prelude::*;

use super::columns::Columns;
use super::options::PickOptions;
use super::pattern::Lines;
use super::pitch::PLAN_SPREAD;
use super::sett::Sett;
use super::spacing_signs::{SIGNS_OF_CLOTH, SpacingSigns};
use super::spacings::{SpacingPath, spacing_paths};
use super::steps::Beats;
use crate::band::BandTrace;
use crate::units::MM_PER_INCH;

/// Share of the cloth left out at each end: header, fringe, and what the ends' shadows do.
const INSET: f64 = 0.04;

/// Spacings are looked for from so much below the least that is accepted, for they creep.
const BELOW_LEAST: f64 = 0.9;

/// The local spacing is looked for so far beyond those found.
const ROOM: f64 = 1.08;

/// Over so many picks the selvedges are smoothed before ends are counted: turns make them run in and out.
const SMOOTH_PICKS: f64 = 1.5;

/// Fewest picks on a band that a spacing is looked for by.
const FEWEST_PICKS: f64 = 9.0;

/// Columns that the rough number of picks is read from, and how far the selvedges are smoothed for them.
const ROUGH_COLUMNS: usize = 48;
const ROUGH_SMOOTH_MM: f64 = 3.75;

/// What the cloth itself says of its picks.
pub(super) struct Unplanned {
    /// Mean spacing, mm.
    pub(super) spacing_mm: f64,
    /// Ends across, not a whole number where it is read from the cloth.
    pub(super) ends: f64,
    /// The repeat.
    pub(super) lines: Lines,
    /// Least and greatest local spacing, as shares of the mean one.
    pub(super) range: (f64, f64),
    /// How likely the spacing is right, 0 to 1.
    pub(super) confidence: f64,
}

/// How many picks lie in an inch, roughly; `None` where too little cloth is in view.
#[must_use]
pub fn rough_picks_per_inch(trace: &BandTrace, options: &PickOptions) -> Option<f64> {
    let columns = Columns::cut(trace, ROUGH_COLUMNS, ROUGH_SMOOTH_MM);
    let found = unplanned(&columns, trace, (None, None), options).ok()?;
    Some(MM_PER_INCH / found.spacing_mm)
}

/// A spacing that the picks of a strip of cloth may have.
pub(crate) struct StripSpacing {
    /// Mean spacing, mm.
    pub(crate) spacing_mm: f64,
    /// What speaks for it.
    pub(crate) signs: [f64; SIGNS_OF_CLOTH],
}

/// The spacings that a strip's picks may have, from `least_px` pixels to a length of which `fewest` lie on it;
/// none where too little cloth is in view. Its sides are no selvedges.
pub(crate) fn strip_spacings(strip: &BandTrace, least_px: f64, fewest: f64) -> Vec<StripSpacing> {
    let columns = Columns::cut(strip, ROUGH_COLUMNS, ROUGH_SMOOTH_MM);
    let step = columns.step_mm;
    let tried = Tried::of(&columns, strip, (None, None), (least_px, fewest));
    tried.map_or_else(
        |_| Vec::new(),
        |tried| {
            let each = tried.paths.iter().zip(&tried.signs);
            each.map(|(path, signs)| StripSpacing {
                spacing_mm: step * path.mean(&tried.beats),
                signs: signs.of_cloth(),
            })
            .collect()
        },
    )
}

/// The spacings that were looked at.
struct Tried {
    beats: Beats,
    sett: Sett,
    paths: Vec<SpacingPath>,
    /// What speaks for each of the paths.
    signs: Vec<SpacingSigns>,
}

impl Tried {
    /// Of the cloth's columns; spacings from `least_px` pixels to a length of which `fewest` lie on the cloth.
    fn of(
        columns: &Columns,
        trace: &BandTrace,
        (planned, ends): (Option<f64>, Option<f64>),
        (least_px, fewest): (f64, f64),
    ) -> Result<Self, String> {
        let (from, to) = trace.cloth_mm;
        let step = columns.step_mm;
        let inset = INSET * (to - from);
        let rows = columns.lab.dim().0;
        let first = columns.row_of(from + inset).max(0.0).ceil() as usize;
        let last = (columns.row_of(to - inset).max(0.0) as usize).min(rows);
        let cloth = columns
            .lab
            .slice_axis(Axis(0), Slice::from(first.min(last)..last))
            .to_owned();
        let sway = &columns.sway_mm[first.min(last)..last];
        let beats = Beats::of(&cloth, sway, BELOW_LEAST * least_px, fewest)
            .ok_or("too little cloth is in view")?;
        let usual = |spacing: f64| {
            planned.map_or(0.0, |n| {
                -0.5 * ((spacing * step * n / MM_PER_INCH).ln() / PLAN_SPREAD).powi(2)
            })
        };
        let paths = spacing_paths(&beats, usual);
        let likeliest = paths.first().ok_or("nothing repeats along the band")?;
        let smooth_mm = SMOOTH_PICKS * step * likeliest.mean(&beats);
        let sett = Sett::of(trace, smooth_mm).ok_or("too little cloth is in view")?;
        let signs = paths
            .par_iter()
            .map(|path| {
                let spacing_mm = step * path.mean(&beats);
                let across = ends.unwrap_or_else(|| sett.ends(spacing_mm));
                let closer = sett.closer(across, spacing_mm);
                SpacingSigns::of((columns, first as f64), &beats, path, closer)
            })
            .collect();
        Ok(Self {
            beats,
            sett,
            paths,
            signs,
        })
    }
}

/// Finds spacing and repeat; `planned` is the planned number of picks per inch, `ends` that of ends, where they
/// are known.
pub(super) fn unplanned(
    columns: &Columns,
    trace: &BandTrace,
    (planned, ends): (Option<f64>, Option<f64>),
    options: &PickOptions,
) -> Result<Unplanned, String> {
    let least = (options.min_px_a_pick, FEWEST_PICKS);
    let Tried {
        beats,
        sett,
        paths,
        signs,
    } = Tried::of(columns, trace, (planned, ends), least)?;
    let worths: Vec<f64> = signs.iter().map(SpacingSigns::worth).collect();
    let best = (0..worths.len())
        .max_by(|&a, &b| worths[a].total_cmp(&worths[b]))
        .ok_or("nothing repeats along the band")?;
    let all: f64 = worths.iter().map(|w| (w - worths[best]).exp()).sum();
    let spacings = paths[best].spacings(&beats);
    let mean = paths[best].mean(&beats);
    let least = spacings.iter().copied().fold(f64::MAX, f64::min);
    let greatest = spacings.iter().copied().fold(0.0, f64::max);
    let spacing_mm = mean * columns.step_mm;
    Ok(Unplanned {
        spacing_mm,
        ends: ends.unwrap_or_else(|| sett.ends(spacing_mm)),
        lines: Lines::flat(signs[best].rows),
        range: (least / mean / ROOM, greatest / mean * ROOM),
        confidence: 1.0 / all,
    })
}
