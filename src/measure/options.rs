//! Everything that steers a measurement.

use serde_json::{Map, Value};

use crate::band::{BandOptions, StartEnd};
use crate::corrections::Corrections;
use crate::findings::QualityOptions;
use crate::hand_count::HandCountRequest;
use crate::picks::PickOptions;
use crate::swatch::{SwatchOptions, SwatchRequest};

/// How much of the piece the photo shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Extent {
    /// All of it: a band that runs out of the picture is warned of.
    #[default]
    Whole,
    /// A stretch of a longer piece: no count, no length.
    Part,
}

/// Every stage's options.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// The end that the weaving started at, where the weaver says so.
    pub start: Option<StartEnd>,
    /// How much of the piece the photo shows.
    pub extent: Extent,
    /// How the band is looked for.
    pub band: BandOptions,
    /// How the picks are looked for.
    pub picks: PickOptions,
    /// Which part of the picture is cloth all over; `None` looks for a band.
    pub swatch: Option<SwatchRequest>,
    /// How a swatch's picks are looked for.
    pub swatch_picks: SwatchOptions,
    /// The weaver's own count, to be held beside this one.
    pub hand_count: Option<HandCountRequest>,
    /// When the photo is warned of.
    pub quality: QualityOptions,
    /// What a person put right; it stands in the result under its own name.
    pub corrections: Corrections,
}

impl Options {
    /// The end that the weaving started at, as the weaver says it or put it right.
    #[must_use]
    pub fn start(&self) -> Option<StartEnd> {
        self.corrections.start.or(self.start)
    }

    /// The options by name, as they stand in a result.
    #[must_use]
    pub fn by_name(&self) -> Map<String, Value> {
        let Self {
            band,
            picks,
            extent,
            swatch,
            swatch_picks,
            quality,
            ..
        } = self;
        let start = self.start().map(|end| format!("{end:?}").to_lowercase());
        let part = (*extent == Extent::Part).then(|| ("extent", Value::from("part")));
        let of_swatch = swatch.map(|swatch| {
            [
                ("swatch", Value::from(swatch.to_string())),
                ("swatch.min_px_a_pick", swatch_picks.min_px_a_pick.into()),
                ("swatch.min_picks", swatch_picks.min_picks.into()),
                ("swatch.least_score", swatch_picks.least_score.into()),
                ("swatch.sure_score", swatch_picks.sure_score.into()),
                ("swatch.sure_margin", swatch_picks.sure_margin.into()),
                ("swatch.least_margin", swatch_picks.least_margin.into()),
                ("swatch.least_together", swatch_picks.least_together.into()),
                ("swatch.most_uneven", swatch_picks.most_uneven.into()),
                (
                    "swatch.least_recurring",
                    swatch_picks.least_recurring.into(),
                ),
                ("swatch.sure_even", swatch_picks.sure_even.into()),
                ("swatch.sure_recurring", swatch_picks.sure_recurring.into()),
                (
                    "swatch.hardly_recurring",
                    swatch_picks.hardly_recurring.into(),
                ),
                ("swatch.finer_score", swatch_picks.finer_score.into()),
            ]
        });
        [
            ("start", Value::from(start)),
            ("band.cell_mm", band.cell_mm.into()),
            ("band.margin_across_mm", band.margin_across_mm.into()),
            ("band.margin_along_mm", band.margin_along_mm.into()),
            (
                "picks.spacing_range",
                vec![picks.spacing_range.0, picks.spacing_range.1].into(),
            ),
            ("picks.min_px_a_pick", picks.min_px_a_pick.into()),
            ("picks.min_picks", picks.min_picks.into()),
            (
                "quality.doubtful_px_a_pick",
                quality.doubtful_px_a_pick.into(),
            ),
            ("quality.blurred_share", quality.blurred_share.into()),
            ("quality.blown_out_share", quality.blown_out_share.into()),
            ("quality.shadow_step", quality.shadow_step.into()),
        ]
        .into_iter()
        .chain(part)
        .chain(of_swatch.into_iter().flatten())
        .map(|(name, value)| (name.into(), value))
        .collect()
    }
}
