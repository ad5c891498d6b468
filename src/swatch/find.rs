//! From a laid swatch to its picks, or to the reason why not.

use super::doubts::doubts;
use super::follow::{Phase, follow};
use super::lay::Laid;
use super::pyramid::{Level, pyramid};
use super::spacing::{Choice, choose};
use super::weave::{Lines, Weave};
use crate::measurement::Warning;
use crate::picks::PickTrack;
use crate::stages::Stages;
use crate::stats::{Estimate, robust_sd};
use image::{Rgb, RgbImage};

/// Samples a pick at the size that the picks are followed at, at least where the photo has them.
const FOLLOWED_AT: f64 = 8.0;

/// Standard uncertainty of where the two edges of the rectangle cut the picks, picks.
const CUT_U: f64 = 0.12;

/// Standard uncertainty that one stretch of faint weft adds to the count, picks.
const SLIP_U: f64 = 0.35;

/// Floor of a place's standard uncertainty, picks.
const PLACE_FLOOR: f64 = 0.03;

/// What [`find_swatch_picks`] assumes.
#[derive(Clone, Debug, PartialEq)]
pub struct SwatchOptions {
    /// Least pixels a pick; below it the picks are refused. Default: 4.
    pub min_px_a_pick: f64,
    /// Fewest picks that must be in view. Default: 5.
    pub min_picks: usize,
    /// How much must speak for a spacing (natural logarithm of the marks' powers) for it to be
    /// threads at all. More refuses more pictures. Default: 9.
    pub least_score: f64,
    /// The score below which the threads count as faint and are warned of. Default: 11.
    pub sure_score: f64,
    /// How far it must stand above the best other spacing not to be warned of. More warns of more
    /// pictures. Default: 1.5.
    pub sure_margin: f64,
    /// The same for it to be given at all where its score is below `sure_score`. Default: 1.
    pub least_margin: f64,
    /// Share of the waves across the width that must point the same way. Default: 0.35.
    pub least_together: f64,
    /// Spread of the spacing, as a share of it, up to which picks are even enough to be threads, whatever their
    /// cells show. Default: 0.08.
    pub most_uneven: f64,
    /// How clearly cells must recur from pick to pick, 0 to 1, where the picks are more uneven. Default: 0.25.
    pub least_recurring: f64,
    /// The spread up to which they aren't warned of. Default: 0.07.
    pub sure_even: f64,
    /// How clearly cells must recur not to be warned of where the picks are more uneven. Default: 0.4.
    pub sure_recurring: f64,
    /// How clearly cells must recur not to be warned of, however even the picks. Default: 0.15.
    pub hardly_recurring: f64,
    /// Score from which threads that are much finer than the picks are warned of. Default: 12.5.
    pub finer_score: f64,
}

impl Default for SwatchOptions {
    fn default() -> Self {
        Self {
            min_px_a_pick: 4.0,
            min_picks: 5,
            least_score: 9.0,
            sure_score: 11.0,
            sure_margin: 1.5,
            least_margin: 1.0,
            least_together: 0.35,
            most_uneven: 0.08,
            least_recurring: 0.25,
            sure_even: 0.07,
            sure_recurring: 0.4,
            hardly_recurring: 0.15,
            finer_score: 12.5,
        }
    }
}

/// What the picks rest on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwatchEvidence {
    /// Pixels a pick.
    pub px_a_pick: f64,
    /// How the weft lies against square, radians: positive where it comes later on the weaver's
    /// right.
    pub tilt: f64,
    /// How much speaks for the spacing, natural logarithm.
    pub score: f64,
    /// How far it stands above the best other spacing.
    pub margin: f64,
    /// That other spacing over the one taken.
    pub other: Option<f64>,
    /// Power of the antiphase of neighbouring ends.
    pub antiphase: f64,
    /// Share of the waves across the width that point the same way.
    pub together: f64,
    /// Pixels of a much finer spacing that shows too.
    pub finer_px: Option<f64>,
    /// How clearly cells recur from pick to pick, 0 to 1.
    pub recurring: f64,
    /// Spread of the picks' spacing over its median.
    pub unevenness: f64,
    /// Picks over the rectangle by its parts across.
    pub counts: (f64, f64),
    /// Stretches where the weft is faint.
    pub faint: usize,
}

/// What came of looking for a swatch's picks.
#[derive(Clone, Debug)]
pub struct SwatchOutcome {
    /// The picks whose middle lies in the rectangle; its body is the rectangle.
    pub track: PickTrack,
    /// Length of the rectangle in picks, cut ones by their share.
    pub rows: Estimate,
    /// Picks that lie in the rectangle whole.
    pub whole: usize,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
    /// What the picks rest on.
    pub evidence: SwatchEvidence,
}

