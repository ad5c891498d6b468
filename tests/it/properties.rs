//! What holds for any plan, any length, any yarn, and any way a band is laid.

use evenfell::band::StartEnd;
use evenfell::measure::{Options, measure};
use evenfell::measurement::{Measurement, Quantity};
use evenfell::photo::Photo;
use evenfell::plan::{Plan, work_out};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, weave};
use evenfell::units::parse_length_mm;
use evenfell::yarn::Yarn;
use image::RgbImage;
use image::imageops::{flip_vertical, rotate90, rotate180};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// So many cases, the same ones every time.
fn drawn(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        rng_seed: RngSeed::Fixed(2026),
        failure_persistence: None,
        max_shrink_iters: 200,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(drawn(256))]

    #[test]
    fn a_length_is_the_same_in_any_unit_and_any_way_of_writing(sixteenths in 1_u32..2000) {
        let inches = f64::from(sixteenths) / 16.0;
        let mm = 25.4 * inches;
        let (whole, rest) = (sixteenths / 16, sixteenths % 16);
        let ways = [
            format!("{inches} in"),
            format!("{whole} {rest}/16 in"),
            format!("{:.6} mm", mm),
            format!("{:.7} cm", mm / 10.0),
            format!("{:.9} m", mm / 1000.0),
            format!("{:.9} ft", inches / 12.0),
        ];
        for way in ways {
            let read = parse_length_mm(&way).map_err(TestCaseError::fail)?;
            prop_assert!((read - mm).abs() < 1e-4, "{way}: {read} for {mm}");
        }
    }

    #[test]
    fn any_text_for_a_length_is_a_length_or_a_sentence(text in ".{0,40}") {
        match parse_length_mm(&text) {
            Ok(mm) => prop_assert!(mm.is_finite()),
            Err(why) => prop_assert!(why.len() > 5, "{why}"),
        }
    }

    #[test]
    fn cotton_counts_are_840_yards_times_size_over_plies(size in 7_u32..200, plies in 1_u32..6) {
        let yarn = Yarn::parse(&format!("{size}/{plies} cotton")).map_err(TestCaseError::fail)?;
        let expected = 840.0 * f64::from(size) / f64::from(plies);
        prop_assert!((yarn.yards_per_pound() / expected - 1.0).abs() < 1e-9);
        prop_assert!((yarn.tex() * yarn.yards_per_pound() - 496_054.65).abs() < 1.0);
    }

    #[test]
    fn any_text_for_a_yarn_is_a_yarn_or_a_sentence(text in "[0-9/. a-zA-Z%²]{0,30}") {
        match Yarn::parse(&text) {
            Ok(yarn) => prop_assert!(yarn.tex() > 0.0 && yarn.tex().is_finite()),
            Err(why) => prop_assert!(why.len() > 5, "{why}"),
        }
    }

    #[test]
    fn a_plan_that_can_be_works_out_to_whole_picks_and_enough_yarn(
        ends in 2_u32..60,
        width_mm in 5_u32..400,
        length_mm in 20_u32..3000,
        picks in 3_u32..60,
        draw_in in 0_u32..30,
        take_up in 0_u32..25,
    ) {
        let text = format!(
            r#"{{ "ends": {ends}, "width_in_loom": "{width_mm} mm",
                 "woven_length": "{length_mm} mm", "picks": "{picks} per inch",
                 "draw_in": "{draw_in} %", "warp": {{ "take_up": "{take_up} %" }} }}"#
        );
        let plan = Plan::from_json(&text).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let worked = work_out(&plan);
        let exact = f64::from(length_mm) / 25.4 * f64::from(picks);
        prop_assert!((f64::from(worked.picks) - exact).abs() <= 0.5001);
        prop_assert!(worked.warp_each_mm >= worked.woven_length_mm - 1e-9);
        prop_assert!(worked.finished_width_mm <= f64::from(width_mm) + 1e-9);
        prop_assert!(worked.weft_total_mm >= worked.weft_each_pick_mm);
    }
}

