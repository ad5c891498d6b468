//! What stands on the page.

use std::io::{self, Write};

use askama::Template;
use image::RgbImage;

use crate::measurement::{Measurement, Quantity, Verdict};
use crate::report::Context;
use crate::report::better_photo::{better_photo, is_about_the_photo};
use crate::report::caution::caution_for;
use crate::report::figures::{
    Shown, figures, finding_name, finding_place, plan_name, planned_value,
};
use crate::report::layout::sentence;
use crate::report::left_out::left_out;
use crate::report::marked::marked_photo;
use crate::report::overlay::Overlay;
use crate::report::quantity::{Kind, Units, plain, with_unit};
use crate::report::text::scale_sentences;
use crate::units::LengthUnits;

use super::along::Along;
use super::beat::{BeatPicture, beat_pictures};
use super::close_up::close_up;
use super::grid::grid;
use super::picture::jpeg_address;

/// The longer side of the marked photo on the page, px.
const MARKED_LONGEST_PX: u32 = 2000;
/// Drawings: width and letters for a wide page and for a narrow one, px.
const WIDE: (u32, u32) = (960, 14);
const NARROW: (u32, u32) = (400, 12);

/// Writes the page of one result.
///
/// `photo` and `overlay` bring the pictures; without them the page has none.
///
/// # Errors
/// What the writer says.
pub fn write_html(
    measurement: &Measurement,
    context: &Context<'_>,
    pictures: Option<(&RgbImage, &Overlay)>,
    out: &mut impl Write,
) -> io::Result<()> {
    let page = Page::new(measurement, context, pictures);
    let text = page.render().map_err(io::Error::other)?;
    out.write_all(text.as_bytes())
}

/// The template's words and pictures.
#[derive(Template)]
#[template(path = "page.html", config = "src/report/html/askama.toml")]
struct Page {
    title: String,
    file: String,
    planned: bool,
    /// Whether cloth fills the picture.
    cloth: bool,
    verdict: Vec<String>,
    figures: Vec<FigureRow>,
    strip: Option<Picture>,
    along: Option<AlongDrawings>,
    against: Vec<AgainstRow>,
    findings: Vec<FindingRow>,
    beat: Vec<BeatPicture>,
    grid: Option<String>,
    scale: Vec<String>,
    better: Vec<String>,
    warnings: Vec<String>,
    unmeasured: Vec<(String, String)>,
    hand_count: Option<String>,
    caution: Option<&'static str>,
    marked: Option<Picture>,
    selvedges_seen: bool,
    version: String,
    options: String,
}

/// A figure in both systems.
struct FigureRow {
    name: &'static str,
    inches: String,
    centimetres: String,
    note: String,
}

/// The drawings along the band.
struct AlongDrawings {
    wide: String,
    narrow: String,
    factor: Option<String>,
}

/// A picture with its size.
struct Picture {
    address: String,
    width: u32,
    height: u32,
}

/// A line against the plan.
struct AgainstRow {
    name: String,
    planned: String,
    measured: String,
    verdict: &'static str,
    class: &'static str,
}

/// A finding with its close-up.
struct FindingRow {
    name: String,
    place: String,
    text: String,
    close_up: Option<String>,
}

impl Page {
    fn new(
        measurement: &Measurement,
        context: &Context<'_>,
        pictures: Option<(&RgbImage, &Overlay)>,
    ) -> Self {
        let units = context.shown_units();
        let plan = context.plan;
        let strip = pictures.map(|(_, overlay)| &overlay.strip);
        let along = Along {
            measurement,
            plan,
            units,
            strip,
        };
        let file = measurement.photo.file.clone();
        let title = plan
            .map(|plan| plan.title.clone())
            .filter(|title| !title.is_empty());
        Self {
            title: title.unwrap_or_else(|| file.clone()),
            planned: plan.is_some(),
            cloth: measurement.swatch.is_some(),
            verdict: context.verdict.to_vec(),
            figures: figure_rows(measurement, context, units),
            strip: along
                .strip_cut()
                .and_then(|piece| Picture::new(&piece.picture)),
            along: drawings(&along),
            against: measurement
                .against_plan
                .iter()
                .map(|line| against_row(line, units))
                .collect(),
            findings: finding_rows(&along),
            beat: beat_pictures(measurement),
            grid: plan.and_then(|plan| grid(measurement, plan)),
            scale: scale_sentences(measurement),
            better: better_photo(measurement),
            warnings: measurement
                .warnings
                .iter()
                .filter(|warning| !is_about_the_photo(warning))
                .map(|warning| sentence(&warning.text))
                .collect(),
            unmeasured: left_out(&measurement.unmeasured),
            hand_count: measurement
                .hand_count
                .as_ref()
                .map(|held| held.text.clone()),
            caution: caution_for(measurement, plan),
            marked: pictures.and_then(|(photo, overlay)| {
                Picture::new(&marked_photo(photo, overlay, MARKED_LONGEST_PX))
            }),
            selvedges_seen: pictures.is_none_or(|(_, overlay)| overlay.selvedges_seen),
            version: measurement.program.version.clone(),
            options: options_line(measurement),
            file,
        }
    }
}

