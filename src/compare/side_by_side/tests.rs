//! Classes, one weaver over time, one band in several photos and states.

use super::*;
use crate::compare::{comparison_text, write_comparison_csv};
use crate::measurement::made::Made;
use crate::plan::{Plan, STARTER_PLAN};
use crate::units::LengthUnits;

fn sample(made: &Made) -> Sample {
    Sample {
        name: made.name.clone(),
        measurement: made.measurement(),
        plan: Some(Plan::from_json(STARTER_PLAN).unwrap()),
    }
}

fn named(name: &str) -> Made {
    Made {
        name: name.to_owned(),
        ..Made::default()
    }
}

fn order_by(comparison: &Comparison, by: Criterion) -> &Order {
    comparison
        .orders
        .iter()
        .find(|order| order.by == by)
        .unwrap()
}

/// Normal numbers from a fixed seed.
struct Normal(u64);

impl Normal {
    fn next(&mut self) -> f64 {
        let sum: f64 = (0..12)
            .map(|_| {
                self.0 = self
                    .0
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                (self.0 >> 11) as f64 / (1u64 << 53) as f64
            })
            .sum();
        sum - 6.0
    }
}

#[test]
fn a_class_is_put_in_order_by_each_thing_with_ties() {
    let class = [
        sample(&Made {
            cv: (9.0, 0.5),
            left: (0.2, 0.02),
            ..named("Ada")
        }),
        sample(&Made {
            cv: (4.0, 0.5),
            left: (0.9, 0.05),
            ..named("Bo")
        }),
        sample(&Made {
            cv: (9.2, 0.5),
            per_inch: (12.0, 0.04),
            ..named("Cy")
        }),
    ];
    let comparison = compare(&class, CompareOptions::default()).unwrap();
    assert_eq!(
        order_by(&comparison, Criterion::Beat).places,
        [vec!["Bo"], vec!["Ada", "Cy"]]
    );
    assert_eq!(
        order_by(&comparison, Criterion::Picks).places,
        [vec!["Ada", "Bo"], vec!["Cy"]]
    );
    assert_eq!(order_by(&comparison, Criterion::DrawIn).places.len(), 1);
    assert_eq!(
        order_by(&comparison, Criterion::Selvedges).places,
        [vec!["Ada", "Cy"], vec!["Bo"]]
    );
    let per_inch = comparison.group.per_inch.unwrap();
    assert!((per_inch.median - 10.0).abs() < 1e-9 && per_inch.spread.abs() < 1e-9);
    let text = comparison_text(&comparison, LengthUnits::Inches);
    assert!(text.contains("2.-3. share a place: Ada"), "{text}");
    assert!(
        comparison.samples[1]
            .work_on
            .as_ref()
            .unwrap()
            .contains("left selvedge")
    );
    assert!(
        comparison.samples[2]
            .work_on
            .as_ref()
            .unwrap()
            .contains("more picks per inch")
    );
    assert!(comparison.samples[1].strengths[0].contains("first place by beat"));
}

#[test]
fn in_drawn_classes_of_twelve_hardly_a_pair_is_ranked_against_the_truth() {
    let mut normal = Normal(11);
    let (classes, count) = (200, 12);
    let mut wrong_classes = 0;
    let mut wrong_pairs = 0;
    let mut told_pairs = 0;
    for _ in 0..classes {
        let truths: Vec<f64> = (0..count)
            .map(|_| (7.0 + 2.0 * normal.next()).max(1.0))
            .collect();
        let class: Vec<Sample> = truths
            .iter()
            .enumerate()
            .map(|(at, truth)| {
                let measured = truth + 0.3 * normal.next();
                sample(&Made {
                    cv: (measured, 1.96 * 0.3),
                    ..named(&format!("{at:02}"))
                })
            })
            .collect();
        let comparison = compare(&class, CompareOptions::default()).unwrap();
        let places = &order_by(&comparison, Criterion::Beat).places;
        let mut wrong = 0;
        for (at, place) in places.iter().enumerate() {
            for better in place {
                for worse in places[at + 1..].iter().flatten() {
                    told_pairs += 1;
                    let truth = |name: &str| truths[name.parse::<usize>().unwrap()];
                    wrong += usize::from(truth(better) > truth(worse));
                }
            }
        }
        wrong_pairs += wrong;
        wrong_classes += usize::from(wrong > 0);
    }
    assert!(
        wrong_classes * 20 <= classes,
        "{wrong_classes} of {classes} classes"
    );
    assert!(wrong_pairs * 20 <= told_pairs);
    assert!(
        told_pairs > 2000,
        "only {told_pairs} pairs were ranked at all"
    );
}

