//! Plans that are right, and every wrong one.

use super::*;

const FULL: &str = r#"{
  "title": "Ferry-quay lamp pull",
  "ends": 11,
  "width_in_loom": "1 3/4 in",
  "woven_length": "9 in",
  "picks": "10 per inch",
  "draw_in": "7 %",
  "drawdown": ["o1 u1 o1", "u1 o1 u1"],
  "finish_on_row": 1,
  "header_picks": 3,
  "thickness": "2 mm",
  "warp": { "yarn": "8/4 cotton", "strands": 2, "take_up": "8 %", "loom_waste": "8 in", "fringe": "2 in" },
  "weft": { "yarn": "560 yd/lb", "crimp": "12 %", "working_length": "3 yd" },
  "hardware_width": "1 1/2 in",
  "shrinkage": { "length": "3 %", "width": "2 %" },
  "tolerance": { "picks": "8 %", "draw_in": "10 %", "beat": "8 %", "waviness": "0.5 mm" }
}"#;

const LEAST: &str =
    r#"{"ends": 11, "width_in_loom": "4 cm", "woven_length": "20 cm", "picks": "4 per cm"}"#;

/// The least plan with `entry` put in, or in place of the entry of the same key.
fn with(entry: &str) -> Result<Plan> {
    let key = entry.split(':').next().unwrap_or_default();
    let kept: Vec<&str> = LEAST
        .trim_matches(['{', '}'])
        .split(", ")
        .filter(|old| !old.starts_with(key))
        .chain([entry])
        .collect();
    Plan::from_json(&format!("{{{}}}", kept.join(", ")))
}

#[track_caller]
fn refused(plan: Result<Plan>, at: &str, says: &str) {
    match plan {
        Err(Error::Plan { place, why }) => {
            assert_eq!(place, at, "{why}");
            assert!(why.contains(says), "{place}: {why}");
        }
        other => panic!("not refused: {other:?}"),
    }
}

#[test]
fn every_entry_of_a_full_plan_is_read_in_its_unit() {
    let plan = Plan::from_json(FULL).unwrap();
    assert_eq!(plan.title, "Ferry-quay lamp pull");
    assert_eq!(plan.ends, 11);
    assert!((plan.width_in_loom_mm - 44.45).abs() < 1e-9);
    assert!((plan.woven_length_mm - 228.6).abs() < 1e-9);
    assert!((plan.picks_per_inch - 10.0).abs() < 1e-12);
    assert_eq!(plan.picks_units, LengthUnits::Inches);
    assert!((plan.draw_in.unwrap() - 0.07).abs() < 1e-12);
    let drawdown = plan.drawdown.unwrap();
    assert_eq!(drawdown.rows(), 2);
    assert!(drawdown.over(0, 0) && !drawdown.over(0, 1) && drawdown.over(0, 3));
    assert_eq!(plan.finish_on_row, Some(1));
    assert_eq!(plan.header_picks, Some(3));
    assert_eq!(plan.thickness_mm, Some(2.0));
    assert_eq!(plan.warp.strands, 2);
    assert_eq!(plan.warp.take_up, Some(0.08));
    assert!((plan.warp.loom_waste_mm - 203.2).abs() < 1e-9);
    assert!((plan.warp.fringe_mm - 50.8).abs() < 1e-9);
    assert_eq!(plan.weft.crimp, Some(0.12));
    assert!((plan.weft.working_length_mm.unwrap() - 2743.2).abs() < 1e-9);
    assert!((plan.weft.yarn.unwrap().yards_per_pound() - 560.0).abs() < 1e-9);
    assert!((plan.hardware_width_mm.unwrap() - 38.1).abs() < 1e-9);
    assert_eq!(plan.shrinkage.length, Some(0.03));
    assert_eq!(plan.tolerance, Tolerance::default());
    assert_eq!(plan.units, LengthUnits::Inches);
}

#[test]
fn the_least_plan_leaves_the_rest_open() {
    let plan = Plan::from_json(LEAST).unwrap();
    assert_eq!(plan.units, LengthUnits::Centimetres);
    assert!((plan.picks_per_inch - 10.16).abs() < 1e-9);
    assert_eq!(plan.draw_in, None);
    assert_eq!(plan.header_picks, None);
    assert_eq!(plan.warp.strands, 1);
}

