//! A card beside the band, in photos by the tests' own camera.

use evenfell::geometry::Point;
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use image::{GrayImage, Luma};

use super::page_camera::{Shot, photograph};

/// A table of 300 × 210 mm with a card whose middle is at `at` and a band.
fn table(at: Point, card: u8, ground: u8) -> GrayImage {
    let scale = 8.0;
    GrayImage::from_fn(2400, 1680, |x, y| {
        let (mx, my) = ((f64::from(x) + 0.5) / scale, (f64::from(y) + 0.5) / scale);
        let (dx, dy) = ((mx - at.x).abs() - 42.8, (my - at.y).abs() - 26.99);
        let round = (dx + 3.18).max(0.0).hypot((dy + 3.18).max(0.0)) <= 3.18;
        let band = (30.0..270.0).contains(&mx) && (120.0..155.0).contains(&my);
        let print = (at.x - 30.0..at.x - 10.0).contains(&mx) && (at.y..at.y + 12.0).contains(&my);
        let grey = match (round && dx <= 0.0 && dy <= 0.0, print, band) {
            (true, true, _) => ground,
            (true, false, _) => card,
            (_, _, true) => 110 + 40 * u8::from((mx / 1.3).sin() * (my / 1.7).cos() > 0.0),
            _ => ground,
        };
        Luma([grey])
    })
}

#[test]
fn a_card_gives_lengths_within_its_own_doubt() {
    let base = Shot {
        look_at_mm: Point::new(150.0, 105.0),
        ..Shot::default()
    };
    let shots = [
        (base.clone(), 60, 215),
        (
            Shot {
                tilt: 0.15,
                tilt_direction: 1.0,
                roll: 0.3,
                ..base.clone()
            },
            230,
            70,
        ),
        (
            Shot {
                tilt: 0.25,
                distance_mm: 300.0,
                tilt_direction: -2.0,
                roll: 3.0,
                ..base
            },
            40,
            190,
        ),
    ];
    for (i, (shot, card, ground)) in shots.iter().enumerate() {
        let page = table(Point::new(140.0, 70.0), *card, *ground);
        let (photo, truth) = photograph(&page, (300.0, 210.0), shot);
        let view = find_view(&photo, &ScaleRequest::Card, &ScaleOptions::default()).unwrap();
        for (a, b) in [
            ((40.0, 137.0), (260.0, 137.0)),
            ((150.0, 120.0), (150.0, 155.0)),
        ] {
            let (a, b) = (Point::new(a.0, a.1), Point::new(b.0, b.1));
            let seen = |p| view.to_plane(truth.to_px(p)).unwrap();
            // The drawn card has no thickness: the table reads its 0.76 mm farther away.
            let flat = 1.0 - 0.76 / view.camera_height_mm.unwrap().0;
            let off = seen(a).distance(seen(b)) * flat / a.distance(b) - 1.0;
            assert!(off.abs() < 1.96 * view.relative_u, "shot {i}: {off}");
            assert!(off.abs() < 0.008, "shot {i}: {off}");
        }
        let (height, u) = view.camera_height_mm.unwrap();
        assert!(
            (height - truth.height_mm).abs() < 1.96 * u,
            "shot {i}: {height} ± {u}"
        );
    }
}

#[test]
fn a_photo_without_a_card_says_what_to_do() {
    let page = table(Point::new(-500.0, 0.0), 0, 200);
    let (photo, _) = photograph(
        &page,
        (300.0, 210.0),
        &Shot {
            size: (800, 600),
            ..Shot::default()
        },
    );
    let error = find_view(&photo, &ScaleRequest::Card, &ScaleOptions::default()).unwrap_err();
    assert!(error.to_string().contains("no card is seen"), "{error}");
}
