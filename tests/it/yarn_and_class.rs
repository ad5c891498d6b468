//! `evenfell yardage`, `compare` and their schemas, as they are typed.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::program::run;
use crate::sample;

fn write(dir: &Path, name: &str, text: &str) -> String {
    let path = dir.join(name);
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

/// The hand-made bookmark's result with another name, picks per inch and spacing CV.
fn result(dir: &Path, name: &str, per_inch: f64, cv: f64) -> String {
    let mut value = serde_json::to_value(sample::measurement()).unwrap();
    value["photo"]["file"] = json!(format!("{name}.png"));
    value["photo"]["sha256"] = json!(format!("{name:0>64}"));
    value["picks"]["per_inch"] = json!({ "value": per_inch, "u95": 0.02 });
    value["picks"]["spacing_cv_percent"] = json!({ "value": cv, "u95": 0.4 });
    value["beat"]["rhythm_percent"] = Value::Null;
    write(dir, &format!("{name}.json"), &value.to_string())
}

fn plan(dir: &Path) -> String {
    write(
        dir,
        "plan.json",
        r#"{ "title": "Tide-table bookmark", "ends": 8, "width_in_loom": "1 1/4 in",
             "woven_length": "6 in", "picks": "10 per inch", "drawdown": ["o1 u1", "u1 o1"],
             "warp": { "yarn": "8/4 cotton" }, "weft": { "yarn": "560 yd/lb", "crimp": "10 %" } }"#,
    )
}

#[test]
fn measured_bands_say_what_to_order_and_how_sure_that_is() {
    let dir = TempDir::new().unwrap();
    let plan = plan(dir.path());
    let measured =
        [10.7, 10.8, 10.9].map(|rate| result(dir.path(), &format!("band-{rate}"), rate, 5.0));
    let mut words = vec!["yardage", &plan, "--bands", "12", "--measured"];
    words.extend(measured.iter().map(String::as_str));
    let (code, text, _) = run(&words);
    assert_eq!(code, 0);
    assert!(
        text.contains("For 12 bands order") && text.contains("19 times in 20"),
        "{text}"
    );
    words.extend(["--format", "json"]);
    let yarn: Value = serde_json::from_str(&run(&words).1).unwrap();
    // Eight per cent more picks are eight per cent more yarn.
    assert!((yarn["weft_ratio"]["value"].as_f64().unwrap() - 1.08).abs() < 1e-9);
    let planned = 12.0 * 60.0 * 1.25 * 0.0254 * 1.1;
    assert!((yarn["planned"]["weft"]["length_m"].as_f64().unwrap() - planned).abs() < 1e-9);
    let schema: Value = serde_json::from_str(&run(&["schema", "yardage"]).1).unwrap();
    assert!(jsonschema::is_valid(&schema, &yarn));
}

#[test]
fn books_masses_come_out_of_the_command_line() {
    // C. P. Brooks, Cotton Manufacturing: 2280 ends × 38 yd = 103 1/7 hanks = 3 lb 7 oz of 30's;
    // weft 37.5 in × 64 × 36 yd of 36's = 2 lb 13¾ oz. (Two lengths: the warp is the longer.)
    let dir = TempDir::new().unwrap();
    let book = |length: &str| {
        let plan = write(
            dir.path(),
            "brooks.json",
            &format!(
                r#"{{ "ends": 2280, "width_in_loom": "37.5 in", "woven_length": "{length}",
                     "picks": "64 per inch", "warp": {{ "yarn": "30's cotton" }},
                     "weft": {{ "yarn": "36's cotton" }} }}"#
            ),
        );
        let json: Value =
            serde_json::from_str(&run(&["yardage", &plan, "--format", "json"]).1).unwrap();
        (json, run(&["yardage", &plan]).1)
    };
    let (warp, _) = book("38 yd");
    let ounces = |value: &Value| value["mass_g"].as_f64().unwrap() / 453.592_37 * 16.0;
    assert!((ounces(&warp["planned"]["warp"]) - 55.0).abs() < 0.5);
    let (weft, text) = book("36 yd");
    assert!((ounces(&weft["planned"]["weft"]) - 45.75).abs() < 0.125);
    assert!(text.contains("2 lb 13.7 oz"), "{text}");
}

