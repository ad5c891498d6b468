//! Yardage: the trade's arithmetic, the pooling, and what is refused.

use super::*;
use crate::measurement::made::Made;
use crate::plan::STARTER_PLAN;
use crate::units::LengthUnits;
use crate::yarn::yardage_text;

fn starter() -> Plan {
    Plan::from_json(STARTER_PLAN).unwrap()
}

fn bands(bands: u32) -> YardageOptions {
    YardageOptions {
        bands,
        weighed: None,
    }
}

fn measured(per_inch: &[f64]) -> Vec<Measurement> {
    per_inch
        .iter()
        .map(|&rate| {
            Made {
                per_inch: (rate, 0.04),
                width_mm: (41.3385, 0.12),
                ..Made::default()
            }
            .measurement()
        })
        .collect()
}

#[test]
fn planned_yarn_is_the_worked_plan_times_the_bands() {
    let yarn = yardage(&starter(), &[], &bands(12)).unwrap();
    assert_eq!(yarn.planned.picks, 91);
    assert!((yarn.planned.weft.length_m - 12.0 * 4.213_22).abs() < 1e-4);
    let mass = yarn.planned.weft.mass_g.unwrap();
    assert!((mass - yarn.planned.weft.length_m / 560.0 / 0.9144 * 453.592_37).abs() < 1e-9);
    assert_eq!(yarn.measured, None);
    assert_eq!(yarn.weft_ratio, None);
}

#[test]
fn eight_percent_more_picks_are_eight_percent_more_weft() {
    let yarn = yardage(&starter(), &measured(&[10.8]), &bands(12)).unwrap();
    let ratio = yarn.weft_ratio.unwrap();
    assert!((ratio.value - 1.08).abs() < 1e-9, "{ratio:?}");
    let weft = yarn.measured.unwrap().weft.length_m;
    assert!((weft.value / yarn.planned.weft.length_m - 1.08).abs() < 1e-9);
    assert!(weft.u95 > 0.0);
}

#[test]
fn the_real_width_counts_only_where_the_plan_says_its_draw_in() {
    let narrow = [Made {
        width_mm: (40.0, 0.1),
        ..Made::default()
    }
    .measurement()];
    let with = yardage(&starter(), &narrow, &bands(1))
        .unwrap()
        .weft_ratio
        .unwrap();
    assert!((with.value - 40.0 / 41.3385).abs() < 1e-9);
    let silent = Plan {
        draw_in: None,
        ..starter()
    };
    let yarn = yardage(&silent, &narrow, &bands(1)).unwrap();
    assert!((yarn.weft_ratio.unwrap().value - 1.0).abs() < 1e-9);
    assert!((yarn.planned.weft.length_m - 91.0 * 0.044_45 * 1.12).abs() < 1e-9);
    assert_eq!(yarn.assumed_zero, ["draw_in"]);
}

#[test]
fn the_interval_for_bands_to_come_holds_them_about_95_times_in_100() {
    // Bands of one hand: picks per inch spread by 0.3 about 10.2; four are measured, twelve follow.
    let mut state: u64 = 7;
    let mut normal = move || {
        let mut sum = 0.0;
        for _ in 0..12 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            sum += (state >> 11) as f64 / (1u64 << 53) as f64;
        }
        sum - 6.0
    };
    let plan = Plan {
        draw_in: None,
        ..starter()
    };
    let mut held = 0;
    for _ in 0..400 {
        let seen: Vec<f64> = (0..4).map(|_| 10.2 + 0.3 * normal()).collect();
        let to_come: f64 = (0..12).map(|_| 10.2 + 0.3 * normal()).sum::<f64>() / 12.0;
        let picks = yardage(&plan, &measured(&seen), &bands(12))
            .unwrap()
            .measured
            .unwrap()
            .picks;
        held += usize::from((picks.value - 9.1 * to_come).abs() <= picks.u95);
    }
    assert!((372..=396).contains(&held), "{held} of 400");
}

#[test]
fn more_measured_bands_narrow_the_interval() {
    let doubt = |rates: &[f64]| {
        yardage(&starter(), &measured(rates), &bands(12))
            .unwrap()
            .weft_ratio
            .unwrap()
            .u95
    };
    let two = doubt(&[10.0, 10.4]);
    let six = doubt(&[10.0, 10.4, 10.0, 10.4, 10.0, 10.4]);
    assert!(two > 3.0 * six, "{two} {six}");
}

