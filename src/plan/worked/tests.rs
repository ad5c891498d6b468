//! Worked plans against published examples, each with its source.

use super::*;
use crate::yarn::Yarn;

fn plan(json: &str) -> Plan {
    Plan::from_json(json).unwrap_or_else(|error| panic!("{error}"))
}

fn yards(mm: f64) -> f64 {
    mm / crate::units::MM_PER_YARD
}

fn pounds(yarn: &str, mm: f64) -> f64 {
    Yarn::parse(yarn).unwrap().mass_kg(mm / 1000.0) / crate::units::KG_PER_POUND
}

#[track_caller]
fn near(got: f64, printed: f64, half_last_digit: f64) {
    assert!(
        (got - printed).abs() <= half_last_digit,
        "{got} instead of {printed}"
    );
}

#[test]
fn the_lamp_pull_comes_out_as_reckoned_by_hand() {
    let worked = work_out(&plan(&super::super::STARTER_PLAN.replace(
        "\"hardware_width\": \"1 3/4 in\"",
        "\"hardware_width\": \"1 1/2 in\"",
    )));
    assert_eq!(worked.picks, 91);
    assert_eq!(worked.repeats, Some(45));
    assert_eq!(worked.last_row, Some(1));
    near(worked.woven_length_mm, 231.14, 1e-6);
    near(worked.finished_width_mm, 44.45 * 0.93, 1e-6);
    assert_eq!(worked.fits_hardware, Some(false));
    near(worked.weft_each_pick_mm, 46.3, 0.05);
    near(worked.weft_total_mm, 4213.0, 0.5);
    assert_eq!(worked.joins, Some(1));
    near(
        worked.warp_each_mm,
        231.14 / 0.92 + 4.0 * 25.4 + 8.0 * 25.4,
        1e-6,
    );
    near(
        worked.loom_length_mm,
        231.14 + 4.0 * 25.4 + 4.0 * 25.4,
        1e-6,
    );
    assert_eq!(
        worked.rows[0],
        "over 1, under 1, over 1, under 1, over 1, under 1, over 1, under 1, over 1, under 1, over 1"
    );
    assert!(worked.assumed_zero.is_empty());
}

