//! Reports of a typed result, held against kept files. `BLESS=1 cargo test --test it golden`
//! writes them anew.

use std::path::Path;
use std::{env, fs};

use evenfell::compare::CompareOptions;
use evenfell::findings::verdict_sentences;
use evenfell::plan::LengthUnits;
use evenfell::report::{
    Context, TextOptions, write_csv, write_html, write_json_pretty, write_text,
};

use crate::sample;

#[track_caller]
fn assert_golden(name: &str, actual: &[u8]) {
    let actual = String::from_utf8(actual.to_vec()).unwrap();
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("testdata/golden")
        .join(name);
    if env::var_os("BLESS").is_some() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, actual).unwrap();
        return;
    }
    if fs::read_to_string(&path).unwrap_or_default() != actual {
        let got = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        fs::write(&got, actual).unwrap();
        panic!(
            "{name} differs:\n  diff {} {}",
            path.display(),
            got.display()
        );
    }
}

fn text(units: Option<LengthUnits>, width: usize) -> Vec<u8> {
    let (measurement, plan) = (sample::measurement(), sample::plan());
    let verdict = verdict_sentences(&measurement, Some(&plan));
    let context = Context {
        plan: Some(&plan),
        verdict: &verdict,
        units,
    };
    let mut out = Vec::new();
    write_text(&measurement, &context, TextOptions { width }, &mut out).unwrap();
    out
}

#[test]
fn the_text_of_a_result_in_the_plans_own_units() {
    assert_golden("report.txt", &text(None, 80));
}

#[test]
fn the_text_of_a_result_in_centimetres_on_a_narrow_terminal() {
    let text = text(Some(LengthUnits::Centimetres), 48);
    let longest = str::from_utf8(&text)
        .unwrap()
        .lines()
        .map(|line| line.chars().count())
        .max();
    assert!(longest <= Some(48), "{longest:?}");
    assert_golden("report_narrow_cm.txt", &text);
}

#[test]
fn the_rows_of_a_result() {
    let mut out = Vec::new();
    write_csv(&sample::measurement(), &mut out).unwrap();
    assert_golden("picks.csv", &out);
}

#[test]
fn the_json_of_a_result() {
    let mut out = Vec::new();
    write_json_pretty(&sample::measurement(), &mut out).unwrap();
    assert_golden("measurement.json", &out);
}

#[test]
fn the_json_of_a_result_is_read_back_as_it_was() {
    let mut out = Vec::new();
    write_json_pretty(&sample::measurement(), &mut out).unwrap();
    let back: evenfell::measurement::Measurement = serde_json::from_slice(&out).unwrap();
    assert_eq!(back, sample::measurement());
}

#[test]
fn the_page_of_a_result() {
    let (measurement, plan) = (sample::measurement(), sample::plan());
    let verdict = verdict_sentences(&measurement, Some(&plan));
    let context = Context {
        plan: Some(&plan),
        verdict: &verdict,
        units: None,
    };
    let mut out = Vec::new();
    write_html(&measurement, &context, None, &mut out).unwrap();
    let page = str::from_utf8(&out).unwrap();
    assert!(
        page.contains("&#60;for the quay &#38; its class&#62;"),
        "the title is escaped"
    );
    assert!(!page.contains("<script") && !page.contains("http://") || page.contains("w3.org"));
    assert_golden("report.html", &out);
}

#[test]
fn the_page_of_a_class() {
    let page = crate::pages::class_page(CompareOptions {
        in_order: true,
        same_band: false,
    });
    // The one picture's bytes follow the JPEG encoder, not this page.
    let begin = page.find("data:image/jpeg").unwrap();
    let end = begin + page[begin..].find('"').unwrap();
    let without = format!("{}data:{}", &page[..begin], &page[end..]);
    assert_golden("class.html", without.as_bytes());
}

#[test]
fn a_result_of_which_little_was_measured_is_still_a_page_and_a_text() {
    let mut measurement = sample::measurement();
    measurement.picks = None;
    measurement.beat = None;
    measurement.width = None;
    measurement.selvedges = None;
    measurement.length_mm = None;
    let context = Context::default();
    let (mut page, mut text) = (Vec::new(), Vec::new());
    write_html(&measurement, &context, None, &mut page).unwrap();
    write_text(&measurement, &context, TextOptions::default(), &mut text).unwrap();
    let (page, text) = (
        String::from_utf8(page).unwrap(),
        String::from_utf8(text).unwrap(),
    );
    assert!(page.contains("this entry only shows how one looks"));
    assert!(text.contains("rows: this entry only shows how one looks"));
}

#[test]
fn a_result_fits_its_own_schema() {
    let schema = serde_json::to_value(schemars::schema_for!(evenfell::measurement::Measurement));
    let validator = jsonschema::validator_for(&schema.unwrap()).unwrap();
    let result = serde_json::to_value(sample::measurement()).unwrap();
    assert!(validator.validate(&result).is_ok());
    let mut wrong = result;
    wrong["width"]["mean_mm"] = serde_json::json!("wide");
    assert!(validator.validate(&wrong).is_err());
}