#[test]
fn a_weighed_band_gives_the_crimp_or_checks_it() {
    let silent = Plan {
        weft: crate::plan::Weft {
            crimp: None,
            ..starter().weft
        },
        ..starter()
    };
    // The mass of a starter band of 12 % crimp: 4.2132 m of weft, 22 strands of warp without waste.
    let worked = work_out(&starter());
    let warp_m = 22.0 * (worked.warp_each_mm - 203.2) / 1000.0;
    let grams = 1000.0
        * (starter().weft.yarn.unwrap().mass_kg(4.213_22)
            + starter().warp.yarn.unwrap().mass_kg(warp_m));
    let weighed = Some(Weighed::parse(&format!("{grams:.2} g")).unwrap());
    let options = YardageOptions { bands: 1, weighed };
    let yarn = yardage(&silent, &[], &options).unwrap();
    assert_eq!(yarn.crimp.source, CrimpSource::Weighed);
    let crimp = yarn.crimp.weighed_percent.unwrap();
    assert!(
        (crimp.value - 12.0).abs() < 0.3 && crimp.u95 > 3.0,
        "{crimp:?}"
    );
    assert!(yarn.assumed_zero.is_empty());
    let checked = yardage(&starter(), &[], &options).unwrap();
    assert_eq!(checked.crimp.source, CrimpSource::Plan);
    assert!(checked.notes[0].contains("agrees"), "{:?}", checked.notes);
    for (mass, says) in [("200 g", "doesn't fit"), ("1 g", "doesn't fit")] {
        let weighed = Some(Weighed::parse(mass).unwrap());
        let why = yardage(&silent, &[], &YardageOptions { bands: 1, weighed }).unwrap_err();
        assert!(why.to_string().contains(says), "{why}");
    }
    let nameless = Plan {
        warp: crate::plan::Warp::default(),
        ..silent
    };
    let why = yardage(&nameless, &[], &options).unwrap_err();
    assert!(why.to_string().contains("yarns' sizes"), "{why}");
}

#[test]
fn without_a_crimp_the_geometry_offers_an_estimate_beside_the_sums() {
    let silent = Plan {
        weft: crate::plan::Weft {
            crimp: None,
            ..starter().weft
        },
        ..starter()
    };
    let yarn = yardage(&silent, &measured(&[10.0, 10.1, 9.9]), &bands(12)).unwrap();
    assert_eq!(yarn.crimp.source, CrimpSource::NotGiven);
    assert_eq!(yarn.assumed_zero, ["weft.crimp"]);
    let estimate = yarn.estimate.as_ref().unwrap();
    assert!(estimate.crimp_percent.value > 0.5 && estimate.crimp_percent.u95 > 0.5);
    assert!(estimate.weft_length_m.value > yarn.measured.as_ref().unwrap().weft.length_m.value);
    assert!(yardage_text(&yarn, LengthUnits::Inches).contains("an estimate"));
}

#[test]
fn the_text_says_what_to_order_and_how_sure_that_is() {
    let plan = starter();
    let yarn = yardage(&plan, &measured(&[10.6, 10.8, 11.0, 10.8]), &bands(12)).unwrap();
    let text = yardage_text(&yarn, LengthUnits::Centimetres);
    assert!(text.contains("For 12 bands order"), "{text}");
    assert!(text.contains("19 times in 20"), "{text}");
    assert!(text.contains("more than planned"), "{text}");
    let one = yardage(&plan, &measured(&[10.8]), &bands(12)).unwrap();
    let text = yardage_text(&one, LengthUnits::Centimetres);
    assert!(
        !text.contains("19 times") && text.contains("measure three or more"),
        "{text}"
    );
}

#[test]
fn what_says_nothing_of_yarn_is_refused() {
    let mut blank = Made::default().measurement();
    blank.picks = None;
    let why = yardage(&starter(), &[blank], &bands(1))
        .unwrap_err()
        .to_string();
    assert!(
        why.contains("quay-1.png") && why.contains("no picks"),
        "{why}"
    );
    for count in [0, 100_001] {
        assert_eq!(
            yardage(&starter(), &[], &bands(count))
                .unwrap_err()
                .exit_code(),
            2
        );
    }
    let mut narrow = Made::default().measurement();
    narrow.width = None;
    let yarn = yardage(&starter(), &[narrow], &bands(1)).unwrap();
    assert!(yarn.notes.iter().any(|note| note.contains("planned width")));
}

#[test]
fn the_json_has_the_agreed_names() {
    let yarn = yardage(&starter(), &measured(&[10.8, 10.9]), &bands(2)).unwrap();
    let json = serde_json::to_value(&yarn).unwrap();
    assert_eq!(json["schema"], "evenfell/yardage/1");
    assert_eq!(json["bands"], 2);
    for path in [
        "/planned/picks",
        "/planned/warp/length_m",
        "/planned/weft/mass_g",
        "/measured/picks/u95",
        "/measured/warp/length_m/u95",
        "/measured/weft/mass_g/value",
        "/weft_ratio/value",
    ] {
        assert!(
            json.pointer(path).is_some_and(serde_json::Value::is_number),
            "{path}"
        );
    }
    let nothing = serde_json::to_value(yardage(&starter(), &[], &bands(1)).unwrap()).unwrap();
    assert!(nothing["measured"].is_null() && nothing["weft_ratio"].is_null());
    assert!(nothing["assumed_zero"].is_array());
}
