//! Both selvedges of the body, as the cloth has them.
//!
//! The traced selvedges between the two ends of the body, distances brought from the plane onto
//! the cloth (picks at its top along the band, selvedges at half its thickness across), each as a
//! distance from the centre line, outward positive.

use crate::band::BandTrace;
use crate::measurement::{Side, WidthProfile};
use crate::scale::OnCloth;
use crate::stats::whole;

/// Distance between the samples of the shown profile, mm.
const PROFILE_STEP_MM: f64 = 0.25;

/// Correlation of the two selvedges' shared errors: 0.7 over 208 drawn bands.
const ALIKE: f64 = 0.7;

/// Both selvedges of the body, sampled as finely as they were traced.
#[derive(Clone, Debug)]
pub struct BodyEdges {
    /// Distance between samples along the band, mm on the cloth.
    pub step_mm: f64,
    /// Place of the first sample, mm from the start of the body.
    pub first_mm: f64,
    /// Distance of the left selvedge from the centre line, outward positive, mm.
    pub left_mm: Vec<f64>,
    /// The same of the right selvedge.
    pub right_mm: Vec<f64>,
    /// One standard uncertainty of a single sample, independent of its neighbours, mm.
    pub noise_mm: f64,
    /// What of it is seen from row to row, mm.
    pub jitter_mm: f64,
    /// One standard uncertainty that one selvedge's samples share, mm.
    pub bias_mm: f64,
    /// One standard uncertainty of lengths across, relative.
    pub scale_u: f64,
}

impl BodyEdges {
    /// Cuts the body out of a trace: `body_mm` in the trace's own `s`, `along` and `across` the
    /// corrections for things at the cloth's top and at half its thickness.
    ///
    /// `corner_mm` is left out at both ends, as much as the ends themselves are in doubt. No more: the
    /// outermost pick rounds off there, and its corners are part of the body's area.
    ///
    /// `None` where the body covers fewer than three rows of the trace.
    #[must_use]
    pub fn new(
        trace: &BandTrace,
        body_mm: (f64, f64),
        corner_mm: f64,
        along: OnCloth,
        across: OnCloth,
    ) -> Option<Self> {
        let step = trace.straight.step_mm;
        let rows = trace.left_mm.len().min(trace.right_mm.len());
        let s = |row: usize| trace.straight.s0_mm + row as f64 * step;
        let inside: Vec<usize> = (0..rows)
            .filter(|row| s(*row) >= body_mm.0 + corner_mm && s(*row) <= body_mm.1 - corner_mm)
            .filter(|row| trace.left_mm[*row].is_finite() && trace.right_mm[*row].is_finite())
            .collect();
        let first = *inside.first()?;
        if inside.len() < 3 || step <= 0.0 {
            return None;
        }
        let cut = |edge: &[f64], outward: f64| -> Vec<f64> {
            let on_cloth = outward * across.factor;
            inside.iter().map(|row| edge[*row] * on_cloth).collect()
        };
        Some(Self {
            step_mm: step * along.factor,
            first_mm: (s(first) - body_mm.0) * along.factor,
            left_mm: cut(&trace.left_mm, -1.0),
            right_mm: cut(&trace.right_mm, 1.0),
            noise_mm: trace.edge_noise_mm * across.factor,
            jitter_mm: trace.edge_jitter_mm * across.factor,
            bias_mm: trace.edge_bias_mm * across.factor,
            scale_u: across.relative_u,
        })
    }

    /// The same with one more standard uncertainty that a selvedge's samples share, mm on the plane.
    #[must_use]
    pub fn in_doubt(self, bias_mm: f64) -> Self {
        Self {
            bias_mm: self.bias_mm.hypot(bias_mm),
            ..self
        }
    }

    /// One standard uncertainty that all widths share, mm: what leads one selvedge's trace astray often
    /// leads the other's too.
    #[must_use]
    pub fn width_bias_mm(&self) -> f64 {
        self.bias_mm * (2.0 * (1.0 + ALIKE)).sqrt()
    }

    /// Number of samples.
    #[must_use]
    pub fn len(&self) -> usize {
        self.left_mm.len()
    }

    /// Whether there is no sample.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.left_mm.is_empty()
    }

    /// One selvedge.
    #[must_use]
    pub fn side(&self, side: Side) -> &[f64] {
        match side {
            Side::Left => &self.left_mm,
            Side::Right => &self.right_mm,
        }
    }

    /// The width at each sample, mm.
    #[must_use]
    pub fn width_mm(&self) -> Vec<f64> {
        let sides = self.left_mm.iter().zip(&self.right_mm);
        sides.map(|(left, right)| left + right).collect()
    }

    /// Place of a sample, mm from the start of the body.
    #[must_use]
    pub fn at_mm(&self, sample: usize) -> f64 {
        self.first_mm + sample as f64 * self.step_mm
    }

    /// The selvedges and the width, averaged over stretches of about 0.25 mm.
    #[must_use]
    pub fn profile(&self) -> WidthProfile {
        let coarse = self.averaged(PROFILE_STEP_MM);
        WidthProfile {
            at_mm: (0..coarse.len()).map(|k| coarse.at_mm(k)).collect(),
            width_mm: coarse.width_mm(),
            left_mm: coarse.left_mm,
            right_mm: coarse.right_mm,
        }
    }

    /// The same selvedges in samples about `step_mm` apart, each the mean of those it stands for.
    #[must_use]
    pub fn averaged(&self, step_mm: f64) -> Self {
        let every = whole(step_mm / self.step_mm).max(1);
        let mean = |edge: &[f64]| -> Vec<f64> {
            let whole = edge.chunks_exact(every);
            whole
                .map(|chunk| chunk.iter().sum::<f64>() / every as f64)
                .collect()
        };
        Self {
            step_mm: self.step_mm * every as f64,
            first_mm: self.first_mm + 0.5 * (every - 1) as f64 * self.step_mm,
            left_mm: mean(&self.left_mm),
            right_mm: mean(&self.right_mm),
            noise_mm: self.noise_mm / (every as f64).sqrt(),
            jitter_mm: self.jitter_mm / (every as f64).sqrt(),
            ..*self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::edges_of;

    #[test]
    fn averaging_keeps_place_and_mean() {
        let edges = edges_of(1000, 0.05, |at| (10.0 + 0.01 * at, 10.0));
        let coarse = edges.averaged(0.25);
        assert_eq!(coarse.len(), 200);
        assert!((coarse.at_mm(0) - 0.1).abs() < 1e-9);
        assert!((coarse.left_mm[100] - (10.0 + 0.01 * coarse.at_mm(100))).abs() < 1e-9);
        assert!((coarse.noise_mm - edges.noise_mm / 5.0_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn the_profile_has_a_sample_every_quarter_millimetre() {
        let profile = edges_of(1000, 0.05, |_| (10.0, 11.0)).profile();
        assert_eq!(profile.at_mm.len(), 200);
        assert!((profile.width_mm[7] - 21.0).abs() < 1e-12);
    }
}
