//! How wide is the band on the whole, and how much of its width in the loom has it lost?
//!
//! The width is the area of the body's silhouette over its length: the mean of the traced widths,
//! which are evenly spaced along the centre line. The draw-in is taken from it.

use super::BodyEdges;
use crate::stats::Estimate;

/// Mean width of the body, mm.
#[must_use]
pub fn mean_width(edges: &BodyEdges) -> Estimate {
    let n = edges.len().max(1) as f64;
    let mean = edges.width_mm().iter().sum::<f64>() / n;
    let noise = edges.noise_mm * (2.0 / n).sqrt();
    Estimate::new(
        mean,
        noise.hypot(edges.width_bias_mm()),
        mean * edges.scale_u,
    )
}

/// Draw-in: what the band lost of its width in the loom, %. `None` for a loom width of zero.
///
/// ```
/// use evenfell::stats::Estimate;
/// let width = Estimate::new(7.5 * 25.4, 0.0, 0.0);
/// let lost = evenfell::width::draw_in_percent(width, 8.1 * 25.4).expect("a loom has a width");
/// assert!((lost.value - 7.4).abs() < 0.05);
/// ```
#[must_use]
pub fn draw_in_percent(width: Estimate, in_loom_mm: f64) -> Option<Estimate> {
    (in_loom_mm > 0.0).then(|| {
        let share = 100.0 / in_loom_mm;
        Estimate::new(
            (in_loom_mm - width.value) * share,
            width.scatter * share,
            width.scale * share,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::edges_of;
    use super::*;

    #[test]
    fn a_taper_counts_at_its_mean() {
        let edges = edges_of(2001, 0.05, |at| (15.0 + 0.01 * at, 16.0));
        let width = mean_width(&edges);
        assert!((width.value - 31.5).abs() < 1e-9);
        assert!((width.scale - 0.0315).abs() < 1e-6);
        assert!(width.scatter > 0.015 && width.scatter < 0.025);
    }
}
