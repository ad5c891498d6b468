//! The pick finder's conductor.

use super::cells::{Spot, odd_cells};
use super::cloth::{Cloth, column_count};
use super::columns::Columns;
use super::doubt::doubts;
use super::locate::{EndsDoubt, Located, locate};
use super::options::{PickHint, PickOptions};
use super::pattern::{Lines, Pattern};
use super::phase::follow;
use super::picture::picture;
use super::place::Placed;
use super::repeat::{beats, border_phase, picks_in_repeat, repeat_length};
use super::rows::{Fit, fit};
use super::settle::{GIVE_U, level_rows, second_differences, undo_give};
use super::track::PickTrack;
use crate::band::BandTrace;
use crate::measurement::{Unmeasured, Warning};
use crate::stages::Stages;

/// Standard uncertainty, in spacings, of a pick's edge taken to lie half a spacing from its middle.
const HALF_SPACING_U: f64 = 0.13;

/// Standard uncertainty, in spacings, of what all middles share.
const SHARE_U: f64 = 0.15;

/// Standard uncertainty, in spacings, of the border that colours show between header and body.
const HEADER_EDGE_U: f64 = 0.12;

/// Floor of a place's standard uncertainty, in picks: what is left on drawn bands where neither noise
/// nor neighbours explain it (yarn that isn't round, rows that bow).
const PLACE_FLOOR: f64 = 0.016;

/// The same for the first and the last pick, whose outer neighbour is no pick.
const END_PLACE_FLOOR: f64 = 0.09;

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

/// What the count rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evidence {
    /// Picks in the repeat.
    pub rows: usize,
    /// Share of the spectra that the spacing explains, 0 to 1.
    pub spectrum: f64,
    /// Share of the cloth's picture that the repeat leaves unexplained, 0 to 1.
    pub unexplained: f64,
    /// Correlation of the repeat's cells with the drawdown, 0 to 1; 0 without a drawdown.
    pub correlation: f64,
    /// The same for the next best face.
    pub runner_up: f64,
    /// Pixels a pick.
    pub px_a_pick: f64,
    /// The spacing found over the planned one; 1 without a plan.
    pub against_plan: f64,
    /// How sure the count is, 0 to 1.
    pub count_confidence: f64,
    /// Whether a header was seen before and after the body.
    pub headers: (bool, bool),
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
            unmeasured: vec![Unmeasured {
                what: "picks".into(),
                why,
            }],
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
    let (spacing_mm, lines) = match (hint.picks_per_inch, &pattern) {
        (Some(n), Some(pattern)) => (25.4 / n, pattern.lines()),
        (planned, _) => unknown_repeat(&columns, trace, planned, options)?,
    };
    let px_a_pick = spacing_mm / trace.straight.step_mm;
    if px_a_pick < options.min_px_a_pick {
        return Err(format!(
            "a pick covers only {px_a_pick:.1} pixels and {:.0} are needed: scan at a higher resolution or go closer",
            options.min_px_a_pick
        ));
    }
    let cloth = Cloth::sample(
        &columns,
        trace,
        spacing_mm,
        (&lines, pattern.as_ref()),
        options,
    )?;
    let phases = follow(&cloth.level, lines.rows, cloth.body, cloth.clearest)
        .ok_or("too few picks are in view to follow the repeat")?;
    let fit = match &pattern {
        Some(pattern) => fit(&phases.template, pattern),
        None => Fit::unknown(lines.rows, ends, border_phase(&phases.template)),
    };
    let located = locate(
        &cloth,
        &phases,
        &fit,
        ends_doubt(&cloth, trace, pattern.is_some()),
    );
    if located.picks.len() < options.min_picks {
        return Err(format!("only {} picks were found", located.picks.len()));
    }
    let mut track = track(&cloth, &located, &fit, trace);
    let found_mm = (track.body_mm.1 - track.body_mm.0) / located.picks.len() as f64;
    let evidence = Evidence {
        rows: lines.rows,
        spectrum: cloth.pitch_explained,
        unexplained: phases.unexplained,
        correlation: fit.correlation,
        runner_up: fit.runner_up,
        px_a_pick,
        against_plan: hint.picks_per_inch.map_or(1.0, |n| found_mm * n / 25.4),
        count_confidence: located.confidence,
        headers: cloth.headers,
    };
    let mut unmeasured = Vec::new();
    if fit.correlation > 0.0 {
        match odd(&cloth, &located, &fit) {
            Some(cells) => track.odd_cells = cells,
            None => unmeasured.push(Unmeasured {
                what: "mis-woven picks".into(),
                why: "too many cells differ from the drawdown to say which were mis-woven: check that \
                      the plan is this band's, or take the photo sharper"
                    .into(),
            }),
        }
    }
    if stages.watching() {
        stages.show("5-picks", &picture(&cloth, &located));
    }
    Ok(PickOutcome {
        track: Some(track),
        warnings: doubts(
            &evidence,
            pattern.is_some() && hint.picks_per_inch.is_some(),
        ),
        evidence: Some(evidence),
        unmeasured,
    })
}

