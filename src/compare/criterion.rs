//! What bands are put in order by: less is better in each.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::sample::SampleFigures;
use crate::measurement::Quantity;

/// What an order is by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Criterion {
    /// Spacing CV without the rhythm, %.
    Beat,
    /// Distance of the picks per inch from the plan, % of the planned.
    Picks,
    /// Distance of the draw-in from the plan, points.
    DrawIn,
    /// The worse selvedge's Wq, mm.
    Selvedges,
}

impl Criterion {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 4] = [Self::Beat, Self::Picks, Self::DrawIn, Self::Selvedges];

    /// The weaver's word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Beat => "beat",
            Self::Picks => "picks",
            Self::DrawIn => "draw-in",
            Self::Selvedges => "selvedges",
        }
    }

    /// What the number is, and its unit.
    #[must_use]
    pub fn measure(self) -> (&'static str, &'static str) {
        match self {
            Self::Beat => ("unevenness from pick to pick", "%"),
            Self::Picks => ("distance from the planned picks", "%"),
            Self::DrawIn => ("distance from the planned draw-in", "points"),
            Self::Selvedges => ("waviness of the worse selvedge", "mm"),
        }
    }

    /// The band's number, in the unit of [`Criterion::measure`]; `None` where it isn't known.
    ///
    /// The distance from a plan can't be off by more than the figure itself is, so it has the
    /// figure's interval. A plan that expects no draw-in counts as one that expects 0 %.
    #[must_use]
    pub fn of(self, figures: &SampleFigures) -> Option<Quantity> {
        match self {
            Self::Beat => figures.beat_percent,
            Self::Picks => {
                let (measured, planned) = (figures.per_inch?, figures.planned.per_inch?);
                Some(Quantity {
                    value: 100.0 * (measured.value / planned - 1.0).abs(),
                    u95: 100.0 * measured.u95 / planned,
                })
            }
            Self::DrawIn => {
                let measured = figures.draw_in_percent?;
                let planned = figures.planned.draw_in_percent.unwrap_or(0.0);
                Some(Quantity {
                    value: (measured.value - planned).abs(),
                    u95: measured.u95,
                })
            }
            Self::Selvedges => figures.waviness_mm.map(|waviness| waviness.worse()),
        }
    }
}
