//! The pick finder's conductor.

use ndarray::{Array2, Axis, Slice};

use super::anchor::row_offsets;
use super::cells::{Spot, odd_cells};
use super::columns::Columns;
use super::count::{Ends, settle};
use super::header::{body_range, sharpen};
use super::options::{PickHint, PickOptions};
use super::pattern::Pattern;
use super::phase::{Phases, STATES_A_PICK, follow};
use super::pitch::{LocalPitch, SAMPLES_A_PICK, high_pass, interpolate, local_pitch};
use super::place::{Placed, Placing, fold_along};
use super::rows::{Fit, fit, furrow};
use super::track::PickTrack;
use crate::band::BandTrace;
use crate::measurement::{Unmeasured, Warning};

/// What came of looking for the picks.
#[derive(Clone, Debug, Default)]
pub struct PickOutcome {
    /// The picks, where they could be found.
    pub track: Option<PickTrack>,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
    /// What could not be told, and why.
    pub unmeasured: Vec<Unmeasured>,
}

/// Rounds of placing the picks and folding the repeat along them.
const PLACING_ROUNDS: usize = 3;

/// Finds every pick of the body; `hint` is what the plan says.
#[must_use]
pub fn find_picks(trace: &BandTrace, hint: &PickHint, options: &PickOptions) -> PickOutcome {
    match search(trace, hint, options) {
        Ok(outcome) => outcome,
        Err(why) => PickOutcome {
            unmeasured: vec![Unmeasured { what: "picks".into(), why }],
            ..PickOutcome::default()
        },
    }
}

fn search(trace: &BandTrace, hint: &PickHint, options: &PickOptions) -> Result<PickOutcome, String> {
    let Some(per_inch) = hint.picks_per_inch else {
        return Err("no plan says how many picks per inch to look for".into());
    };
    let planned_mm = 25.4 / per_inch;
    let px_a_pick = planned_mm / trace.straight.step_mm;
    if px_a_pick < options.min_px_a_pick {
        return Err(format!(
            "a pick covers only {px_a_pick:.1} pixels and {:.0} are needed: scan at a higher resolution or go closer",
            options.min_px_a_pick
        ));
    }
    let ends = hint.ends.unwrap_or(16).clamp(2, 400) as usize;
    let columns = Columns::cut(trace, column_count(ends), 1.5 * planned_mm);
    let Some(drawdown) = &hint.drawdown else {
        return Err("no drawdown".into());
    };
    let pattern = Pattern::new(drawdown, ends);
    let cloth = Cloth::sample(&columns, trace, planned_mm, &pattern, hint, options)?;
    let phases = follow(&cloth.samples, pattern.rows(), cloth.body, cloth.clearest)
        .ok_or("too few picks are in view to follow the repeat")?;
    let fit = fit(&phases.template, &pattern);
    let located = locate(&cloth, &phases, &fit, (0.15, 0.15, 0.1));
    if std::env::var_os("EVENFELL_DEBUG").is_some() {
        debug(&cloth, &phases, &fit, &located.picks);
    }
    if located.picks.len() < options.min_picks {
        return Err(format!("only {} picks were found", located.picks.len()));
    }
    Ok(PickOutcome { track: Some(track(&cloth, &located, &fit, trace)), ..PickOutcome::default() })
}

#[allow(clippy::print_stderr, reason = "temporary")]
fn debug(cloth: &Cloth, phases: &Phases, fit: &Fit, picks: &[Found]) {
    let (f, strength) = furrow(&phases.template);
    eprintln!(
        "explained {:.2} unexplained {:.2} corr {:.3} runner {:.3} face {:?} margin {} offset {:.2} furrow {:.2} ({:.2}) body {:?} {:?} {:?} of {} ends {:.2} {:.2}",
        cloth.pitch_explained, phases.unexplained, fit.correlation, fit.runner_up, fit.face, fit.margin,
        fit.offset, (f - fit.offset).rem_euclid(1.0), strength, cloth.body, cloth.edges, cloth.headers, cloth.samples.dim().0,
        (picks[0].placed.sample - cloth.edges.0) / 14.0,
        (cloth.edges.1 - picks[picks.len() - 1].placed.sample) / 14.0,
    );
}

