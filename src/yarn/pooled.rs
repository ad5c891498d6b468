//! Several measured bands as one: what a band of these hands takes on average, and how surely.
//!
//! # Method
//! 1. Of each band: its picks (picks per inch × planned woven length), and picks × W.
//! 2. The mean over the bands. Its doubt for N bands to come, from n measured ones with standard
//!    deviation s between them: t(n−1) · s · √(1/n + 1/N), the spread of the mean of N new ones
//!    about the mean of n old ones.
//! 3. It is never less than what measuring alone leaves; the scale's own doubt, which is the same
//!    for all bands of one scanner or one sheet, is added whole.
//! 4. One band has no spread: its interval is that of measuring.

use crate::measurement::{Measurement, Quantity};
use crate::plan::{Plan, PlanWorked};
use crate::stats::coverage_factor;
use crate::units::MM_PER_INCH;
use crate::{Error, Result};

/// Half-widths of 95 % intervals are this many standard uncertainties.
const NORMAL: f64 = 1.96;
/// By how much the planned picks of a result may differ before it is said to be of another plan.
const SAME_PLAN: f64 = 0.02;

/// Figures of one band, or of the mean one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BandFigures {
    /// Picks.
    pub(super) picks: f64,
    /// Picks per inch.
    pub(super) per_inch: f64,
    /// Width that one pick's weft is reckoned over, mm.
    pub(super) weft_width_mm: f64,
    /// The cloth's own width, mm.
    pub(super) cloth_width_mm: f64,
}

impl BandFigures {
    /// A band just as planned.
    pub(super) fn planned(plan: &Plan, worked: &PlanWorked) -> Self {
        Self {
            picks: f64::from(worked.picks),
            per_inch: plan.picks_per_inch,
            weft_width_mm: plan.weft_width_mm(),
            cloth_width_mm: plan.off_loom_width_mm(),
        }
    }
}

/// What the measured bands say together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pooled {
    /// Picks of a band, on average over the bands to come.
    pub(super) picks: Quantity,
    /// Weft of a band against the planned.
    pub(super) weft_ratio: Quantity,
    /// The mean band.
    pub(super) figures: BandFigures,
    /// What to bear in mind.
    pub(super) notes: Vec<String>,
}

/// A figure of one band with its standard uncertainties, relative.
struct Figure {
    value: f64,
    scatter: f64,
    scale: f64,
}

/// Pools `measured` for `bands` bands to come; `None` where nothing was measured.
pub(super) fn pool(
    plan: &Plan,
    worked: &PlanWorked,
    measured: &[Measurement],
    bands: u32,
) -> Result<Option<Pooled>> {
    if measured.is_empty() {
        return Ok(None);
    }
    let mut notes = Vec::new();
    let use_width = plan.draw_in.is_some() && measured.iter().all(|m| m.width.is_some());
    if plan.draw_in.is_some() && !use_width {
        notes.push(
            "not every result has a width: the weft is reckoned over the planned width".to_owned(),
        );
    }
    let planned = BandFigures::planned(plan, worked);
    let mut picks = Vec::with_capacity(measured.len());
    let mut wefts = Vec::with_capacity(measured.len());
    let mut widths = Vec::new();
    for (at, measurement) in measured.iter().enumerate() {
        let photo = &measurement.photo;
        if measured[..at]
            .iter()
            .any(|other| other.photo.sha256 == photo.sha256)
        {
            notes.push(format!(
                "{} was given twice: one photo is one band, and the interval is too narrow",
                photo.file
            ));
        }
        let per_inch = picks_per_inch(measurement)?;
        let scale = relative(measurement.scale.px_per_mm);
        let rows = relative(per_inch);
        let of_picks = Figure {
            value: per_inch.value * worked.woven_length_mm / MM_PER_INCH,
            scatter: without(rows, scale),
            scale,
        };
        let width = measurement.width.as_ref().map(|width| width.mean_mm);
        widths.extend(width.map(|width| width.value));
        wefts.push(match width.filter(|_| use_width) {
            Some(width) => Figure {
                value: of_picks.value * width.value,
                scatter: of_picks.scatter.hypot(without(relative(width), scale)),
                scale,
            },
            None => Figure {
                value: of_picks.value * planned.weft_width_mm,
                scatter: of_picks.scatter,
                scale,
            },
        });
        picks.push(of_picks);
        notes.extend(doubt_of_state(measurement, plan));
    }
    notes.dedup();
    let picks = mean_for(&picks, bands);
    let weft = mean_for(&wefts, bands);
    let planned_weft = planned.picks * planned.weft_width_mm;
    let cloth_width_mm = if widths.is_empty() {
        planned.cloth_width_mm
    } else {
        widths.iter().sum::<f64>() / widths.len() as f64
    };
    Ok(Some(Pooled {
        picks,
        weft_ratio: Quantity {
            value: weft.value / planned_weft,
            u95: weft.u95 / planned_weft,
        },
        figures: BandFigures {
            picks: picks.value,
            per_inch: picks.value * MM_PER_INCH / worked.woven_length_mm,
            weft_width_mm: weft.value / picks.value,
            cloth_width_mm,
        },
        notes,
    }))
}