#[test]
fn an_unknown_key_suggests_the_nearest_one() {
    refused(with(r#""pick": "4 per cm""#), "pick", "\"picks\"");
    refused(with(r#""Draw-In": "7 %""#), "Draw-In", "\"draw_in\"");
    refused(
        with(r#""warp": {"fring": "2 in"}"#),
        "warp.fring",
        "\"fringe\"",
    );
    refused(with(r#""colour": "blue""#), "colour", "the keys are");
    refused(
        with(r#""tolerance": {"beet": "8 %"}"#),
        "tolerance.beet",
        "\"beat\"",
    );
}

#[test]
fn a_missing_key_is_named_with_an_example() {
    for key in ["ends", "width_in_loom", "woven_length", "picks"] {
        let renamed = LEAST.replace(&format!("\"{key}\""), "\"title\"");
        let Err(Error::Plan { place, why }) = Plan::from_json(&renamed) else {
            panic!("{key} can't be left out");
        };
        let all = format!("plan: {place}: {why}");
        assert!(all.contains(&format!("plan: {key}: is missing")), "{all}");
    }
}

#[test]
fn a_wrong_type_says_what_it_is_and_what_to_write() {
    refused(with(r#""ends": "11""#), "ends", "without quotes");
    refused(with(r#""ends": null"#), "ends", "null");
    refused(
        with(r#""width_in_loom": 4"#),
        "width_in_loom",
        "bare number 4",
    );
    refused(with(r#""draw_in": 7"#), "draw_in", "\"7 %\"");
    refused(with(r#""picks": true"#), "picks", "true or false");
    refused(with(r#""warp": "8/4 cotton""#), "warp", "group in braces");
    refused(with(r#""title": 7"#), "title", "bare number");
    refused(Plan::from_json("[]"), "the file", "a list");
    refused(Plan::from_json("\"plan\""), "the file", "text");
}

#[test]
fn a_length_without_its_unit_is_refused_where_it_stands() {
    refused(with(r#""width_in_loom": "4""#), "width_in_loom", "no unit");
    refused(with(r#""warp": {"fringe": "2"}"#), "warp.fringe", "no unit");
    refused(
        with(r#""hardware_width": "wide""#),
        "hardware_width",
        "no number",
    );
    refused(with(r#""picks": "10""#), "picks", "10 per inch or 4 per cm");
    refused(with(r#""draw_in": "7""#), "draw_in", "% sign");
}

#[test]
fn counts_and_densities_that_no_loom_makes_are_refused() {
    for (entry, place) in [
        (r#""ends": 10001"#, "ends"),
        (r#""ends": 0"#, "ends"),
        (r#""ends": -3"#, "ends"),
        (r#""ends": 11.5"#, "ends"),
        (r#""ends": 1e300"#, "ends"),
        (r#""ends": 700"#, "ends"),
        (r#""picks": "401 per inch""#, "picks"),
        (r#""picks": "158 per cm""#, "picks"),
        (r#""picks": "0 per inch""#, "picks"),
        (r#""picks": "-10 per inch""#, "picks"),
        (r#""width_in_loom": "0 cm""#, "width_in_loom"),
        (r#""width_in_loom": "-4 cm""#, "width_in_loom"),
        (r#""width_in_loom": "11 m""#, "width_in_loom"),
        (r#""woven_length": "2000 km""#, "woven_length"),
        (r#""woven_length": "20000 yd""#, "woven_length"),
        (r#""woven_length": "0.1 mm""#, "woven_length"),
        (r#""draw_in": "100 %""#, "draw_in"),
        (r#""draw_in": "-1 %""#, "draw_in"),
        (r#""header_picks": 10001"#, "header_picks"),
        (r#""thickness": "1 m""#, "thickness"),
        (r#""thickness": "0 mm""#, "thickness"),
        (r#""warp": {"strands": 0}"#, "warp.strands"),
        (r#""warp": {"take_up": "100 %"}"#, "warp.take_up"),
        (r#""warp": {"yarn": "8/4"}"#, "warp.yarn"),
        (r#""weft": {"yarn": "8/16 cotton"}"#, "weft.yarn"),
        (
            r#""weft": {"working_length": "0 m"}"#,
            "weft.working_length",
        ),
        (r#""shrinkage": {"length": "100 %"}"#, "shrinkage.length"),
        (r#""tolerance": {"picks": "0 %"}"#, "tolerance.picks"),
    ] {
        refused(with(entry), place, "");
    }
    for text in ["NaN", "1e999", "-", "Infinity"] {
        let Err(Error::Plan { why, .. }) = with(&format!("\"ends\": {text}")) else {
            panic!("{text} is no count");
        };
        assert!(why.contains("JSON"), "{why}");
    }
}

#[test]
fn a_wrong_drawdown_is_refused_with_its_row() {
    refused(with(r#""drawdown": "ou""#), "drawdown", "list of rows");
    refused(with(r#""drawdown": {}"#), "drawdown", "list of rows");
    refused(with(r#""drawdown": []"#), "drawdown", "no row");
    refused(
        with(r#""drawdown": ["ou", ""]"#),
        "drawdown, row 2",
        "empty",
    );
    refused(
        with(r#""drawdown": ["ou", 3]"#),
        "drawdown, row 2",
        "bare number",
    );
    refused(
        with(r#""drawdown": ["ou", "xo"]"#),
        "drawdown, row 2",
        "'x'",
    );
    refused(with(r#""drawdown": ["o12"]"#), "drawdown, row 1", "11 ends");
    refused(
        with(r#""finish_on_row": 1"#),
        "finish_on_row",
        "needs a drawdown",
    );
    refused(
        with(r#""drawdown": ["ou", "uo"], "finish_on_row": 3"#),
        "finish_on_row",
        "from 1 to 2",
    );
    refused(
        with(r#""drawdown": ["ou", "uo"], "finish_on_row": 0"#),
        "finish_on_row",
        "from 1 to 2",
    );
    refused(
        with(r#""drawdown": ["o"], "drawdown": ["u"]"#),
        "drawdown",
        "twice",
    );
}

#[test]
fn several_mistakes_are_listed_together() {
    let Err(error) = Plan::from_json(r#"{"ends": 0, "width_in_loom": "4", "picks": "4 per cm"}"#)
    else {
        panic!("three mistakes");
    };
    let text = error.to_string();
    assert_eq!(text.matches("plan: ").count(), 3, "{text}");
    assert_eq!(error.exit_code(), 2);
}

#[test]
fn deep_huge_and_broken_files_are_refused_in_a_sentence() {
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    let huge = format!("{LEAST}{}", " ".repeat(MOST_BYTES));
    let many_keys: Vec<String> = (0..60_000).map(|i| format!("\"k{i}\":1")).collect();
    for text in [
        deep.as_str(),
        &huge,
        "",
        "{",
        "{\"ends\": 11",
        "\u{0}",
        "{} {}",
        &format!("{{{}}}", many_keys.join(",")),
    ] {
        let Err(error) = Plan::from_json(text) else {
            panic!("{}", &text[..20.min(text.len())])
        };
        assert!(error.to_string().len() < 8000);
    }
}
