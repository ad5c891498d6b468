//! The picks of one cloth, as they lie in it, in millimetres.
//!
//! # Method
//! The repeat is followed, the places are told and placed (`interlaced`, `locate`), each with its doubt. Where no
//! drawdown is known there may be two repeats to follow, that of the weave and that of all that is seen,
//! stripes and all. Hands beat evenly, and a repeat that can't be followed loses picks here and counts them twice
//! there: the more even one is taken.

use super::cloth::Cloth;
use super::contrast::Cells;
use super::cover::Cover;
use super::edges::{body_ends, common_shift};
use super::evenness::unevenness;
use super::interlaced::Followed;
use super::locate::{EndsKnown, Located, locate};
use super::options::PickOptions;
use super::pattern::{Lines, Pattern};
use super::phase::Phases;
use super::pitch::SAMPLES_A_PICK;
use super::place::Placed;
use super::repeat::repeat_of;
use super::rows::Fit;
use super::seen_ends::{EndKind, SeenEnd};
use super::settle::{
    GIVE_U, level_rows, level_stripes, second_differences, steady_ends, undo_give,
};
use super::stiffer::followed;
use super::track::PickTrack;
use crate::band::BandTrace;

/// Floor of a place's standard uncertainty, in picks: what is left on drawn bands where neither noise
/// nor neighbours explain it (yarn that isn't round, rows that bow).
const PLACE_FLOOR: f64 = 0.02;

/// The picks of one cloth, followed through one repeat.
pub(super) struct Counted {
    pub(super) cloth: Cloth,
    /// Picks in the repeat.
    pub(super) rows: usize,
    pub(super) phases: Phases,
    pub(super) fit: Fit,
    pub(super) located: Located,
    pub(super) track: PickTrack,
}

impl Counted {
    /// The picks' middles, each placed by itself, mm: a count that is wrong shows in them as it is, where picks that
    /// are placed together share it out.
    pub(super) fn alone_mm(&self) -> Vec<f64> {
        let alone = self.located.alone.iter().copied();
        undo_give(&levelled_mm(&self.cloth, &self.located, &self.fit, alone))
    }

    /// Mean distance from pick to pick, mm.
    pub(super) fn mean_spacing_mm(&self) -> f64 {
        let centres = &self.track.centres_mm;
        let last = centres.len() - 1;
        (centres[last] - centres[0]) / last as f64
    }
}

/// Follows a repeat and finds every pick of the body; `planned` is the pattern, if it is known, and how
/// picks are looked for.
pub(super) fn count(
    mut cloth: Cloth,
    lines: &Lines,
    (pattern, options): (Option<&Pattern>, &PickOptions),
    trace: &BandTrace,
) -> Result<Counted, String> {
    let Followed {
        mut phases, fit, ..
    } = followed(&cloth, lines, pattern).ok_or("too few picks are in view to follow the repeat")?;
    liken_rarer_weft(&mut cloth, &mut phases, &fit);
    let planned = pattern.is_some();
    let ends = ends_known(&cloth, trace, (planned, !options.headers));
    let located = locate(&cloth, &phases, &fit, &ends);
    if located.picks.len() < options.min_picks {
        return Err(format!("only {} picks were found", located.picks.len()));
    }
    let track = track(&cloth, &located, &fit, (trace, planned));
    Ok(Counted {
        cloth,
        rows: lines.rows,
        phases,
        fit,
        located,
        track,
    })
}

/// The same where no drawdown is known.
pub(super) fn count_evenly(
    cloth: Cloth,
    lines: &Lines,
    planned: (Option<&Pattern>, &PickOptions),
    trace: &BandTrace,
) -> Result<Counted, String> {
    let weave = Lines::flat(repeat_of(&cloth));
    if weave.rows == lines.rows {
        return count(cloth, lines, planned, trace);
    }
    let same = cloth.clone();
    let (a, b) = rayon::join(
        || count(same, &weave, planned, trace),
        || count(cloth, lines, planned, trace),
    );
    match (a, b) {
        (Ok(a), Ok(b)) => {
            let better = unevenness(&b.alone_mm()) < unevenness(&a.alone_mm());
            Ok(if better { b } else { a })
        }
        (Ok(one), Err(_)) | (Err(_), Ok(one)) => Ok(one),
        (Err(why), Err(_)) => Err(why),
    }
}