/// Columns for so many ends: a few an end where the band is narrow.
fn column_count(ends: usize) -> usize {
    match ends {
        0..=20 => ends * 3,
        21..=40 => ends * 2,
        _ => ends.min(96),
    }
}

/// The cloth sampled evenly in picks.
struct Cloth {
    /// High-passed Lab, shape (rows along, columns · 3), about [`SAMPLES_A_PICK`] to a pick.
    samples: Array2<f32>,
    /// The same before the high pass.
    raw: Array2<f32>,
    /// Row of the columns picture at each sample.
    places: Vec<f64>,
    /// Borders of the body, samples.
    body: (usize, usize),
    /// The same, to a fraction of a sample.
    edges: (f64, f64),
    /// Whether a header was seen before and after the body.
    headers: (bool, bool),
    /// A sample around which the repeat is clear.
    clearest: usize,
    /// How well the local spacing explains the spectra.
    pitch_explained: f64,
    /// `s` of row 0 and the distance between rows, mm.
    along: (f64, f64),
}

impl Cloth {
    fn sample(
        columns: &Columns,
        trace: &BandTrace,
        planned_mm: f64,
        pattern: &Pattern,
        hint: &PickHint,
        options: &PickOptions,
    ) -> Result<Self, String> {
        let rows = columns.lab.dim().0;
        let pitch_rows = planned_mm / columns.step_mm;
        let start = (columns.row_of(trace.cloth_mm.0) - 1.5 * pitch_rows).max(0.0);
        let end = (columns.row_of(trace.cloth_mm.1) + 1.5 * pitch_rows).min(rows as f64 - 1.0);
        let step = pitch_rows / SAMPLES_A_PICK as f64;
        let n = ((end - start) / step).floor().max(0.0) as usize;
        if n < 5 * SAMPLES_A_PICK {
            return Err("too little cloth is in view".into());
        }
        let even: Vec<f64> = (0..n).map(|k| start + k as f64 * step).collect();
        let raw = columns.resample(&even);
        let border = |s_mm: f64| ((columns.row_of(s_mm) - start) / step).round().clamp(0.0, n as f64) as usize;
        let cloth = (border(trace.cloth_mm.0), border(trace.cloth_mm.1));
        let longest = hint.header_picks.map_or(4.0, |h| 1.5 * f64::from(h)) * SAMPLES_A_PICK as f64;
        let body = if hint.header_picks == Some(0) { cloth } else { body_range(&raw, cloth, longest as usize) };
        let sigma = 0.5 * (pattern.rows().max(2) * SAMPLES_A_PICK) as f64;
        let inner = high_pass(&raw, sigma, body).slice_axis(Axis(0), Slice::from(body.0..body.1)).to_owned();
        let pitch = local_pitch(&inner, pattern, options.spacing_range).ok_or("too few picks are in view")?;
        let mut sampled = Self::resampled(columns, &even, body, &pitch, sigma);
        sampled.headers = (body.0 > cloth.0, body.1 < cloth.1);
        sampled.edges = (sampled.sample_of(trace.cloth_mm.0), sampled.sample_of(trace.cloth_mm.1));
        if sampled.headers.0 {
            sampled.edges.0 = sharpen(&sampled.raw, sampled.body, sampled.body.0, 1);
        }
        if sampled.headers.1 {
            sampled.edges.1 = sharpen(&sampled.raw, sampled.body, sampled.body.1, -1);
        }
        Ok(sampled)
    }