/// How far each end of the body may be off.
fn ends_doubt(cloth: &Cloth, trace: &BandTrace, planned: bool) -> EndsDoubt {
    let samples = |u_mm: f64, edge: f64| u_mm / cloth.mm_a_sample(edge).max(1e-6);
    EndsDoubt {
        start: samples(trace.cloth_u_mm.0, cloth.edges.0),
        finish: samples(trace.cloth_u_mm.1, cloth.edges.1),
        share: if planned { 0.1 } else { 0.2 },
    }
}

/// The pick spacing, mm, and the number of picks in the repeat, from the cloth itself.
fn unknown_repeat(
    columns: &Columns,
    trace: &BandTrace,
    planned: Option<f64>,
    options: &PickOptions,
) -> Result<(f64, Lines), String> {
    let (from, to) = trace.cloth_mm;
    let step = columns.step_mm;
    let rows: Vec<f64> = {
        let inset = 0.04 * (to - from);
        let n = ((to - from - 2.0 * inset) / step).max(0.0) as usize;
        (0..n)
            .map(|k| columns.row_of(from + inset) + k as f64)
            .collect()
    };
    if rows.len() < 40 {
        return Err("too little cloth is in view".into());
    }
    let raw = columns.resample(&rows);
    let smooth = rows.len() as f64 / 12.0;
    let samples = super::pitch::high_pass(&raw, smooth, (0, rows.len()));
    let shortest = planned.map_or(options.min_px_a_pick, |n| 0.55 * 25.4 / n / step);
    let (length, _) = repeat_length(&samples, shortest).ok_or("nothing repeats along the band")?;
    let length_mm = length * step;
    let guess = planned
        .map_or_else(
            || (length / 12.0).round(),
            |n| (length_mm * n / 25.4).round(),
        )
        .clamp(1.0, 12.0);
    let lines = Lines::flat(guess as usize);
    let cloth = Cloth::sample(columns, trace, length_mm / guess, (&lines, None), options)?;
    let phases = follow(&cloth.level, lines.rows, cloth.body, cloth.clearest)
        .ok_or("too few picks are in view")?;
    // The levelled cloth has lost what all ends change in common, and that beats once a pick.
    let beats = beats(&phases.template_of(&cloth.samples, cloth.body), 12);
    let allowed = |m: usize| {
        let spacing = length_mm / m as f64;
        spacing / step >= options.min_px_a_pick
            && planned.is_none_or(|n| {
                (options.spacing_range.0..options.spacing_range.1).contains(&(spacing * n / 25.4))
            })
    };
    let rows = picks_in_repeat(&beats, allowed)
        .ok_or("no number of picks fits the repeat of this cloth")?;
    Ok((length_mm / rows as f64, Lines::flat(rows)))
}

/// The result in millimetres.
fn track(cloth: &Cloth, located: &Located, fit: &Fit, trace: &BandTrace) -> PickTrack {
    let rows = fit.expected.len();
    let picks = &located.picks;
    let known = fit.correlation > 0.0;
    let row_of: Vec<usize> = picks.iter().map(|f| f.row).collect();
    let settled = |placed: &[Placed]| {
        let mut places: Vec<f64> = placed.iter().map(|p| cloth.s_mm(p.sample)).collect();
        level_rows(&mut places, &row_of, rows);
        undo_give(&places)
    };
    let placed: Vec<Placed> = picks.iter().map(|f| f.placed).collect();
    let mut centres_mm = settled(&placed);
    let shift = common_shift(cloth, &centres_mm, trace);
    centres_mm.iter_mut().for_each(|c| *c -= shift);
    let ends = body_ends(cloth, &centres_mm, trace);
    let bend = second_differences(&centres_mm);
    let centre_u_mm = (0..picks.len())
        .map(|n| {
            let a_sample = cloth.mm_a_sample(placed[n].sample);
            let share = if n == 0 || n + 1 == picks.len() {
                END_PLACE_FLOOR
            } else {
                PLACE_FLOOR
            };
            let floor = share * located.spacing(n) * a_sample;
            (placed[n].u * a_sample)
                .hypot(GIVE_U * bend[n])
                .hypot(floor)
        })
        .collect();
    PickTrack {
        centres_mm,
        centre_u_mm,
        halves_mm: Some((settled(&located.halves[0]), settled(&located.halves[1]))),
        rows: known.then(|| row_of.iter().map(|r| fit.face.row(rows, *r)).collect()),
        body_mm: (ends[0].0, ends[1].0),
        body_u_mm: (ends[0].1, ends[1].1),
        count_confidence: located.confidence,
        odd_cells: Vec::new(),
        face: known.then(|| fit.face.words().into()),
    }
}

