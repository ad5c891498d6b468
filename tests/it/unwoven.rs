//! Things that aren't woven, drawn and laid down as bands: no picks are told of them without a doubt.

use std::f64::consts::TAU;

use crate::program::run;
use evenfell::geometry::Point;
use evenfell::measure::{Options, measure};
use evenfell::measurement::Measurement;
use evenfell::photo::Photo;
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, View, find_view};
use evenfell::synth::{BandSpec, Camera, weave};
use image::{Rgb, RgbImage};

/// Pixels a millimetre: 200 dpi.
const PX_A_MM: f64 = 200.0 / 25.4;
/// Length and width of a thing, mm.
const SIZE_MM: (f64, f64) = (96.0, 20.0);
/// Ground beside it, mm.
const ROOM_MM: f64 = 12.0;

/// Colour of the things, as shares of their light.
const WOOD: [f64; 3] = [0.9, 0.7, 0.5];

/// Doubts about the picks.
const DOUBTS: [&str; 7] = [
    "count_unsure",
    "drawdown_unlike",
    "far_from_plan",
    "picks_faint",
    "repeat_unplanned",
    "spacing_jumps",
    "weave_unsure",
];

/// How light a thing is, 0 to 1, by the place along and across it, mm from its corner.
type Look = fn(f64, f64) -> f64;

fn strap(_: f64, _: f64) -> f64 {
    0.45
}

/// A line each millimetre, longer ones each five and ten.
fn rule(along: f64, across: f64) -> f64 {
    let mm = along.round();
    let reach = match (mm % 10.0 == 0.0, mm % 5.0 == 0.0) {
        (true, _) => 8.0,
        (_, true) => 6.0,
        _ => 4.0,
    };
    if (along - mm).abs() < 0.1 && across < reach {
        0.05
    } else {
        0.65
    }
}

/// Round slats side by side.
fn slats(along: f64, _: f64) -> f64 {
    0.55 * (1.0 - (along / 2.5).fract().mul_add(2.0, -1.0).powi(2)).sqrt() + 0.05
}

/// Three strands twisted.
fn cord(along: f64, across: f64) -> f64 {
    let within = ((along + 0.8 * across) / 6.0).fract();
    0.5 * (1.0 - within.mul_add(2.0, -1.0).powi(2)).sqrt() + 0.08
}

/// Stripes printed on a smooth ribbon, soft at their borders.
fn printed(along: f64, _: f64) -> f64 {
    0.4 + 0.25 * (3.0 * (TAU * along / 7.0).sin()).tanh()
}

/// Noise of a seed, from −1 to 1, mostly little.
fn noise(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    let mut uniform = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / (1u64 << 24) as f64 - 0.5
    };
    move || uniform() + uniform()
}

/// A scan of it, lying, with noise that a seed draws.
fn scan(look: Look, seed: u64) -> Photo {
    let px = |mm: f64| (mm * PX_A_MM).round() as u32;
    let size = (px(SIZE_MM.0 + 2.0 * ROOM_MM), px(SIZE_MM.1 + 2.0 * ROOM_MM));
    let mut noise = noise(seed);
    let mut picture = RgbImage::new(size.0, size.1);
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (along, across) = (
            f64::from(x) / PX_A_MM - ROOM_MM,
            f64::from(y) / PX_A_MM - ROOM_MM,
        );
        let on = (0.0..SIZE_MM.0).contains(&along) && (0.0..SIZE_MM.1).contains(&across);
        let light = if on { look(along, across) } else { 0.85 };
        let tint = if on { WOOD } else { [1.0; 3] };
        let noise = 10.0 * noise();
        *pixel = Rgb(tint.map(|tint| level(light * tint, noise)));
    }
    Photo {
        file: "thing.png".into(),
        sha256: String::new(),
        pixels: picture,
        densities: Vec::new(),
        camera: None,
        jpeg_rounding: 0.0,
    }
}

/// A pixel's value by its light, 0 to 1.
fn level(light: f64, noise: f64) -> u8 {
    (255.0 * light.sqrt() + noise).clamp(0.0, 255.0) as u8
}

/// The photo of a lying band with a rule below it that is as long as the picture and broader than the band.
fn with_a_rule_beside(photo: &Photo, px_a_mm: f64, seed: u64) -> Photo {
    let (width, height) = photo.pixels.dimensions();
    let px = |mm: f64| (mm * px_a_mm).round() as u32;
    let ground = *photo.pixels.get_pixel(3, height - 3);
    let mut noise = noise(seed);
    let longer = width + px(60.0);
    let mut pixels = RgbImage::from_fn(longer, height + px(52.0), |x, y| {
        let (along, across) = (
            f64::from(x) / px_a_mm - 5.0,
            (f64::from(y) - f64::from(height)) / px_a_mm - 6.0,
        );
        let long = f64::from(longer) / px_a_mm - 10.0;
        let noise = 6.0 * noise();
        if (0.0..long).contains(&along) && (0.0..40.0).contains(&across) {
            return Rgb(WOOD.map(|tint| level(rule(along, across) * tint, noise)));
        }
        Rgb(ground
            .0
            .map(|v| (f64::from(v) + noise).clamp(0.0, 255.0) as u8))
    });
    image::imageops::replace(&mut pixels, &photo.pixels, 0, 0);
    Photo {
        pixels,
        ..photo.clone()
    }
}