/// Finds the picks of a swatch; `planned_mm` is the spacing that a plan says.
///
/// # Errors
///
/// In words, what is missing and what to do: no threads, too coarse, too few.
pub fn find_swatch_picks(
    laid: &Laid,
    planned_mm: Option<f64>,
    options: &SwatchOptions,
    stages: &mut dyn Stages,
) -> Result<SwatchOutcome, String> {
    let straight = &laid.trace.straight;
    let levels = pyramid(straight);
    let planned = planned_mm.map(|mm| mm / straight.step_mm);
    let choice = choose(&levels, planned).ok_or("too little cloth is in view")?;
    let best = choice.best;
    let px_a_pick = 1.0 / best.along;
    refuse_threadless(&choice, px_a_pick, options)?;
    let level = followed(&levels, px_a_pick);
    let phase = follow(level, &best);
    if phase.together < options.least_together {
        return Err(NO_THREADS.into());
    }
    let numbers = numbers(&phase);
    let rows = middles(&numbers, &phase.picks);
    if rows.len() < options.min_picks {
        return Err(format!(
            "only {} picks are in view and {} are needed: take in more of the cloth",
            rows.len(),
            options.min_picks
        ));
    }
    let lines = Lines {
        rows: &rows,
        slope: phase.slope,
        spacing: px_a_pick / level.factor,
    };
    let weave = Weave::of(&level.picture, &lines);
    if weave.unevenness > options.most_uneven && weave.recurring < options.least_recurring {
        return Err(NOT_WOVEN.into());
    }
    let finer = choice.finer.filter(|f| f.score >= options.finer_score);
    let (low, high) = phase
        .counts
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), c| {
            (a.min(*c), b.max(*c))
        });
    let evidence = SwatchEvidence {
        px_a_pick,
        tilt: phase.slope.atan(),
        score: best.score,
        margin: choice.margin(),
        other: choice.other.map(|o| best.along / o.along),
        antiphase: best.pair,
        together: phase.together,
        finer_px: finer.map(|f| 1.0 / f.along),
        recurring: weave.recurring,
        unevenness: weave.unevenness,
        counts: (low, high),
        faint: phase.faint,
    };
    let track = track(laid, level, &phase, (&numbers, &rows));
    if stages.watching() {
        stages.show("5-picks", &picture(laid, &track));
    }
    let spread = robust_sd(&phase.counts).unwrap_or(0.0) / (phase.counts.len() as f64).sqrt();
    let slips = SLIP_U * (phase.faint as f64).sqrt();
    Ok(SwatchOutcome {
        rows: Estimate::new(
            length_in_picks(&track, laid.length_mm),
            spread.hypot(CUT_U).hypot(slips),
            0.0,
        ),
        whole: whole_picks(&track, laid.length_mm),
        warnings: doubts(&evidence, options),
        track,
        evidence,
    })
}

const NO_THREADS: &str = "no rows of threads repeat along this direction: name the direction of \
                          the weaving with --start, light the cloth from one side, and take it \
                          sharp and square";

const NOT_WOVEN: &str = "what repeats here doesn't look woven: its lines lie unevenly and nothing goes over and under \
                         from one to the next. Of cloth, take a piece whose single threads show; other things have no \
                         picks";

/// Refuses what shows no threads, or too fine ones.
fn refuse_threadless(
    choice: &Choice,
    px_a_pick: f64,
    options: &SwatchOptions,
) -> Result<(), String> {
    let faint = choice.best.score < options.sure_score && choice.margin() < options.least_margin;
    if choice.best.score < options.least_score || faint {
        return Err(NO_THREADS.into());
    }
    if px_a_pick < options.min_px_a_pick {
        return Err(format!(
            "a pick covers only {px_a_pick:.1} pixels and {:.0} are needed: go closer, or scan at a \
             higher resolution",
            options.min_px_a_pick
        ));
    }
    Ok(())
}

/// The coarsest size at which a pick still has enough samples, else the finest.
fn followed(levels: &[Level], px_a_pick: f64) -> &Level {
    let fits = |level: &&Level| px_a_pick / level.factor >= FOLLOWED_AT;
    levels.iter().rev().find(fits).unwrap_or(&levels[0])
}

/// The phase at the rectangle's own edges, half a row beyond the outermost middles.
fn ends(phase: &Phase) -> (f64, f64) {
    let n = phase.picks.len();
    let half = |a: usize, b: usize| 0.5 * (phase.picks[b] - phase.picks[a]);
    (
        phase.picks[0] - half(0, 1),
        phase.picks[n - 1] + half(n - 2, n - 1),
    )
}