#[test]
fn a_class_is_compared_from_its_results() {
    let dir = TempDir::new().unwrap();
    let files = [("Ada", 10.0, 9.0), ("Bo", 10.1, 3.0), ("Cy", 12.5, 9.1)]
        .map(|(name, rate, cv)| result(dir.path(), name, rate, cv));
    let out = dir.path().join("class");
    let mut words = vec![
        "compare",
        "--format",
        "json",
        "--out",
        out.to_str().unwrap(),
    ];
    words.extend(files.iter().map(String::as_str));
    let (code, text, _) = run(&words);
    assert_eq!(code, 0);
    let comparison: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(
        comparison["orders"][0]["places"],
        json!([["Bo"], ["Ada", "Cy"]])
    );
    let schema: Value = serde_json::from_str(&run(&["schema", "comparison"]).1).unwrap();
    assert!(jsonschema::is_valid(&schema, &comparison));
    for name in ["comparison.json", "comparison.csv"] {
        assert!(out.join(name).exists(), "{name}");
    }
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    crate::page_rules::assert_kept(&page);
    let mut words = vec!["compare", "--in-order"];
    words.extend(files.iter().map(String::as_str));
    assert!(run(&words).1.contains("From the first band to the last"));
}

#[test]
fn a_comparison_does_not_replace_the_report_of_a_band_or_of_another_class() {
    let dir = TempDir::new().unwrap();
    let files = ["Ada", "Bo", "Cy"].map(|name| result(dir.path(), name, 10.0, 9.0));
    let band = dir.path().join("band");
    fs::create_dir(&band).unwrap();
    let report = write(&band, "report.html", "a band's");
    let (code, out, err) = run(&[
        "compare",
        &files[0],
        &files[1],
        "--out",
        band.to_str().unwrap(),
    ]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("no comparison's"), "{err}");
    assert_eq!(fs::read_to_string(report).unwrap(), "a band's");
    let class = dir.path().join("class");
    let class = class.to_str().unwrap();
    let first = ["compare", &files[0], &files[1], "--out", class];
    assert_eq!(
        (run(&first).0, run(&first).0),
        (0, 0),
        "the same class again is fine"
    );
    let (code, out, err) = run(&["compare", &files[0], &files[2], "--out", class]);
    assert_eq!(code, 2);
    assert!(err.contains("other bands") && out.contains("Cy"), "{err}");
}

#[test]
fn a_teachers_list_of_names_is_what_the_bands_are_called() {
    let dir = TempDir::new().unwrap();
    let first = result(dir.path(), "quay-1", 10.0, 9.0);
    let second = result(dir.path(), "quay-2", 10.1, 3.0);
    let names = write(
        dir.path(),
        "names.csv",
        "photo,name\nquay-2.png,Bo\nquay-1,Ada\n",
    );
    let words = ["compare", &first, &second, "--names", &names];
    let (code, text, _) = run(&words);
    assert_eq!(code, 0);
    assert!(
        text.contains("1. Bo 3.0") && text.contains("2. Ada 9.0"),
        "{text}"
    );
    let wrong = write(dir.path(), "wrong.csv", "quay-3,Cy\n");
    let (code, out, err) = run(&["compare", &first, &second, "--names", &wrong]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(
        err.contains("quay-3") && err.contains("quay-1.png"),
        "{err}"
    );
}

#[test]
fn wrong_words_and_files_of_other_versions_end_with_code_two_and_say_what_to_write() {
    let dir = TempDir::new().unwrap();
    let plan = plan(dir.path());
    let good = result(dir.path(), "good", 10.0, 5.0);
    let later = write(
        dir.path(),
        "later.json",
        &fs::read_to_string(&good)
            .unwrap()
            .replace("measurement/1", "measurement/2"),
    );
    let noise = write(dir.path(), "noise.json", "{ \"a\": ");
    for (words, says) in [
        (
            vec!["yardage", &plan, "--measured", &later],
            "measure the photo again",
        ),
        (vec!["yardage", &plan, "--measured", &noise], "isn't JSON"),
        (vec!["yardage", &plan, "--measured", &plan], "no \"schema\""),
        (vec!["yardage", &plan, "--bands", "0"], "number of bands"),
        (vec!["yardage", &plan, "--weighed", "14"], "no unit"),
        (vec!["yardage", &plan, "--weighed", "9 kg"], "doesn't fit"),
        (vec!["yardage", &good], "is not known here"),
        (vec!["compare", &good], "two bands or more"),
        (
            vec!["compare", &good, &later, &noise],
            "measure the photo again",
        ),
        (
            vec!["compare", &good, &good, "--in-order", "--same-band"],
            "cannot be used with",
        ),
        (
            vec!["compare", &good, &good, "--plan", &noise],
            "isn't JSON",
        ),
    ] {
        let (code, out, err) = run(&words);
        assert_eq!((code, out.as_str()), (2, ""), "{words:?}\n{err}");
        assert!(err.contains(says), "{words:?}\n{err}");
    }
    // One bad file doesn't keep the others from being compared; the exit code tells of it.
    let other = result(dir.path(), "other", 10.1, 6.0);
    let (code, out, err) = run(&["compare", &good, &later, &other, "--format", "json"]);
    assert_eq!(code, 2);
    assert!(err.contains("later.json"), "{err}");
    let comparison: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(comparison["samples"].as_array().unwrap().len(), 2);
    assert_eq!(comparison["not_compared"][0]["what"], "later.json");
}
