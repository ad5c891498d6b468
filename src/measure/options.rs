//! Everything that steers a measurement.

use serde_json::{Map, Value};

use crate::findings::QualityOptions;

/// Every stage's options.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// When the photo is warned of.
    pub quality: QualityOptions,
}

impl Options {
    /// The options by name, as they stand in a result.
    #[must_use]
    pub fn by_name(&self) -> Map<String, Value> {
        let quality = &self.quality;
        [
            ("quality.doubtful_px_a_pick", quality.doubtful_px_a_pick),
            ("quality.blurred_share", quality.blurred_share),
            ("quality.blown_out_share", quality.blown_out_share),
            ("quality.shadow_step", quality.shadow_step),
        ]
        .into_iter()
        .map(|(name, value)| (name.into(), value.into()))
        .collect()
    }
}