/// Brings the rarer of two wefts to the contrast of the usual one.
fn liken_rarer_weft(cloth: &mut Cloth, phases: &mut Phases, fit: &Fit) {
    let Some(rarer) = cloth.rarer.as_ref().filter(|_| fit.correlation > 0.0) else {
        return;
    };
    let columns = cloth.samples.dim().1 / 3;
    let cells = Cells {
        phases,
        fit,
        body: cloth.body,
    };
    let level = cells.likened(&cloth.level.samples, columns, rarer);
    let samples = cells.likened(&cloth.samples, columns, rarer);
    cloth.liken(level, samples);
    phases.template = phases.template_where(&cloth.level, cloth.body, |_| true);
}

/// Where each end of the body was seen, and how far it may be off.
fn ends_known(cloth: &Cloth, trace: &BandTrace, (planned, by_hand): (bool, bool)) -> EndsKnown {
    let unseen = cloth.cover.end_u() * SAMPLES_A_PICK as f64;
    let seen = |at: f64, u_mm: f64, foreign: bool| {
        let traced = u_mm / cloth.mm_a_sample(at).max(1e-6);
        let kind = EndKind {
            cover: cloth.cover,
            header: cloth.header_planned,
            foreign,
        };
        SeenEnd::new(at, traced.hypot(unseen), kind)
    };
    EndsKnown {
        seen: [
            seen(cloth.edges.0, trace.cloth_u_mm.0, cloth.headers.0),
            seen(cloth.edges.1, trace.cloth_u_mm.1, cloth.headers.1),
        ],
        share_u: if planned { 0.06 } else { 0.2 },
        planned,
        by_hand,
    }
}

/// Places of the picks, given in samples, in millimetres and without what their rows have in common.
fn levelled_mm(
    cloth: &Cloth,
    located: &Located,
    fit: &Fit,
    samples: impl Iterator<Item = f64>,
) -> Vec<f64> {
    let mut places: Vec<f64> = samples.map(|sample| cloth.s_mm(sample)).collect();
    let row_of: Vec<usize> = located.picks.iter().map(|f| f.row).collect();
    level_rows(&mut places, &row_of, fit.expected.len());
    places
}

/// The result in millimetres.
fn track(
    cloth: &Cloth,
    located: &Located,
    fit: &Fit,
    (trace, planned): (&BandTrace, bool),
) -> PickTrack {
    let rows = fit.expected.len();
    let picks = &located.picks;
    let known = planned && fit.correlation > 0.0;
    let placed: Vec<Placed> = picks.iter().map(|f| f.placed).collect();
    let rarer: Vec<bool> = placed.iter().map(|p| cloth.shows_rarer(p.sample)).collect();
    let settled = |placed: &[Placed]| {
        let mut places = levelled_mm(cloth, located, fit, placed.iter().map(|p| p.sample));
        level_stripes(&mut places, &rarer);
        places
    };
    let mut centres_mm = settled(&placed);
    let bend = second_differences(&centres_mm);
    let a_sample = |n: usize| cloth.mm_a_sample(placed[n].sample);
    let noise = |n: usize| placed[n].u * a_sample(n);
    let noise_u_mm: Vec<f64> = (0..picks.len()).map(noise).collect();
    let doubts: Vec<f64> = (0..picks.len())
        .map(|n| {
            let floor = PLACE_FLOOR * located.spacing(n) * a_sample(n);
            noise_u_mm[n].hypot(GIVE_U * bend[n]).hypot(floor)
        })
        .collect();
    let mut centre_u_mm = doubts.clone();
    steady_ends(&mut centres_mm, &mut centre_u_mm, &noise_u_mm);
    let half = |placed: &[Placed]| {
        let mut places = settled(placed);
        steady_ends(&mut places, &mut doubts.clone(), &noise_u_mm);
        places
    };
    let halves_mm = Some((half(&located.halves[0]), half(&located.halves[1])));
    let shift = common_shift(cloth, &centres_mm, trace);
    centres_mm.iter_mut().for_each(|c| *c -= shift);
    let ends = body_ends(cloth, &centres_mm, trace);
    PickTrack {
        centres_mm,
        centre_u_mm,
        noise_u_mm,
        halves_mm,
        rows: known.then(|| picks.iter().map(|f| fit.face.row(rows, f.row)).collect()),
        body_mm: (ends[0].0, ends[1].0),
        body_u_mm: (ends[0].1, ends[1].1),
        weft_hides_warp: cloth.cover == Cover::Weft,
        count_confidence: 0.0,
        odd_cells: Vec::new(),
        own_ends: None,
        weft_slope: None,
        face: known.then(|| fit.face.words().into()),
    }
}
