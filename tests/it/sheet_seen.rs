//! The printed sheet in photos: what is found, how well, and whether the doubt is honest.

use evenfell::geometry::Point;
use evenfell::scale::{ScaleOptions, ScaleRequest, TypedLength, View, find_view};
use evenfell::sheet::{Ground, Layout, Paper, write_png};
use image::{GrayImage, Luma};

use super::page_camera::{Shot, Truth, photograph};

/// The page at 300 dpi with a band across the window.
fn page(layout: &Layout, band: (f64, f64, f64, f64)) -> GrayImage {
    let mut file = Vec::new();
    write_png(layout, 300, &mut file).unwrap();
    let mut page = image::load_from_memory(&file).unwrap().into_luma8();
    let scale = f64::from(page.width()) / layout.paper.size_mm().0;
    for (x, y, pixel) in page.enumerate_pixels_mut() {
        let (mx, my) = (f64::from(x) / scale, f64::from(y) / scale);
        if (band.0..band.2).contains(&mx) && (band.1..band.3).contains(&my) {
            let stripe = (mx / 1.3).sin() * (my / 1.7).cos() > 0.0;
            *pixel = Luma([if stripe { 60 } else { 150 }]);
        }
    }
    page
}

const BAND: (f64, f64, f64, f64) = (40.0, 88.0, 250.0, 116.0);

fn known_bar() -> ScaleOptions {
    ScaleOptions {
        print_bar: Some(TypedLength::parse("100.00mm").unwrap()),
        ..ScaleOptions::default()
    }
}

/// Relative errors of lengths in the window, read from where their ends appear.
fn length_errors(view: &View, truth: &Truth) -> Vec<f64> {
    let spans = [
        ((30.0, 102.0), (265.0, 102.0)),
        ((30.0, 100.0), (150.0, 104.0)),
        ((150.0, 104.0), (265.0, 100.0)),
        ((60.0, 82.0), (60.0, 122.0)),
        ((150.0, 82.0), (150.0, 122.0)),
        ((235.0, 82.0), (235.0, 122.0)),
    ];
    spans
        .iter()
        .map(|&(a, b)| {
            let (a, b) = (Point::new(a.0, a.1), Point::new(b.0, b.1));
            let seen = |p| view.to_plane(truth.to_px(p)).unwrap();
            seen(a).distance(seen(b)) / a.distance(b) - 1.0
        })
        .collect()
}

fn worst(errors: &[f64]) -> f64 {
    errors.iter().fold(0.0, |worst, e| e.abs().max(worst))
}

#[test]
fn lengths_hold_over_tilt_turn_lens_size_and_light() {
    let layout = Layout::new(Paper::A4, Ground::White);
    let page = page(&layout, BAND);
    let upside_down = std::f64::consts::PI;
    let base = Shot::default();
    let shots = [
        base.clone(),
        Shot {
            tilt: 0.2,
            tilt_direction: 0.9,
            ..base.clone()
        },
        Shot {
            tilt: 0.436,
            distance_mm: 330.0,
            tilt_direction: 2.5,
            k1: 0.06,
            ..base.clone()
        },
        Shot {
            tilt: 0.436,
            distance_mm: 330.0,
            tilt_direction: -1.2,
            k1: -0.06,
            roll: upside_down,
            ..base.clone()
        },
        Shot {
            tilt: 0.436,
            distance_mm: 340.0,
            tilt_direction: 0.0,
            roll: 1.6,
            size: (1536, 2048),
            ..base.clone()
        },
        Shot {
            dim: 0.25,
            noise: 7.0,
            blur_px: 2.0,
            roll: 0.5,
            distance_mm: 330.0,
            ..base.clone()
        },
        Shot {
            size: (4032, 3024),
            tilt: 0.3,
            distance_mm: 300.0,
            k1: 0.03,
            noise: 5.0,
            blur_px: 2.0,
            ..base
        },
    ];
    for (i, shot) in shots.iter().enumerate() {
        let (photo, truth) = photograph(&page, layout.paper.size_mm(), shot);
        let view = find_view(&photo, &ScaleRequest::Auto, &known_bar()).unwrap();
        let errors = length_errors(&view, &truth);
        let (height, u) = view.camera_height_mm.unwrap();
        assert!(worst(&errors) < 0.0003, "shot {i}: {errors:?}");
        assert!((height - truth.height_mm).abs() < 1.96 * u, "shot {i}");
        assert!((view.tilt - shot.tilt).abs() < 0.03, "shot {i}");
        assert_eq!(view.start_direction, Some(Point::new(-1.0, 0.0)));
        assert!(view.warnings.is_empty());
    }
}

