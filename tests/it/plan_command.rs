//! `evenfell plan`, as it is typed.

use std::fs;

use crate::program::evenfell;

#[test]
fn a_starter_plan_is_written_once_and_works_out() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let file = dir.path().join("quay.json");
    evenfell()
        .args(["plan", "--new"])
        .arg(&file)
        .assert()
        .code(0);
    let first = fs::read(&file).expect("it was just written");
    let again = evenfell()
        .args(["plan", "--new"])
        .arg(&file)
        .assert()
        .code(2);
    assert!(String::from_utf8_lossy(&again.get_output().stderr).contains("another name"));
    assert_eq!(fs::read(&file).expect("it is still there"), first);
    let shown = evenfell().arg("plan").arg(&file).assert().code(0);
    assert!(String::from_utf8_lossy(&shown.get_output().stdout).contains("91 picks"));
    let json = evenfell()
        .args(["plan", "--format", "json"])
        .arg(&file)
        .assert()
        .code(0);
    let worked: serde_json::Value =
        serde_json::from_slice(&json.get_output().stdout).expect("it is JSON");
    assert_eq!(worked["schema"], "evenfell/plan-worked/1");
    assert_eq!(worked["picks"], 91);
}

#[test]
fn a_wrong_plan_ends_with_code_two_and_names_every_place() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let file = dir.path().join("wrong.json");
    fs::write(
        &file,
        r#"{"ends": 20000, "width_in_loom": "4", "woven_length": "9 in", "picks": "10 per inch",
            "draw-in": "7 %", "weft": {"yarn": "8/16 cotton"}}"#,
    )
    .expect("a temporary file");
    let run = evenfell().arg("plan").arg(&file).assert().code(2);
    let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    for place in [
        "plan: ends:",
        "plan: width_in_loom:",
        "plan: draw-in:",
        "plan: weft.yarn:",
    ] {
        assert!(said.contains(place), "{place} in {said}");
    }
}
