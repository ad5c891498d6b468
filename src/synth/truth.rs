//! What is true of a drawn band, from the geometry that was drawn.

use super::layout::Layout;
use super::silhouette::{self, STEP_MM};
use super::spec::{BandSpec, EdgeMark, RowFault, Side, Stretch};
use super::yarn::{Part, Yarn};

/// The true figures of a drawn band, as the project defines them; mm from the start of the body,
/// `t` to the weaver's right.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Centre of every body pick: the weft's own centre, averaged over the width.
    pub pick_mm: Vec<f64>,
    /// Drawdown row (from 0) of every pick, as woven.
    pub rows: Vec<usize>,
    /// Outer edge of the first pick to the outer edge of the last.
    pub length_mm: f64,
    /// Picks over length.
    pub picks_per_inch: f64,
    /// Standard deviation of the spacings over their mean, %.
    pub spacing_cv_percent: f64,
    /// Straight-line fit of the spacings, last minus first, % of the mean.
    pub drift_percent: f64,
    /// Area of the body's silhouette over its length.
    pub width_mm: f64,
    /// Outermost within two picks on each side, averaged along the body.
    pub over_turns_mm: f64,
    /// Loss against the width in the loom, %.
    pub draw_in_percent: f64,
    /// Both selvedges.
    pub outline: Outline,
    /// Cells woven the other way: pick and end, from 0.
    pub mis_woven: Vec<(usize, usize)>,
    /// Rows out of turn.
    pub row_faults: Vec<RowFault>,
    /// Stretches beaten looser or tighter.
    pub stretches: Vec<Stretch>,
    /// Places where a selvedge is pulled in or stands out.
    pub edge_marks: Vec<EdgeMark>,
    /// Thickness of the whole cloth.
    pub thickness_mm: f64,
}

/// Both selvedges along the body, hairs left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Distance between places; the first lies at the start of the body.
    pub step_mm: f64,
    /// Distance of the left selvedge from the centre line, outward positive.
    pub left_mm: Vec<f64>,
    /// Distance of the right selvedge from the centre line, outward positive.
    pub right_mm: Vec<f64>,
}

impl Truth {
    /// Measures the drawn yarns; `s` of the yarns counts from the start of the body already.
    pub(super) fn of(
        spec: &BandSpec,
        layout: &Layout,
        yarns: &[Yarn],
        length_mm: f64,
        thickness_mm: f64,
    ) -> Self {
        let pick_mm = pick_centres(yarns, layout.picks_mm.len());
        let outline = outline(layout, yarns, length_mm);
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
        let width_mm = mean(&outline.left_mm) + mean(&outline.right_mm);
        let window = (2.0 * spec.pick_spacing_mm / STEP_MM).round() as usize;
        let over = |v: &[f64]| mean(&running_max(v, window));
        let over_turns_mm = over(&outline.left_mm) + over(&outline.right_mm);
        let (spacing_cv_percent, drift_percent) = spacing_figures(&pick_mm);
        Self {
            rows: layout.rows.clone(),
            length_mm,
            picks_per_inch: 25.4 * pick_mm.len() as f64 / length_mm,
            spacing_cv_percent,
            drift_percent,
            width_mm,
            over_turns_mm,
            draw_in_percent: 100.0 * (1.0 - width_mm / spec.width_in_loom_mm),
            outline,
            mis_woven: spec.mis_woven.clone(),
            row_faults: spec.row_faults.clone(),
            stretches: spec.stretches.clone(),
            edge_marks: spec.edge_marks.clone(),
            thickness_mm,
            pick_mm,
        }
    }
}

