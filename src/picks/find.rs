//! The pick finder's conductor.

use super::cloth::{Cloth, column_count};
use super::columns::Columns;
use super::counted::Counted;
use super::doubt::{FAINT, cells_show, doubts, repeat_is_sure};
use super::in_drawdown::odd_in_drawdown;
use super::locate::Located;
use super::options::{PickHint, PickOptions};
use super::own_repeat::{InRepeat, Unheld, odd_in_own_repeat};
use super::pattern::Pattern;
use super::picture::picture;
use super::slips::Unseen;
use super::sought::Sought;
use super::track::PickTrack;
use super::unplanned::{Unplanned, unplanned};
use super::unwoven::{recurring, refusal, shows_ends};
use crate::band::BandTrace;
use crate::measurement::{Unmeasured, Warning};
use crate::stages::Stages;
use crate::stats::{gaps, median};

/// A gap less or more than so many times the usual one around it is no beat's doing. On 240 drawn bands
/// 10 of 196 that were counted right had one, 11 of 44 that weren't.
const JUMP: (f64, f64) = (0.45, 1.6);

/// The same for the outermost two to four gaps together, against the eight beside them.
const END_JUMP: (f64, f64) = (0.72, 1.45);

/// What came of looking for the picks.
#[derive(Clone, Debug, Default)]
pub struct PickOutcome {
    /// The picks, where they could be found.
    pub track: Option<PickTrack>,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
    /// What could not be told, and why.
    pub unmeasured: Vec<Unmeasured>,
    /// How the picks were told.
    pub evidence: Option<Evidence>,
}

/// How much what was followed looks like cloth, and the plan's if there is one.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub enum Woven {
    /// No picks are told.
    Not,
    /// It isn't the plan's cloth.
    Hardly,
    /// The picks may not be those of a cloth.
    Perhaps,
    /// Nothing speaks against it.
    Plainly,
}

/// The doubt of what hardly is cloth, and those of what perhaps is.
const HARDLY: [&str; 1] = ["drawdown_unlike"];
const PERHAPS: [&str; 5] = [
    "far_from_plan",
    "picks_faint",
    "repeat_unplanned",
    "spacing_jumps",
    "weave_unsure",
];

impl PickOutcome {
    /// How much what was followed looks like cloth.
    #[must_use]
    pub fn woven(&self) -> Woven {
        let doubted = |codes: &[&str]| {
            let mut warnings = self.warnings.iter();
            warnings.any(|w| codes.contains(&w.code.as_str()))
        };
        match &self.track {
            None => Woven::Not,
            Some(_) if doubted(&HARDLY) => Woven::Hardly,
            Some(_) if doubted(&PERHAPS) => Woven::Perhaps,
            Some(_) => Woven::Plainly,
        }
    }
}

/// What the count rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evidence {
    /// Picks in the repeat.
    pub rows: usize,
    /// Share of the spectra that the spacing explains, 0 to 1.
    pub spectrum: f64,
    /// Share of the cloth's picture that the repeat leaves unexplained, 0 to 1.
    pub unexplained: f64,
    /// Correlation of the repeat's cells with the drawdown, 0 to 1; without one, with what they seem to be.
    pub correlation: f64,
    /// The same for the next best face.
    pub runner_up: f64,
    /// Pixels a pick.
    pub px_a_pick: f64,
    /// How likely the spacing is a pick's and no whole factor of it, 0 to 1; 1 with a plan.
    pub spacing_confidence: f64,
    /// The spacing found over the planned one; 1 without a plan.
    pub against_plan: f64,
    /// How likely the count is right, 0 to 1.
    pub count_confidence: f64,
    /// The same by what is seen at the ends, without what a jump of the spacing says.
    pub ends_confidence: f64,
    /// Whether a header was seen before and after the body.
    pub headers: (bool, bool),
    /// The pick, from 0, after which the spacing jumps as if one were missed or counted twice.
    pub jump: Option<usize>,
    /// How clearly cells recur from pick to pick: 0 not at all, 1 exactly; `None` where the plan says how they lie.
    pub recurring: Option<f64>,
    /// Whether ends that go over and under were seen; `None` where that wasn't looked for, as with a drawdown.
    pub interlaced: Option<bool>,
}

/// Finds every pick of the body; `hint` is what the plan says.
#[must_use]
pub fn find_picks(
    trace: &BandTrace,
    hint: &PickHint,
    options: &PickOptions,
    stages: &mut dyn Stages,
) -> PickOutcome {
    match search(trace, hint, options, stages) {
        Ok(outcome) => outcome,
        Err(why) => PickOutcome {
            unmeasured: vec![left_out("picks", &why)],
            ..PickOutcome::default()
        },
    }
}