#[test]
fn picks_are_whole_and_end_on_the_row_that_is_asked_for() {
    let picks = |length: &str, rows: &str, finish: &str| {
        work_out(&plan(&format!(
            r#"{{"ends": 8, "width_in_loom": "1 in", "woven_length": "{length}",
                 "picks": "10 per inch", "drawdown": {rows}{finish}}}"#
        )))
        .picks
    };
    let three = r#"["ou", "uo", "oo"]"#;
    assert_eq!(picks("9 in", three, ""), 90);
    assert_eq!(picks("9.05 in", three, ""), 91);
    assert_eq!(picks("9 in", three, r#", "finish_on_row": 3"#), 90);
    assert_eq!(picks("9 in", three, r#", "finish_on_row": 1"#), 91);
    assert_eq!(picks("9 in", three, r#", "finish_on_row": 2"#), 89);
    assert_eq!(picks("9.05 in", three, r#", "finish_on_row": 2"#), 92);
    assert_eq!(picks("0.1 in", three, r#", "finish_on_row": 3"#), 3);
    assert_eq!(picks("0.1 in", r#"["ou"]"#, r#", "finish_on_row": 1"#), 1);
}

#[test]
fn warp_lengths_match_the_printed_ones() {
    // 2304 ends × 7.5 yd = 17 280 yd = 2.057 lb at 8400 yd/lb; 56 ends × 90 in = 140 yd.
    let worked = work_out(&plan(
        r#"{"ends": 2304, "width_in_loom": "96 in", "woven_length": "7.5 yd", "picks": "24 per inch"}"#,
    ));
    near(yards(worked.warp_total_mm), 17_280.0, 1e-6);
    near(pounds("8400 yd/lb", worked.warp_total_mm), 2.057, 0.0005);
    let narrow = work_out(&plan(
        r#"{"ends": 56, "width_in_loom": "4 in", "woven_length": "90 in", "picks": "20 per inch"}"#,
    ));
    near(yards(narrow.warp_total_mm), 140.0, 1e-6);
    // C. P. Brooks, Cotton Manufacturing: 2280 ends × 38 yd / 840 = 103 1/7 hanks = 3 lb 7 oz of 30's.
    let brooks = work_out(&plan(
        r#"{"ends": 2280, "width_in_loom": "38 in", "woven_length": "38 yd", "picks": "64 per inch"}"#,
    ));
    near(yards(brooks.warp_total_mm) / 840.0, 103.0 + 1.0 / 7.0, 1e-6);
    near(
        pounds("30's cotton", brooks.warp_total_mm) * 16.0,
        3.0 * 16.0 + 7.0,
        0.5,
    );
}

#[test]
fn weft_lengths_match_the_printed_ones() {
    // 8 picks/cm × 220 cm = 1760 picks × 0.55 m = 968 m.
    let metric = work_out(&plan(
        r#"{"ends": 300, "width_in_loom": "55 cm", "woven_length": "220 cm", "picks": "8 per cm"}"#,
    ));
    assert_eq!(metric.picks, 1760);
    near(metric.weft_total_mm, 968_000.0, 1e-3);
    // 8 in × 20 × 65 in / 36 = 288.9 yd, 317.8 with 10 %.
    let scarf = |crimp: &str| {
        yards(
            work_out(&plan(&format!(
                r#"{{"ends": 160, "width_in_loom": "8 in", "woven_length": "65 in",
                     "picks": "20 per inch"{crimp}}}"#
            )))
            .weft_total_mm,
        )
    };
    near(scarf(""), 288.9, 0.05);
    near(scarf(r#", "weft": {"crimp": "10 %"}"#), 317.8, 0.05);
    // C. P. Brooks: 37.5 in × 64 × 36 yd / (840 × 36) = 2 lb 13¾ oz.
    let brooks = work_out(&plan(
        r#"{"ends": 2280, "width_in_loom": "37.5 in", "woven_length": "36 yd", "picks": "64 per inch"}"#,
    ));
    near(
        pounds("36 cotton", brooks.weft_total_mm) * 16.0,
        2.0 * 16.0 + 13.75,
        0.125,
    );
    // J. T. Taylor, Cotton Weaving and Designing: 34 × 84 × 60 / 840 = 204 hanks (34 in wide, 84
    // picks, 60 yd).
    let taylor = work_out(&plan(
        r#"{"ends": 2000, "width_in_loom": "34 in", "woven_length": "60 yd", "picks": "84 per inch"}"#,
    ));
    near(yards(taylor.weft_total_mm) / 840.0, 204.0, 1e-6);
}

#[test]
fn the_rug_formula_that_mixes_feet_and_inches_is_not_ours() {
    // A circulated formula prints 3 × 6 × 5 = 324 yd for a rug of 3 ft × 5 ft at 6 picks to the
    // inch. In inches throughout it is 36 × 6 × 60 / 36 = 360 yd.
    let rug = work_out(&plan(
        r#"{"ends": 288, "width_in_loom": "3 ft", "woven_length": "5 ft", "picks": "6 per inch"}"#,
    ));
    near(yards(rug.weft_total_mm), 360.0, 1e-6);
}

#[test]
fn shrinkage_is_divided_and_take_up_is_of_the_yarn() {
    // 10 in at 20 % wants 12.5 in; 12 in would finish at 9.6 in.
    let shrunk = work_out(&plan(
        r#"{"ends": 10, "width_in_loom": "1 in", "woven_length": "10 in", "picks": "10 per inch",
            "shrinkage": {"length": "20 %"}}"#,
    ));
    near(shrunk.warp_each_mm, 12.5 * 25.4, 1e-9);
    near(12.0 * (1.0 - 0.2), 9.6, 1e-9);
    // ASTM D3883: 8 m of cloth from 8.6 m of yarn is 7.5 % crimp and 6.98 % take-up.
    let warped = work_out(&plan(
        r#"{"ends": 10, "width_in_loom": "1 in", "woven_length": "8 m", "picks": "10 per cm",
            "warp": {"take_up": "6.98 %"}}"#,
    ));
    near(warped.warp_each_mm, 8600.0, 0.5);
    let weft = work_out(&plan(
        r#"{"ends": 100, "width_in_loom": "8 m", "woven_length": "1 cm", "picks": "1 per cm",
            "weft": {"crimp": "7.5 %"}}"#,
    ));
    near(weft.weft_each_pick_mm, 8600.0, 1e-6);
}

#[test]
fn draw_in_narrows_the_band_as_a_teacher_measured_it() {
    // M. Petrini, 2023: 8.1 in in the loom, 7.5 in off it, is 7.4 %.
    let worked = work_out(&plan(
        r#"{"ends": 81, "width_in_loom": "8.1 in", "woven_length": "10 in", "picks": "10 per inch",
            "draw_in": "7.4 %"}"#,
    ));
    near(worked.finished_width_mm / 25.4, 7.5, 0.05);
}

#[test]
fn more_picks_than_the_weft_can_lie_at_are_noted() {
    let with = |picks: u32| {
        work_out(&plan(&format!(
            r#"{{"ends": 10, "width_in_loom": "1 in", "woven_length": "9 in",
                 "picks": "{picks} per inch", "weft": {{"yarn": "8/2 cotton"}}}}"#
        )))
        .notes
        .len()
    };
    assert_eq!(with(60), 0);
    assert_eq!(with(75), 1);
}
