//! Warp-faced bands whose weft shows at its turns alone, in a colour near the ground's.

use evenfell::band::{BandHint, BandOptions, BandTrace, trace_band};
use evenfell::measure::{Options, measure};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, Face, Ground, Turns, YarnLook, weave};

/// A band of these colours (sRGB) on a ground.
fn spec(seed: u64, weft: [f64; 3], warp: [f64; 3]) -> BandSpec {
    let look = |colour| YarnLook {
        colour,
        ..YarnLook::default()
    };
    BandSpec {
        seed,
        ends: 24,
        picks: 40,
        pick_spacing_mm: 2.4,
        width_in_loom_mm: 22.0,
        face: Face::WarpFaced,
        weft_cover: 0.5,
        warp_cover: 2.0,
        turns: Turns::Loops {
            bulge: 3.0,
            scatter: 0.1,
        },
        weft: look(weft),
        warp: look(warp),
        ..BandSpec::default()
    }
}

fn lying_on(seed: u64, ground: Ground) -> Camera {
    Camera {
        seed,
        ground,
        dpi: 200.0,
        stated_dpi: Some(200),
        ..Camera::default()
    }
}

/// Weft and warp on wood, and on a mat.
fn bands() -> [(BandSpec, Camera); 2] {
    let wood = Ground::Wood {
        colour: [0.9, 0.72, 0.5],
        grain: 0.3,
    };
    let mat = Ground::Mat {
        colour: [0.45, 0.75, 0.63],
        line: [0.3, 0.55, 0.45],
        grid_mm: 10.0,
        line_mm: 0.4,
    };
    let tan = spec(61, [0.6, 0.55, 0.4], [0.3, 0.7, 0.85]);
    let sage = spec(72, [0.7, 0.85, 0.75], [0.6, 0.6, 0.6]);
    [(tan, lying_on(60, wood)), (sage, lying_on(62, mat))]
}

/// Mean distance from selvedge to selvedge in the middle of the cloth, mm.
fn mean_width_mm(trace: &BandTrace) -> f64 {
    let rows = trace.left_mm.len() / 4..trace.left_mm.len() * 3 / 4;
    let widths = rows
        .clone()
        .map(|row| trace.right_mm[row] - trace.left_mm[row]);
    widths.sum::<f64>() / rows.len() as f64
}

#[test]
fn turns_of_nearly_the_ground_s_colour_are_followed_once_their_colour_is_known() {
    for (spec, camera) in bands() {
        let band = weave(&spec);
        let photo = camera.photograph(&band).to_photo();
        let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
        let plan = spec.plan();
        let hint = BandHint {
            loom_width_mm: Some(plan.width_in_loom_mm),
            picks_per_inch: Some(plan.picks_per_inch),
            ..BandHint::default()
        };
        let first = trace_band(&photo, &view, &hint, &BandOptions::default(), &mut ()).unwrap();
        let first_mm = mean_width_mm(&first);
        let seen = measure(&photo, &view, Some(&plan), &Options::default(), &mut ()).unwrap();
        let width = seen.width.unwrap();
        let (mean, over) = (width.mean_mm, width.over_turns_mm);
        let truth = &band.truth;
        let told = format!("seed {}: {first_mm:.2} then {mean:?}, {over:?}", spec.seed);
        assert!(first_mm < truth.width_mm - 2.0, "{told}");
        assert!((mean.value - truth.width_mm).abs() < mean.u95, "{told}");
        assert!(
            (over.value - truth.over_turns_mm).abs() < over.u95,
            "{told}"
        );
        assert!(mean.u95 < 0.5, "{told}");
        assert!(
            seen.warnings.iter().all(|w| w.code != "ground_alike"),
            "{told}"
        );
    }
}