fn search(
    trace: &BandTrace,
    hint: &PickHint,
    options: &PickOptions,
    stages: &mut dyn Stages,
) -> Result<PickOutcome, String> {
    let ends = hint.ends.unwrap_or(16).clamp(2, 400) as usize;
    let rough_mm = hint.picks_per_inch.map_or(2.5, |n| 25.4 / n);
    let columns = Columns::cut(trace, column_count(ends), 1.5 * rough_mm);
    let pattern = hint.drawdown.as_ref().map(|d| Pattern::new(d, ends));
    let Unplanned {
        spacing_mm,
        lines,
        range,
        confidence,
        ends: across,
    } = spacing(hint, (pattern.as_ref(), ends), (&columns, trace), options)?;
    let px_a_pick = spacing_mm / trace.straight.step_mm;
    if px_a_pick < options.min_px_a_pick {
        return Err(format!(
            "a pick covers only {px_a_pick:.1} pixels and {:.0} are needed: scan at a higher resolution or go closer",
            options.min_px_a_pick
        ));
    }
    let sought = Sought {
        hint,
        options,
        lines: &lines,
        pattern: pattern.as_ref(),
        columns: &columns,
        trace,
        across,
    };
    let counted = sought.counted_twice(spacing_mm, range);
    let Counted {
        cloth,
        rows,
        phases,
        fit,
        located,
        mut track,
    } = counted?;
    let jump = jump(&track.centres_mm);
    let right = |jumps: bool| located.signs.map_or(0.0, |signs| signs.right(jumps));
    track.count_confidence = right(jump.is_some());
    let found_mm = (track.body_mm.1 - track.body_mm.0) / located.picks.len() as f64;
    let planned = pattern.is_some() && hint.picks_per_inch.is_some();
    let mut evidence = Evidence {
        rows,
        spectrum: cloth.pitch_explained,
        unexplained: phases.unexplained,
        correlation: fit.correlation,
        runner_up: fit.runner_up,
        px_a_pick,
        spacing_confidence: confidence,
        against_plan: hint.picks_per_inch.map_or(1.0, |n| found_mm * n / 25.4),
        count_confidence: track.count_confidence,
        ends_confidence: right(false),
        headers: cloth.headers,
        jump,
        recurring: (!planned).then(|| recurring(trace, &track.centres_mm)),
        interlaced: None,
    };
    let mut unmeasured = Vec::new();
    if pattern.is_some() && fit.correlation > 0.0 {
        if cells_show(&evidence) {
            let (odd, unseen) =
                odd_in_drawdown((&cloth, trace), (&located, found_mm), &fit, evidence.jump);
            unmeasured.extend(unseen.map(|unseen| perhaps_unseen(unseen, &odd)));
            track.odd_cells = odd;
        } else {
            unmeasured.push(mis_woven_left_out(
                "the cells don't show clearly enough which yarn lies on top: check that the plan is this \
                 band's, or take the photo sharper",
            ));
        }
    }
    if pattern.is_none() {
        let seen = (&cloth, &located, &evidence);
        let held = held_against_own_repeat(seen, (trace, hint));
        evidence.interlaced = shows_ends(held.as_ref().err().copied());
        unmeasured.extend(told_of_own_repeat(&mut track, held));
    }
    if stages.watching() {
        stages.show("5-picks", &picture(&cloth, &located));
    }
    if let Some(why) = refusal(&evidence, planned) {
        return Ok(PickOutcome {
            evidence: Some(evidence),
            unmeasured: vec![left_out("picks", why)],
            ..PickOutcome::default()
        });
    }
    Ok(PickOutcome {
        track: Some(track),
        warnings: doubts(&evidence, planned),
        evidence: Some(evidence),
        unmeasured,
    })
}

/// Holds the picks against the cloth's own repeat.
fn held_against_own_repeat(
    (cloth, located, evidence): (&Cloth, &Located, &Evidence),
    (trace, hint): (&BandTrace, &PickHint),
) -> Result<InRepeat, Unheld> {
    if evidence.unexplained > FAINT {
        return Err(Unheld::Faint);
    }
    let ends = hint.ends.and_then(|ends| usize::try_from(ends).ok());
    let repeat = (evidence.rows, repeat_is_sure(evidence));
    odd_in_own_repeat((cloth, located), repeat, trace, ends, evidence.jump)
}

/// Adds what that said to the picks, or says why it says nothing.
fn told_of_own_repeat(track: &mut PickTrack, held: Result<InRepeat, Unheld>) -> Option<Unmeasured> {
    match held {
        Ok(InRepeat { odd, unseen, ends }) => {
            let unseen = unseen.map(|unseen| perhaps_unseen(unseen, &odd));
            track.odd_cells = odd;
            track.own_ends = Some(ends);
            unseen
        }
        Err(unheld) => Some(mis_woven_left_out(&format!(
            "no drawdown is given, and the cloth's own repeat can't stand in for it: {}; give a plan with a \
             drawdown, or take the photo sharper",
            unheld.why()
        ))),
    }
}

