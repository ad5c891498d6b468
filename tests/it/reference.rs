//! The crate's statistics and its selvedges against numbers of general libraries
//! (`testdata/reference`).

use std::path::Path;

use evenfell::band::{BandHint, BandOptions, trace_band};
use evenfell::measurement::ScaleMethod;
use evenfell::photo::{PhotoOptions, open};
use evenfell::scale::View;
use evenfell::stats::{gaussian_low_pass, normal_quantile, t_quantile, theil_sen};
use serde_json::Value;

fn reference() -> Value {
    let text = include_str!("../../testdata/reference/statistics.json");
    serde_json::from_str(text).expect("the file is JSON")
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

/// Both compute the same sums in f64: only their order differs.
#[test]
fn the_gaussian_filter_agrees_with_scipy_to_rounding_also_at_the_ends() {
    for case in reference()["filter"].as_array().expect("a list") {
        let cutoff = case["cutoff"].as_f64().expect("a number");
        let slow = gaussian_low_pass(&numbers(&case["values"]), cutoff);
        let expected = numbers(&case["slow"]);
        assert_eq!(slow.len(), expected.len());
        for (at, (got, want)) in slow.iter().zip(&expected).enumerate() {
            assert!(
                (got - want).abs() < 1e-9,
                "cut-off {cutoff}, sample {at}: {got} for {want}"
            );
        }
    }
}

/// The approximations promise seven digits (normal) and four (Student's t).
#[test]
fn the_quantiles_agree_with_scipy_to_their_promise() {
    for pair in reference()["normal"].as_array().expect("a list") {
        let [p, z] = numbers(pair)[..] else {
            panic!("a pair")
        };
        assert!(
            (normal_quantile(p) - z).abs() < 1e-6 * (1.0 + z.abs()),
            "{p}"
        );
    }
    for triple in reference()["student"].as_array().expect("a list") {
        let [p, freedom, t] = numbers(triple)[..] else {
            panic!("three numbers")
        };
        let got = t_quantile(p, freedom);
        assert!((got - t).abs() < 2e-3 * t, "{p}, {freedom}: {got} for {t}");
    }
}

#[test]
fn the_slope_that_most_pairs_agree_on_is_scipys() {
    let case = &reference()["slope"];
    let (slope, _) = theil_sen(&numbers(&case["x"]), &numbers(&case["y"])).expect("41 points");
    let expected = case["slope"].as_f64().expect("a number");
    assert!((slope - expected).abs() < 1e-12);
}

/// Pixels to a millimetre of the drawn edges.
const PX_PER_MM: f64 = 8.0;

/// Traced less scikit-image's selvedge, px outward, at every column of a picture: left and right.
fn edge_errors(case: &Value) -> [Vec<f64>; 2] {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/reference");
    let name = case["picture"].as_str().expect("a name");
    let photo = open(&folder.join(name), &PhotoOptions::default()).expect("a picture");
    let view = View::level((PX_PER_MM, PX_PER_MM), 0.001, ScaleMethod::Dpi);
    let (hint, options) = (BandHint::default(), BandOptions::default());
    let trace = trace_band(&photo, &view, &hint, &options, &mut ()).expect("a band");
    let band = &trace.straight;
    let columns = numbers(&case["columns_px"]);
    let errors = |edge: &[f64], key: &str, outward: f64| -> Vec<f64> {
        let at: Vec<(f64, f64)> = edge
            .iter()
            .enumerate()
            .map(|(i, t)| {
                let s = band.s0_mm + i as f64 * band.step_mm;
                let px = view.to_px(band.centre_line.place(s, *t));
                (px.x, px.y)
            })
            .collect();
        let expected = numbers(&case[key]);
        expected
            .iter()
            .enumerate()
            .map(|(k, want)| outward * (row_at(&at, columns[0] + k as f64) - want))
            .collect()
    };
    // The band lies with its start at the left: its left selvedge is the upper one.
    [
        errors(&trace.left_mm, "top_px", -1.0),
        errors(&trace.right_mm, "bottom_px", 1.0),
    ]
}

/// The row at which a traced selvedge passes a column.
fn row_at(places: &[(f64, f64)], x: f64) -> f64 {
    let next = places.partition_point(|p| p.0 < x);
    let (a, b) = (places[next - 1], places[next]);
    a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
}

/// How far a selvedge may lie from scikit-image's on the whole, px. scikit-image looks for the middle
/// level of the light; this crate seeks the step in Lab units, whose middle lies on the darker side of
/// a blurred edge, and sums shares of cloth about it: at a blur of one pixel and more that leaves almost
/// half a pixel, inward for dark cloth, outward for pale; the pale shape has no dusk at its rim, as a round
/// yarn would, which takes it farther out.
const TOLERANCES_PX: [(&str, f64); 4] = [
    ("edges_slant.png", 0.2),
    ("edges_waves.png", 0.6),
    ("edges_turns.png", 0.4),
    ("edges_pale.png", 0.8),
];

#[test]
fn the_selvedges_lie_where_scikit_image_sees_them_within_a_stated_part_of_a_pixel() {
    let text = include_str!("../../testdata/reference/edges_skimage.json");
    let reference: Value = serde_json::from_str(text).expect("the file is JSON");
    let cases = reference["cases"].as_array().expect("a list");
    assert_eq!(cases.len(), TOLERANCES_PX.len());
    for (case, (name, tolerance)) in cases.iter().zip(TOLERANCES_PX) {
        assert_eq!(case["picture"], name);
        for errors in edge_errors(case) {
            let mean = errors.iter().sum::<f64>() / errors.len() as f64;
            let mut sizes: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
            sizes.sort_by(f64::total_cmp);
            let middle = sizes[sizes.len() / 2];
            println!("{name}: {mean:+.3} {middle:.3}");
            assert!(mean.abs() < tolerance, "{name}: {mean} px on the whole");
            assert!(middle < tolerance, "{name}: {middle} px at the median");
        }
    }
}
