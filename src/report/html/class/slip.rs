//! What a weaver takes home: her band, what went well, the one thing to work on.

use crate::compare::SampleFigures;
use crate::report::layout::sentence;
use crate::report::quantity::{Kind, Units, plain, with_unit};

/// One slip.
#[derive(Clone, Debug)]
pub(super) struct Slip {
    pub(super) name: String,
    /// What the band is, and which photo shows it.
    pub(super) about: String,
    pub(super) band: Option<String>,
    pub(super) strengths: Vec<String>,
    pub(super) work_on: String,
    /// Figures: name and value.
    pub(super) figures: Vec<(&'static str, String)>,
}

impl Slip {
    pub(super) fn new(
        figures: &SampleFigures,
        about: String,
        band: Option<String>,
        units: Units,
    ) -> Self {
        Self {
            name: figures.name.clone(),
            about,
            band,
            strengths: figures.strengths.iter().map(|s| sentence(s)).collect(),
            work_on: sentence(figures.advice()),
            figures: list(figures, units),
        }
    }
}

/// The figures that a weaver asks for first.
fn list(figures: &SampleFigures, units: Units) -> Vec<(&'static str, String)> {
    let planned = figures.planned.per_inch.map(|picks| {
        let (factor, _) = Kind::Density.shown_as(units);
        format!(" (plan {})", plain(picks * factor))
    });
    let with = |q, kind| with_unit(q, kind, units);
    [
        figures.per_inch.map(|q| {
            let picks = with(q, Kind::Density);
            ("picks", picks + planned.as_deref().unwrap_or_default())
        }),
        figures.length_mm.map(|q| ("length", with(q, Kind::Length))),
        figures.width_mm.map(|q| ("width", with(q, Kind::Length))),
        figures
            .draw_in_percent
            .map(|q| ("draw-in", with(q, Kind::Percent))),
        figures
            .beat_percent
            .map(|q| ("unevenness of the beat", with(q, Kind::Percent))),
        figures
            .waviness_mm
            .map(|w| ("left selvedge waves", with(w.left, Kind::Millimetres))),
        figures
            .waviness_mm
            .map(|w| ("right selvedge waves", with(w.right, Kind::Millimetres))),
    ]
    .into_iter()
    .flatten()
    .collect()
}
