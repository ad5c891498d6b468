//! A comparison as a person reads it, and as a table.

use super::comparison::{Comparison, Order, Progress, Repeatability, States, Trend};
use super::criterion::Criterion;
use super::sample::SampleFigures;
use crate::measurement::Quantity;
use crate::stats::shown;
use crate::units::{LengthUnits, MM_PER_INCH, rounded};

/// The comparison in words, in `units`, ending in a line break.
///
/// Lines are long: a terminal or page breaks them.
#[must_use]
pub fn comparison_text(comparison: &Comparison, units: LengthUnits) -> String {
    let mut lines = Vec::new();
    for order in &comparison.orders {
        lines.extend(order_lines(order));
        lines.push(String::new());
    }
    lines.extend(repeat_lines(
        comparison.repeatability.as_deref().unwrap_or_default(),
        units,
    ));
    lines.extend(
        comparison
            .states
            .as_ref()
            .map(state_lines)
            .unwrap_or_default(),
    );
    lines.extend(progress_lines(
        comparison.progress.as_deref().unwrap_or_default(),
    ));
    let one_band = comparison.repeatability.is_some() || comparison.states.is_some();
    for sample in &comparison.samples {
        lines.extend(sample_lines(sample, units, !one_band));
    }
    lines.extend(group_line(comparison, units));
    for missing in &comparison.not_compared {
        lines.push(format!("Not compared: {} ({}).", missing.what, missing.why));
    }
    lines.extend(comparison.notes.iter().map(|note| format!("Note: {note}.")));
    lines.push(String::new());
    lines.join("\n")
}

fn order_lines(order: &Order) -> Vec<String> {
    let (what, unit) = order.by.measure();
    let mut lines = vec![format!("By {}: {what}, least first", order.by.word())];
    if order.places.len() == 1 {
        lines.push(format!(
            "  All {} share one place: no line can be drawn between them at 95 %.",
            order.places[0].len()
        ));
    }
    let mut from = 1;
    for place in &order.places {
        let names: Vec<String> = place
            .iter()
            .map(|name| {
                let value = order.values.iter().find(|standing| standing.name == *name);
                value.map_or_else(
                    || name.clone(),
                    |standing| {
                        format!(
                            "{name} {} {unit}",
                            shown(standing.value.value, standing.value.u95)
                        )
                    },
                )
            })
            .collect();
        let to = from + place.len() - 1;
        lines.push(if from == to {
            format!("  {from}. {}", names.join(", "))
        } else {
            format!("  {from}.-{to}. share a place: {}", names.join(", "))
        });
        from = to + 1;
    }
    if order.places.iter().any(|place| place.len() > 1) && order.pairs > 1 {
        lines.push(format!(
            "  Bands that can't be told apart share a place; {} of {} pairs can.",
            order.pairs_told_apart, order.pairs
        ));
    }
    lines
}

fn per(units: LengthUnits) -> (f64, &'static str) {
    match units {
        LengthUnits::Inches => (1.0, "per inch"),
        LengthUnits::Centimetres => (1.0 / 2.54, "per cm"),
    }
}

fn length(units: LengthUnits) -> (f64, &'static str) {
    match units {
        LengthUnits::Inches => (1.0 / MM_PER_INCH, "in"),
        LengthUnits::Centimetres => (0.1, "cm"),
    }
}

fn with((factor, unit): (f64, &str), quantity: Quantity) -> String {
    format!(
        "{} {unit}",
        shown(quantity.value * factor, quantity.u95 * factor)
    )
}

