//! The band laid straight: a picture whose rows run across it.

use ndarray::Array2;

use super::{CentreLine, Lean};
use crate::measurement::Warning;
use crate::stats::median;

/// The band sampled along its centre line, once, from the photo.
///
/// Every plane has the shape (rows along the band, columns across it): row 0 lies nearest to the
/// start, column 0 at the weaver's left. Row `i` lies at `s = s0_mm + i · step_mm`, column `j` at
/// `t = t0_mm + j · step_mm`.
#[derive(Clone, Debug)]
pub struct StraightBand {
    /// CIE L* (0 … 100), a*, b* (D65) of each sample.
    pub lab: [Array2<f32>; 3],
    /// Distance between samples, along and across, mm: about one pixel of the photo.
    pub step_mm: f64,
    /// `s` of row 0, mm.
    pub s0_mm: f64,
    /// `t` of column 0, mm.
    pub t0_mm: f64,
    /// The line that it was straightened along.
    pub centre_line: CentreLine,
}

impl StraightBand {
    /// Place along the band of a row, mm.
    pub(crate) fn s_of(&self, row: usize) -> f64 {
        self.s0_mm + row as f64 * self.step_mm
    }
}

/// A straightened band with its two selvedges and the two ends of its cloth.
#[derive(Clone, Debug)]
pub struct BandTrace {
    /// The picture.
    pub straight: StraightBand,
    /// `t` of the left selvedge at each row of the picture, mm (negative: left of the line).
    pub left_mm: Vec<f64>,
    /// `t` of the right selvedge at each row of the picture, mm.
    pub right_mm: Vec<f64>,
    /// One standard uncertainty of a selvedge's place at one row, independent from row to row, mm.
    pub edge_noise_mm: f64,
    /// What of it is seen from row to row, mm: the rest hangs together over some rows.
    pub edge_jitter_mm: f64,
    /// One standard uncertainty that all rows of one selvedge share, mm.
    pub edge_bias_mm: f64,
    /// `s` where the woven cloth (headers included) begins and ends, mm.
    pub cloth_mm: (f64, f64),
    /// One standard uncertainty of each end of the cloth, mm.
    pub cloth_u_mm: (f64, f64),
    /// Whether the cloth runs out of the picture at the start and at the finish.
    pub runs_out: (bool, bool),
    /// How light it is beside the left and the right selvedge at each row, as a share of the usual
    /// in L* + 16; `None` where it is even or can't be told.
    pub light: Option<[Vec<f32>; 2]>,
    /// How the picks lie to the rows of the picture.
    pub lean: Lean,
    /// Why nothing can be said of width and selvedges; `None` where they are seen.
    pub selvedges_unseen: Option<String>,
    /// What is doubtful about the outline.
    pub warnings: Vec<Warning>,
}

impl BandTrace {
    /// Sum of both selvedges' `t` where the pick ends that crosses the middle at a row of the picture, mm: greater where
    /// the weft turns at the right, less where it turns at the left.
    pub(crate) fn sway_mm(&self, row: usize) -> f64 {
        let straight = &self.straight;
        let lean_mm = self.lean.at_mm(straight.s_of(row));
        let lean = (lean_mm / straight.step_mm).round() as isize;
        let at = |edge: &[f64], by| edge[row.saturating_add_signed(by).min(edge.len() - 1)];
        at(&self.left_mm, -lean) + at(&self.right_mm, lean)
    }

    /// Median distance from selvedge to selvedge over all rows of the picture, mm; `None` without rows.
    pub(crate) fn usual_width_mm(&self) -> Option<f64> {
        let edges = self.left_mm.iter().zip(&self.right_mm);
        let widths: Vec<f64> = edges.map(|(left, right)| right - left).collect();
        median(&widths)
    }
}
