//! The group as a whole: what is usual, and how far bands differ.

use super::comparison::{Group, Spread};
use super::sample::SampleFigures;
use crate::measurement::Quantity;
use crate::stats::{median, robust_sd};

/// Median and robust spread of every figure. Where bands follow different plans, their picks,
/// width and draw-in are their plans' and aren't summed up.
pub(super) fn group(samples: &[SampleFigures], one_plan: bool) -> Group {
    let of = |figure: fn(&SampleFigures) -> Option<Quantity>| spread(samples, figure);
    let planned = |figure: fn(&SampleFigures) -> Option<Quantity>| {
        one_plan.then(|| spread(samples, figure)).flatten()
    };
    Group {
        per_inch: planned(|s| s.per_inch),
        spacing_cv_percent: of(|s| s.spacing_cv_percent),
        beat_percent: of(|s| s.beat_percent),
        drift_percent: of(|s| s.drift_percent),
        width_mm: planned(|s| s.width_mm),
        draw_in_percent: planned(|s| s.draw_in_percent),
        waviness_mm: of(|s| s.waviness_mm.map(|waviness| waviness.worse())),
    }
}

fn spread(
    samples: &[SampleFigures],
    figure: fn(&SampleFigures) -> Option<Quantity>,
) -> Option<Spread> {
    let values: Vec<f64> = samples.iter().filter_map(figure).map(|q| q.value).collect();
    if values.len() < 2 {
        return None;
    }
    Some(Spread {
        median: median(&values)?,
        spread: robust_sd(&values)?,
    })
}