#[test]
fn bands_that_are_alike_are_seldom_ranked_at_all() {
    let mut normal = Normal(5);
    let mut ranked = 0;
    for _ in 0..300 {
        let class: Vec<Sample> = (0..12)
            .map(|at| {
                let cv = (6.0 + 0.3 * normal.next(), 1.96 * 0.3);
                sample(&Made {
                    cv,
                    ..named(&at.to_string())
                })
            })
            .collect();
        let comparison = compare(&class, CompareOptions::default()).unwrap();
        ranked += usize::from(order_by(&comparison, Criterion::Beat).places.len() > 1);
    }
    assert!(ranked <= 15, "{ranked} of 300");
}

#[test]
fn the_rhythm_of_the_drawdown_is_not_the_hands_fault() {
    let class = [
        sample(&Made {
            cv: (9.0, 0.4),
            rhythm: Some((8.0, 0.4)),
            ..named("twill")
        }),
        sample(&Made {
            cv: (7.0, 0.4),
            rhythm: Some((0.5, 0.4)),
            ..named("plain")
        }),
    ];
    let comparison = compare(&class, CompareOptions::default()).unwrap();
    assert_eq!(
        order_by(&comparison, Criterion::Beat).places,
        [["twill"], ["plain"]]
    );
    let beat = comparison.samples[0].beat_percent.unwrap();
    assert!(
        (beat.value - 17.0_f64.sqrt()).abs() < 1e-9 && beat.u95 > 1.0,
        "{beat:?}"
    );
}

#[test]
fn bands_of_different_plans_are_compared_by_their_distance_and_it_is_said() {
    let bare = |made: Made| Sample {
        plan: None,
        ..sample(&made)
    };
    let class = [
        bare(Made {
            planned_picks: Some(10.0),
            planned_draw_in: Some(7.0),
            per_inch: (10.1, 0.04),
            ..named("lamp")
        }),
        bare(Made {
            planned_picks: Some(20.0),
            planned_draw_in: Some(3.0),
            per_inch: (22.0, 0.08),
            ..named("oar")
        }),
    ];
    let comparison = compare(&class, CompareOptions::default()).unwrap();
    assert_eq!(
        order_by(&comparison, Criterion::Picks).places,
        [["lamp"], ["oar"]]
    );
    assert_eq!(comparison.group.per_inch, None);
    assert!(comparison.group.beat_percent.is_some());
    assert!(comparison.not_compared[0].why.contains("different plans"));
}

#[test]
fn what_no_plan_or_photo_says_is_left_out_and_said() {
    let mut blank = Sample {
        plan: None,
        ..sample(&named("blank"))
    };
    blank.measurement.selvedges = None;
    let class = [
        Sample {
            plan: None,
            ..sample(&named("a"))
        },
        blank,
    ];
    let comparison = compare(&class, CompareOptions::default()).unwrap();
    let by: Vec<Criterion> = comparison.orders.iter().map(|order| order.by).collect();
    assert_eq!(by, [Criterion::Beat, Criterion::DrawIn]);
    let said: Vec<&str> = comparison
        .not_compared
        .iter()
        .map(|n| n.what.as_str())
        .collect();
    assert_eq!(said, ["picks of a, blank", "selvedges of blank"]);
    assert!(comparison.not_compared[0].why.contains("--plan"));
    assert!(comparison.notes[0].contains("0 %"));
}

#[test]
fn a_weaver_over_time_is_told_what_changed() {
    let bands: Vec<Sample> = [11.0, 9.5, 8.1, 6.9, 5.5]
        .iter()
        .enumerate()
        .map(|(at, &cv)| {
            sample(&Made {
                cv: (cv, 0.5),
                ..named(&format!("week {}", at + 1))
            })
        })
        .collect();
    let options = CompareOptions {
        in_order: true,
        ..CompareOptions::default()
    };
    let comparison = compare(&bands, options).unwrap();
    let text = comparison_text(&comparison, LengthUnits::Inches);
    assert!(text.contains("beat: better, 5.4"), "{text}");
    assert!(
        text.contains("selvedges: no change that can be told"),
        "{text}"
    );
}

