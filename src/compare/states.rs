//! What the band lost coming off the loom, and what washing took.
//!
//! # Method
//! Loss = 1 − after / before, of the length (of the pick spacing where a length is missing) and of
//! the width; several photos of one state count with their mean. Losses follow one another by
//! division: a band of 10 in that loses 20 % was 12.5 in, not 12.

use super::comparison::{PlanShrinkage, StateStep, States};
use super::sample::SampleFigures;
use crate::measurement::Quantity;
use crate::units::rounded;

/// The states of cloth, in the order in which a band goes through them.
const STATES: [&str; 3] = ["in-loom", "off-loom", "washed"];

/// Which known states the samples are in, in order.
pub(super) fn seen(samples: &[SampleFigures]) -> Vec<&'static str> {
    STATES
        .into_iter()
        .filter(|state| {
            samples
                .iter()
                .any(|sample| sample.state.as_deref() == Some(state))
        })
        .collect()
}

/// The steps between the states that the samples, all of one band, are in.
pub(super) fn states(samples: &[SampleFigures]) -> Option<States> {
    let seen = seen(samples);
    if seen.len() < 2 {
        return None;
    }
    let steps: Vec<StateStep> = seen
        .windows(2)
        .map(|pair| step(samples, pair[0], pair[1]))
        .collect();
    let shrinkage = steps
        .iter()
        .find(|step| step.from == "off-loom" && step.to == "washed")
        .map(|step| PlanShrinkage {
            length: step.length_percent.and_then(as_plan),
            width: step.width_percent.and_then(as_plan),
        })
        .filter(|shrinkage| shrinkage.length.is_some() || shrinkage.width.is_some());
    Some(States { steps, shrinkage })
}

/// A loss as a plan writes it; a gain, which a plan can't hold, is left out.
fn as_plan(loss: Quantity) -> Option<String> {
    (loss.value >= 0.0).then(|| format!("{} %", rounded(loss.value, 1)))
}

fn step(samples: &[SampleFigures], from: &str, to: &str) -> StateStep {
    let mean = |state: &str, of: fn(&SampleFigures) -> Option<Quantity>| {
        let values: Vec<Quantity> = samples
            .iter()
            .filter(|sample| sample.state.as_deref() == Some(state))
            .filter_map(of)
            .collect();
        mean_of(&values)
    };
    let loss = |of: fn(&SampleFigures) -> Option<Quantity>| {
        Some(loss_percent(mean(from, of)?, mean(to, of)?))
    };
    StateStep {
        from: from.to_owned(),
        to: to.to_owned(),
        length_percent: loss(|s| s.length_mm).or_else(|| loss(spacing)),
        width_percent: loss(|s| s.width_mm),
    }
}

/// The mean pick spacing, mm.
fn spacing(sample: &SampleFigures) -> Option<Quantity> {
    let per_inch = sample.per_inch?;
    let value = crate::units::MM_PER_INCH / per_inch.value;
    Some(Quantity {
        value,
        u95: value * per_inch.u95 / per_inch.value,
    })
}

/// The mean, with the doubt of one photo: what photos share doesn't shrink.
fn mean_of(values: &[Quantity]) -> Option<Quantity> {
    let n = values.len() as f64;
    (!values.is_empty()).then(|| Quantity {
        value: values.iter().map(|q| q.value).sum::<f64>() / n,
        u95: (values.iter().map(|q| q.u95 * q.u95).sum::<f64>() / n).sqrt(),
    })
}

fn loss_percent(before: Quantity, after: Quantity) -> Quantity {
    let ratio = after.value / before.value;
    Quantity {
        value: 100.0 * (1.0 - ratio),
        u95: 100.0 * ratio * (before.u95 / before.value).hypot(after.u95 / after.value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_is_a_share_of_what_was_there_before() {
        // 12.5 in that finish at 10 in lost 20 %; 12 in would have finished at 9.6 in.
        let loss = loss_percent(
            Quantity {
                value: 12.5,
                u95: 0.05,
            },
            Quantity {
                value: 10.0,
                u95: 0.05,
            },
        );
        assert!((loss.value - 20.0).abs() < 1e-9);
        assert!((loss.u95 - 80.0 * 0.004_f64.hypot(0.005)).abs() < 1e-9);
        assert!((12.0 * (1.0 - loss.value / 100.0) - 9.6).abs() < 1e-9);
    }
}
