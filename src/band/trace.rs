//! From the photo to the straight band with its selvedges and cloth ends.
//!
//! # Method
//! 1. A coarse look finds the band's piece and a first centre line.
//! 2. The band is laid straight at [`FIRST_STEP_MM`]; both selvedges and both ends are found.
//! 3. The centre line is fitted again, through the middles between the selvedges on cloth rows
//!    only (fringe pulls it aside), and the band laid straight once more from the photo, at the
//!    photo's own resolution; selvedges and ends are found again.

use ndarray::Array2;

use super::cells::Cells;
use super::cloth_end::{ClothEnd, Seen, Which, cloth_end};
use super::colour_model::{Colour, colour};
use super::doubt::Doubt;
use super::ground::unlikeness;
use super::hint::{BandHint, BandOptions};
use super::lay::{Lay, fit_line, lay_of};
use super::light::light_along;
use super::odds::Odds;
use super::outline::{Outline, Rough, outline};
use super::piece::band_piece;
use super::searched::Searched;
use super::straighten::{Reading, Window, straighten};
use super::{BandTrace, CentreLine, Lean, StraightBand, show};
use crate::measurement::Warning;
use crate::photo::Photo;
use crate::raster::LinearPhoto;
use crate::scale::View;
use crate::stages::Stages;
use crate::{Error, Result};

/// Distance between samples of the first straightening, mm; never finer than the photo.
const FIRST_STEP_MM: f64 = 0.3;

/// From so many pixels a sample on, sharpness is lost anyway.
const SOFT_PX: f64 = 1.5;

/// Least doubt of an end of the cloth, mm: the median error on drawn bands without a header.
const END_MM: f64 = 0.15;

/// One straightening with what was found in it.
struct Pass {
    band: StraightBand,
    covered: Array2<bool>,
    outline: Outline,
    ends: [ClothEnd; 2],
}

/// Finds the band in a photo and lays it straight.
///
/// # Errors
///
/// [`Error::Unmeasurable`] where no band is found.
pub fn trace_band(
    photo: &Photo,
    view: &View,
    hint: &BandHint,
    options: &BandOptions,
    stages: &mut dyn Stages,
) -> Result<BandTrace> {
    let picture = LinearPhoto::new(&photo.pixels);
    let mut cells = Cells::new(&picture, view, options.cell_mm);
    let searched = Searched::new(&cells, view, hint);
    let watching = stages.watching();
    cells.look(&picture, |i| watching || searched.inside[i]);
    let unlike = unlikeness(&cells, &searched);
    let nothing = || Error::Unmeasurable {
        why: "no band stands out from the ground: lay it on a ground of another colour, flat and \
              whole in the picture"
            .to_owned(),
    };
    let piece = band_piece(&cells, &unlike, hint.loom_width_mm, hint.piece).ok_or_else(nothing)?;
    if stages.watching() {
        stages.show("2-piece", &show::piece(&cells, &piece.mask));
    }
    let lay = lay_of(&cells, &piece.mask, view, hint).ok_or_else(nothing)?;
    let mut warnings = Vec::new();
    if piece.next_mm2 > 0.6 * piece.area_mm2 {
        warnings.push(Warning {
            code: "several_pieces".to_owned(),
            text: if hint.piece == 0 {
                "something else in the photo could be a band too; the larger was measured: photograph \
                 one band at a time"
            } else {
                "something else in the photo could be a band too; what looks woven was measured: photograph \
                 one band at a time"
            }
            .to_owned(),
        });
    }
    let first =
        first_pass(&picture, view, &lay, hint, options, photo.jpeg_rounding).ok_or_else(nothing)?;
    let line = refitted(&first).ok_or_else(nothing)?;
    let last = second_pass(&picture, view, &first, line, hint, options).ok_or_else(nothing)?;
    if stages.watching() {
        let (rows, columns) = last.covered.dim();
        let odds = odds_of(&last.band, &last.covered, &last.outline);
        stages.show(
            "3-likeness",
            &show::odds(&odds.of_part(0..rows, 0..columns)),
        );
    }
    let trace = finished(last, hint, warnings);
    if stages.watching() {
        stages.show("4-trace", &show::trace(&trace));
    }
    Ok(trace)
}

