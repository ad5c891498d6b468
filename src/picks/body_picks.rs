//! Which of the places that the followed phase passes hold a pick of the body?
//!
//! # Method
//! 1. Where the phase passes a row's middle there is a place; those that it passed over are put in (`passed_over`),
//!    and the places continued evenly at both ends.
//! 2. Where in its pick a phase lies isn't always sure (`begins`): the likely phases are tried, each place judged
//!    (`likeness`), both ends settled together (`count`), and the likeliest phase taken.
//! 3. Each end is then settled by itself, its places looked at closely (`close_signs`, `close_ends`).

use std::ops::Range;

use rayon::prelude::*;

use super::begins::Begins;
use super::close_ends::{Closed, close_ends};
use super::close_signs::{furrows_taken_for_weft, look_closely, wefts_of};
use super::cloth::Cloth;
use super::count::{Places, Settled, settle};
use super::count_doubt::{CloseLook, CountSigns};
use super::cover::Cover;
use super::likeness::{BOUNDS, Judged, Place, judge};
use super::locate::{EndsKnown, Found, lines};
use super::passed_over::filled;
use super::phase::{Phases, STATES_A_PICK};
use super::place::{Placed, spacing_around};
use super::rows::Fit;

/// A phase whose log-density is so far below the likeliest's isn't tried.
const LEAST_PRIOR: f64 = -4.0;

/// What a phase's log-density counts beside what speaks for its picks, whose signs go together: on 700 drawn bands the
/// phase was off by more than a fifth in 35 if both counted alike, and in 9 so.
const PHASE_WORTH: f64 = 3.0;

/// The places, and which hold a pick, where the first row begins at one phase.
struct Tried {
    found: Vec<Found>,
    settled: Settled,
    /// What speaks for and against each place.
    judged: Judged,
    /// The fit, moved to that phase.
    fit: Fit,
    /// How likely the phase is, a logarithm.
    prior: f64,
}

impl Tried {
    /// What the best picks of another number than `count` are worth, the phase's own likelihood left out.
    fn other(&self, count: usize) -> f64 {
        if self.settled.last - self.settled.first == count {
            self.settled.other
        } else {
            self.settled.worth
        }
    }

    /// The same looked at closely; `None` where the cells aren't seen, or a person set the ends.
    fn closed(&self, cloth: &Cloth, phases: &Phases, ends: &EndsKnown) -> Option<Closed> {
        if ends.by_hand || self.fit.correlation <= 0.0 {
            return None;
        }
        let places = places(&self.found, &self.fit);
        let core = core(places.len());
        let weft_faced = cloth.cover == Cover::Weft;
        let furrows_for_weft =
            weft_faced && furrows_taken_for_weft(cloth, &self.fit, &places, &core);
        let fit = if furrows_for_weft {
            &self.fit.with_yarns_exchanged()
        } else {
            &self.fit
        };
        let mut closely = look_closely(cloth, (&phases.template, fit), &places, &core);
        // Without a drawdown it is only guessed which of the two yarns is the weft, unless one is all that shows.
        if !ends.planned && !weft_faced {
            let exchanged = fit.with_yarns_exchanged();
            closely.or_else(&wefts_of(cloth, &exchanged, &places, &core));
        }
        let spacings: Vec<f64> = places.iter().map(|place| place.spacing).collect();
        close_ends(
            (&closely, &self.judged.favour),
            &spacings,
            &ends.seen,
            cloth.cover,
        )
    }

    /// What the count of these picks rests on; `other` is the worth of the best ones of another number before they
    /// were looked at closely.
    fn signs(
        &self,
        (first, last): (usize, usize),
        other: f64,
        closed: Option<Closed>,
        phase_u: f64,
    ) -> CountSigns {
        let Judged { favour, against } = &self.judged;
        let before = self.settled.last - self.settled.first;
        let beyond = [first.checked_sub(1), Some(last + 1)].map(|k| favour.get(k?).copied());
        CountSigns {
            lead: self.settled.worth - other,
            close: closed.map(|closed| CloseLook {
                lead: closed.lead,
                moved: before != closed.last - closed.first,
            }),
            against_outermost: against[first].max(against[last]),
            against_next: against[first + 1].max(against[last - 1]),
            for_beyond: beyond.into_iter().flatten().fold(BOUNDS.0, f64::max),
            phase_u,
        }
    }
}

/// The picks of the body, the phase at which the first row begins, and what their number rests on.
///
/// Each likely phase is tried, and the ends of the cloth have their say.
pub(super) fn of_the_body(
    cloth: &Cloth,
    phases: &Phases,
    fit: &Fit,
    ends: &EndsKnown,
) -> (Vec<Found>, f64, Option<CountSigns>) {
    let template = phases.template_of(&cloth.raw, cloth.body);
    let begins = Begins::seen(&template, fit, cloth.cover);
    let tried: Vec<Tried> = begins
        .phases(LEAST_PRIOR)
        .into_par_iter()
        .filter_map(|(offset, prior)| {
            let fit = Fit {
                offset,
                ..fit.clone()
            };
            let (found, judged, settled) = bounded(cloth, phases, &fit, ends)?;
            Some(Tried {
                found,
                settled,
                judged,
                fit,
                prior,
            })
        })
        .collect();
    let worth = |t: &Tried| t.settled.worth + PHASE_WORTH * t.prior;
    let Some(best) = tried.iter().max_by(|a, b| worth(a).total_cmp(&worth(b))) else {
        return (crossings(phases, fit), fit.offset, None);
    };
    let Settled { first, last, .. } = best.settled;
    let others = tried.iter().map(|t| t.other(last - first));
    let other = others.fold(f64::NEG_INFINITY, f64::max);
    let closed = best.closed(cloth, phases, ends);
    let (first, last) = closed.map_or((first, last), |c| (c.first, c.last));
    (
        best.found[first..=last].to_vec(),
        best.fit.offset,
        Some(best.signs((first, last), other, closed, begins.u())),
    )
}