proptest! {
    #![proptest_config(drawn(3))]

    #[test]
    fn a_band_moved_turned_mirrored_or_scaled_has_the_same_figures(
        seed in 0_u64..400,
        spacing in 2.2_f64..3.0,
        margins in (6_u32..40, 6_u32..40),
    ) {
        let spec = BandSpec {
            seed,
            picks: 30,
            pick_spacing_mm: spacing,
            ..BandSpec::default()
        };
        let scan = Camera { dpi: 200.0, ..Camera::default() }.photograph(&weave(&spec)).pixels;
        let plan = spec.plan();
        let first = figures(&scan, 200.0, &plan, None);
        let same = |what: &str, other: &Measurement, turned: bool| {
            is_same(what, &first, other, turned)
        };
        let moved = moved(&scan, margins);
        same("moved", &figures(&moved, 200.0, &plan, None), false)?;
        same("standing", &figures(&rotate90(&scan), 200.0, &plan, Some(StartEnd::Top)), false)?;
        same("upside down", &figures(&rotate180(&scan), 200.0, &plan, Some(StartEnd::Right)), false)?;
        same("mirrored", &figures(&flip_vertical(&scan), 200.0, &plan, None), true)?;
        let larger = image::imageops::resize(
            &scan,
            scan.width() * 3 / 2,
            scan.height() * 3 / 2,
            image::imageops::FilterType::CatmullRom,
        );
        same("scaled", &figures(&larger, 300.0, &plan, None), false)?;
    }
}

/// More of the paper at the left and on top.
fn moved(scan: &RgbImage, (left, top): (u32, u32)) -> RgbImage {
    RgbImage::from_fn(scan.width() + left, scan.height() + top, |x, y| {
        let (x, y) = (x.saturating_sub(left), y.saturating_sub(top));
        *scan.get_pixel(x, y)
    })
}

fn figures(scan: &RgbImage, dpi: f64, plan: &Plan, start: Option<StartEnd>) -> Measurement {
    let photo = Photo {
        file: "band.png".to_owned(),
        sha256: String::new(),
        pixels: scan.clone(),
        densities: Vec::new(),
        camera: None,
        jpeg_rounding: 0.0,
    };
    let request = ScaleRequest::TypedDpi(dpi);
    let view = find_view(&photo, &request, &ScaleOptions::default()).unwrap();
    let options = Options {
        start,
        ..Options::default()
    };
    measure(&photo, &view, Some(plan), &options, &mut ()).unwrap()
}

fn is_same(
    what: &str,
    a: &Measurement,
    b: &Measurement,
    mirrored: bool,
) -> Result<(), TestCaseError> {
    let (p, q) = (a.picks.as_ref().unwrap(), b.picks.as_ref().unwrap());
    let (v, w) = (a.width.as_ref().unwrap(), b.width.as_ref().unwrap());
    let (s, t) = (a.selvedges.as_ref().unwrap(), b.selvedges.as_ref().unwrap());
    let (left, right) = if mirrored {
        (t.right.wq_mm, t.left.wq_mm)
    } else {
        (t.left.wq_mm, t.right.wq_mm)
    };
    prop_assert_eq!(p.count, q.count, "{}", what);
    let pairs: [(&str, Quantity, Quantity); 7] = [
        ("picks per inch", p.per_inch, q.per_inch),
        ("length", a.length_mm.unwrap(), b.length_mm.unwrap()),
        ("width", v.mean_mm, w.mean_mm),
        ("over the turns", v.over_turns_mm, w.over_turns_mm),
        ("left Wq", s.left.wq_mm, left),
        ("right Wq", s.right.wq_mm, right),
        (
            "drift",
            a.beat.as_ref().unwrap().drift_percent,
            b.beat.as_ref().unwrap().drift_percent,
        ),
    ];
    for (figure, one, other) in pairs {
        let apart = (one.value - other.value).abs();
        let doubt = one.u95.max(other.u95);
        prop_assert!(apart <= doubt, "{what}, {figure}: {one:?} and {other:?}");
    }
    Ok(())
}