impl Picture {
    fn new(picture: &RgbImage) -> Option<Self> {
        Some(Self {
            address: jpeg_address(picture)?,
            width: picture.width(),
            height: picture.height(),
        })
    }
}

/// The drawings for a wide and for a narrow page.
fn drawings(along: &Along<'_>) -> Option<AlongDrawings> {
    let wide = along.draw("along-wide", WIDE, "strip")?;
    let narrow = along.draw("along-narrow", NARROW, "strip")?;
    Some(AlongDrawings {
        factor: wide
            .selvedge_factor
            .map(|factor| crate::units::rounded(factor, 1)),
        wide: wide.svg,
        narrow: narrow.svg,
    })
}

/// Every figure in inches and in centimetres.
fn figure_rows(measurement: &Measurement, context: &Context<'_>, units: Units) -> Vec<FigureRow> {
    let shown = |value: Shown, units: LengthUnits| match value {
        Shown::Count(count) => count.to_string(),
        Shown::Measured(quantity, kind) => with_unit(quantity, kind, Units::all(units)),
    };
    figures(measurement, context.plan, units)
        .into_iter()
        .map(|figure| {
            let inches = shown(figure.value, LengthUnits::Inches);
            let centimetres = shown(figure.value, LengthUnits::Centimetres);
            FigureRow {
                name: figure.name,
                centimetres: if centimetres == inches {
                    String::new()
                } else {
                    centimetres
                },
                inches,
                note: figure.note.unwrap_or_default(),
            }
        })
        .collect()
}

/// One figure held against the plan.
fn against_row(line: &crate::measurement::AgainstPlan, units: Units) -> AgainstRow {
    let measured = |quantity: Quantity| match Kind::of(&line.what, &line.unit) {
        Some(kind) => with_unit(quantity, kind, units),
        None => format!("{} {}", plain(quantity.value), line.unit),
    };
    let (verdict, class) = match line.verdict {
        Verdict::Within => ("within", "within"),
        Verdict::Outside => ("outside", "outside"),
        Verdict::CannotTell => ("cannot tell", "unsure"),
    };
    AgainstRow {
        name: plan_name(&line.what).to_owned(),
        planned: planned_value(&line.what, line.planned, &line.unit, units),
        measured: measured(line.measured),
        verdict,
        class,
    }
}

/// What was found, each with its close-up where there is a picture.
fn finding_rows(along: &Along<'_>) -> Vec<FindingRow> {
    (1..)
        .zip(&along.measurement.findings)
        .map(|(number, finding)| FindingRow {
            name: finding_name(finding),
            place: finding_place(finding, along.measurement),
            text: finding.text.clone(),
            close_up: along
                .strip
                .and_then(|strip| close_up(number, finding, strip, along.measurement, along.plan)),
        })
        .collect()
}

/// What was asked of the measurement, in a line; the stages' own figures stand in the JSON.
fn options_line(measurement: &Measurement) -> String {
    let pairs = measurement.program.options.iter();
    let asked = pairs.filter(|(name, value)| !name.contains('.') && !value.is_null());
    let words: Vec<String> = asked
        .map(|(name, value)| match value.as_str() {
            Some(text) => format!("{name} {text}"),
            None => format!("{name} {value}"),
        })
        .collect();
    words.join(", ")
}
