//! Made-up results for tests: a lamp pull with every figure, each to be changed.

use super::{
    AgainstPlan, Beat, LocalPicks, Measurement, Photo, Picks, Program, Quantity, SCHEMA, Scale,
    ScaleMethod, Selvedge, Selvedges, Verdict, Width, WidthProfile,
};

/// Figures of a made-up band: value and half-width of the 95 % interval.
#[derive(Clone, Debug)]
pub(crate) struct Made {
    pub(crate) name: String,
    pub(crate) per_inch: (f64, f64),
    pub(crate) length_mm: (f64, f64),
    pub(crate) width_mm: (f64, f64),
    pub(crate) draw_in: (f64, f64),
    pub(crate) cv: (f64, f64),
    pub(crate) rhythm: Option<(f64, f64)>,
    pub(crate) drift: (f64, f64),
    pub(crate) left: (f64, f64),
    pub(crate) right: (f64, f64),
    pub(crate) scale_share: f64,
    pub(crate) planned_picks: Option<f64>,
    pub(crate) planned_draw_in: Option<f64>,
    pub(crate) state: Option<&'static str>,
}

impl Default for Made {
    fn default() -> Self {
        Self {
            name: "quay-1".to_owned(),
            per_inch: (10.0, 0.04),
            length_mm: (231.0, 0.7),
            width_mm: (41.3, 0.12),
            draw_in: (7.0, 0.3),
            cv: (6.0, 0.6),
            rhythm: None,
            drift: (1.0, 1.5),
            left: (0.20, 0.02),
            right: (0.22, 0.02),
            scale_share: 0.003,
            planned_picks: None,
            planned_draw_in: None,
            state: None,
        }
    }
}

fn quantity((value, u95): (f64, f64)) -> Quantity {
    Quantity { value, u95 }
}

impl Made {
    /// The whole result.
    pub(crate) fn measurement(&self) -> Measurement {
        let planned = |what: &str, planned: f64, measured, unit: &str| AgainstPlan {
            what: what.to_owned(),
            planned,
            measured: quantity(measured),
            unit: unit.to_owned(),
            verdict: Verdict::Within,
        };
        let mut options = serde_json::Map::new();
        options.extend(self.state.map(|state| ("state".to_owned(), state.into())));
        let picks = self
            .planned_picks
            .map(|p| planned("picks", p, self.per_inch, "per inch"));
        let draw_in = self
            .planned_draw_in
            .map(|p| planned("draw_in", p, self.draw_in, "%"));
        Measurement {
            schema: SCHEMA.to_owned(),
            program: Program {
                version: "0.1.0".to_owned(),
                options,
            },
            photo: Photo {
                file: format!("{}.png", self.name),
                width_px: 3000,
                height_px: 800,
                sha256: format!("{:0>64}", self.name),
            },
            scale: Scale {
                method: ScaleMethod::Dpi,
                px_per_mm: Quantity {
                    value: 12.0,
                    u95: 12.0 * self.scale_share,
                },
                camera_tilt_degrees: 0.0,
                notes: Vec::new(),
            },
            corrections: None,
            length_mm: Some(quantity(self.length_mm)),
            picks: Some(self.picks()),
            beat: Some(Beat {
                drift_percent: quantity(self.drift),
                rhythm_percent: self.rhythm.map(quantity),
                rhythm_rows_percent: Vec::new(),
                waves_percent: quantity((2.0, 0.5)),
                scatter_percent: quantity(self.cv),
                local: LocalPicks::default(),
            }),
            width: Some(Width {
                mean_mm: quantity(self.width_mm),
                over_turns_mm: quantity((self.width_mm.0 + 0.4, self.width_mm.1)),
                min_mm: quantity((self.width_mm.0 - 0.5, self.width_mm.1)),
                max_mm: quantity((self.width_mm.0 + 0.5, self.width_mm.1)),
                profile: WidthProfile::default(),
            }),
            draw_in_percent: Some(quantity(self.draw_in)),
            selvedges: Some(self.selvedges()),
            against_plan: picks.into_iter().chain(draw_in).collect(),
            findings: Vec::new(),
            warnings: Vec::new(),
            unmeasured: Vec::new(),
            swatch: None,
            hand_count: None,
        }
    }

    fn picks(&self) -> Picks {
        Picks {
            count: Some(91),
            per_inch: quantity(self.per_inch),
            positions_mm: Vec::new(),
            positions_u95_mm: Vec::new(),
            spacing_cv_percent: Some(quantity(self.cv)),
            rows: None,
            face: None,
        }
    }

    fn selvedges(&self) -> Selvedges {
        let side = |wq: (f64, f64)| Selvedge {
            wq_mm: quantity(wq),
            wt_mm: quantity((4.0 * wq.0, 4.0 * wq.1)),
        };
        Selvedges {
            left: side(self.left),
            right: side(self.right),
        }
    }
}
