//! Is the truth true? Held against closed forms, against the raster, and against the picture.

use std::sync::Arc;

use image::{Rgb, RgbImage};

use super::tube::{Field, Skin};
use super::*;
use crate::geometry::Point;

/// A band without any scatter.
fn even(turns: Turns) -> BandSpec {
    let mut spec = BandSpec {
        spacing_cv: 0.0,
        waviness_mm: [0.0, 0.0],
        sett_scatter: 0.0,
        wobble: 0.0,
        zigzag: 0.0,
        turns,
        ..BandSpec::default()
    };
    spec.weft.thickness_cv = 0.0;
    spec.warp.thickness_cv = 0.0;
    spec
}

#[test]
fn the_silhouette_of_an_even_band_has_the_area_of_the_closed_form() {
    let spec = even(Turns::Flat);
    let truth = weave(&spec).truth;
    let (pitch, r) = (
        spec.pick_spacing_mm,
        0.5 * spec.weft_cover * spec.pick_spacing_mm,
    );
    // Outermost ends' outer edges, and beyond them on each side the part of every pick's round tip:
    // a circle around a point half a radius inside, cut by the edge.
    let edge = 0.5 * spec.nominal_width_mm() - 0.5 * r;
    let third = std::f64::consts::FRAC_PI_3;
    let tip = r * r * (third - 3.0_f64.sqrt() / 4.0) / pitch;
    // Both body ends lie on the outer edge of a pick: half a gap less than whole pitches.
    let length = 59.0 * pitch + 2.0 * r;
    assert!(
        (truth.length_mm - length).abs() < 0.005,
        "{}",
        truth.length_mm
    );
    let width = 2.0 * (edge + tip * 60.0 * pitch / length);
    assert!(
        (truth.width_mm - width).abs() < 0.01,
        "{} {width}",
        truth.width_mm
    );
}

#[test]
fn a_pulled_selvedge_takes_its_own_area_from_the_width() {
    let plain = even(Turns::Flat);
    let mut pulled = plain.clone();
    let (depth_mm, half_width_mm) = (2.0, 6.0);
    pulled.edge_marks.push(EdgeMark {
        side: Side::Right,
        at_mm: 75.0,
        depth_mm,
        half_width_mm,
    });
    let (before, after) = (weave(&plain).truth, weave(&pulled).truth);
    let area = depth_mm * half_width_mm * (std::f64::consts::PI / std::f64::consts::LN_2).sqrt();
    let lost = (before.width_mm - after.width_mm) * after.length_mm;
    assert!((lost - area).abs() < 0.03 * area, "{lost} {area}");
}

#[test]
fn pick_centres_are_those_of_the_spec_whatever_the_slant() {
    for slant in [0.0, 0.03] {
        let spec = BandSpec {
            slant,
            ..even(Turns::Loops {
                bulge: 0.9,
                scatter: 0.0,
            })
        };
        let truth = weave(&spec).truth;
        for pair in truth.pick_mm.windows(2) {
            assert!((pair[1] - pair[0] - spec.pick_spacing_mm).abs() < 1e-6);
        }
        assert!(truth.spacing_cv_percent < 1e-3 && truth.drift_percent.abs() < 1e-3);
    }
}

#[test]
fn the_raster_and_the_outline_agree() {
    for seed in [2, 7, 14, 19] {
        let drawn = weave(&random_spec(seed));
        let cell = 0.04;
        let (across, length) = (drawn.extent_mm.2 + 1.0, drawn.truth.length_mm);
        let (nx, ny) = ((length / cell) as usize, (2.0 * across / cell) as usize);
        let mut field = Field::new(nx, ny, cell, (0.0, -across), drawn.floor_mm);
        for yarn in &drawn.yarns {
            field.lay(yarn, &Skin::new(&drawn.looks[yarn.look], 0.5, 1), 0.9);
        }
        let mut width = 0.0;
        for x in 0..nx {
            let column = |y: &usize| field.cover[y * nx + x] > 0.0;
            let edge = |y: usize| f64::from(field.cover[y * nx + x]) - 0.5;
            let (Some(first), Some(last)) = ((0..ny).find(column), (0..ny).rev().find(column))
            else {
                continue;
            };
            width += cell * ((last - first) as f64 + edge(first) + edge(last)) / nx as f64;
        }
        assert!(
            (width - drawn.truth.width_mm).abs() < 0.02,
            "{width} {}",
            drawn.truth.width_mm
        );
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let small = |seed: u64| {
        let spec = BandSpec {
            seed,
            picks: 10,
            ..BandSpec::default()
        };
        let camera = Camera {
            dpi: 150.0,
            ..Camera::default()
        };
        camera
            .photograph(&weave(&spec))
            .jpeg()
            .expect("a small JPEG")
    };
    assert_eq!(small(5), small(5));
    assert_ne!(small(5), small(6));
}

#[test]
fn a_printed_dot_appears_where_the_mapping_says() {
    let mut page = RgbImage::from_pixel(420, 594, Rgb([250, 250, 250]));
    for y in 60..80 {
        for x in 300..320 {
            page.put_pixel(x, y, Rgb([0, 0, 0]));
        }
    }
    let camera = Camera {
        dpi: 120.0,
        band_middle_mm: Point::new(60.0, 200.0),
        look_at_mm: Point::new(120.0, 60.0),
        frame_mm: Some((160.0, 120.0)),
        tilt: 0.15,
        tilt_direction: 0.6,
        distance_mm: Some(350.0),
        lens_k1: 0.02,
        ground: Ground::Page {
            picture: Arc::new(page),
            size_mm: (210.0, 297.0),
            corner_mm: (0.0, 0.0),
            table: [0.4, 0.4, 0.4],
        },
        ..Camera::default()
    };
    let spec = BandSpec {
        picks: 12,
        ..BandSpec::default()
    };
    let photograph = camera.photograph(&weave(&spec));
    let wanted = photograph.mapping.view.to_px(Point::new(155.0, 35.0));
    let (mut n, mut x_sum, mut y_sum) = (0.0, 0.0, 0.0);
    for (x, y, pixel) in photograph.pixels.enumerate_pixels() {
        let place = Point::new(f64::from(x), f64::from(y));
        if place.distance(wanted) < 45.0 {
            let dark = (235.0 - f64::from(pixel.0[1])).max(0.0);
            n += dark;
            x_sum += dark * place.x;
            y_sum += dark * place.y;
        }
    }
    let found = Point::new(x_sum / n, y_sum / n);
    assert!(found.distance(wanted) < 0.08, "{found:?} {wanted:?}");
}

#[test]
fn random_bands_keep_to_their_ranges() {
    for seed in 0..60 {
        let spec = random_spec(seed);
        let camera = random_camera(seed, &spec);
        let truth = weave(&spec).truth;
        let pick_px = camera.dpi / truth.picks_per_inch;
        assert!(pick_px > 5.7, "seed {seed}: {pick_px} px a pick");
        assert!((4.0..40.0).contains(&truth.picks_per_inch), "seed {seed}");
        assert!(truth.pick_mm.len() >= 20, "seed {seed}");
        assert!(
            truth.width_mm > 4.0,
            "seed {seed}: {} mm wide",
            truth.width_mm
        );
        assert!(
            truth.outline.left_mm.iter().all(|edge| edge.is_finite()),
            "seed {seed}"
        );
        assert!(
            truth.spacing_cv_percent < 20.0 + truth.drift_percent.abs(),
            "seed {seed}"
        );
    }
}
