//! An empty result and a plan, for the tests of this stage.

use crate::measurement::{Measurement, Photo, Program, Quantity, SCHEMA, Scale, ScaleMethod};
use crate::plan::{LengthUnits, Plan, Tolerance};

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
    }
}

pub(crate) fn plan() -> Plan {
    Plan {
        title: "Tide-table bookmark".into(),
        ends: 11,
        width_in_loom_mm: 40.0,
        woven_length_mm: 150.0,
        picks_per_inch: 9.0,
        draw_in: Some(0.06),
        drawdown: None,
        finish_on_row: None,
        header_picks: None,
        thickness_mm: None,
        tolerance: Tolerance::default(),
        units: LengthUnits::Centimetres,
    }
}