/// `s` of the outer edge of the first and of the last body pick, averaged over the width; where a
/// header pick lies against it, half way between the two yarns' edges.
pub(super) fn body_ends(layout: &Layout, yarns: &[Yarn]) -> (f64, f64) {
    let half = 0.9 * layout.half_mm;
    let columns: Vec<f64> = (0..=200)
        .map(|i| half * (f64::from(i) / 100.0 - 1.0))
        .collect();
    let last = layout.picks_mm.len() - 1;
    let middle = 0.5 * (layout.picks_mm[0] + layout.picks_mm[last]);
    let end = |sign: f64, pick: usize| {
        let body = silhouette::foremost(yarns, sign, &columns, |part| part == Part::Pick(pick));
        let near: Vec<Yarn> = yarns
            .iter()
            .filter(|yarn| yarn.part == Part::Header)
            .filter(|yarn| {
                yarn.knots
                    .first()
                    .is_some_and(|knot| sign * (knot.s - middle) > 0.0)
            })
            .cloned()
            .collect();
        let header = silhouette::foremost(&near, -sign, &columns, |_| true);
        let edges: Vec<f64> = body
            .iter()
            .zip(&header)
            .filter_map(|(body, header)| match (*body, *header) {
                (Some(body), Some(header)) if sign * (header - body) < 0.0 => {
                    Some(0.5 * (body + header))
                }
                (body, _) => body,
            })
            .collect();
        edges.iter().sum::<f64>() / edges.len().max(1) as f64
    };
    (end(-1.0, 0), end(1.0, last))
}

/// Mean `s` of each pick over the width.
fn pick_centres(yarns: &[Yarn], picks: usize) -> Vec<f64> {
    let mut centres = vec![0.0; picks];
    for yarn in yarns {
        let Part::Pick(pick) = yarn.part else {
            continue;
        };
        let (mut area, mut width) = (0.0, 0.0);
        for pair in yarn.knots.windows(2) {
            let step = (pair[1].t - pair[0].t).abs();
            area += 0.5 * (pair[0].s + pair[1].s) * step;
            width += step;
        }
        centres[pick] = area / width.max(1e-9);
    }
    centres
}

fn outline(layout: &Layout, yarns: &[Yarn], length_mm: f64) -> Outline {
    let count = (length_mm / STEP_MM).floor().max(0.0) as usize + 1;
    let deep = 0.5 * layout.half_mm;
    let side = |side| {
        filled(
            silhouette::outermost(yarns, side, 0.0, count, deep),
            layout.half_mm,
        )
    };
    Outline {
        step_mm: STEP_MM,
        left_mm: side(Side::Left),
        right_mm: side(Side::Right),
    }
}

/// Places without yarn take the nearest one's value (`whole` where there is none at all).
fn filled(mut values: Vec<f64>, whole: f64) -> Vec<f64> {
    let first = values
        .iter()
        .copied()
        .find(|value| value.is_finite())
        .unwrap_or(whole);
    let mut last = first;
    for value in &mut values {
        if value.is_finite() {
            last = *value;
        } else {
            *value = last;
        }
    }
    values
}

/// The largest value within a centred window.
fn running_max(values: &[f64], window: usize) -> Vec<f64> {
    let half = window / 2;
    (0..values.len())
        .map(|i| {
            let around = &values[i.saturating_sub(half)..(i + half + 1).min(values.len())];
            around.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        })
        .collect()
}

/// CV and drift of the spacings, %.
fn spacing_figures(pick_mm: &[f64]) -> (f64, f64) {
    let spacings: Vec<f64> = pick_mm.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mids: Vec<f64> = pick_mm
        .windows(2)
        .map(|pair| 0.5 * (pair[1] + pair[0]))
        .collect();
    let n = spacings.len();
    if n < 3 {
        return (0.0, 0.0);
    }
    let mean = spacings.iter().sum::<f64>() / n as f64;
    let centre = mids.iter().sum::<f64>() / n as f64;
    let variance = spacings.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (n - 1) as f64;
    let sxx: f64 = mids.iter().map(|x| (x - centre).powi(2)).sum();
    let sxy: f64 = mids
        .iter()
        .zip(&spacings)
        .map(|(x, p)| (x - centre) * (p - mean))
        .sum();
    let drift = sxy / sxx * (mids[n - 1] - mids[0]) / mean;
    (100.0 * variance.sqrt() / mean, 100.0 * drift)
}
