//! Several photos of one band: how much of a difference is only the photo's?
//!
//! # Method
//! The standard deviation between the photos, for each figure (ISO 5725-2's repeatability). Two
//! bands, one photo each, must differ by more than t · √2 times it before that means anything; for
//! many photos the factor tends to 2.8, ISO 5725-6's repeatability limit.
//!
//! # Limits
//! What all photos share (one scanner's scale, one sheet's print) doesn't show here; it doesn't
//! show between bands that are measured the same way either.

use super::comparison::Repeatability;
use super::sample::SampleFigures;
use crate::measurement::Quantity;
use crate::stats::coverage_factor;

type Figure = (
    &'static str,
    &'static str,
    fn(&SampleFigures) -> Option<Quantity>,
);

/// The figures that photos are held together by.
const FIGURES: [Figure; 8] = [
    ("picks per inch", "per inch", |s| s.per_inch),
    ("length", "mm", |s| s.length_mm),
    ("width", "mm", |s| s.width_mm),
    ("draw-in", "points", |s| s.draw_in_percent),
    ("spacing CV", "%", |s| s.spacing_cv_percent),
    ("drift", "%", |s| s.drift_percent),
    ("left selvedge, Wq", "mm", |s| s.waviness_mm.map(|w| w.left)),
    ("right selvedge, Wq", "mm", |s| {
        s.waviness_mm.map(|w| w.right)
    }),
];

/// The repeatability of every figure that at least two photos show.
pub(super) fn repeatability(samples: &[SampleFigures]) -> Vec<Repeatability> {
    FIGURES
        .iter()
        .filter_map(|(name, unit, of)| {
            let values: Vec<Quantity> = samples.iter().filter_map(of).collect();
            of_figure(name, unit, &values)
        })
        .collect()
}

fn of_figure(name: &str, unit: &str, values: &[Quantity]) -> Option<Repeatability> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().map(|q| q.value).sum::<f64>() / n;
    let variance = values.iter().map(|q| (q.value - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let stated = (values.iter().map(|q| q.u95 * q.u95).sum::<f64>() / n).sqrt();
    let standard_deviation = variance.sqrt();
    Some(Repeatability {
        figure: name.to_owned(),
        unit: unit.to_owned(),
        photos: values.len(),
        mean,
        standard_deviation,
        least_difference: (coverage_factor(values.len() - 1)
            * std::f64::consts::SQRT_2
            * standard_deviation)
            .max(1e-9),
        stated_u95: stated,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_difference_tends_to_the_repeatability_limit() {
        let values: Vec<Quantity> = (0..400)
            .map(|i| Quantity {
                value: if i % 2 == 0 { 9.0 } else { 11.0 },
                u95: 2.0,
            })
            .collect();
        let many = of_figure("width", "mm", &values).unwrap();
        assert!((many.standard_deviation - 1.0).abs() < 0.01);
        assert!(
            (many.least_difference - 2.78).abs() < 0.03,
            "{}",
            many.least_difference
        );
        let few = of_figure("width", "mm", &values[..2]).unwrap();
        assert!(few.least_difference > 20.0);
        assert_eq!(of_figure("width", "mm", &values[..1]), None);
    }
}
