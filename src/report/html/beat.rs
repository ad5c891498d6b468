//! The beat by cause, a small picture each: drift, rhythm by row, waves, scatter.
//!
//! All four have one scale, % of the mean spacing, so that the eye sees which of them matters.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::beat::parts;
use crate::measurement::{Measurement, Quantity};
use crate::report::quantity::{Kind, Units, with_unit};

use super::panel::{Drawn, INK, INTERVAL, LINE, QUIET};
use super::svg::named;

/// Size of a picture and of its letters, px.
const SIZE: (u32, u32) = (230, 132);
const LETTERS: u32 = 12;
/// Room left for the scale's numbers and below for the words along the band, px.
const LEFT: u32 = 44;
const BELOW: u32 = 20;
/// Half heights that a scale may have, %.
const HALVES: [f64; 10] = [2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 50.0, 100.0, 200.0];

/// One cause with its picture.
#[derive(Clone, Debug)]
pub(super) struct BeatPicture {
    pub(super) name: &'static str,
    pub(super) value: String,
    pub(super) words: &'static str,
    /// `None` where there is nothing to draw; `words` says why.
    pub(super) svg: Option<String>,
}

/// What is drawn in a picture.
enum Shape<'a> {
    Line(&'a [f64]),
    Hill(&'a [f64]),
    Stems(&'a [f64]),
    Bars(&'a [f64]),
}

/// The four pictures; none where the beat wasn't measured.
pub(super) fn beat_pictures(measurement: &Measurement) -> Vec<BeatPicture> {
    let (Some(beat), Some(picks)) = (&measurement.beat, &measurement.picks) else {
        return Vec::new();
    };
    let Some(parts) = parts(&picks.positions_mm, picks.rows.as_deref()) else {
        return Vec::new();
    };
    let rows = &beat.rhythm_rows_percent;
    let series = [&parts.drift, rows, &parts.waves, &parts.scatter];
    let half = half_height(series.into_iter().flatten().copied());
    let picture = |name, value: Quantity, words, shape: Shape<'_>| BeatPicture {
        name,
        value: value_of(value),
        words,
        svg: drawing(name, &value_of(value), &shape, half),
    };
    vec![
        picture(
            "drift",
            beat.drift_percent,
            "the creep from start to finish",
            Shape::Line(&parts.drift),
        ),
        match beat.rhythm_percent {
            Some(rhythm) => picture(
                "rhythm by row",
                rhythm,
                "what the drawdown's rows do of themselves; no fault of the hand",
                Shape::Bars(rows),
            ),
            None => BeatPicture {
                name: "rhythm by row",
                value: String::new(),
                words: "isn't known: it takes a plan with a drawdown that the picks can be matched with",
                svg: None,
            },
        },
        picture(
            "waves",
            beat.waves_percent,
            "the slow to and fro, longer than ten picks",
            Shape::Hill(&parts.waves),
        ),
        picture(
            "scatter",
            beat.scatter_percent,
            "what is left from one pick to the next",
            Shape::Stems(&parts.scatter),
        ),
    ]
}

/// A part's figure.
fn value_of(quantity: Quantity) -> String {
    with_unit(quantity, Kind::Percent, Units::default())
}

/// The scale that holds every value.
fn half_height(values: impl Iterator<Item = f64>) -> f64 {
    let most = values.filter(|value| value.is_finite()).map(f64::abs);
    let most = most.fold(0.0, f64::max);
    HALVES
        .into_iter()
        .find(|half| *half >= most)
        .unwrap_or(most)
}

/// One picture as an element; `None` where it can't be drawn.
fn drawing(name: &str, value: &str, shape: &Shape<'_>, half: f64) -> Option<String> {
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, SIZE).into_drawing_area();
        let count = match shape {
            Shape::Line(v) | Shape::Hill(v) | Shape::Stems(v) | Shape::Bars(v) => v.len(),
        };
        let mut plot = ChartBuilder::on(&root)
            .margin_top(LETTERS / 2)
            .margin_right(8)
            .set_label_area_size(LabelAreaPosition::Left, LEFT)
            .set_label_area_size(LabelAreaPosition::Bottom, BELOW)
            .build_cartesian_2d(-0.5..count as f64 - 0.5, -1.12 * half..1.12 * half)
            .ok()?;
        scale(&root, &mut plot, count, half).ok()?;
        shape.draw(&mut plot).ok()?;
        match shape {
            Shape::Bars(rows) => row_numbers(&root, &plot, rows.len()).ok()?,
            _ => ends(&root).ok()?,
        }
    }
    let id = format!("beat-{}", name.split(' ').next().unwrap_or(name));
    let described = shape.described(value);
    Some(named(&svg, &id, &format!("The beat: {name}"), &described))
}

type Plot<'a, 'b> = ChartContext<'b, SVGBackend<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;
type Root<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;

