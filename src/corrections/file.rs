//! Corrections as they stand in a file and in a result.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::band::StartEnd;
use crate::measurement::Side;

/// The schema's name, first field of the file.
pub const CORRECTIONS_SCHEMA: &str = "evenfell/corrections/1";

/// What a person put right. Places are mm from the start of the body that the program finds by
/// itself; picks are counted as it counts them by itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Corrections {
    /// [`CORRECTIONS_SCHEMA`].
    pub schema: String,
    /// SHA-256 of the photo that they were made on; another photo is then refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo_sha256: Option<String>,
    /// Which end of the band in the photo was woven first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<StartEnd>,
    /// Where the body lies.
    #[serde(default, skip_serializing_if = "BodyEnds::is_empty")]
    pub body: BodyEnds,
    /// Lines along which a selvedge is sought again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub selvedges: Vec<SelvedgeLine>,
    /// Places of picks that were missed, mm.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub inserted_picks_mm: Vec<f64>,
    /// Numbers (from 1) of picks that are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deleted_picks: Vec<u32>,
}

/// The body's ends; one that isn't given stays where the program finds it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BodyEnds {
    /// Outer edge of the first pick, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_mm: Option<f64>,
    /// Outer edge of the last pick, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_mm: Option<f64>,
}

/// Where one selvedge runs over a stretch, as a person sees it: it is sought again within a
/// corridor about this line, and set on the line where nothing is seen there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SelvedgeLine {
    /// Which selvedge, the weaver's.
    pub side: Side,
    /// Half the corridor's width, mm.
    pub within_mm: f64,
    /// Two places or more, in their order along the band, straight between them.
    pub line: Vec<LinePlace>,
}

/// One place of a selvedge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LinePlace {
    /// Along the band, mm.
    pub at_mm: f64,
    /// Outward from the centre line, mm.
    pub out_mm: f64,
}

impl Default for Corrections {
    fn default() -> Self {
        Self {
            schema: CORRECTIONS_SCHEMA.to_owned(),
            photo_sha256: None,
            start: None,
            body: BodyEnds::default(),
            selvedges: Vec::new(),
            inserted_picks_mm: Vec::new(),
            deleted_picks: Vec::new(),
        }
    }
}

impl Corrections {
    /// Whether nothing is put right.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.start.is_none() && self.leaves_places()
    }

    /// Whether nothing is put right but, maybe, the start.
    #[must_use]
    pub fn leaves_places(&self) -> bool {
        !self.places_by_hand() && self.deleted_picks.is_empty()
    }

    /// Whether anything lies where a hand placed it.
    #[must_use]
    pub fn places_by_hand(&self) -> bool {
        !(self.body.is_empty() && self.selvedges.is_empty() && self.inserted_picks_mm.is_empty())
    }
}

impl BodyEnds {
    /// Whether neither end is given.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.from_mm.is_none() && self.to_mm.is_none()
    }
}

impl SelvedgeLine {
    /// The line's place at `at_mm`, outward, mm; `None` beyond its ends.
    #[must_use]
    pub fn out_at(&self, at_mm: f64) -> Option<f64> {
        let pair = self
            .line
            .windows(2)
            .find(|pair| (pair[0].at_mm..=pair[1].at_mm).contains(&at_mm))?;
        let share = (at_mm - pair[0].at_mm) / (pair[1].at_mm - pair[0].at_mm);
        Some(pair[0].out_mm + share * (pair[1].out_mm - pair[0].out_mm))
    }

    /// Its first and last place along the band, mm.
    #[must_use]
    pub fn stretch_mm(&self) -> Option<(f64, f64)> {
        Some((self.line.first()?.at_mm, self.line.last()?.at_mm))
    }
}
