//! What stands on the page of several bands.

use std::io::{self, Write};

use askama::Template;

use crate::compare::{Comparison, SampleFigures, Spread, repeat_lines, state_lines};
use crate::measurement::{Measurement, Quantity};
use crate::plan::{Plan, Tolerance};
use crate::report::band_picture::BandPicture;
use crate::report::caution::caution_for;
use crate::report::layout::sentence;
use crate::report::quantity::{Kind, Units, with_unit};
use crate::units::{LengthUnits, rounded};

use super::bands::{OneScale, why_not_drawn};
use super::over_time::{OverTime, over_time};
use super::sentences::headline;
use super::slip::Slip;
use super::standing::{Ranking, Size};

/// Drawings for a wide page and for a narrow one.
const WIDE: Size = Size {
    width: 960,
    letters: 13,
    names: 230,
};
const NARROW: Size = Size {
    width: 400,
    letters: 13,
    names: 160,
};

/// One band of a comparison, in the comparison's order.
#[derive(Clone, Copy, Debug)]
pub struct ClassBand<'a> {
    /// Its result.
    pub measurement: &'a Measurement,
    /// The plan it was woven to, where it is at hand.
    pub plan: Option<&'a Plan>,
    /// Its picture, where there is one; else its outline is drawn from the result.
    pub picture: Option<&'a BandPicture>,
}