/// The picks whose middle is in view, by number.
fn numbers(phase: &Phase) -> Vec<f64> {
    let (from, to) = ends(phase);
    let all = from.ceil() as i64..=to.floor() as i64;
    all.map(|k| k as f64).collect()
}

/// The level's row of each of their middles, by one series of phases.
fn middles(numbers: &[f64], series: &[f64]) -> Vec<f64> {
    numbers.iter().map(|k| row_at(series, *k)).collect()
}

/// The picks in millimetres from the rectangle's start: their numbers, and the level's rows of their middles.
fn track(
    laid: &Laid,
    level: &Level,
    phase: &Phase,
    (numbers, rows): (&[f64], &[f64]),
) -> PickTrack {
    let straight = &laid.trace.straight;
    let s_mm = |row: &f64| straight.s0_mm + straight.step_mm * level.finest_row(*row);
    let places = |rows: &[f64]| -> Vec<f64> {
        rows.iter()
            .map(|row| s_mm(row).clamp(0.0, laid.length_mm))
            .collect()
    };
    let (from, to) = ends(phase);
    let centres_mm = places(rows);
    let halves = phase
        .halves
        .each_ref()
        .map(|series| places(&middles(numbers, series)));
    let spacing = laid.length_mm / (to - from).max(1.0);
    let apart: Vec<f64> = halves[0]
        .iter()
        .zip(&halves[1])
        .map(|(a, b)| 0.5 * (a - b))
        .collect();
    let u = robust_sd(&apart)
        .unwrap_or(0.0)
        .hypot(PLACE_FLOOR * spacing);
    PickTrack {
        centre_u_mm: vec![u; centres_mm.len()],
        noise_u_mm: vec![u; centres_mm.len()],
        centres_mm,
        halves_mm: Some((halves[0].clone(), halves[1].clone())),
        rows: None,
        body_mm: (0.0, laid.length_mm),
        body_u_mm: (0.0, 0.0),
        weft_hides_warp: false,
        count_confidence: 1.0,
        odd_cells: Vec::new(),
        own_ends: None,
        weft_slope: Some(phase.slope),
        face: None,
    }
}

/// The fractional row at which the phase first reaches `value`; beyond the ends it goes on evenly.
fn row_at(phase: &[f64], value: f64) -> f64 {
    let n = phase.len();
    let k = phase
        .iter()
        .position(|p| *p >= value)
        .unwrap_or(n)
        .clamp(1, n - 1);
    let step = phase[k] - phase[k - 1];
    if step > 1e-9 {
        k as f64 - 1.0 + (value - phase[k - 1]) / step
    } else {
        k as f64
    }
}

/// The rectangle's length over the mean spacing of its picks.
fn length_in_picks(track: &PickTrack, length_mm: f64) -> f64 {
    let c = &track.centres_mm;
    length_mm * (c.len() - 1) as f64 / (c[c.len() - 1] - c[0])
}

/// The laid picture, start at the left, with the picks' middles drawn across.
fn picture(laid: &Laid, track: &PickTrack) -> RgbImage {
    let straight = &laid.trace.straight;
    let (rows, columns) = straight.lab[0].dim();
    let size = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let mut picture = RgbImage::from_fn(size(rows), size(columns), |x, y| {
        let grey = (2.55 * straight.lab[0][[x as usize, y as usize]]).clamp(0.0, 255.0) as u8;
        Rgb([grey; 3])
    });
    for centre in &track.centres_mm {
        let x = ((centre - straight.s0_mm) / straight.step_mm).round();
        if (0.0..rows as f64).contains(&x) {
            for y in (0..size(columns)).step_by(2) {
                picture.put_pixel(x as u32, y, Rgb([235, 60, 30]));
            }
        }
    }
    picture
}

/// Picks whose both borders lie in the rectangle.
fn whole_picks(track: &PickTrack, length_mm: f64) -> usize {
    let c = &track.centres_mm;
    let last = c.len() - 1;
    let spacing = |k: usize| {
        let (a, b) = (k.saturating_sub(1), (k + 1).min(last));
        (c[b] - c[a]) / (b - a).max(1) as f64
    };
    (0..=last)
        .filter(|&k| c[k] - 0.5 * spacing(k) >= 0.0 && c[k] + 0.5 * spacing(k) <= length_mm)
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phase_that_stands_still_gives_no_wild_place() {
        let phase = [0.1, 0.6, 0.6, 1.1, 1.6];
        assert!((row_at(&phase, 1.0) - 2.8).abs() < 1e-9);
        assert!((row_at(&phase, 0.6) - 1.0).abs() < 1e-9);
        assert!((row_at(&phase, 2.1) - 5.0).abs() < 1e-9);
    }
}
