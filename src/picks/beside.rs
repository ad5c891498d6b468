//! What lies beside the cloth at each of its samples, and how wide the cloth is there?

use rayon::prelude::*;

use crate::band::BandTrace;
use crate::stats::median;

/// From how far to how far outside a selvedge the ground's colour is taken, mm.
const BESIDE_MM: (f64, f64) = (1.0, 3.0);

/// The ground beside the cloth and the cloth's width, for each sample.
#[derive(Clone, Debug, Default)]
pub(crate) struct Beside {
    /// Median colour of the ground at the left and at the right, CIE Lab.
    pub(crate) ground: Vec<[[f64; 3]; 2]>,
    /// From selvedge to selvedge, mm.
    pub(crate) width_mm: Vec<f64>,
    /// The sway of both selvedges, mm ([`BandTrace::sway_mm`]).
    pub(crate) sway_mm: Vec<f64>,
}

impl Beside {
    /// At the places `s_mm` along the traced band.
    pub(crate) fn of(trace: &BandTrace, s_mm: &[f64]) -> Self {
        let straight = &trace.straight;
        let (rows, across) = straight.lab[0].dim();
        let column = |t_mm: f64| {
            let at = ((t_mm - straight.t0_mm) / straight.step_mm).round();
            (at.max(0.0) as usize).min(across - 1)
        };
        let colour = |row: usize, from_mm: f64, to_mm: f64| {
            let (from, to) = (column(from_mm), column(to_mm));
            [0, 1, 2].map(|c| {
                let line: Vec<f64> = (from..to.max(from + 1))
                    .map(|j| f64::from(straight.lab[c][(row, j)]))
                    .collect();
                median(&line).unwrap_or(0.0)
            })
        };
        let (near, far) = BESIDE_MM;
        let row_at = |s: &f64| {
            let row = ((s - straight.s0_mm) / straight.step_mm).round().max(0.0) as usize;
            row.min(rows - 1)
        };
        let (ground, width_mm) = s_mm
            .par_iter()
            .map(|s| {
                let row = row_at(s);
                let (left, right) = (trace.left_mm[row], trace.right_mm[row]);
                let ground = [
                    colour(row, left - far, left - near),
                    colour(row, right + near, right + far),
                ];
                (ground, right - left)
            })
            .unzip();
        let sway_mm = s_mm
            .iter()
            .map(row_at)
            .map(|row| trace.sway_mm(row))
            .collect();
        Self {
            ground,
            width_mm,
            sway_mm,
        }
    }
}
