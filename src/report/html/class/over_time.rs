//! One weaver over time: each criterion against the order of her bands, with the line through them.

use plotters::prelude::*;

use crate::compare::{Criterion, Progress, SampleFigures, Trend};
use crate::measurement::Quantity;
use crate::report::html::panel::{Drawn, INK, LINE, PLAN, QUIET};
use crate::report::html::svg::named;
use crate::stats::shown;

use super::standing::ABSURD;

/// Size of a drawing and of its letters, px.
const SIZE: (u32, u32) = (420, 210);
const LETTERS: u32 = 13;

/// One criterion over time.
#[derive(Clone, Debug)]
pub(super) struct OverTime {
    pub(super) name: &'static str,
    pub(super) words: String,
    pub(super) svg: Option<String>,
}

/// A drawing for every criterion that changed or might have.
pub(super) fn over_time(progress: &[Progress], samples: &[SampleFigures]) -> Vec<OverTime> {
    progress
        .iter()
        .map(|line| OverTime {
            name: line.by.word(),
            words: words(line),
            svg: drawing(line, samples),
        })
        .collect()
}

/// What came of it, in words.
fn words(line: &Progress) -> String {
    let (what, unit) = line.by.measure();
    let change = shown(line.change.value.abs(), line.change.u95);
    match line.trend {
        Trend::Better => format!("Better: {change} {unit} less {what}, first band to last."),
        Trend::Worse => format!("Worse: {change} {unit} more {what}, first band to last."),
        Trend::CannotTell => format!(
            "No change that can be told: {} {unit} ({what}).",
            shown(line.change.value, line.change.u95).replace('-', "\u{2212}")
        ),
    }
}

fn drawing(line: &Progress, samples: &[SampleFigures]) -> Option<String> {
    let points: Vec<(f64, Quantity)> = (1_u32..)
        .zip(samples)
        .filter_map(|(number, sample)| Some((f64::from(number), line.by.of(sample)?)))
        .collect();
    let absurd = |(_, q): &(f64, Quantity)| q.value + q.u95 >= ABSURD;
    if points.iter().any(absurd) || line.first.max(line.last) >= ABSURD {
        return None;
    }
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, SIZE).into_drawing_area();
        plot(&root, line, &points, samples.len()).ok()?;
    }
    let id = format!("over-time-{}", line.by.word());
    let title = format!("Over time: {}", line.by.word());
    Some(named(
        &svg,
        &id,
        &title,
        &described(line.by, &points, samples),
    ))
}

type Root<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;

fn plot(root: &Root<'_>, line: &Progress, points: &[(f64, Quantity)], bands: usize) -> Drawn {
    let most = points.iter().map(|(_, q)| q.value + q.u95);
    let most = most.fold(line.first.max(line.last).max(1e-6), f64::max) * 1.06;
    let mut chart = ChartBuilder::on(root)
        .margin_top(LETTERS / 2)
        .margin_right(LETTERS)
        .set_label_area_size(LabelAreaPosition::Left, LETTERS * 4)
        .set_label_area_size(LabelAreaPosition::Bottom, LETTERS * 3)
        .build_cartesian_2d(0.5..bands as f64 + 0.5, 0.0..most)?;
    let letters = ("sans-serif", LETTERS).into_font().color(&QUIET);
    let whole = |at: &f64| {
        if (at - at.round()).abs() < 1e-6 {
            crate::units::rounded(*at, 0)
        } else {
            String::new()
        }
    };
    let number = |value: &f64| crate::units::rounded(*value, 2);
    chart
        .configure_mesh()
        .disable_x_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(RGBColor(222, 226, 227))
        .axis_style(QUIET)
        .x_labels(bands.min(12))
        .x_label_formatter(&whole)
        .y_labels(4)
        .y_label_formatter(&number)
        .label_style(letters)
        .x_desc("band, oldest first")
        .y_desc(line.by.measure().1)
        .draw()?;
    if let [(first, _), .., (last, _)] = points {
        let through = [(*first, line.first), (*last, line.last)];
        if line.trend == Trend::CannotTell {
            let steps = 24_u32;
            let at = |step: u32| {
                let share = f64::from(step) / f64::from(steps);
                let along = |a: f64, b: f64| a + (b - a) * share;
                (
                    along(through[0].0, through[1].0),
                    along(through[0].1, through[1].1),
                )
            };
            for step in (0..steps).step_by(2) {
                chart.draw_series(LineSeries::new(
                    [at(step), at(step + 1)],
                    PLAN.stroke_width(2),
                ))?;
            }
        } else {
            chart.draw_series(LineSeries::new(through, PLAN.stroke_width(3)))?;
        }
    }
    for (at, q) in points {
        let (low, high) = ((q.value - q.u95).max(0.0), q.value + q.u95);
        let style = LINE.stroke_width(2);
        chart.draw_series(LineSeries::new([(*at, low), (*at, high)], style))?;
        for end in [low, high] {
            let cap = [(at - 0.06, end), (at + 0.06, end)];
            chart.draw_series(LineSeries::new(cap, style))?;
        }
        chart.draw_series([Circle::new((*at, q.value), 4, INK.filled())])?;
    }
    Ok(())
}

/// What the drawing shows, in words.
fn described(by: Criterion, points: &[(f64, Quantity)], samples: &[SampleFigures]) -> String {
    let (what, unit) = by.measure();
    let values: Vec<String> = points
        .iter()
        .map(|(at, q)| {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a count"
            )]
            let index = (*at as usize).saturating_sub(1);
            let name = samples.get(index).map_or("", |sample| sample.name.as_str());
            format!("{name} {} {unit}", shown(q.value, q.u95))
        })
        .collect();
    format!("{what}: {}.", values.join("; "))
}
