//! An empty result and a plan, for the tests of this stage.

use crate::measurement::{Measurement, Photo, Program, Quantity, SCHEMA, Scale, ScaleMethod};
use crate::plan::Plan;

pub(crate) fn measurement() -> Measurement {
    Measurement {
        schema: SCHEMA.into(),
        program: Program {
            version: String::new(),
            options: serde_json::Map::new(),
        },
        photo: Photo {
            file: "band.png".into(),
            width_px: 10,
            height_px: 10,
            sha256: String::new(),
        },
        scale: Scale {
            method: ScaleMethod::Dpi,
            px_per_mm: Quantity {
                value: 11.8,
                u95: 0.04,
            },
            camera_tilt_degrees: 0.0,
            notes: Vec::new(),
        },
        corrections: None,
        length_mm: None,
        picks: None,
        beat: None,
        width: None,
        draw_in_percent: None,
        selvedges: None,
        against_plan: Vec::new(),
        findings: Vec::new(),
        warnings: Vec::new(),
        unmeasured: Vec::new(),
        swatch: None,
        hand_count: None,
    }
}

pub(crate) fn plan() -> Plan {
    Plan {
        draw_in: Some(0.06),
        ..Plan::new(11, 40.0, 150.0, 9.0)
    }
}
