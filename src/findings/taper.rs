//! Does the band grow wider or narrower along its length?
//!
//! # Method
//! 1. The width averaged over blocks of five picks, so that the weft turns are gone.
//! 2. The straight line that most pairs of blocks agree on; its change from start to finish.
//! 3. A finding where that is beyond [`LEAST_SHARE`] of the width and beyond what the wander of
//!    the width, its neighbours counted as worth less than independent ones, tilts by chance.

use super::chance::stands_out;
use super::words;
use crate::measurement::{Finding, FindingKind};
use crate::stats::{LineFit, effective_count, theil_sen};
use crate::width::{BodyEdges, SHORT_CUTOFF_PICKS};

/// Least change that counts, as a share of the width: 1 mm on a band of 33 mm, which shows when
/// the two ends are laid together.
const LEAST_SHARE: f64 = 0.03;

/// Fewest blocks to judge by.
const LEAST_BLOCKS: usize = 6;

/// The finding, if there is one; `size` is the width at the finish less that at the start, mm.
#[must_use]
pub fn taper(edges: &BodyEdges, pitch_mm: f64) -> Option<Finding> {
    let blocks = edges.averaged(SHORT_CUTOFF_PICKS * pitch_mm);
    if blocks.len() < LEAST_BLOCKS {
        return None;
    }
    let at: Vec<f64> = (0..blocks.len()).map(|k| blocks.at_mm(k)).collect();
    let width = blocks.width_mm();
    let line = LineFit::new(&at, &width)?;
    let left: Vec<f64> = at
        .iter()
        .zip(&width)
        .map(|(a, w)| w - line.at(*a))
        .collect();
    let worth = effective_count(&left).max(4.0);
    let se = line.slope_se() * (left.len() as f64 / worth).sqrt();
    let (slope, _) = theil_sen(&at, &width)?;
    let length = edges.step_mm * edges.len() as f64;
    let size = slope * length;
    let chance = stands_out(1.0, worth - 2.0) * se * length;
    if size.abs() <= (LEAST_SHARE * line.mean_y).max(chance) {
        return None;
    }
    let finding = Finding {
        kind: FindingKind::Taper,
        side: None,
        from_mm: 0.0,
        to_mm: edges.first_mm + length,
        size,
        unit: "mm".into(),
        pick: None,
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let seen = format!(
        "the band grows {} from start to finish, by {:.1} mm in all",
        if size > 0.0 { "wider" } else { "narrower" },
        size.abs()
    );
    Some(words::finish(finding, &seen))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::width::testing::edges_of;

    #[test]
    fn a_taper_of_two_millimetres_is_found() {
        let edges = edges_of(3000, 0.05, |at| {
            let wave = 0.2 * (at / 7.0).sin();
            (16.0 - at / 150.0 + wave, 16.0 - at / 150.0)
        });
        let one = taper(&edges, 2.5).expect("a taper");
        assert!((one.size + 2.0).abs() < 0.2, "{one:?}");
        assert!(one.text.contains("narrower"));
    }

    #[test]
    fn a_waist_is_no_taper() {
        let edges = edges_of(3000, 0.05, |at| {
            (16.0 - 2.0 * (-((at - 110.0) / 12.0).powi(2)).exp(), 16.0)
        });
        assert_eq!(taper(&edges, 2.5), None);
    }
}