fn picks_per_inch(measurement: &Measurement) -> Result<Quantity> {
    measurement
        .picks
        .as_ref()
        .map(|picks| picks.per_inch)
        .filter(|per_inch| per_inch.value.is_finite() && per_inch.value > 0.0)
        .ok_or_else(|| Error::Request {
            what: measurement.photo.file.clone(),
            why: "its result has no picks, so it says nothing of the yarn: leave it out, or \
                  photograph the band again"
                .to_owned(),
        })
}

/// Relative standard uncertainty.
fn relative(quantity: Quantity) -> f64 {
    (quantity.u95 / NORMAL / quantity.value).abs()
}

/// What is left of a relative uncertainty without the scale's part.
fn without(all: f64, scale: f64) -> f64 {
    (all * all - scale * scale).max(0.0).sqrt()
}

fn mean_for(figures: &[Figure], bands: u32) -> Quantity {
    let n = figures.len() as f64;
    let mean = figures.iter().map(|figure| figure.value).sum::<f64>() / n;
    let mean_square = |of: fn(&Figure) -> f64| {
        figures
            .iter()
            .map(|f| (of(f) * f.value).powi(2))
            .sum::<f64>()
            / n
    };
    let measuring = NORMAL * (mean_square(|f| f.scatter) / n).sqrt();
    let scale = NORMAL * mean_square(|f| f.scale).sqrt();
    let between = if figures.len() < 2 {
        0.0
    } else {
        let variance = figures
            .iter()
            .map(|f| (f.value - mean).powi(2))
            .sum::<f64>()
            / (n - 1.0);
        coverage_factor(figures.len() - 1) * (variance * (1.0 / n + 1.0 / f64::from(bands))).sqrt()
    };
    Quantity {
        value: mean,
        u95: between.max(measuring).hypot(scale).max(mean * 1e-9),
    }
}

fn doubt_of_state(measurement: &Measurement, plan: &Plan) -> Vec<String> {
    let mut notes = Vec::new();
    if measurement.state() == Some("in-loom") {
        notes.push(format!(
            "{} was measured in the loom: off it the band grows shorter, with more picks to the \
             inch",
            measurement.photo.file
        ));
    }
    let planned = measurement
        .against_plan
        .iter()
        .find(|line| line.what == "picks" && line.unit == "per inch")
        .map(|line| line.planned);
    if planned.is_some_and(|planned| (planned / plan.picks_per_inch - 1.0).abs() > SAME_PLAN) {
        notes.push(format!(
            "{} was measured against a plan with other picks per inch",
            measurement.photo.file
        ));
    }
    notes
}