/// All places with the first and last that hold a pick; `None` where there are too few.
fn bounded(
    cloth: &Cloth,
    phases: &Phases,
    fit: &Fit,
    ends: &EndsKnown,
) -> Option<(Vec<Found>, Judged, Settled)> {
    let rows = fit.expected.len();
    let mut found = filled(&crossings(phases, fit), rows);
    if found.len() < 8 {
        return None;
    }
    let mut judged = judge_all(cloth, phases, fit, &found);
    // Beyond the last place that looks like a pick the path followed nothing: go on evenly instead.
    let sure = |k: &usize| judged.favour[*k] > 0.0 && judged.favour[*k + 1] > 0.0;
    let pairs = 0..found.len() - 1;
    let first = pairs.clone().find(sure).unwrap_or(0);
    let last = pairs.rev().find(sure).map_or(found.len() - 1, |k| k + 1);
    if last >= first + 6 {
        found = continued(&found[first..=last], rows, cloth.samples.dim().0 as f64);
        judged = judge_all(cloth, phases, fit, &found);
    }
    if ends.by_hand {
        judged.favour.fill(0.0);
        judged.against.fill(0.0);
    }
    let middles: Vec<f64> = found.iter().map(|f| f.placed.sample).collect();
    let settled = settle(&Places {
        middles: &middles,
        favour: &judged.favour,
        ends: &ends.seen,
        share_u: ends.share_u,
        reach: cloth.cover.reach(),
    })?;
    Some((found, judged, settled))
}

/// Every place where the followed phase passes a row's middle.
fn crossings(phases: &Phases, fit: &Fit) -> Vec<Found> {
    let rows = fit.expected.len();
    let first = (phases.picks[0] - fit.offset - 0.5).ceil() as i64;
    let last = (phases.picks[phases.picks.len() - 1] - fit.offset - 0.5).floor() as i64;
    (first..=last)
        .map(|m| {
            let sample = crossing(&phases.picks, fit.offset + m as f64 + 0.5);
            let state =
                phases.states[(sample.round().max(0.0) as usize).min(phases.states.len() - 1)];
            let row = (state as f64 / STATES_A_PICK as f64 - fit.offset - 0.5).round() as i64;
            let row = usize::try_from(row.rem_euclid(rows as i64)).unwrap_or(0);
            Found {
                row,
                placed: Placed { sample, u: 1.0 },
            }
        })
        .collect()
}

/// The places to be judged.
fn places(found: &[Found], fit: &Fit) -> Vec<Place> {
    let (middles, row_phases) = lines(found, fit);
    (0..middles.len())
        .map(|n| Place {
            middle: middles[n],
            spacing: spacing_around(middles.len(), n, |k| middles[k]).max(1.0),
            phase: row_phases[n],
            inward: if 2 * n < middles.len() { 1.0 } else { -1.0 },
        })
        .collect()
}

/// What speaks for and against each place; the middle half are surely body.
fn judge_all(cloth: &Cloth, phases: &Phases, fit: &Fit, found: &[Found]) -> Judged {
    let places = places(found, fit);
    let core = core(places.len());
    judge(cloth, (&phases.template, fit), &places, core)
}

/// The middle half of so many places.
fn core(n: usize) -> Range<usize> {
    n / 4..(3 * n).div_ceil(4)
}

/// The places, continued evenly at both ends up to where the samples end.
fn continued(found: &[Found], rows: usize, samples: f64) -> Vec<Found> {
    let n = found.len();
    let reach = 5.min(n - 1);
    let gap =
        |a: usize, b: usize| (found[b].placed.sample - found[a].placed.sample) / (b - a) as f64;
    let (start, finish) = (gap(0, reach).max(2.0), gap(n - 1 - reach, n - 1).max(2.0));
    let mut all = found.to_vec();
    while all[0].placed.sample - start > 0.0 {
        let mut next = all[0];
        next.placed.sample -= start;
        next.row = (next.row + rows - 1) % rows;
        all.insert(0, next);
    }
    while all[all.len() - 1].placed.sample + finish < samples - 1.0 {
        let mut next = all[all.len() - 1];
        next.placed.sample += finish;
        next.row = (next.row + 1) % rows;
        all.push(next);
    }
    all
}

/// The fractional sample at which the unwrapped phase reaches `phase`: middle of the samples that
/// stand there.
fn crossing(picks: &[f64], phase: f64) -> f64 {
    let above = picks.partition_point(|v| *v < phase);
    if above == 0 || above >= picks.len() {
        return above as f64;
    }
    let (a, b) = (picks[above - 1], picks[above]);
    above as f64 - 1.0 + if b > a { (phase - a) / (b - a) } else { 0.5 }
}
