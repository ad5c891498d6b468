//! One result made by hand: a tide-table bookmark of 24 picks and 8 ends, for the reports' tests.
//!
//! Its figures are typed, not measured, so that a report changes only when the report does.

use evenfell::measurement::{
    AgainstPlan, Beat, Finding, FindingKind, LocalPicks, Measurement, Photo, Picks, Program,
    Quantity, SCHEMA, Scale, ScaleMethod, Selvedge, Selvedges, Side, Unmeasured, Verdict, Warning,
    Width, WidthProfile,
};
use evenfell::plan::Plan;

/// Distance from pick to pick, mm.
const SPACING_MM: f64 = 2.5;
/// Picks of the body.
const PICKS: u32 = 24;

/// The plan that it was woven to.
pub(crate) fn plan() -> Plan {
    Plan::from_json(
        r#"{ "title": "Tide-table bookmark <for the quay & its class>", "ends": 8,
             "width_in_loom": "1 1/4 in", "woven_length": "2 3/8 in", "picks": "10 per inch",
             "draw_in": "6 %", "drawdown": ["o1 u1", "u1 o1"] }"#,
    )
    .unwrap()
}

fn q(value: f64, u95: f64) -> Quantity {
    Quantity { value, u95 }
}

/// The result.
pub(crate) fn measurement() -> Measurement {
    Measurement {
        schema: SCHEMA.to_owned(),
        program: Program {
            version: "0.1.0".to_owned(),
            options: serde_json::from_str(r#"{"scale": "dpi", "state": "off-loom"}"#).unwrap(),
        },
        photo: Photo {
            file: "bookmark.png".to_owned(),
            width_px: 1200,
            height_px: 500,
            sha256: "5d".repeat(32),
        },
        scale: Scale {
            method: ScaleMethod::Dpi,
            px_per_mm: q(11.811, 0.0354),
            camera_tilt_degrees: 0.0,
            notes: vec!["The file says 300 dots per inch.".to_owned()],
        },
        corrections: None,
        length_mm: Some(q(60.31, 0.19)),
        picks: Some(picks()),
        beat: Some(beat()),
        width: Some(width()),
        draw_in_percent: Some(q(5.83, 0.31)),
        selvedges: Some(Selvedges {
            left: Selvedge {
                wq_mm: q(0.121, 0.014),
                wt_mm: q(0.52, 0.07),
            },
            right: Selvedge {
                wq_mm: q(0.561, 0.021),
                wt_mm: q(1.91, 0.09),
            },
        }),
        against_plan: against_plan(),
        findings: findings(),
        warnings: vec![Warning {
            code: "scanner_scale".to_owned(),
            text: "A scanner's own resolution is taken at its word.".to_owned(),
        }],
        unmeasured: vec![Unmeasured {
            what: "rows".to_owned(),
            why: "this entry only shows how one looks".to_owned(),
        }],
        swatch: None,
        hand_count: None,
    }
}

fn picks() -> Picks {
    let numbers = 0..PICKS;
    Picks {
        count: Some(PICKS),
        per_inch: q(10.108, 0.034),
        positions_mm: numbers
            .clone()
            .map(|n| (f64::from(n) + 0.5) * SPACING_MM)
            .collect(),
        positions_u95_mm: numbers.clone().map(|_| 0.04).collect(),
        spacing_cv_percent: Some(q(4.9, 0.6)),
        rows: Some(numbers.map(|n| n % 2 + 1).collect()),
        face: None,
    }
}

fn beat() -> Beat {
    Beat {
        drift_percent: q(-2.4, 1.1),
        rhythm_percent: Some(q(0.8, 0.3)),
        rhythm_rows_percent: vec![0.8, -0.8],
        waves_percent: q(1.9, 0.4),
        scatter_percent: q(3.1, 0.5),
        local: LocalPicks {
            at_mm: (2..PICKS - 2)
                .map(|n| (f64::from(n) + 0.5) * SPACING_MM)
                .collect(),
            per_inch: (2..PICKS - 2)
                .map(|n| 10.16 - 0.6 * f64::from(n % 5))
                .collect(),
            u95: (2..PICKS - 2).map(|_| 0.11).collect(),
        },
    }
}

fn width() -> Width {
    let at_mm: Vec<f64> = (0..=60).map(f64::from).collect();
    let left_mm: Vec<f64> = at_mm
        .iter()
        .map(|at| 14.9 + 0.1 * (at * 1.3).sin())
        .collect();
    let right_mm: Vec<f64> = at_mm.iter().map(|at| 15.0 - 0.02 * at).collect();
    Width {
        mean_mm: q(29.9, 0.1),
        over_turns_mm: q(30.3, 0.11),
        min_mm: q(28.9, 0.13),
        max_mm: q(30.1, 0.13),
        profile: WidthProfile {
            width_mm: left_mm
                .iter()
                .zip(&right_mm)
                .map(|(left, right)| left + right)
                .collect(),
            at_mm,
            left_mm,
            right_mm,
        },
    }
}

fn against_plan() -> Vec<AgainstPlan> {
    [
        ("picks", 10.0, q(10.108, 0.034), "per inch", Verdict::Within),
        ("draw_in", 6.0, q(5.83, 0.31), "%", Verdict::Within),
        ("beat", 8.0, q(-2.4, 1.1), "%", Verdict::Within),
        ("waviness_left", 0.5, q(0.121, 0.014), "mm", Verdict::Within),
        (
            "waviness_right",
            0.5,
            q(0.561, 0.021),
            "mm",
            Verdict::Outside,
        ),
        ("length", 60.325, q(60.31, 0.19), "mm", Verdict::CannotTell),
    ]
    .into_iter()
    .map(|(what, planned, measured, unit, verdict)| AgainstPlan {
        what: what.to_owned(),
        planned,
        measured,
        unit: unit.to_owned(),
        verdict,
    })
    .collect()
}

fn findings() -> Vec<Finding> {
    let finding = |kind, from_mm, to_mm, unit: &str, text: &str| Finding {
        kind,
        side: None,
        from_mm,
        to_mm,
        size: 1.0,
        unit: unit.to_owned(),
        pick: None,
        ends: None,
        across_mm: None,
        text: text.to_owned(),
    };
    vec![
        finding(
            FindingKind::LooseStretch,
            20.0,
            30.0,
            "%",
            "Picks 9 to 12, 0.8 to 1.2 in from the start, are loose. Press them home.",
        ),
        Finding {
            side: Some(Side::Right),
            ..finding(
                FindingKind::EdgePull,
                44.0,
                47.0,
                "mm",
                "The right selvedge is pulled in around 1.8 in. Lay the weft in at a slant.",
            )
        },
        Finding {
            pick: Some(5),
            ends: Some(vec![3]),
            ..finding(
                FindingKind::MisWoven,
                10.0,
                12.5,
                "cells",
                "Pick 5 goes over end 3 instead of under it. Check the shed before beating.",
            )
        },
    ]
}