/// The line of no difference, and the scale's two ends with their numbers.
fn scale(root: &Root<'_>, plot: &mut Plot<'_, '_>, count: usize, half: f64) -> Drawn {
    let whole = (-0.5, count as f64 - 0.5);
    for (at, colour) in [(half, PALE), (0.0, QUIET), (-half, PALE)] {
        plot.draw_series(LineSeries::new([(whole.0, at), (whole.1, at)], colour))?;
        let (_, y) = plot.backend_coord(&(0.0, at));
        let sign = if at > 0.0 { "+" } else { "\u{2212}" };
        let word = if at.abs() > 0.0 {
            format!("{sign}{} %", crate::units::rounded(half, 0))
        } else {
            "0".to_owned()
        };
        label(root, &word, (38, y), HPos::Right)?;
    }
    Ok(())
}

/// Lines that only help the eye.
const PALE: RGBColor = RGBColor(214, 219, 221);

fn label(root: &Root<'_>, word: &str, at: (i32, i32), side: HPos) -> Drawn {
    let style = ("sans-serif", LETTERS).into_font().color(&QUIET);
    let style = style.pos(Pos::new(side, VPos::Center));
    root.draw(&Text::new(word.to_owned(), at, style))?;
    Ok(())
}

/// Which end of the picture is which end of the band.
fn ends(root: &Root<'_>) -> Drawn {
    let (width, height) = (SIZE.0.cast_signed(), SIZE.1.cast_signed());
    label(root, "start", (LEFT.cast_signed(), height - 9), HPos::Left)?;
    label(root, "finish", (width - 8, height - 9), HPos::Right)
}

/// The rows' numbers, as many as there is room for.
fn row_numbers(root: &Root<'_>, plot: &Plot<'_, '_>, rows: usize) -> Drawn {
    label(root, "row", (38, SIZE.1.cast_signed() - 9), HPos::Right)?;
    let every = rows.div_ceil(8).max(1);
    for row in (0..rows).step_by(every) {
        let (x, _) = plot.backend_coord(&(row as f64, 0.0));
        let at = (x, SIZE.1.cast_signed() - 9);
        label(root, &(row + 1).to_string(), at, HPos::Center)?;
    }
    Ok(())
}

impl Shape<'_> {
    fn draw(&self, plot: &mut Plot<'_, '_>) -> Drawn {
        match self {
            Self::Line(values) => {
                // Two points: whole pixels in between would make it a stair.
                let last = values.len().saturating_sub(1);
                let ends = places(values).filter(|(at, _)| *at < 0.5 || *at > last as f64 - 0.5);
                plot.draw_series(LineSeries::new(ends, LINE.stroke_width(3)))?;
            }
            Self::Hill(values) => {
                let ground = AreaSeries::new(places(values), 0.0, INTERVAL);
                plot.draw_series(ground)?;
                plot.draw_series(LineSeries::new(places(values), LINE.stroke_width(2)))?;
            }
            Self::Stems(values) => {
                let stem = |(x, y)| PathElement::new([(x, 0.0), (x, y)], LINE.stroke_width(1));
                plot.draw_series(places(values).map(stem))?;
                let head = |place| Circle::new(place, 1, INK.filled());
                plot.draw_series(places(values).map(head))?;
            }
            Self::Bars(values) => {
                let bar = |(x, y)| Rectangle::new([(x - 0.35, 0.0), (x + 0.35, y)], LINE.filled());
                plot.draw_series(places(values).map(bar))?;
            }
        }
        Ok(())
    }

    /// What the picture shows, in words.
    fn described(&self, value: &str) -> String {
        match self {
            Self::Line(_) => format!(
                "A straight line of the spacing from start to finish, {value}; above 0 the picks lie \
                 wider apart at the finish."
            ),
            Self::Bars(rows) => {
                let rows: Vec<String> = (1..)
                    .zip(*rows)
                    .map(|(row, share)| format!("row {row} {share:+.1} %"))
                    .collect();
                format!(
                    "A bar for each row of the drawdown, {value} in all: {}.",
                    rows.join(", ")
                )
            }
            Self::Hill(values) => format!(
                "The slow waves of the spacing along the band, {value}; from {:+.1} to {:+.1} %.",
                least(values),
                most(values)
            ),
            Self::Stems(values) => format!(
                "A stem for each spacing with what is left of it, {value}; from {:+.1} to {:+.1} %.",
                least(values),
                most(values)
            ),
        }
    }
}

/// Values with their numbers.
fn places(values: &[f64]) -> impl Iterator<Item = (f64, f64)> + '_ {
    let numbered = values.iter().enumerate();
    numbered.map(|(at, value)| (at as f64, *value))
}

fn least(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::INFINITY, f64::min)
}

fn most(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_holds_its_largest_value() {
        assert!((half_height([1.0, -7.5].into_iter()) - 10.0).abs() < 1e-12);
        assert!((half_height([900.0].into_iter()) - 900.0).abs() < 1e-12);
        assert!((half_height([f64::NAN].into_iter()) - 2.0).abs() < 1e-12);
    }
}