fn first_pass(
    picture: &LinearPhoto<'_>,
    view: &View,
    lay: &Lay,
    hint: &BandHint,
    options: &BandOptions,
    rounding: f64,
) -> Option<Pass> {
    let half = lay.width_mm / 2.0;
    let middle = lay.line.place(lay.length_mm / 2.0, 0.0);
    let beyond = half + options.margin_across_mm + 1.0;
    let px_per_mm = view.px_per_mm(middle);
    let window = Window {
        s_mm: (
            -options.margin_along_mm,
            lay.length_mm + options.margin_along_mm,
        ),
        t_mm: (-beyond, beyond),
        step_mm: (1.0 / px_per_mm).max(FIRST_STEP_MM),
    };
    let reading = if window.step_mm * px_per_mm >= SOFT_PX {
        Reading::Soft
    } else {
        Reading::Sharp
    };
    let (band, covered) = straighten(picture, view, lay.line, window, reading);
    let rows = band.lab[0].nrows();
    let rough = Rough {
        edges: vec![(-half, half); rows],
        doubt_mm: ((0.3 * lay.width_mm).min(5.0), 2.0),
        ground_from_mm: 1.0,
        pitch_mm: pitch_of(hint),
        rounding,
        cloth_rows: rows * 3 / 10..rows * 7 / 10,
        turns: turns_of(hint),
    };
    pass(band, covered, &rough)
}

/// The centre line through the middles between the selvedges, cloth rows only.
fn refitted(first: &Pass) -> Option<CentreLine> {
    let base = first.band.centre_line;
    let straight = CentreLine {
        curvature: 0.0,
        ..base
    };
    let [start, finish] = first.ends.map(|e| e.at_mm);
    let middle = (start + finish) / 2.0;
    let centred = CentreLine {
        curvature: 0.0,
        ..straight.moved(middle)
    };
    let places: Vec<(f64, f64)> = (0..first.band.lab[0].nrows())
        .filter_map(|i| {
            let s = first.band.s_of(i);
            let t = 0.5 * (first.outline.left.t_mm[i] + first.outline.right.t_mm[i]);
            (s > start + 1.0 && s < finish - 1.0).then(|| centred.coordinates(base.place(s, t)))
        })
        .collect();
    let line = fit_line(&places, centred)?;
    Some(line.moved(start - middle))
}

fn second_pass(
    picture: &LinearPhoto<'_>,
    view: &View,
    first: &Pass,
    line: CentreLine,
    hint: &BandHint,
    options: &BandOptions,
) -> Option<Pass> {
    let old = first.band.centre_line;
    let [start, finish] = first.ends.map(|e| e.at_mm);
    // The old edges in the new line's coordinates.
    let mut seen: Vec<(f64, f64, f64)> = Vec::new();
    for i in 0..first.band.lab[0].nrows() {
        let s = first.band.s_of(i);
        if s >= start && s <= finish {
            let (s_new, left) = line.coordinates(old.place(s, first.outline.left.t_mm[i]));
            let (_, right) = line.coordinates(old.place(s, first.outline.right.t_mm[i]));
            seen.push((s_new, left, right));
        }
    }
    let (from, to) = (seen.first()?.0, seen.last()?.0);
    let lo = seen.iter().map(|e| e.1).fold(f64::INFINITY, f64::min);
    let hi = seen.iter().map(|e| e.2).fold(f64::NEG_INFINITY, f64::max);
    let window = Window {
        s_mm: (from - options.margin_along_mm, to + options.margin_along_mm),
        t_mm: (lo - options.margin_across_mm, hi + options.margin_across_mm),
        step_mm: 1.0 / view.px_per_mm(line.place((from + to) / 2.0, 0.0)),
    };
    let (band, covered) = straighten(picture, view, line, window, Reading::Sharp);
    let rows = band.lab[0].nrows();
    let mut k = 0;
    let edges = (0..rows)
        .map(|i| {
            let s = band.s_of(i);
            while k + 1 < seen.len() && seen[k + 1].0 <= s {
                k += 1;
            }
            (seen[k].1, seen[k].2)
        })
        .collect();
    let row = |s: f64| ((s - band.s0_mm) / band.step_mm).max(0.0) as usize;
    let cloth_rows = row(from + 2.0)..row(to - 2.0).max(row(from + 2.0) + 1);
    let rough = Rough {
        edges,
        doubt_mm: (2.0, 2.0),
        ground_from_mm: 0.5,
        pitch_mm: pitch_of(hint),
        rounding: first.outline.rounding,
        cloth_rows,
        turns: turns_of(hint),
    };
    pass(band, covered, &rough)
}