#[test]
fn photos_of_one_band_give_the_least_difference_that_means_something() {
    let photos: Vec<Sample> = [41.2, 41.3, 41.4, 41.3]
        .iter()
        .map(|&width| {
            sample(&Made {
                width_mm: (width, 0.2),
                ..named("quay")
            })
        })
        .collect();
    let options = CompareOptions {
        same_band: true,
        ..CompareOptions::default()
    };
    let comparison = compare(&photos, options).unwrap();
    assert!(comparison.orders.is_empty());
    let figures = comparison.repeatability.as_ref().unwrap();
    let width = figures
        .iter()
        .find(|figure| figure.figure == "width")
        .unwrap();
    assert!((width.standard_deviation - 0.0816).abs() < 0.001);
    assert!((width.least_difference - 3.182 * 2.0_f64.sqrt() * 0.0816).abs() < 0.002);
    assert_eq!(comparison.samples[3].name, "quay (4)");
    assert!(comparison_text(&comparison, LengthUnits::Inches).contains("two bands differ if"));
}

#[test]
fn two_states_of_one_band_give_the_shrinkage_that_a_plan_takes() {
    let photos = [
        sample(&Made {
            state: Some("off-loom"),
            length_mm: (250.0, 0.5),
            width_mm: (41.0, 0.1),
            ..named("before")
        }),
        sample(&Made {
            state: Some("washed"),
            length_mm: (200.0, 0.5),
            width_mm: (40.0, 0.1),
            ..named("after")
        }),
    ];
    let options = CompareOptions {
        same_band: true,
        ..CompareOptions::default()
    };
    let comparison = compare(&photos, options).unwrap();
    assert_eq!(comparison.repeatability, None);
    let shrinkage = comparison
        .states
        .as_ref()
        .unwrap()
        .shrinkage
        .clone()
        .unwrap();
    assert_eq!(shrinkage.length.as_deref(), Some("20 %"));
    assert_eq!(shrinkage.width.as_deref(), Some("2.4 %"));
    let plan = STARTER_PLAN.replace(
        r#""shrinkage": { "length": "0 %""#,
        &format!(
            r#""shrinkage": {{ "length": "{}""#,
            shrinkage.length.unwrap()
        ),
    );
    let plan = Plan::from_json(&plan).unwrap();
    let worked = crate::plan::work_out(&plan);
    let woven = (worked.warp_each_mm - 2.0 * 50.8 - 203.2) * 0.92;
    assert!((woven - worked.woven_length_mm / 0.8).abs() < 1e-6);
    // A class in two states isn't ranked by what washing changes.
    let class = compare(&photos, CompareOptions::default()).unwrap();
    assert!(
        class
            .orders
            .iter()
            .all(|order| !matches!(order.by, Criterion::Picks | Criterion::DrawIn))
    );
    assert!(class.not_compared[0].why.contains("different states"));
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let one = [sample(&named("alone"))];
    for (samples, options) in [
        (&one[..], CompareOptions::default()),
        (&[][..], CompareOptions::default()),
        (
            &[one[0].clone(), one[0].clone()][..],
            CompareOptions {
                in_order: true,
                same_band: true,
            },
        ),
    ] {
        assert_eq!(compare(samples, options).unwrap_err().exit_code(), 2);
    }
}

#[test]
fn the_json_and_the_table_have_the_agreed_names() {
    let class = [
        sample(&named("a")),
        sample(&Made {
            cv: (20.0, 0.5),
            ..named("b")
        }),
    ];
    let comparison = compare(&class, CompareOptions::default()).unwrap();
    let json = serde_json::to_value(&comparison).unwrap();
    assert_eq!(json["schema"], "evenfell/comparison/1");
    for path in [
        "/samples/0/per_inch/u95",
        "/samples/0/spacing_cv_percent/value",
        "/samples/0/drift_percent/value",
        "/samples/0/width_mm/value",
        "/samples/0/draw_in_percent/value",
        "/samples/0/waviness_mm/left/value",
        "/group/per_inch/median",
        "/group/per_inch/spread",
    ] {
        assert!(
            json.pointer(path).is_some_and(serde_json::Value::is_number),
            "{path}"
        );
    }
    let by: Vec<&str> = json["orders"]
        .as_array()
        .unwrap()
        .iter()
        .map(|o| o["by"].as_str().unwrap())
        .collect();
    assert_eq!(by, ["beat", "picks", "draw_in", "selvedges"]);
    let mut table = Vec::new();
    write_comparison_csv(&comparison, &mut table).unwrap();
    let table = String::from_utf8(table).unwrap();
    assert_eq!(table.lines().count(), 3);
    assert!(
        table.lines().nth(2).unwrap().ends_with(",2,1,1,1"),
        "{table}"
    );
}