/// By how much all middles lie too far towards the finish, mm: where the cells say little about where
/// in its pick a phase lies, both ends of the cloth together say it better. Nothing where the two ends
/// disagree by more than such a shift can be.
fn common_shift(cloth: &Cloth, centres_mm: &[f64], trace: &BandTrace) -> f64 {
    let n = centres_mm.len();
    let near = 3.min(n - 1);
    let start = (centres_mm[near] - centres_mm[0]) / near as f64;
    let finish = (centres_mm[n - 1] - centres_mm[n - 1 - near]) / near as f64;
    let a = centres_mm[0] - 0.5 * start - cloth.s_mm(cloth.edges.0);
    let b = centres_mm[n - 1] + 0.5 * finish - cloth.s_mm(cloth.edges.1);
    let spacing = 0.5 * (start + finish);
    if (a - b).abs() > 0.5 * spacing || (0.5 * (a + b)).abs() > 0.4 * spacing {
        return 0.0;
    }
    let own = (SHARE_U * spacing).powi(2);
    let seen = 0.5 * (0.5 * (trace.cloth_u_mm.0 + trace.cloth_u_mm.1)).powi(2);
    let weight = own / (own + seen + 0.5 * (HALF_SPACING_U * spacing).powi(2));
    weight * 0.5 * (a + b)
}

/// Outer edge of the first and of the last pick, each with its standard uncertainty, mm.
///
/// Two things speak of an edge: where the cloth was seen to end, and half a spacing beyond the
/// outermost middle. Each counts by its doubt. Where they lie farther apart than both doubts allow,
/// the picks are believed (fringe is taken for cloth more easily than for a pick) and the doubt grows.
fn body_ends(cloth: &Cloth, centres_mm: &[f64], trace: &BandTrace) -> [(f64, f64); 2] {
    let n = centres_mm.len();
    let spacing = |a: usize, b: usize| (centres_mm[b] - centres_mm[a]) / (b - a) as f64;
    let end = |seen: f64, seen_u: f64, by_picks: f64, spacing: f64| {
        let picks_u = HALF_SPACING_U * spacing;
        let apart = (seen - by_picks).abs();
        if apart > 3.0 * seen_u.hypot(picks_u) {
            return (by_picks, picks_u.hypot(0.25 * apart.min(2.0 * spacing)));
        }
        let (a, b) = (seen_u.powi(-2), picks_u.powi(-2));
        // Where the two disagree by more than they should, the doubt grows with it (R. T. Birge,
        // "The Calculation of Errors by the Method of Least Squares", Phys. Rev. 40, 1932).
        let stretch = (apart / seen_u.hypot(picks_u)).max(1.0);
        (
            (a * seen + b * by_picks) / (a + b),
            (a + b).powf(-0.5) * stretch,
        )
    };
    let (near, far) = (3.min(n - 1), n - 1 - 3.min(n - 1));
    let (start, finish) = (spacing(0, near), spacing(far, n - 1));
    let doubt = |header: bool, traced: f64, spacing: f64| {
        if header {
            HEADER_EDGE_U * spacing
        } else {
            traced.max(0.04)
        }
    };
    [
        end(
            cloth.s_mm(cloth.edges.0),
            doubt(cloth.headers.0, trace.cloth_u_mm.0, start),
            centres_mm[0] - 0.5 * start,
            start,
        ),
        end(
            cloth.s_mm(cloth.edges.1),
            doubt(cloth.headers.1, trace.cloth_u_mm.1, finish),
            centres_mm[n - 1] + 0.5 * finish,
            finish,
        ),
    ]
}

/// Cells that differ from the drawdown.
fn odd(cloth: &Cloth, located: &Located, fit: &Fit) -> Option<Vec<(usize, usize)>> {
    let spots: Vec<Spot> = located
        .picks
        .iter()
        .enumerate()
        .map(|(n, f)| Spot {
            sample: f.placed.sample,
            spacing: located.spacing(n),
            row: f.row,
        })
        .collect();
    odd_cells(&cloth.samples, &located.template, &spots, fit)
}
