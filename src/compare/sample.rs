//! One band among others: its figures, and what its plan asked for.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::measurement::{Measurement, Quantity};
use crate::plan::{Plan, Tolerance};

/// One measured band to compare.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// What it is called: the photo's bare name, or the weaver's.
    pub name: String,
    /// Its result.
    pub measurement: Measurement,
    /// The plan it was woven to, where one is at hand; else the planned figures in the result count.
    pub plan: Option<Plan>,
}

/// The figures of one band in a comparison; a figure that wasn't measured is null.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SampleFigures {
    /// What the band is called; no two samples share a name.
    pub name: String,
    /// State of the cloth, where it was noted: in-loom, off-loom or washed.
    pub state: Option<String>,
    /// Picks per inch.
    pub per_inch: Option<Quantity>,
    /// Spacing CV, pick to pick, %.
    pub spacing_cv_percent: Option<Quantity>,
    /// Spacing CV without the drawdown's own rhythm, %.
    pub beat_percent: Option<Quantity>,
    /// Drift, %.
    pub drift_percent: Option<Quantity>,
    /// Length of the body, mm.
    pub length_mm: Option<Quantity>,
    /// Mean width, mm.
    pub width_mm: Option<Quantity>,
    /// Draw-in, % of the width in the loom.
    pub draw_in_percent: Option<Quantity>,
    /// Waviness of both selvedges (Wq), mm.
    pub waviness_mm: Option<Waviness>,
    /// What the plan asked for.
    pub planned: Planned,
    /// What went well.
    pub strengths: Vec<String>,
    /// The one thing to work on; null where nothing stands out.
    pub work_on: Option<String>,
}

impl SampleFigures {
    /// What its weaver is told to work on.
    #[must_use]
    pub fn advice(&self) -> &str {
        let along = self.per_inch.is_some();
        let across = self.width_mm.is_some() && self.waviness_mm.is_some();
        match self.work_on.as_deref() {
            Some(work_on) => work_on,
            None if along && across => "nothing stands out; keep on like this",
            None if along || across => {
                "nothing stands out in what could be measured; the rest wants another photo, as the band's own \
                 result says"
            }
            None => {
                "hardly anything could be measured; take another photo, as the band's own result says"
            }
        }
    }
}

/// Waviness of both selvedges (Wq), mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Waviness {
    /// The weaver's left.
    pub left: Quantity,
    /// The weaver's right.
    pub right: Quantity,
}

impl Waviness {
    /// The wavier of the two.
    #[must_use]
    pub fn worse(&self) -> Quantity {
        if self.left.value > self.right.value {
            self.left
        } else {
            self.right
        }
    }
}

/// What a band's plan asked for, where that is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Planned {
    /// Picks per inch.
    pub per_inch: Option<f64>,
    /// Draw-in, %.
    pub draw_in_percent: Option<f64>,
}

impl Sample {
    /// What counts as good enough for this band.
    pub(super) fn tolerance(&self) -> Tolerance {
        self.plan
            .as_ref()
            .map(|plan| plan.tolerance)
            .unwrap_or_default()
    }

    /// The band's figures, without remarks.
    pub(super) fn figures(&self) -> SampleFigures {
        let m = &self.measurement;
        let cv = m.picks.as_ref().and_then(|picks| picks.spacing_cv_percent);
        let rhythm = m.beat.as_ref().and_then(|beat| beat.rhythm_percent);
        SampleFigures {
            name: self.name.clone(),
            state: m.state().map(str::to_owned),
            per_inch: m.picks.as_ref().map(|picks| picks.per_inch),
            spacing_cv_percent: cv,
            beat_percent: cv.map(|cv| without_rhythm(cv, rhythm)),
            drift_percent: m.beat.as_ref().map(|beat| beat.drift_percent),
            length_mm: m.length_mm,
            width_mm: m.width.as_ref().map(|width| width.mean_mm),
            draw_in_percent: self.draw_in_percent(),
            waviness_mm: m.selvedges.as_ref().map(|edges| Waviness {
                left: edges.left.wq_mm,
                right: edges.right.wq_mm,
            }),
            planned: self.planned(),
            strengths: Vec::new(),
            work_on: None,
        }
    }

    /// The measured draw-in, or the one that the measured width makes with the plan at hand.
    fn draw_in_percent(&self) -> Option<Quantity> {
        self.measurement.draw_in_percent.or_else(|| {
            let width = self.measurement.width.as_ref()?.mean_mm;
            let in_loom = self.plan.as_ref()?.width_in_loom_mm;
            Some(Quantity {
                value: 100.0 * (1.0 - width.value / in_loom),
                u95: 100.0 * width.u95 / in_loom,
            })
        })
    }

    /// What was planned: by the plan at hand, else by the one that the result was held against.
    fn planned(&self) -> Planned {
        if let Some(plan) = &self.plan {
            return Planned {
                per_inch: Some(plan.picks_per_inch),
                draw_in_percent: plan.draw_in.map(|share| 100.0 * share),
            };
        }
        let line = |what: &str, unit: &str| {
            self.measurement
                .against_plan
                .iter()
                .find(|line| line.what == what && line.unit == unit)
                .map(|line| line.planned)
        };
        Planned {
            per_inch: line("picks", "per inch")
                .or_else(|| line("picks", "per cm").map(|n| n * 2.54)),
            draw_in_percent: line("draw_in", "%"),
        }
    }
}

/// The spacing CV with the drawdown's own rhythm taken out, in squares.
fn without_rhythm(cv: Quantity, rhythm: Option<Quantity>) -> Quantity {
    let Some(rhythm) = rhythm else {
        return cv;
    };
    let value = (cv.value * cv.value - rhythm.value * rhythm.value)
        .max(0.0)
        .sqrt();
    let square_doubt = (cv.value * cv.u95).hypot(rhythm.value * rhythm.u95);
    // Near nothing the square's doubt says more than its slope does.
    let u95 = (square_doubt / value.max(square_doubt.sqrt())).max(cv.u95);
    Quantity { value, u95 }
}