    /// Samples again, now at the local spacing.
    fn resampled(columns: &Columns, even: &[f64], body: (usize, usize), pitch: &LocalPitch, sigma: f64) -> Self {
        let first = body.0;
        let ratio = |k: usize| pitch.ratio[k.saturating_sub(body.0).min(pitch.ratio.len() - 1)];
        let step = even[1] - even[0];
        let mut phase = vec![0.0];
        for k in 1..even.len() {
            phase.push(phase[k - 1] + 1.0 / ratio(k));
        }
        let total = phase[phase.len() - 1].floor() as usize;
        let index: Vec<f64> = (0..even.len()).map(|k| k as f64).collect();
        let places: Vec<f64> =
            (0..=total).map(|k| even[0] + step * interpolate(&phase, &index, k as f64)).collect();
        let moved = |k: usize| (phase[k.min(phase.len() - 1)].round() as usize).min(places.len());
        let body = (moved(body.0), moved(body.1));
        let raw = columns.resample(&places);
        let samples = high_pass(&raw, sigma, body);
        Self {
            body,
            edges: (0.0, 0.0),
            headers: (false, false),
            clearest: moved(first + pitch.clearest),
            samples,
            raw,
            places,
            pitch_explained: pitch.explained,
            along: (columns.s0_mm, columns.step_mm),
        }
    }

    /// The fractional sample of a place, mm.
    fn sample_of(&self, s_mm: f64) -> f64 {
        let row = (s_mm - self.along.0) / self.along.1;
        let last = self.places.len() - 1;
        let k = self.places.partition_point(|p| *p <= row).clamp(1, last);
        let (a, b) = (self.places[k - 1], self.places[k]);
        k as f64 - 1.0 + (row - a) / (b - a)
    }

    /// `s` in mm of a fractional sample.
    fn s_mm(&self, sample: f64) -> f64 {
        let last = self.places.len() - 2;
        let k = (sample.floor().max(0.0) as usize).min(last);
        let row = self.places[k] + (sample - k as f64) * (self.places[k + 1] - self.places[k]);
        self.along.0 + self.along.1 * row
    }

    /// Millimetres a sample around a sample.
    fn mm_a_sample(&self, sample: f64) -> f64 {
        self.s_mm(sample + 0.5) - self.s_mm(sample - 0.5)
    }
}

/// One pick that was found.
#[derive(Clone, Copy, Debug)]
struct Found {
    /// Row of the picture's repeat, from 0.
    row: usize,
    placed: Placed,
}

/// The picks and the repeat as folded along them.
struct Located {
    picks: Vec<Found>,
    template: Array2<f32>,
    halves: [Vec<Placed>; 2],
    confidence: f64,
}

impl Located {
    /// Samples a pick around pick `n`.
    fn spacing(&self, n: usize) -> f64 {
        let last = self.picks.len() - 1;
        let (a, b) = (n.saturating_sub(1), (n + 1).min(last));
        (self.picks[b].placed.sample - self.picks[a].placed.sample) / (b - a).max(1) as f64
    }
}

/// Finds the samples of all picks inside the body and refines them.
fn locate(cloth: &Cloth, phases: &Phases, fit: &Fit, doubts: (f64, f64, f64)) -> Located {
    let rows = fit.expected.len();
    let first = (phases.picks[0] - fit.offset - 0.5).ceil() as i64;
    let last = (phases.picks[phases.picks.len() - 1] - fit.offset - 0.5).floor() as i64;
    let mut found: Vec<Found> = (first..=last)
        .map(|m| {
            let sample = crossing(&phases.picks, fit.offset + m as f64 + 0.5);
            let state = phases.states[(sample.round().max(0.0) as usize).min(phases.states.len() - 1)];
            let row = (state as f64 / STATES_A_PICK as f64 - fit.offset - 0.5).round() as i64;
            let row = usize::try_from(row.rem_euclid(rows as i64)).unwrap_or(0);
            Found { row, placed: Placed { sample, u: 1.0, residual: 1.0 } }
        })
        .collect();
    let body = cloth.edges;
    found.retain(|f| f.placed.sample > body.0 && f.placed.sample < body.1);
    let confidence = complete(&mut found, body, rows, doubts);
    let mut template = phases.template.clone();
    for _ in 0..PLACING_ROUNDS {
        let (middles, row_phases) = lines(&found, fit);
        template = fold_along(&cloth.samples, &middles, &row_phases, &template);
        let placing =
            Placing { samples: &cloth.samples, template: &template, middles: &middles, phases: &row_phases };
        for (f, placed) in found.iter_mut().zip(placing.run(|_| true)) {
            f.placed = placed;
        }
    }
    let (middles, row_phases) = lines(&found, fit);
    let placing = Placing { samples: &cloth.samples, template: &template, middles: &middles, phases: &row_phases };
    let columns = cloth.samples.dim().1 / 3;
    let blocks = fit.expected[0].len().div_ceil(2).max(2);
    let halves = [0, 1].map(|half| placing.run(|j| (j * blocks / columns) % 2 == half));
    Located { picks: found, template, halves, confidence }
}

