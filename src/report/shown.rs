//! Figures and lines against the plan as words, for whoever lays them out: the same names, digits and
//! units as in text and page.

use serde::Serialize;

use crate::measurement::{Measurement, Verdict};

use super::Context;
use super::figures::{Shown, figures, plan_name, planned_value};
use super::quantity::{Kind, plain, with_unit};

/// One figure in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShownFigure {
    /// What it is.
    pub name: String,
    /// Its value with its doubt and unit.
    pub value: String,
    /// A few words beside it; may be empty.
    pub note: String,
}

/// One figure held against the plan, in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShownPlanLine {
    /// What it is.
    pub name: String,
    /// What the plan says.
    pub planned: String,
    /// What was measured.
    pub measured: String,
    /// Whether they agree.
    pub verdict: Verdict,
}

/// Every figure that was measured, in the units of the context.
#[must_use]
pub fn shown_figures(measurement: &Measurement, context: &Context<'_>) -> Vec<ShownFigure> {
    let units = context.shown_units();
    figures(measurement, context.plan, units)
        .into_iter()
        .map(|figure| ShownFigure {
            name: figure.name.to_owned(),
            value: match figure.value {
                Shown::Count(count) => count.to_string(),
                Shown::Measured(quantity, kind) => with_unit(quantity, kind, units),
            },
            note: figure.note.unwrap_or_default(),
        })
        .collect()
}

/// Every figure that the plan speaks of, in the units of the context.
#[must_use]
pub fn shown_plan_lines(measurement: &Measurement, context: &Context<'_>) -> Vec<ShownPlanLine> {
    let units = context.shown_units();
    measurement
        .against_plan
        .iter()
        .map(|line| ShownPlanLine {
            name: plan_name(&line.what).to_owned(),
            planned: planned_value(&line.what, line.planned, &line.unit, units),
            measured: match Kind::of(&line.what, &line.unit) {
                Some(kind) => with_unit(line.measured, kind, units),
                None => format!("{} {}", plain(line.measured.value), line.unit),
            },
            verdict: line.verdict,
        })
        .collect()
}
