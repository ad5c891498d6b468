//! The command line: what is printed where, and how the process ends.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use evenfell::measurement::{FindingKind, Measurement};
use image::{Rgb, RgbImage};
use tempfile::TempDir;

use crate::program::run;

/// A picture of nothing: plain paper.
fn blank(dir: &Path, name: &str) -> String {
    let path = dir.join(name);
    RgbImage::from_pixel(320, 240, Rgb([236, 235, 230]))
        .save(&path)
        .unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn help_shows_every_exit_code() {
    for words in [&["--help"][..], &["measure", "--help"]] {
        let (code, out, _) = run(words);
        assert_eq!(code, 0);
        for line in [
            "  0  done",
            "  1  measured, but outside",
            "  2  wrong use",
            "  3  a photo",
        ] {
            assert!(out.contains(line), "{words:?} lacks '{line}':\n{out}");
        }
    }
}

#[test]
fn a_wrong_word_is_wrong_use() {
    for words in [
        &["weigh"][..],
        &["measure"],
        &["measure", "a.jpg", "--units", "furlongs"],
        &["measure", "a.jpg", "--scale", "300"],
        &["measure", "a.jpg", "--start", "north"],
        &["schema", "band"],
    ] {
        let (code, out, err) = run(words);
        assert_eq!((code, out.as_str()), (2, ""), "{words:?}");
        assert!(!err.is_empty(), "{words:?}");
    }
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let (code, _, err) = run(&["measure", "no-such-band.jpg", "--scale", "300dpi"]);
    assert_eq!(code, 2);
    assert!(err.contains("no-such-band.jpg"), "{err}");
}

#[test]
fn a_swatch_is_asked_for_in_pixels_and_refused_in_words() {
    let dir = TempDir::new().unwrap();
    let photo = blank(dir.path(), "paper.png");
    for (swatch, code, says) in [
        ("--swatch=1,2,3", 2, "3 numbers instead of four"),
        ("--swatch=0,0,900,20", 2, "reaches beyond the photo"),
        ("--swatch=0,0,20,20", 2, "too small"),
        ("--swatch", 3, "no rows of threads"),
    ] {
        let words = ["measure", &photo, "--scale", "300dpi", swatch];
        let (got, out, err) = run(&words);
        assert_eq!((got, out.as_str()), (code, ""), "{swatch}: {err}");
        assert!(err.contains(says), "{swatch}: {err}");
    }
}

#[test]
fn a_hand_count_that_is_none_is_refused_with_what_would_be_right() {
    for (count, says) in [
        ("11 per inch", "11 in 1 in at 2 in"),
        ("11 in 1", "no unit"),
        ("900 in 1 cm", "more than any loom makes"),
    ] {
        let (code, out, err) = run(&["measure", "a.jpg", "--hand-count", count]);
        assert_eq!((code, out.as_str()), (2, ""), "{count}: {err}");
        assert!(err.contains(says), "{count}: {err}");
    }
    let (code, _, err) = run(&["measure", "a.jpg", "b.jpg", "--hand-count", "11 in 1 in"]);
    assert_eq!(code, 2);
    assert!(err.contains("one photo at a time"), "{err}");
}

#[test]
fn a_photo_of_nothing_cannot_be_measured() {
    let dir = TempDir::new().unwrap();
    let photo = blank(dir.path(), "paper.png");
    let (code, out, err) = run(&["measure", &photo, "--scale", "300dpi"]);
    assert_eq!((code, out.as_str()), (3, ""), "{err}");
    assert!(err.contains("nothing can be measured"), "{err}");
}

#[test]
fn failing_photos_are_objects_in_the_order_given_and_the_highest_code_counts() {
    let dir = TempDir::new().unwrap();
    let paper = blank(dir.path(), "paper.png");
    let torn = dir.path().join("torn.png");
    fs::write(&torn, &fs::read(&paper).unwrap()[..60]).unwrap();
    let torn = torn.to_str().unwrap();
    let words = [
        "measure", torn, &paper, "gone.jpg", "--scale", "300dpi", "--format", "json",
    ];
    let (code, out, _) = run(&words);
    assert_eq!(code, 3);
    let objects: Vec<serde_json::Value> = out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let photos: Vec<_> = objects
        .iter()
        .map(|object| object["photo"].as_str().unwrap())
        .collect();
    assert_eq!(photos, ["torn.png", "paper.png", "gone.jpg"]);
    assert!(objects.iter().all(|object| object["error"].is_string()));
}

#[test]
fn a_failed_photo_leaves_no_file_behind() {
    let dir = TempDir::new().unwrap();
    let photo = blank(dir.path(), "paper.png");
    let out = dir.path().join("out");
    let words = [
        "measure",
        &photo,
        "--scale",
        "300dpi",
        "--out",
        out.to_str().unwrap(),
    ];
    assert_eq!(run(&words).0, 3);
    assert!(!out.exists(), "not even an empty folder");
}

#[test]
fn the_demo_measures_its_band_and_writes_a_whole_report() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("demo");
    let out = out.to_str().unwrap();
    let (code, text, err) = run(&["demo", "--out", out]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(
        text.starts_with("Ferry-quay lamp pull (lamp_pull.jpg)"),
        "{text}"
    );
    let read = |name: &str| fs::read(Path::new(out).join(name)).unwrap();
    let result: Measurement = serde_json::from_slice(&read("measurement.json")).unwrap();
    let picks = result.picks.as_ref().unwrap();
    let rows = String::from_utf8(read("picks.csv")).unwrap();
    assert_eq!(rows.lines().count(), picks.positions_mm.len() + 1);
    let marked = image::load_from_memory(&read("marked.png")).unwrap();
    assert_eq!(
        (marked.width(), marked.height()),
        (result.photo.width_px, result.photo.height_px)
    );
    let page = String::from_utf8(read("report.html")).unwrap();
    assert!(page.contains("data:image/jpeg;base64,"));
    crate::page_rules::assert_kept(&page);
    let band = evenfell::report::BandPicture::from_png(&read("band.png")).unwrap();
    let length = result.length_mm.unwrap().value;
    assert!(
        band.along_mm.0 < 0.0 && band.along_mm.1 > length,
        "{:?}",
        band.along_mm
    );
    let schema = serde_json::to_value(schemars::schema_for!(Measurement)).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&read("measurement.json")).unwrap();
    assert!(
        jsonschema::validator_for(&schema)
            .unwrap()
            .validate(&json)
            .is_ok()
    );
    let kinds: Vec<FindingKind> = result.findings.iter().map(|finding| finding.kind).collect();
    for kind in [
        FindingKind::LooseStretch,
        FindingKind::EdgePull,
        FindingKind::MisWoven,
    ] {
        assert!(kinds.contains(&kind), "{kind:?} is missing from {kinds:?}");
    }
}

