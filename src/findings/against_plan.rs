//! Does the band meet the plan?
//!
//! Each figure that the plan speaks of, with its verdict: within where the whole interval lies
//! inside the tolerance, outside where the whole interval lies outside, else "cannot tell".
//!
//! | what | planned | tolerance |
//! |---|---|---|
//! | `picks` | picks per inch | share of the planned |
//! | `length` | woven length | the same share (this project's choice: length is picks) |
//! | `draw_in` | draw-in that the maker expects | percentage points |
//! | `width` | loom width less that draw-in | the same points of the loom width |
//! | `beat` | its limit | the larger of drift and the worst local difference |
//! | `waviness_left`, `waviness_right` | its limit | Wq |

use crate::measurement::{AgainstPlan, Beat, Measurement, Quantity, Verdict};
use crate::plan::Plan;
use crate::stats::median;

/// Every figure of `measurement` that `plan` speaks of.
#[must_use]
pub fn against_plan(measurement: &Measurement, plan: &Plan) -> Vec<AgainstPlan> {
    let mut held = Vec::new();
    let tolerance = plan.tolerance;
    if let Some(picks) = &measurement.picks {
        let planned = plan.picks_per_inch;
        let band = tolerance.picks * planned;
        held.push(around("picks", planned, picks.per_inch, band, "per inch"));
    }
    if let Some(length) = measurement.length_mm {
        let planned = plan.woven_length_mm;
        let band = tolerance.picks * planned;
        held.push(around("length", planned, length, band, "mm"));
    }
    if let (Some(share), Some(lost)) = (plan.draw_in, measurement.draw_in_percent) {
        let band = 100.0 * tolerance.draw_in;
        held.push(around("draw_in", 100.0 * share, lost, band, "%"));
    }
    if let (Some(share), Some(width)) = (plan.draw_in, &measurement.width) {
        let planned = plan.width_in_loom_mm * (1.0 - share);
        let band = tolerance.draw_in * plan.width_in_loom_mm;
        held.push(around("width", planned, width.mean_mm, band, "mm"));
    }
    if let Some(worst) = measurement.beat.as_ref().and_then(worst_beat) {
        held.push(below("beat", 100.0 * tolerance.beat, worst, "%"));
    }
    if let Some(both) = &measurement.selvedges {
        let limit = tolerance.waviness_mm;
        held.push(below("waviness_left", limit, both.left.wq_mm, "mm"));
        held.push(below("waviness_right", limit, both.right.wq_mm, "mm"));
    }
    held
}

/// The larger of the drift and of the worst local picks per inch against their median, %.
fn worst_beat(beat: &Beat) -> Option<Quantity> {
    let drift = Quantity {
        value: beat.drift_percent.value.abs(),
        u95: beat.drift_percent.u95,
    };
    let usual = median(&beat.local.per_inch).filter(|m| *m > 0.0)?;
    let places = beat.local.per_inch.iter().zip(&beat.local.u95);
    let worst = places
        .map(|(p, u)| Quantity {
            value: 100.0 * (p / usual - 1.0).abs(),
            u95: 100.0 * u / usual,
        })
        .max_by(|a, b| a.value.total_cmp(&b.value))?;
    Some(if worst.value > drift.value {
        worst
    } else {
        drift
    })
}

/// A figure that should lie within `band` of what is planned.
fn around(what: &str, planned: f64, measured: Quantity, band: f64, unit: &str) -> AgainstPlan {
    held(
        what,
        planned,
        measured,
        (planned - band, planned + band),
        unit,
    )
}

/// A figure that should lie below a limit.
fn below(what: &str, limit: f64, measured: Quantity, unit: &str) -> AgainstPlan {
    held(what, limit, measured, (f64::NEG_INFINITY, limit), unit)
}

fn held(
    what: &str,
    planned: f64,
    measured: Quantity,
    (least, greatest): (f64, f64),
    unit: &str,
) -> AgainstPlan {
    let (low, high) = (measured.value - measured.u95, measured.value + measured.u95);
    let verdict = if low >= least && high <= greatest {
        Verdict::Within
    } else if high < least || low > greatest {
        Verdict::Outside
    } else {
        Verdict::CannotTell
    };
    AgainstPlan {
        what: what.into(),
        planned,
        measured,
        unit: unit.into(),
        verdict,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn verdict(value: f64, u95: f64) -> Verdict {
        around("picks", 10.0, Quantity { value, u95 }, 0.8, "per inch").verdict
    }

    #[test]
    fn the_verdict_follows_the_whole_interval() {
        assert_eq!(verdict(10.5, 0.1), Verdict::Within);
        assert_eq!(verdict(11.2, 0.1), Verdict::Outside);
        assert_eq!(verdict(8.9, 0.1), Verdict::Outside);
        assert_eq!(verdict(10.75, 0.1), Verdict::CannotTell);
    }

    #[test]
    fn a_limit_has_no_lower_side() {
        let quiet = below(
            "waviness_left",
            0.5,
            Quantity {
                value: 0.0,
                u95: 0.1,
            },
            "mm",
        );
        assert_eq!(quiet.verdict, Verdict::Within);
    }
}
