//! From a laid swatch to its picks, or to the reason why not.

use super::as_band::AsBand;
use super::by_phase::ByPhase;
use super::doubts::doubts;
use super::lay::Laid;
use super::pyramid::pyramid;
use super::spacing::{Choice, repeats};
use super::strips::{chosen, slope};
use crate::measurement::Warning;
use crate::picks::PickTrack;
use crate::stages::Stages;
use crate::stats::Estimate;
use image::{Rgb, RgbImage};

/// Standard uncertainty of where the two edges of the rectangle cut the picks, picks.
const CUT_U: f64 = 0.12;

/// Standard uncertainty that one stretch of faint weft adds to the count, picks.
const SLIP_U: f64 = 0.35;

/// Two counts this near, picks, are the same: both cut the outermost picks a little differently.
const SAME_COUNT: f64 = 0.45;

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
    /// How far it must stand above the best other spacing not to be warned of (natural logarithm of the
    /// odds). More warns of more pictures. Default: 2.2, nine to one.
    pub sure_margin: f64,
    /// The same for it to be given at all where its score is below `sure_score`. Default: 1.5.
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
            sure_margin: 2.2,
            least_margin: 1.5,
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
    /// How far it stands above the best other spacing, natural logarithm of the odds.
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
    /// How the picks of the middle, told one by one as a band's are, compare.
    pub told_singly: ToldSingly,
}

/// How two ways of counting compare: pick by pick, as a band's are told, and by their phase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ToldSingly {
    /// The picks can't be told one by one.
    Unclear,
    /// Both ways give as many picks: their places are those by the phase.
    Alike,
    /// So many over the rectangle told one by one, and so many by their phase.
    Otherwise {
        /// Told one by one.
        singly: f64,
        /// By their phase.
        by_phase: f64,
    },
    /// They can be told one by one, but not followed by their phase.
    Alone,
}

impl ToldSingly {
    fn compared([singly, by_phase]: [f64; 2]) -> Self {
        if (singly - by_phase).abs() <= SAME_COUNT {
            Self::Alike
        } else {
            Self::Otherwise { singly, by_phase }
        }
    }
}

/// What came of looking for a swatch's picks.
#[derive(Clone, Debug)]
pub struct SwatchOutcome {
    /// The picks whose middle lies in the rectangle; its body is the rectangle.
    pub track: PickTrack,
    /// Length of the rectangle in picks, cut ones by their share.
    pub rows: Estimate,
    /// One standard uncertainty of the number of picks in view by those passed over or told twice.
    pub slips_u: f64,
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
    let choice = chosen(&repeats(&levels, planned), straight, options.min_px_a_pick)
        .ok_or("too little cloth is in view")?;
    let best = choice.best;
    let by_phase = ByPhase::of(&levels, &best);
    let together = by_phase.phase.together >= options.least_together;
    let slope = if together {
        by_phase.phase.slope
    } else {
        slope(&best)
    };
    let spacing = 1.0 / best.along;
    if choice.margin < options.sure_margin {
        refuse_threadless(&choice, together, options)?;
    }
    let singly = AsBand::of(laid, spacing, slope, options.min_px_a_pick)
        .filter(|singly| singly.centres_mm.len() >= options.min_picks);
    if singly.is_none() {
        refuse_threadless(&choice, together, options)?;
    }
    refuse_too_fine(spacing, options)?;
    if singly.is_none() {
        refuse_few_or_unwoven(&by_phase, options)?;
    }
    let follows = (together && by_phase.count() > 1).then(|| by_phase.track(laid));
    let (track, told_singly) = match (singly, follows) {
        (Some(singly), Some(follows)) => {
            let singly = told_singly(laid, singly, slope);
            let counts = [&singly, &follows].map(|track| length_in_picks(track, laid.length_mm));
            match ToldSingly::compared(counts) {
                ToldSingly::Alike => (follows, ToldSingly::Alike),
                otherwise => (singly, otherwise),
            }
        }
        (Some(singly), None) => (told_singly(laid, singly, slope), ToldSingly::Alone),
        (None, Some(follows)) => (follows, ToldSingly::Unclear),
        (None, None) => return Err(NO_THREADS.into()),
    };
    let finer = choice.finer.filter(|f| f.score >= options.finer_score);
    let evidence = SwatchEvidence {
        px_a_pick: spacing,
        tilt: slope.atan(),
        score: best.score,
        margin: choice.margin,
        other: choice.other.map(|o| best.along / o.along),
        antiphase: best.pair,
        together: by_phase.phase.together,
        finer_px: finer.map(|f| 1.0 / f.along),
        recurring: by_phase.weave.recurring,
        unevenness: by_phase.weave.unevenness,
        counts: by_phase.counts(),
        faint: by_phase.phase.faint,
        told_singly,
    };
    if stages.watching() {
        stages.show("5-picks", &picture(laid, &track));
    }
    let slips_u = match told_singly {
        ToldSingly::Unclear => by_phase
            .count_u()
            .hypot(SLIP_U * (evidence.faint as f64).sqrt()),
        ToldSingly::Alike => 0.0,
        ToldSingly::Otherwise { singly, by_phase } => 0.5 * (singly - by_phase).abs(),
        ToldSingly::Alone => SLIP_U,
    };
    Ok(SwatchOutcome {
        rows: Estimate::new(
            length_in_picks(&track, laid.length_mm),
            slips_u.hypot(CUT_U),
            0.0,
        ),
        slips_u,
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

/// Refuses what shows no threads.
fn refuse_threadless(
    choice: &Choice,
    together: bool,
    options: &SwatchOptions,
) -> Result<(), String> {
    let margin = choice.margin.max(choice.margin_by_marks);
    let faint = choice.best.score < options.sure_score && margin < options.least_margin;
    if choice.best.score < options.least_score || faint || !together {
        return Err(NO_THREADS.into());
    }
    Ok(())
}

/// Refuses too few picks, and what doesn't look woven.
fn refuse_few_or_unwoven(by_phase: &ByPhase<'_>, options: &SwatchOptions) -> Result<(), String> {
    if by_phase.count() < options.min_picks {
        return Err(format!(
            "only {} picks are in view and {} are needed: take in more of the cloth",
            by_phase.count(),
            options.min_picks
        ));
    }
    let weave = &by_phase.weave;
    if weave.unevenness > options.most_uneven && weave.recurring < options.least_recurring {
        return Err(NOT_WOVEN.into());
    }
    Ok(())
}

/// Refuses picks of too few pixels.
fn refuse_too_fine(px_a_pick: f64, options: &SwatchOptions) -> Result<(), String> {
    if px_a_pick < options.min_px_a_pick {
        return Err(format!(
            "a pick covers only {px_a_pick:.1} pixels and {:.0} are needed: go closer, or scan at a \
             higher resolution",
            options.min_px_a_pick
        ));
    }
    Ok(())
}

/// The picks told one by one, in millimetres from the rectangle's start.
fn told_singly(laid: &Laid, singly: AsBand, slope: f64) -> PickTrack {
    PickTrack {
        centre_u_mm: singly.u_mm,
        noise_u_mm: singly.noise_u_mm,
        centres_mm: singly.centres_mm,
        body_mm: (0.0, laid.length_mm),
        count_confidence: 1.0,
        weft_slope: Some(slope),
        ..PickTrack::default()
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