fn measured(photo: &Photo, plan: Option<&Plan>) -> Measurement {
    let view = find_view(photo, &"200dpi".parse().unwrap(), &ScaleOptions::default()).unwrap();
    measure(photo, &view, plan, &Options::default(), &mut ()).unwrap()
}

/// A band of about that size.
fn band() -> BandSpec {
    BandSpec {
        ends: 16,
        picks: 80,
        ..BandSpec::default()
    }
}

fn photographed(spec: &BandSpec) -> (Photo, View) {
    let camera = Camera {
        seed: spec.seed,
        ..Camera::default()
    };
    let photo = camera.photograph(&weave(spec)).to_photo();
    let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
    (photo, view)
}

fn why_no_picks(m: &Measurement) -> Option<&str> {
    let part = m.unmeasured.iter().find(|part| part.what == "picks");
    part.map(|part| part.why.as_str())
}

#[test]
fn a_strap_has_no_picks_whatever_the_plan_nor_has_a_rule() {
    let plan = band().plan();
    for (name, look, plan) in [
        ("strap", strap as Look, None),
        ("strap", strap, Some(&plan)),
        ("rule", rule, None),
    ] {
        for seed in 1..4 {
            let m = measured(&scan(look, seed), plan);
            let why = why_no_picks(&m);
            assert!(m.picks.is_none() && why.is_some(), "{name} {seed} {why:?}");
            assert_eq!(m.width.is_some(), plan.is_some(), "{name} {seed}");
        }
    }
}

#[test]
fn nothing_unwoven_is_told_picks_of_without_a_doubt() {
    let plan = band().plan();
    for (name, look) in [
        ("slats", slats as Look),
        ("cord", cord),
        ("printed", printed),
        ("rule", rule),
    ] {
        for seed in 1..4 {
            let photo = scan(look, seed);
            for plan in [None, Some(&plan)] {
                let m = measured(&photo, plan);
                let doubted = m.warnings.iter().any(|w| DOUBTS.contains(&w.code.as_str()));
                assert!(
                    m.picks.is_none() || doubted,
                    "{name} {seed} {}",
                    plan.is_some()
                );
            }
        }
    }
}

#[test]
fn a_band_is_neither_refused_nor_doubted() {
    for seed in 1..4 {
        let spec = BandSpec { seed, ..band() };
        let (photo, view) = photographed(&spec);
        let m = measure(&photo, &view, None, &Options::default(), &mut ()).unwrap();
        assert_eq!(m.picks.as_ref().and_then(|p| p.count), Some(80), "{seed}");
        assert!(
            m.warnings.iter().all(|w| w.code != "weave_unsure"),
            "{seed}"
        );
    }
}

#[test]
fn the_band_is_measured_and_not_the_rule_beside_it_though_that_is_larger() {
    for seed in 1..4 {
        let spec = BandSpec { seed, ..band() };
        let (photo, view) = photographed(&spec);
        let beside = with_a_rule_beside(&photo, view.px_per_mm(Point::new(50.0, 20.0)), seed);
        let alone = measure(&photo, &view, None, &Options::default(), &mut ()).unwrap();
        let width = |m: &Measurement| m.width.as_ref().unwrap().mean_mm.value;
        for plan in [None, Some(&spec.plan())] {
            let m = measure(&beside, &view, plan, &Options::default(), &mut ()).unwrap();
            let count = m.picks.as_ref().and_then(|p| p.count);
            assert_eq!(count, Some(80), "{seed} {}", plan.is_some());
            assert!((width(&m) - width(&alone)).abs() < 0.3, "{seed}");
            assert!(
                m.warnings.iter().any(|w| w.code == "several_pieces"),
                "{seed}"
            );
        }
    }
}

#[test]
fn a_strap_ends_with_the_code_of_nothing_measured_and_the_class_is_not_told_to_keep_on() {
    let dir = tempfile::tempdir().unwrap();
    let file = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let (strap_file, band_file) = (file("strap.png"), file("band.png"));
    scan(strap, 1).pixels.save(&strap_file).unwrap();
    photographed(&band()).0.pixels.save(&band_file).unwrap();
    let (code, said, _) = run(&["measure", &strap_file, "--scale", "200dpi"]);
    assert_eq!(code, 3, "{said}");
    assert!(
        said.contains("Nothing of this band could be measured."),
        "{said}"
    );
    let (_, said, _) = run(&["compare", &strap_file, &band_file, "--scale", "200dpi"]);
    assert!(said.contains("strap: nothing could be measured"), "{said}");
    assert!(
        said.contains("to work on: hardly anything could be measured"),
        "{said}"
    );
}
