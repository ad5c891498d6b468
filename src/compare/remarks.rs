//! What went well with a band, and the one thing to work on.
//!
//! # Method
//! 1. A thing went well where the band surely keeps its tolerance (its whole interval lies
//!    inside), or stands in the first of several places.
//! 2. Each fault is weighed: its least size, interval taken off, in tolerances. Drift counts
//!    double: a creep is the fault, scatter the hand (M. Petrini, "Focus on Beating", 2023).
//! 3. The heaviest fault above 1 is the thing to work on; where none is, the criterion in which the
//!    band stands in the last of several places; else nothing.

use super::comparison::Order;
use super::criterion::Criterion;
use super::sample::{Sample, SampleFigures};
use crate::measurement::Quantity;
use crate::stats::shown;

/// Drift is weighed by this much more than the rest.
const DRIFT_WEIGHT: f64 = 2.0;

/// Sets strengths and the thing to work on of every sample.
pub(super) fn remark(samples: &[Sample], figures: &mut [SampleFigures], orders: &[Order]) {
    for (sample, figures) in samples.iter().zip(figures) {
        let faults = faults(sample, figures);
        figures.strengths = strengths(&figures.name, &faults, orders);
        figures.work_on = work_on(&figures.name, faults, orders);
    }
}

/// One thing that may be at fault.
struct Fault {
    /// The order that ranks it, where one does.
    by: Option<Criterion>,
    /// What it is when it is fine, in words.
    fine: String,
    /// What to do about it.
    advice: String,
    /// Size in tolerances, at least and at most.
    least: f64,
    most: f64,
    weight: f64,
}

impl Fault {
    fn new(
        by: Option<Criterion>,
        size: Quantity,
        tolerance: f64,
        fine: String,
        advice: String,
    ) -> Self {
        Self {
            by,
            fine,
            advice,
            least: (size.value.abs() - size.u95) / tolerance,
            most: (size.value.abs() + size.u95) / tolerance,
            weight: 1.0,
        }
    }
}

fn faults(sample: &Sample, figures: &SampleFigures) -> Vec<Fault> {
    let mut faults = Vec::new();
    faults.extend(drift(sample, figures));
    faults.extend(beat(sample, figures));
    faults.extend(picks(sample, figures));
    faults.extend(draw_in(sample, figures));
    faults.extend(selvedges(sample, figures));
    faults
}

fn text(quantity: Quantity, unit: &str) -> String {
    format!("{} {unit}", shown(quantity.value.abs(), quantity.u95))
}

fn drift(sample: &Sample, figures: &SampleFigures) -> Option<Fault> {
    let drift = figures.drift_percent?;
    let (apart, advice) = if drift.value > 0.0 {
        (
            "farther apart",
            "keep the beat as firm to the end, and move the work on sooner",
        )
    } else {
        (
            "closer",
            "beat no harder as the work goes on, and keep the warp at one tension",
        )
    };
    let mut fault = Fault::new(
        None,
        drift,
        100.0 * sample.tolerance().beat,
        "the picks keep their spacing from start to finish".to_owned(),
        format!(
            "the picks creep: they lie {} {apart} at the finish than at the start; {advice}",
            text(drift, "%")
        ),
    );
    fault.weight = DRIFT_WEIGHT;
    Some(fault)
}

fn beat(sample: &Sample, figures: &SampleFigures) -> Option<Fault> {
    let beat = figures.beat_percent?;
    Some(Fault::new(
        Some(Criterion::Beat),
        beat,
        // Ours: one standard deviation within the tolerance that local picks are held to.
        100.0 * sample.tolerance().beat,
        format!("an even beat: the spacing varies by {}", text(beat, "%")),
        format!(
            "the beat varies by {} from pick to pick; press each pick home once, with the same \
             weight",
            text(beat, "%")
        ),
    ))
}

fn picks(sample: &Sample, figures: &SampleFigures) -> Option<Fault> {
    let distance = Criterion::Picks.of(figures)?;
    let (measured, planned) = (figures.per_inch?, figures.planned.per_inch?);
    let (side, advice) = if measured.value > planned {
        ("more", "beat more gently")
    } else {
        ("fewer", "beat more firmly")
    };
    Some(Fault::new(
        Some(Criterion::Picks),
        distance,
        100.0 * sample.tolerance().picks,
        format!("picks per inch as planned, to {}", text(distance, "%")),
        format!(
            "{} {side} picks per inch than planned; {advice}",
            text(distance, "%")
        ),
    ))
}

fn draw_in(sample: &Sample, figures: &SampleFigures) -> Option<Fault> {
    let distance = Criterion::DrawIn.of(figures)?;
    let measured = figures.draw_in_percent?;
    // A plan that is silent about draw-in asks for none in particular.
    let planned = figures.planned.draw_in_percent?;
    let advice = if measured.value > planned {
        "lay the weft in a higher arc before the beat"
    } else {
        "lay the weft a little straighter before the beat"
    };
    Some(Fault::new(
        Some(Criterion::DrawIn),
        distance,
        100.0 * sample.tolerance().draw_in,
        "draw-in as expected".to_owned(),
        format!("it draws in by {}; {advice}", text(measured, "%")),
    ))
}

fn selvedges(sample: &Sample, figures: &SampleFigures) -> Option<Fault> {
    let waviness = figures.waviness_mm?;
    let worse = waviness.worse();
    let side = if waviness.left.value > waviness.right.value {
        "left"
    } else {
        "right"
    };
    Some(Fault::new(
        Some(Criterion::Selvedges),
        worse,
        sample.tolerance().waviness_mm,
        format!("straight selvedges, within {}", text(worse, "mm")),
        format!(
            "the {side} selvedge waves by {}; snug every turn of the weft alike before the beat",
            text(worse, "mm")
        ),
    ))
}

/// The place of `name` in an order of several places: first, or last.
fn stands(name: &str, order: &Order, first: bool) -> bool {
    let place = if first {
        order.places.first()
    } else {
        order.places.last()
    };
    order.places.len() > 1 && place.is_some_and(|place| place.iter().any(|other| other == name))
}

/// What the band leads in, in one sentence; then what else keeps its tolerance.
fn strengths(name: &str, faults: &[Fault], orders: &[Order]) -> Vec<String> {
    let first: Vec<Criterion> = orders
        .iter()
        .filter(|order| stands(name, order, true))
        .map(|order| order.by)
        .collect();
    let words: Vec<&str> = first.iter().map(|by| by.word()).collect();
    let leads = match words.as_slice() {
        [] => None,
        [only] => Some(format!("in the first place by {only}")),
        [others @ .., last] => Some(format!(
            "in the first place by {} and {last}",
            others.join(", ")
        )),
    };
    let kept = faults
        .iter()
        .filter(|fault| fault.most <= 1.0 && fault.by.is_none_or(|by| !first.contains(&by)))
        .map(|fault| fault.fine.clone());
    leads.into_iter().chain(kept).collect()
}

fn work_on(name: &str, faults: Vec<Fault>, orders: &[Order]) -> Option<String> {
    let heaviest = faults
        .into_iter()
        .filter(|fault| fault.least > 1.0)
        .max_by(|a, b| (a.least * a.weight).total_cmp(&(b.least * b.weight)));
    heaviest.map(|fault| fault.advice).or_else(|| {
        orders
            .iter()
            .find(|order| stands(name, order, false))
            .map(|order| {
                let (what, _) = order.by.measure();
                format!("nothing is outside its tolerance; the {what} is what others do better")
            })
    })
}