/// Writes the page of a comparison; `bands` are its samples, in its order.
///
/// # Errors
/// What the writer says.
pub fn write_class_html(
    comparison: &Comparison,
    bands: &[ClassBand<'_>],
    units: LengthUnits,
    out: &mut impl Write,
) -> io::Result<()> {
    let page = Page::new(comparison, bands, Units::all(units));
    let text = page.render().map_err(io::Error::other)?;
    out.write_all(text.as_bytes())
}

/// The template's words and drawings.
#[derive(Template)]
#[template(path = "class.html", config = "src/report/html/askama.toml")]
struct Page {
    title: String,
    headline: Vec<String>,
    bands: Vec<BandRow>,
    rulers: Option<(String, String)>,
    orders: Vec<OrderRow>,
    over_time: Vec<OverTime>,
    one_band: Vec<String>,
    columns: Vec<&'static str>,
    figures: Vec<FigureRow>,
    aside: Vec<String>,
    slips: Vec<Slip>,
    caution: Option<&'static str>,
    version: &'static str,
}

/// A band under its name.
struct BandRow {
    name: String,
    note: String,
    drawing: String,
    drawn: bool,
}

/// An order with its drawings.
struct OrderRow {
    by: &'static str,
    note: String,
    wide: String,
    narrow: String,
}

/// One band's figures in a row.
struct FigureRow {
    name: String,
    cells: Vec<String>,
}

impl Page {
    fn new(comparison: &Comparison, bands: &[ClassBand<'_>], units: Units) -> Self {
        let scale = OneScale::new(bands);
        let one_band = comparison.repeatability.is_some() || comparison.states.is_some();
        let pairs = || (1..).zip(comparison.samples.iter().zip(bands));
        let band_rows = pairs()
            .map(|(number, (sample, band))| band_row(number, sample, band, scale, units))
            .collect();
        let slips = pairs()
            .filter(|_| !one_band)
            .map(|(number, (sample, band))| {
                let (id, again) = (format!("band-{number}"), format!("slip-{number}"));
                let drawing =
                    scale.and_then(|scale| scale.draw_again(band, &id, &again, &sample.name));
                Slip::new(sample, about(band), drawing, units)
            })
            .collect();
        Self {
            title: title(bands, comparison.samples.len()),
            headline: headline(comparison),
            bands: band_rows,
            rulers: scale.map(|scale| {
                (
                    scale.ruler("ruler-wide", units, (960.0, 13.0)),
                    scale.ruler("ruler-narrow", units, (400.0, 13.0)),
                )
            }),
            orders: orders(comparison, bands),
            over_time: comparison
                .progress
                .as_ref()
                .map(|progress| over_time(progress, &comparison.samples))
                .unwrap_or_default(),
            one_band: one_band_lines(comparison, units),
            columns: COLUMNS.iter().map(|(name, _, _)| *name).collect(),
            figures: figure_rows(comparison, units),
            aside: aside(comparison),
            slips,
            caution: bands
                .iter()
                .find_map(|band| caution_for(band.measurement, band.plan)),
            version: env!("CARGO_PKG_VERSION"),
        }
    }
}

/// The plan's title where all bands follow one, and how many bands there are.
fn title(bands: &[ClassBand<'_>], count: usize) -> String {
    let titles: Vec<&str> = bands
        .iter()
        .filter_map(|band| band.plan.map(|plan| plan.title.as_str()))
        .filter(|title| !title.is_empty())
        .collect();
    match titles.split_first() {
        Some((first, rest)) if titles.len() == count && rest.iter().all(|t| t == first) => {
            format!("{first}: {count} bands side by side")
        }
        _ => format!("{count} bands side by side"),
    }
}

/// What a band is, and which photo shows it.
fn about(band: &ClassBand<'_>) -> String {
    let title = band.plan.map(|plan| plan.title.as_str());
    let parts = title.into_iter().filter(|title| !title.is_empty());
    let parts: Vec<&str> = parts
        .chain([band.measurement.photo.file.as_str()])
        .chain(band.measurement.state())
        .collect();
    parts.join(" \u{b7} ")
}

fn band_row(
    number: usize,
    sample: &SampleFigures,
    band: &ClassBand<'_>,
    scale: Option<OneScale>,
    units: Units,
) -> BandRow {
    let id = format!("band-{number}");
    let drawing = scale.and_then(|scale| scale.draw(band, &id, &sample.name));
    let figures = [
        sample
            .length_mm
            .map(|q| format!("{} long", with_unit(q, Kind::Length, units))),
        sample
            .width_mm
            .map(|q| format!("{} wide", with_unit(q, Kind::Length, units))),
        sample.state.clone(),
        (band.picture.is_none() && drawing.is_some()).then(|| "drawn from its result".to_owned()),
    ];
    BandRow {
        drawn: drawing.is_some(),
        drawing: drawing.unwrap_or_else(|| why_not_drawn(&sample.name)),
        name: sample.name.clone(),
        note: figures
            .into_iter()
            .flatten()
            .collect::<Vec<String>>()
            .join(" \u{b7} "),
    }
}

fn orders(comparison: &Comparison, bands: &[ClassBand<'_>]) -> Vec<OrderRow> {
    let tolerance = one_tolerance(bands);
    comparison
        .orders
        .iter()
        .filter_map(|order| {
            let ranking = Ranking { order, tolerance };
            let by = order.by.word();
            let told = if order.places.len() == 1 {
                "All share one place: at 95 % no line can be drawn between them.".to_owned()
            } else {
                format!(
                    "{} of {} pairs can be told apart.",
                    order.pairs_told_apart, order.pairs
                )
            };
            Some(OrderRow {
                by,
                note: told,
                wide: ranking.draw(&format!("by-{by}-wide"), WIDE)?,
                narrow: ranking.draw(&format!("by-{by}-narrow"), NARROW)?,
            })
        })
        .collect()
}

/// What every band is held to, where that is one thing; a band without a plan is held to what a plan
/// that says nothing of it allows.
fn one_tolerance(bands: &[ClassBand<'_>]) -> Option<Tolerance> {
    let each = |band: &ClassBand<'_>| band.plan.map(|plan| plan.tolerance).unwrap_or_default();
    let first = each(bands.first()?);
    bands
        .iter()
        .all(|band| each(band) == first)
        .then_some(first)
}

/// What several photos of one band show.
fn one_band_lines(comparison: &Comparison, units: Units) -> Vec<String> {
    let repeated = comparison.repeatability.as_deref().unwrap_or_default();
    let lines = repeat_lines(repeated, units.lengths);
    let states = comparison.states.as_ref().map(state_lines);
    let lines = lines.into_iter().chain(states.unwrap_or_default());
    lines
        .map(|line| line.trim().to_owned())
        .filter(|line| !line.is_empty())
        .collect()
}

/// A column of the figures: its name, what a band has there, what the group has there.
type Column = (
    &'static str,
    fn(&SampleFigures) -> Option<(Quantity, Kind)>,
    fn(&Comparison) -> Option<(Spread, Kind)>,
);

/// The columns.
const COLUMNS: [Column; 7] = [
    (
        "picks",
        |s| Some((s.per_inch?, Kind::Density)),
        |c| Some((c.group.per_inch?, Kind::Density)),
    ),
    ("length", |s| Some((s.length_mm?, Kind::Length)), |_| None),
    (
        "width",
        |s| Some((s.width_mm?, Kind::Length)),
        |c| Some((c.group.width_mm?, Kind::Length)),
    ),
    (
        "draw-in",
        |s| Some((s.draw_in_percent?, Kind::Percent)),
        |c| Some((c.group.draw_in_percent?, Kind::Percent)),
    ),
    (
        "unevenness of the beat",
        |s| Some((s.beat_percent?, Kind::Percent)),
        |c| Some((c.group.beat_percent?, Kind::Percent)),
    ),
    (
        "drift",
        |s| Some((s.drift_percent?, Kind::Percent)),
        |c| Some((c.group.drift_percent?, Kind::Percent)),
    ),
    (
        "worse selvedge",
        |s| Some((s.waviness_mm?.worse(), Kind::Millimetres)),
        |c| Some((c.group.waviness_mm?, Kind::Millimetres)),
    ),
];

/// Every band's figures, and the group's.
fn figure_rows(comparison: &Comparison, units: Units) -> Vec<FigureRow> {
    let none = || "\u{2013}".to_owned();
    let bands = comparison.samples.iter().map(|sample| FigureRow {
        name: sample.name.clone(),
        cells: COLUMNS
            .iter()
            .map(|(_, of, _)| of(sample).map_or_else(none, |(q, kind)| with_unit(q, kind, units)))
            .collect(),
    });
    let middle: Vec<Option<String>> = COLUMNS
        .iter()
        .map(|(_, _, of)| {
            let (spread, kind) = of(comparison)?;
            let (factor, unit) = kind.shown_as(units);
            Some(format!(
                "{} {unit}, spread {}",
                rounded(spread.median * factor, 2).replace('-', "\u{2212}"),
                rounded(spread.spread * factor, 2)
            ))
        })
        .collect();
    let group = middle.iter().any(Option::is_some).then(|| FigureRow {
        name: "middle of the group".to_owned(),
        cells: middle
            .into_iter()
            .map(|cell| cell.unwrap_or_else(none))
            .collect(),
    });
    bands.chain(group).collect()
}

/// What can't be compared, and what to bear in mind.
fn aside(comparison: &Comparison) -> Vec<String> {
    let missing = comparison
        .not_compared
        .iter()
        .map(|missing| sentence(&format!("{}: {}", missing.what, missing.why)));
    missing
        .chain(comparison.notes.iter().map(|note| sentence(note)))
        .collect()
}
