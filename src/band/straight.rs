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
    /// Whether the cloth runs out of the picture at either end.
    pub(crate) fn is_cropped(&self) -> bool {
        self.runs_out.0 || self.runs_out.1
    }

    /// Sum of both selvedges' `t` where the pick ends that crosses the middle at a row of the picture, mm: greater where
    /// the weft turns at the right, less where it turns at the left.
    pub(crate) fn sway_mm(&self, row: usize) -> f64 {
        let straight = &self.straight;
        let lean_mm = self.lean.at_mm(straight.s_of(row));
        let lean = (lean_mm / straight.step_mm).round() as isize;
        let at = |edge: &[f64], by| edge[row.saturating_add_signed(by).min(edge.len() - 1)];
        at(&self.left_mm, -lean) + at(&self.right_mm, lean)
    }

    /// The same picture and ends with the selvedges that `other` followed in the same photo, their doubt and warnings.
    pub(crate) fn with_selvedges_of(&self, other: Self) -> Self {
        let moved = |edge: &[f64]| {
            let line = &other.straight.centre_line;
            let places = edge.iter().enumerate();
            let places: Vec<(f64, f64)> = places
                .map(|(row, t)| {
                    let place = line.place(other.straight.s_of(row), *t);
                    self.straight.centre_line.coordinates(place)
                })
                .collect();
            self.at_own_rows(&places)
        };
        Self {
            left_mm: moved(&other.left_mm),
            right_mm: moved(&other.right_mm),
            edge_noise_mm: other.edge_noise_mm,
            edge_jitter_mm: other.edge_jitter_mm,
            edge_bias_mm: other.edge_bias_mm,
            selvedges_unseen: other.selvedges_unseen,
            warnings: other.warnings,
            ..self.clone()
        }
    }

    /// `t` at each row of the picture, by places `(s, t)` in the order of `s`; beyond them as at the nearest.
    fn at_own_rows(&self, places: &[(f64, f64)]) -> Vec<f64> {
        let mut k = 0;
        (0..self.left_mm.len())
            .map(|row| {
                let s = self.straight.s_of(row);
                while k + 2 < places.len() && places[k + 1].0 <= s {
                    k += 1;
                }
                let ((from, t), (to, next)) = (places[k], places[(k + 1).min(places.len() - 1)]);
                let share = ((s - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
                t + share * (next - t)
            })
            .collect()
    }

    /// Median distance from selvedge to selvedge over all rows of the picture, mm; `None` without rows.
    pub(crate) fn usual_width_mm(&self) -> Option<f64> {
        let edges = self.left_mm.iter().zip(&self.right_mm);
        let widths: Vec<f64> = edges.map(|(left, right)| right - left).collect();
        median(&widths)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    /// A band along `line` whose selvedges lie at `y` = −10 and 10 mm of the plane.
    fn level_band_along(centre_line: CentreLine, s0_mm: f64) -> BandTrace {
        let rows = 600;
        let s_of = |row: usize| s0_mm + row as f64 * 0.1;
        let edge = |y: f64| -> Vec<f64> {
            let t = |row| {
                let on_line = centre_line.place(s_of(row), 0.0);
                let near = centre_line.coordinates(Point::new(on_line.x, y));
                // Once more, at the place whose `s` is the row's.
                let x = on_line.x - (near.0 - s_of(row));
                centre_line.coordinates(Point::new(x, y)).1
            };
            (0..rows).map(t).collect()
        };
        BandTrace {
            straight: StraightBand {
                lab: [(); 3].map(|()| Array2::zeros((rows, 4))),
                step_mm: 0.1,
                s0_mm,
                t0_mm: -12.0,
                centre_line,
            },
            left_mm: edge(-10.0),
            right_mm: edge(10.0),
            edge_noise_mm: 0.02,
            edge_jitter_mm: 0.02,
            edge_bias_mm: 0.02,
            cloth_mm: (5.0, 50.0),
            cloth_u_mm: (0.1, 0.1),
            runs_out: (false, false),
            light: None,
            lean: Lean::default(),
            selvedges_unseen: None,
            warnings: Vec::new(),
        }
    }

    #[test]
    fn selvedges_followed_along_another_line_lie_where_they_did_in_the_photo() {
        let level = CentreLine {
            origin: Point::new(0.0, 0.0),
            along: Point::new(1.0, 0.0),
            curvature: 0.0,
        };
        let askew = CentreLine {
            origin: Point::new(4.0, 0.5),
            along: Point::new(0.03_f64.cos(), 0.03_f64.sin()),
            curvature: 0.0008,
        };
        let own = BandTrace {
            left_mm: vec![-9.0; 600],
            right_mm: vec![9.0; 600],
            ..level_band_along(level, 0.0)
        };
        let mut other = level_band_along(askew, -5.0);
        other.edge_bias_mm = 0.1;
        let both = own.with_selvedges_of(other);
        for row in 30..500 {
            let off = (both.left_mm[row] + 10.0).abs() + (both.right_mm[row] - 10.0).abs();
            assert!(
                off < 0.01,
                "row {row}: {} {}",
                both.left_mm[row],
                both.right_mm[row]
            );
        }
        assert_eq!((both.edge_bias_mm, both.cloth_mm), (0.1, own.cloth_mm));
    }
}
