//! Picks that fan out before a camera that looks from one side.

use std::f64::consts::FRAC_PI_2;

use evenfell::measure::{Measured, Options, measure_with};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, weave};

/// Distance of the camera, mm.
const DISTANCE_MM: f64 = 350.0;

/// A wide band by a camera that looks at it aslant by so much, from its right.
fn seen_aslant(seed: u64, tilt: f64) -> (BandSpec, Measured) {
    let spec = BandSpec {
        seed,
        ends: 28,
        picks: 70,
        width_in_loom_mm: 70.0,
        ..BandSpec::default()
    };
    let camera = Camera {
        seed,
        tilt,
        tilt_direction: FRAC_PI_2,
        distance_mm: Some(DISTANCE_MM),
        ..Camera::default()
    };
    let photo = camera.photograph(&weave(&spec)).to_photo();
    let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
    let options = Options::default();
    let measured = measure_with(&photo, &view, Some(&spec.plan()), &options, &mut ()).unwrap();
    (spec, measured)
}

#[test]
fn picks_that_fan_out_before_a_camera_from_one_side_are_all_counted() {
    for seed in 1..4 {
        let (spec, seen) = seen_aslant(seed, 0.3);
        // Nearer by half the width times the sine is larger by as much over the distance.
        let half_mm = 0.5 * seen.measurement.width.as_ref().unwrap().mean_mm.value;
        let rate = -half_mm * 0.3_f64.sin() / DISTANCE_MM;
        let lean = seen.trace.lean;
        assert!((lean.rate / rate - 1.0).abs() < 0.06, "{rate} {lean:?}");
        let count = seen.measurement.picks.as_ref().unwrap().count;
        assert_eq!(count, Some(spec.picks as u32), "seed {seed}");
    }
}

#[test]
fn picks_before_a_level_camera_lie_level() {
    let (_, seen) = seen_aslant(1, 0.0);
    let lean = seen.trace.lean;
    assert_eq!((lean.rate, lean.lean_mm), (0.0, 0.0));
}
