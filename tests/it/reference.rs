//! The crate's statistics against numbers of a general library (`testdata/reference`).

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