/// Colours of turns that are known beforehand.
fn turns_of(hint: &BandHint) -> Vec<Colour> {
    hint.turns.iter().map(|lab| colour(*lab)).collect()
}

/// Distance from pick to pick, as planned, mm.
fn pitch_of(hint: &BandHint) -> f64 {
    hint.picks_per_inch.map_or(2.5, |n| 25.4 / n)
}

fn pass(band: StraightBand, covered: Array2<bool>, rough: &Rough) -> Option<Pass> {
    let outline = outline(&band, &covered, rough)?;
    let edges = steady_edges(&band, &outline, &rough.cloth_rows)?;
    let seen = Seen {
        odds: odds_of(&band, &covered, &outline),
        edges: &edges,
        middle: usize::midpoint(rough.cloth_rows.start, rough.cloth_rows.end),
        pitch_mm: rough.pitch_mm,
    };
    let shares = seen.ground_shares();
    let end = |which| cloth_end(&seen, &shares, which);
    let (start, finish) = rayon::join(|| end(Which::Start), || end(Which::Finish));
    let ends = [start, finish];
    Some(Pass {
        ends,
        band,
        covered,
        outline,
    })
}

fn odds_of<'a>(
    band: &'a StraightBand,
    covered: &'a Array2<bool>,
    outline: &'a Outline,
) -> Odds<'a> {
    Odds {
        band,
        covered,
        model: &outline.model,
    }
}

/// Both selvedges as straight lines through the surely woven rows, continued over all rows.
fn steady_edges(
    band: &StraightBand,
    outline: &Outline,
    rows: &std::ops::Range<usize>,
) -> Option<Vec<(f64, f64)>> {
    use super::lay::robust_fit;
    let s = |i: usize| band.s_of(i);
    let fit = |t: &[f64]| {
        let places: Vec<(f64, f64)> = rows.clone().map(|i| (s(i), t[i])).collect();
        robust_fit(&places, 2)
    };
    let (left, _) = fit(&outline.left.t_mm)?;
    let (right, _) = fit(&outline.right.t_mm)?;
    Some(
        (0..band.lab[0].nrows())
            .map(|i| (left[0] + left[1] * s(i), right[0] + right[1] * s(i)))
            .collect(),
    )
}

fn finished(last: Pass, hint: &BandHint, mut warnings: Vec<Warning>) -> BandTrace {
    let [start, finish] = last.ends;
    let doubt = Doubt::new(&last.band, &last.covered, &last.outline, &last.ends);
    warnings.extend(doubt.warnings);
    let cloth_mm = (start.at_mm, finish.at_mm);
    let light = light_along(&last.band, &last.covered, &last.outline, cloth_mm, hint);
    let outline = &last.outline;
    let edges = [&*outline.left.t_mm, &*outline.right.t_mm];
    let lean = Lean::seen(&last.band, edges, cloth_mm, pitch_of(hint));
    BandTrace {
        light,
        lean,
        edge_noise_mm: doubt.noise_mm,
        edge_jitter_mm: doubt.jitter_mm,
        edge_bias_mm: doubt.bias_mm,
        selvedges_unseen: doubt.unseen,
        left_mm: last.outline.left.t_mm,
        right_mm: last.outline.right.t_mm,
        cloth_mm,
        cloth_u_mm: (start.u_mm.hypot(END_MM), finish.u_mm.hypot(END_MM)),
        runs_out: (start.runs_out, finish.runs_out),
        warnings,
        straight: last.band,
    }
}