/// Middles (samples) and phases (picks) of the picks.
fn lines(found: &[Found], fit: &Fit) -> (Vec<f64>, Vec<f64>) {
    (
        found.iter().map(|f| f.placed.sample).collect(),
        found.iter().map(|f| (fit.offset + f.row as f64 + 0.5).rem_euclid(fit.expected.len() as f64)).collect(),
    )
}

/// Adds and drops picks at the ends until they fill the body; how sure the count is, 0 to 1.
fn complete(found: &mut Vec<Found>, (from, to): (f64, f64), rows: usize, doubts: (f64, f64, f64)) -> f64 {
    if found.len() < 6 {
        return 0.0;
    }
    let gap = |a: usize, b: usize, found: &[Found]| (found[b].placed.sample - found[a].placed.sample) / (b - a) as f64;
    let n = found.len();
    let (gap_start, gap_finish) = (gap(1, 4, found), gap(n - 5, n - 2, found));
    let settled = settle(Ends {
        start: (found[0].placed.sample - from) / gap_start,
        finish: (to - found[n - 1].placed.sample) / gap_finish,
        start_u: doubts.0,
        finish_u: doubts.1,
        share_u: doubts.2,
    });
    for _ in 0..settled.start {
        let mut next = found[0];
        next.placed.sample -= gap_start;
        next.row = (next.row + rows - 1) % rows;
        found.insert(0, next);
    }
    for _ in 0..settled.finish {
        let mut next = found[found.len() - 1];
        next.placed.sample += gap_finish;
        next.row = (next.row + 1) % rows;
        found.push(next);
    }
    for _ in settled.start..0 {
        found.remove(0);
    }
    for _ in settled.finish..0 {
        found.pop();
    }
    settled.confidence
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

/// The result in millimetres.
fn track(cloth: &Cloth, located: &Located, fit: &Fit, trace: &BandTrace) -> PickTrack {
    let rows = fit.expected.len();
    let offsets = row_offsets(&located.template, fit).unwrap_or_else(|| vec![0.0; rows]);
    let picks = &located.picks;
    let s_mm = |n: usize, placed: &Placed| {
        cloth.s_mm(placed.sample + offsets[picks[n].row] * located.spacing(n))
    };
    let all = |placed: &[Placed]| placed.iter().enumerate().map(|(n, p)| s_mm(n, p)).collect::<Vec<f64>>();
    let spots: Vec<Spot> = picks
        .iter()
        .enumerate()
        .map(|(n, f)| Spot {
            sample: f.placed.sample,
            spacing: located.spacing(n),
            phase: (fit.offset + f.row as f64 + 0.5).rem_euclid(rows as f64),
            row: f.row,
        })
        .collect();
    PickTrack {
        centres_mm: picks.iter().enumerate().map(|(n, f)| s_mm(n, &f.placed)).collect(),
        centre_u_mm: picks.iter().map(|f| f.placed.u * cloth.mm_a_sample(f.placed.sample)).collect(),
        halves_mm: Some((all(&located.halves[0]), all(&located.halves[1]))),
        rows: Some(picks.iter().map(|f| fit.face.row(rows, f.row)).collect()),
        body_mm: (cloth.s_mm(cloth.edges.0), cloth.s_mm(cloth.edges.1)),
        body_u_mm: trace.cloth_u_mm,
        count_confidence: located.confidence,
        odd_cells: odd_cells(&cloth.samples, &located.template, &spots, fit),
        face: Some(fit.face.words().into()),
    }
}