fn sample_lines(sample: &SampleFigures, units: LengthUnits, remarks: bool) -> Vec<String> {
    let state = sample
        .state
        .as_ref()
        .map(|state| format!(" ({state})"))
        .unwrap_or_default();
    let figures: Vec<String> = [
        sample
            .per_inch
            .map(|q| format!("picks {}", with(per(units), q))),
        sample
            .width_mm
            .map(|q| format!("width {}", with(length(units), q))),
        sample
            .draw_in_percent
            .map(|q| format!("draw-in {}", with((1.0, "%"), q))),
        sample
            .spacing_cv_percent
            .map(|q| format!("spacing CV {}", with((1.0, "%"), q))),
        sample
            .drift_percent
            .map(|q| format!("drift {}", with((1.0, "%"), q))),
        sample.waviness_mm.map(|w| {
            format!(
                "selvedges {} left, {} right",
                with((1.0, "mm"), w.left),
                with((1.0, "mm"), w.right)
            )
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    let figures = if figures.is_empty() {
        "nothing could be measured".to_owned()
    } else {
        figures.join("; ")
    };
    let mut lines = vec![format!("{}{state}: {figures}", sample.name)];
    if !sample.strengths.is_empty() {
        lines.push(format!("  went well: {}", sample.strengths.join("; ")));
    }
    if remarks {
        lines.push(format!("  to work on: {}", sample.advice()));
    }
    lines.push(String::new());
    lines
}

fn group_line(comparison: &Comparison, units: LengthUnits) -> Option<String> {
    let group = &comparison.group;
    let parts: Vec<String> = [
        ("picks", group.per_inch, per(units)),
        ("width", group.width_mm, length(units)),
        ("draw-in", group.draw_in_percent, (1.0, "%")),
        ("spacing CV", group.spacing_cv_percent, (1.0, "%")),
        ("drift", group.drift_percent, (1.0, "%")),
        ("worse selvedge", group.waviness_mm, (1.0, "mm")),
    ]
    .into_iter()
    .filter_map(|(name, spread, (factor, unit))| {
        let spread = spread?;
        Some(format!(
            "{name} {} {unit} (spread {})",
            rounded(spread.median * factor, 2),
            rounded(spread.spread * factor, 2)
        ))
    })
    .collect();
    (!parts.is_empty()).then(|| format!("The group, median and spread: {}.", parts.join("; ")))
}

fn progress_lines(progress: &[Progress]) -> Vec<String> {
    let mut lines: Vec<String> = progress
        .iter()
        .map(|line| {
            let (what, unit) = line.by.measure();
            let size = shown(line.change.value.abs(), line.change.u95);
            match line.trend {
                Trend::CannotTell => format!(
                    "{}: no change that can be told ({what}, {} {unit})",
                    line.by.word(),
                    shown(line.change.value, line.change.u95)
                ),
                Trend::Better => format!("{}: better, {size} {unit} less {what}", line.by.word()),
                Trend::Worse => format!("{}: worse, {size} {unit} more {what}", line.by.word()),
            }
        })
        .collect();
    if !lines.is_empty() {
        lines.insert(
            0,
            "From the first band to the last, by a line through all:".to_owned(),
        );
        lines.push(String::new());
    }
    lines
}

/// What the photo alone makes, a line a figure after a heading; empty where nothing is known.
pub(crate) fn repeat_lines(figures: &[Repeatability], units: LengthUnits) -> Vec<String> {
    let mut lines: Vec<String> = figures
        .iter()
        .map(|figure| {
            let (factor, unit) = match (figure.unit.as_str(), figure.figure.as_str()) {
                ("per inch", _) => per(units),
                (_, "length" | "width") => length(units),
                (unit, _) => (1.0, unit),
            };
            let least = figure.least_difference * factor;
            format!(
                "  {}: {} {unit}; two bands differ if by more than {} {unit}",
                figure.figure,
                shown(figure.mean * factor, least),
                shown_alone(least)
            )
        })
        .collect();
    if !lines.is_empty() {
        lines.insert(
            0,
            "One band, several photos: how much the photo alone makes".to_owned(),
        );
        lines.push(String::new());
    }
    lines
}

/// A difference with two figures.
fn shown_alone(value: f64) -> String {
    crate::stats::shown_value(value, value)
}

/// What the band lost from state to state, a line a step.
pub(crate) fn state_lines(states: &States) -> Vec<String> {
    let mut lines: Vec<String> = states
        .steps
        .iter()
        .map(|step| {
            let part = |name: &str, loss: Option<Quantity>| {
                loss.map(|q| format!("{name} {} %", shown(q.value, q.u95)))
            };
            let parts: Vec<String> = [
                part("length", step.length_percent),
                part("width", step.width_percent),
            ]
            .into_iter()
            .flatten()
            .collect();
            format!(
                "From {} to {} the band lost: {}",
                step.from,
                step.to,
                parts.join(", ")
            )
        })
        .collect();
    if let Some(shrinkage) = &states.shrinkage {
        let entry = |name: &str, loss: &Option<String>| {
            loss.as_ref().map(|loss| format!("\"{name}\": \"{loss}\""))
        };
        let entries: Vec<String> = [
            entry("length", &shrinkage.length),
            entry("width", &shrinkage.width),
        ]
        .into_iter()
        .flatten()
        .collect();
        lines.push(format!(
            "For the plan: \"shrinkage\": {{ {} }}",
            entries.join(", ")
        ));
    }
    lines.push(String::new());
    lines
}

/// The comparison as CSV: one row a sample, each figure with its `u95`, and its places (shared ones
/// carry one number) by every order.
///
/// # Errors
///
/// What the writer says.
pub fn write_comparison_csv(
    comparison: &Comparison,
    out: impl std::io::Write,
) -> std::io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record([
        "name",
        "state",
        "per_inch",
        "per_inch_u95",
        "spacing_cv_percent",
        "spacing_cv_u95",
        "beat_percent",
        "beat_u95",
        "drift_percent",
        "drift_u95",
        "width_mm",
        "width_u95",
        "draw_in_percent",
        "draw_in_u95",
        "left_wq_mm",
        "left_wq_u95",
        "right_wq_mm",
        "right_wq_u95",
        "place_beat",
        "place_picks",
        "place_draw_in",
        "place_selvedges",
    ])?;
    for sample in &comparison.samples {
        let mut row = vec![
            sample.name.clone(),
            sample.state.clone().unwrap_or_default(),
        ];
        for figure in [
            sample.per_inch,
            sample.spacing_cv_percent,
            sample.beat_percent,
            sample.drift_percent,
            sample.width_mm,
            sample.draw_in_percent,
            sample.waviness_mm.map(|w| w.left),
            sample.waviness_mm.map(|w| w.right),
        ] {
            row.extend(figure.map_or([String::new(), String::new()], |q| {
                [rounded(q.value, 6), rounded(q.u95, 6)]
            }));
        }
        row.extend(Criterion::ALL.map(|by| place_of(comparison, by, &sample.name)));
        table.write_record(row)?;
    }
    table.flush()
}

/// The number of the first of the places that a sample shares, counted over samples.
fn place_of(comparison: &Comparison, by: Criterion, name: &str) -> String {
    let Some(order) = comparison.orders.iter().find(|order| order.by == by) else {
        return String::new();
    };
    let mut from = 1;
    for place in &order.places {
        if place.iter().any(|other| other == name) {
            return from.to_string();
        }
        from += place.len();
    }
    String::new()
}
