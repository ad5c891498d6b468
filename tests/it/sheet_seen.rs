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