#[test]
fn a_second_demo_gives_the_same_bytes_and_another_photo_leaves_them_alone() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("demo");
    let out = out.to_str().unwrap();
    let read = || fs::read(Path::new(out).join("measurement.json")).unwrap();
    assert_eq!(run(&["demo", "--out", out]).0, 0);
    let first = read();
    assert_eq!(run(&["demo", "--out", out]).0, 0);
    assert_eq!(read(), first);
    let paper = blank(dir.path(), "paper.png");
    let (code, _, err) = run(&["measure", &paper, "--scale", "300dpi", "--out", out]);
    assert_eq!(code, 2);
    assert!(err.contains("another photo (lamp_pull.jpg)"), "{err}");
    assert_eq!(read(), first);
}

#[test]
fn check_ends_with_one_where_a_figure_is_outside_the_plan() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/demo");
    let photo = demo.join("lamp_pull.jpg");
    let photo = photo.to_str().unwrap();
    let dir = TempDir::new().unwrap();
    let plan = dir.path().join("plan.json");
    let text = fs::read_to_string(demo.join("lamp_pull.plan.json")).unwrap();
    fs::write(&plan, text.replace("10 per inch", "12 per inch")).unwrap();
    let plan = plan.to_str().unwrap();
    let words = ["measure", photo, "--plan", plan, "--scale", "dpi"];
    assert_eq!(run(&words).0, 0);
    assert_eq!(run(&[&words[..], &["--check"]].concat()).0, 1);
}

#[test]
fn one_result_a_line_and_one_row_a_pick() {
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/demo/lamp_pull.jpg");
    let photo = photo.to_str().unwrap();
    let words = ["measure", photo, "gone.png", "--scale", "dpi", "--format"];
    let (code, out, _) = run(&[&words[..], &["json"]].concat());
    assert_eq!((code, out.lines().count()), (2, 2));
    let result: Measurement = serde_json::from_str(out.lines().next().unwrap()).unwrap();
    let picks = result.picks.unwrap().positions_mm.len();
    let (_, table, _) = run(&[&words[..], &["csv"]].concat());
    assert!(
        table.starts_with(
            "pick,row,at_mm,spacing_mm,local_per_inch,width_mm,left_mm,right_mm,photo\n"
        )
    );
    assert_eq!(table.lines().count(), picks + 1);
}

#[test]
fn the_sheet_is_written_in_the_form_that_its_name_says() {
    let dir = TempDir::new().unwrap();
    for (name, begins) in [
        ("s.pdf", "%PDF"),
        ("s.svg", "<svg"),
        ("s.png", "\u{fffd}PNG"),
    ] {
        let out = dir.path().join(name);
        let words = ["sheet", "--dpi", "60", "--out", out.to_str().unwrap()];
        assert_eq!(run(&words).0, 0, "{name}");
        let bytes = fs::read(&out).unwrap();
        assert!(
            String::from_utf8_lossy(&bytes).starts_with(begins),
            "{name}"
        );
    }
    assert_eq!(run(&["sheet", "--out", "s.doc"]).0, 2);
}

#[test]
fn a_plan_that_is_not_understood_is_wrong_use() {
    let dir = TempDir::new().unwrap();
    let photo = blank(dir.path(), "paper.png");
    let plan = dir.path().join("plan.json");
    fs::write(&plan, r#"{ "ends": 11, "width_in_loom": "1 3/4" }"#).unwrap();
    let (code, _, err) = run(&["measure", &photo, "--plan", plan.to_str().unwrap()]);
    assert_eq!(code, 2);
    assert!(err.contains("width_in_loom"), "{err}");
}

#[test]
fn the_measurement_schema_is_a_schema() {
    let (code, out, _) = run(&["schema", "measurement"]);
    assert_eq!(code, 0);
    let schema: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(schema["title"], "Measurement");
    assert!(jsonschema::validator_for(&schema).is_ok());
}

#[test]
fn every_shell_gets_its_completions() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (code, out, _) = run(&["completions", shell]);
        assert_eq!(code, 0);
        assert!(out.contains("measure"), "{shell}");
    }
}

#[test]
fn a_closed_pipe_is_quiet() {
    let script = format!(
        "{} completions zsh | head -c 1 > /dev/null; echo ${{PIPESTATUS[0]}}",
        assert_cmd::cargo::cargo_bin!("evenfell").display()
    );
    let output = Command::new("bash").args(["-c", &script]).output().unwrap();
    assert_eq!(String::from_utf8(output.stdout).unwrap(), "0\n");
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}
