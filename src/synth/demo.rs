//! The sample band: a lamp pull from the evening class on the ferry quay, on an ordinary day.
//!
//! Its weaver loosened her beat for a few centimetres, pulled the weft tight at the right selvedge
//! once, and passed two ends on the wrong side in one row.

use super::camera::{Camera, Light};
use super::ground::Ground;
use super::spec::{BandSpec, EdgeMark, Fringe, Header, Side, Stretch, Turns, YarnLook};
use crate::plan::Drawdown;

/// The plan of the sample band, as she wrote it down.
pub const DEMO_PLAN: &str = r#"{
  "title": "Ferry-quay lamp pull",
  "ends": 13,
  "width_in_loom": "1 1/2 in",
  "woven_length": "7 in",
  "picks": "10 per inch",
  "draw_in": "7 %",
  "drawdown": ["ou", "uo"],
  "header_picks": 3,
  "thickness": "3 mm",
  "warp": { "yarn": "8/4 cotton", "strands": 2, "take_up": "8 %", "loom_waste": "8 in", "fringe": "1 in" },
  "weft": { "yarn": "560 yd/lb", "crimp": "12 %" }
}
"#;

/// The sample band and the flatbed that scanned it.
#[must_use]
pub fn demo_band() -> (BandSpec, Camera) {
    let weft = YarnLook {
        colour: [0.11, 0.37, 0.42],
        plies: 3,
        lay: 2.6,
        groove: 0.8,
        thickness_cv: 0.035,
        heather: 0.07,
        hairs_per_mm: 0.25,
        hair_mm: 1.8,
        sheen: 0.0,
        ..YarnLook::default()
    };
    let warp = YarnLook {
        colour: [0.90, 0.85, 0.74],
        groove: 0.7,
        hairs_per_mm: 0.03,
        ..YarnLook::default()
    };
    let tar = YarnLook {
        colour: [0.27, 0.20, 0.15],
        ..warp.clone()
    };
    let spec = BandSpec {
        seed: 1907,
        title: "Ferry-quay lamp pull".to_owned(),
        drawdown: Drawdown::new(vec![vec![true, false], vec![false, true]])
            .unwrap_or_else(super::drawdowns::plain),
        ends: 13,
        strands: 2,
        picks: 71,
        pick_spacing_mm: 2.46,
        spacing_cv: 0.035,
        spacing_correlation: 0.2,
        drift: 0.03,
        stretches: vec![Stretch {
            from_mm: 58.0,
            to_mm: 84.0,
            factor: 1.28,
        }],
        width_in_loom_mm: 38.1,
        draw_in: 0.08,
        waviness_mm: [0.16, 0.18],
        wavelength_mm: 38.0,
        edge_marks: vec![EdgeMark {
            side: Side::Right,
            at_mm: 124.0,
            depth_mm: 2.3,
            half_width_mm: 6.0,
        }],
        mis_woven: vec![(40, 5), (40, 6)],
        turns: Turns::Loops {
            bulge: 0.85,
            scatter: 0.12,
        },
        weft_cover: 0.9,
        warp_cover: 0.5,
        weft,
        warp,
        header: Some(Header {
            picks: 3,
            yarn: tar,
            spacing_mm: 1.1,
        }),
        fringe: Fringe {
            length_mm: 12.0,
            scatter: 0.08,
            wander_mm: 0.8,
            kept: 1.0,
            taut_mm: [0.0; 2],
        },
        ..BandSpec::default()
    };
    let camera = Camera {
        axis_error: (0.0011, -0.0007),
        band_angle: 0.012,
        margin_mm: 7.0,
        defocus_px: 0.3,
        noise: 0.7,
        jpeg_quality: 84,
        half_colour: true,
        light: Light {
            gradient: 0.02,
            ..Light::default()
        },
        ground: Ground::Paper {
            colour: [0.95, 0.945, 0.93],
            texture: 0.15,
        },
        seed: 1907,
        ..Camera::default()
    };
    (spec, camera)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synth::weave;

    #[test]
    fn the_plan_of_the_sample_is_sound_and_is_its_own() {
        let plan = crate::plan::Plan::from_json(DEMO_PLAN).expect("the plan is sound");
        let (spec, _) = demo_band();
        assert_eq!(plan.ends as usize, spec.ends);
        assert!((plan.width_in_loom_mm - spec.width_in_loom_mm).abs() < 1e-9);
        for row in 0..2 {
            for end in 0..spec.ends {
                let planned = plan.drawdown.as_ref().map(|grid| grid.over(row, end));
                assert_eq!(planned, Some(spec.drawdown.over(row, end)));
            }
        }
    }

    #[test]
    fn the_embedded_sample_is_what_the_renderer_draws() {
        let (spec, camera) = demo_band();
        let drawn = camera
            .photograph(&weave(&spec))
            .jpeg()
            .expect("a picture of this size is a JPEG");
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/demo/lamp_pull.jpg");
        let kept = std::fs::read(path).expect("the sample is in testdata");
        assert!(kept.len() <= 400_000, "{} bytes", kept.len());
        let pixels = |bytes: &[u8]| image::load_from_memory(bytes).expect("a JPEG").into_rgb8();
        let (a, b) = (pixels(&drawn), pixels(&kept));
        assert_eq!(a.dimensions(), b.dimensions());
        // Sines differ in their last bit from one machine to the next: a few pixels may round the other way.
        let off = a
            .as_raw()
            .iter()
            .zip(b.as_raw())
            .filter(|(a, b)| a.abs_diff(**b) > 2)
            .count();
        assert!(
            off * 10_000 < a.as_raw().len(),
            "{off} levels differ: run the example draw_demo"
        );
        let plan = std::fs::read_to_string(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/testdata/demo/lamp_pull.plan.json"
        ));
        assert_eq!(plan.expect("the plan is in testdata"), DEMO_PLAN);
    }
}