/// How far apart the picks are and what the repeat is, by the plan or else by the cloth.
fn spacing(
    hint: &PickHint,
    (pattern, ends): (Option<&Pattern>, usize),
    (columns, trace): (&Columns, &BandTrace),
    options: &PickOptions,
) -> Result<Unplanned, String> {
    if let (Some(n), Some(pattern)) = (hint.picks_per_inch, pattern) {
        return Ok(Unplanned {
            spacing_mm: 25.4 / n,
            ends: ends as f64,
            lines: pattern.lines(),
            range: options.spacing_range,
            confidence: 1.0,
        });
    }
    let found = unplanned(
        columns,
        trace,
        (hint.picks_per_inch, hint.ends.map(f64::from)),
        options,
    )?;
    Ok(Unplanned {
        lines: pattern.map_or(found.lines, Pattern::lines),
        ..found
    })
}

/// The pick after which the spacing leaves what hands do: far wider or closer than around it, or the
/// outermost picks all closer or wider than those beside them, as a header's are.
fn jump(centres_mm: &[f64]) -> Option<usize> {
    let gaps = gaps(centres_mm);
    let one = (0..gaps.len()).find(|&n| {
        let around = &gaps[n.saturating_sub(4)..(n + 5).min(gaps.len())];
        let usual = median(around).unwrap_or(gaps[n]);
        !(JUMP.0 * usual..=JUMP.1 * usual).contains(&gaps[n])
    });
    let turned: Vec<f64> = gaps.iter().rev().copied().collect();
    one.or_else(|| outermost_jump(&gaps))
        .or_else(|| outermost_jump(&turned).map(|k| gaps.len() - k))
}

/// How many gaps from the front on are together far from the eight beyond them, up to four.
fn outermost_jump(gaps: &[f64]) -> Option<usize> {
    (2..=4).find(|&k| {
        let Some(beside) = gaps.get(k + 1..k + 9) else {
            return false;
        };
        let (Some(outer), Some(usual)) = (median(&gaps[..k]), median(beside)) else {
            return false;
        };
        !(END_JUMP.0 * usual..=END_JUMP.1 * usual).contains(&outer)
    })
}

/// Says that slips may have gone unseen; `cells` are those that were found.
fn perhaps_unseen(unseen: Unseen, cells: &[(usize, usize)]) -> Unmeasured {
    let all = mis_woven_left_out(unseen.why());
    let what = if cells.is_empty() {
        all.what
    } else {
        format!("other {}", all.what)
    };
    Unmeasured { what, ..all }
}

/// Says why mis-woven picks aren't told.
fn mis_woven_left_out(why: &str) -> Unmeasured {
    left_out("mis-woven picks", why)
}

fn left_out(what: &str, why: &str) -> Unmeasured {
    Unmeasured {
        what: what.into(),
        why: why.into(),
    }
}

#[cfg(test)]
pub(super) mod testing {
    use super::Evidence;

    /// Of a clear band that was looked at without its plan.
    pub(in crate::picks) fn evidence() -> Evidence {
        Evidence {
            rows: 2,
            spectrum: 0.9,
            unexplained: 0.1,
            correlation: 0.9,
            runner_up: 0.5,
            px_a_pick: 20.0,
            spacing_confidence: 1.0,
            against_plan: 1.05,
            count_confidence: 1.0,
            ends_confidence: 1.0,
            headers: (false, false),
            jump: None,
            recurring: Some(0.5),
            interlaced: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn centres(gaps: &[f64]) -> Vec<f64> {
        let mut at = 0.0;
        let mut all = vec![at];
        for gap in gaps {
            at += gap;
            all.push(at);
        }
        all
    }

    #[test]
    fn an_uneven_beat_is_no_jump_and_a_missed_pick_is() {
        let mut gaps: Vec<f64> = (0..30).map(|k| 2.5 + 0.3 * f64::from(k % 3)).collect();
        assert_eq!(jump(&centres(&gaps)), None);
        gaps[17] = 5.4;
        assert_eq!(jump(&centres(&gaps)), Some(17));
    }

    #[test]
    fn a_header_counted_with_the_body_shows_at_either_end() {
        let mut gaps = vec![2.5; 30];
        gaps[..3].fill(1.6);
        assert_eq!(jump(&centres(&gaps)), Some(2));
        gaps.reverse();
        assert_eq!(jump(&centres(&gaps)), Some(28));
    }
}