#[test]
fn a_band_longer_than_the_window_is_looked_for_beyond_it() {
    let layout = Layout::new(Paper::A4, Ground::White);
    let window = layout.window();
    for (band, left, right) in [
        (BAND, true, true),
        ((3.0, 88.0, 250.0, 116.0), false, true),
        ((40.0, 70.0, 294.0, 100.0), true, false),
    ] {
        let page = page(&layout, band);
        let shot = Shot {
            roll: 0.2,
            tilt: 0.1,
            ..Shot::default()
        };
        let (photo, _) = photograph(&page, layout.paper.size_mm(), &shot);
        let view = find_view(&photo, &ScaleRequest::Sheet, &known_bar()).unwrap();
        let (from, to) = view.region_mm.unwrap();
        assert_eq!((from.x - window.x).abs() < 1e-6, left, "{band:?}");
        assert_eq!(
            (to.x - window.x - window.width).abs() < 1e-6,
            right,
            "{band:?}"
        );
    }
}

#[test]
fn without_a_measured_bar_the_printer_is_doubted_once_and_few_markers_are_named() {
    let layout = Layout::new(Paper::Letter, Ground::Grey);
    let whole = page(&layout, BAND);
    let shot = Shot {
        look_at_mm: Point::new(139.7, 107.95),
        ..Shot::default()
    };
    let (photo, truth) = photograph(&whole, layout.paper.size_mm(), &shot);
    let view = find_view(&photo, &ScaleRequest::Auto, &ScaleOptions::default()).unwrap();
    let codes: Vec<&str> = view.warnings.iter().map(|w| w.code.as_str()).collect();
    assert_eq!(codes, ["print_bar"]);
    assert!(view.relative_u >= ScaleOptions::default().printer_relative_u);
    let bar = ScaleOptions {
        print_bar: Some(TypedLength::parse("98.0mm").unwrap()),
        ..ScaleOptions::default()
    };
    let smaller = find_view(&photo, &ScaleRequest::Auto, &bar).unwrap();
    let length = |view: &View| {
        let seen = |x| view.to_plane(truth.to_px(Point::new(x, 107.0))).unwrap();
        seen(40.0).distance(seen(240.0))
    };
    assert!((length(&smaller) / length(&view) - 0.98).abs() < 1e-9);

    let covered = page(&layout, (-1.0, 40.0, 290.0, 300.0));
    let (photo, _) = photograph(&covered, layout.paper.size_mm(), &shot);
    for request in [ScaleRequest::Sheet, ScaleRequest::Auto] {
        let words = find_view(&photo, &request, &ScaleOptions::default())
            .unwrap_err()
            .to_string();
        assert!(words.contains("2 of the sheet's 14 markers"), "{words}");
        assert!(words.contains("missing: bottom right corner"), "{words}");
    }
}

#[test]
fn a_poor_photo_is_told_what_would_better_it() {
    let layout = Layout::new(Paper::A4, Ground::White);
    let page = page(&layout, BAND);
    let told = |shot: &Shot| {
        let (photo, _) = photograph(&page, layout.paper.size_mm(), shot);
        let view = find_view(&photo, &ScaleRequest::Sheet, &known_bar()).unwrap();
        view.notes.join(" ")
    };
    let good = told(&Shot {
        size: (2400, 1800),
        ..Shot::default()
    });
    assert!(!good.contains("next time"), "{good}");
    let far = Shot {
        distance_mm: 420.0,
        ..Shot::default()
    };
    assert!(told(&far).contains("go closer"));
    let dark_on_one_side = Shot {
        dim: 0.3,
        ..Shot::default()
    };
    assert!(told(&dark_on_one_side).contains("evenly"));
    let slanting = Shot {
        tilt: 0.4,
        distance_mm: 330.0,
        ..Shot::default()
    };
    assert!(told(&slanting).contains("level"));
}
