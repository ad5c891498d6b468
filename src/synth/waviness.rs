//! Wq and Wt of a true outline, by brute force: slow, plain, and independent of the measuring.

/// Share of the cut-off that sets the Gaussian's width, √(ln 2/π) (ISO 16610-21).
const ALPHA: f64 = 0.469_718_639;
/// Long cut-off, mm.
const LONG_MM: f64 = 80.0;
/// Short cut-off, picks.
const SHORT_PICKS: f64 = 5.0;
/// The outline is averaged to about this step before it is filtered, mm.
const COARSE_MM: f64 = 0.25;

/// Root mean square and range of a selvedge between the two cut-offs (5 picks and 80 mm), mm.
///
/// `values` lie `step_mm` apart; the filter is the Gaussian regression of first order, so that
/// nothing is cut off at the ends.
#[must_use]
pub fn waviness_mm(values: &[f64], step_mm: f64, pick_mm: f64) -> (f64, f64) {
    let block = (COARSE_MM / step_mm).round().max(1.0) as usize;
    let coarse: Vec<f64> = values
        .chunks(block)
        .map(|part| part.iter().sum::<f64>() / part.len() as f64)
        .collect();
    let step = step_mm * block as f64;
    let short = smoothed(&coarse, step, SHORT_PICKS * pick_mm);
    let long = smoothed(&short, step, LONG_MM);
    let between: Vec<f64> = short.iter().zip(&long).map(|(a, b)| a - b).collect();
    let n = between.len().max(1) as f64;
    let wq = (between.iter().map(|w| w * w).sum::<f64>() / n).sqrt();
    let high = between.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = between.iter().copied().fold(f64::INFINITY, f64::min);
    (wq, (high - low).max(0.0))
}

/// Local straight line, Gaussian weight of the given cut-off.
fn smoothed(values: &[f64], step: f64, cutoff: f64) -> Vec<f64> {
    let reach = (1.2 * cutoff / step).ceil() as usize;
    let weights: Vec<f64> = (0..=reach)
        .map(|i| (-std::f64::consts::PI * (i as f64 * step / (ALPHA * cutoff)).powi(2)).exp())
        .collect();
    (0..values.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(reach), (i + reach + 1).min(values.len()));
            let (mut s0, mut s1, mut s2, mut y0, mut y1) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (j, value) in values.iter().enumerate().take(to).skip(from) {
                let x = j as f64 - i as f64;
                let w = weights[i.abs_diff(j)];
                s0 += w;
                s1 += w * x;
                s2 += w * x * x;
                y0 += w * value;
                y1 += w * x * value;
            }
            let det = s0 * s2 - s1 * s1;
            if det > 1e-9 {
                (s2 * y0 - s1 * y1) / det
            } else {
                y0 / s0
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sines_pass_by_the_standard_s_shares_away_from_the_ends() {
        let step = 0.05;
        for (wavelength, share) in [(25.0, 0.841), (12.5, 0.5), (6.25, 0.0625)] {
            let wave = |i: i32| (std::f64::consts::TAU * f64::from(i) * step / wavelength).sin();
            let line: Vec<f64> = (0..2000).map(wave).collect();
            let passed = smoothed(&line, step, 12.5);
            let high = passed[600..1400].iter().copied().fold(0.0, f64::max);
            assert!((high - share).abs() < 0.005, "{wavelength} mm: {high}");
        }
    }

    #[test]
    fn a_straight_selvedge_has_no_waviness() {
        let line: Vec<f64> = (0..3000).map(|i| 17.0 + 0.001 * f64::from(i)).collect();
        let (wq, wt) = waviness_mm(&line, 0.05, 2.5);
        assert!(wq < 1e-6 && wt < 1e-5, "{wq} {wt}");
    }
}
