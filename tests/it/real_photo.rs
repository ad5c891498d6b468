//! A real photo of the sheet's family of markers, held against another detector.

use std::path::Path;

use evenfell::geometry::Point;
use evenfell::markers;
use image::{Rgb, RgbImage};
use serde_json::Value;

/// From Debian's package `visp-images-data`; `.ci/run` installs it.
const PHOTO: &str = "/usr/share/visp-images-data/ViSP-images/AprilTag/AprilTag.pgm";

/// A binary PGM of 8 bits.
fn pgm(bytes: &[u8]) -> RgbImage {
    let mut fields = Vec::new();
    let mut at = 0;
    while fields.len() < 4 {
        while bytes[at].is_ascii_whitespace() || bytes[at] == b'#' {
            if bytes[at] == b'#' {
                at += bytes[at..].iter().position(|b| *b == b'\n').unwrap();
            }
            at += 1;
        }
        let length = bytes[at..]
            .iter()
            .position(u8::is_ascii_whitespace)
            .unwrap();
        fields.push(std::str::from_utf8(&bytes[at..at + length]).unwrap());
        at += length;
    }
    let side = |i: usize| fields[i].parse::<u32>().unwrap();
    let (width, height) = (side(1), side(2));
    assert_eq!((fields[0], fields[3]), ("P5", "255"));
    let pixels = &bytes[at + 1..];
    RgbImage::from_fn(width, height, |x, y| {
        Rgb([pixels[y as usize * width as usize + x as usize]; 3])
    })
}

#[test]
fn a_real_photo_is_read_as_opencv_reads_it_which_needs_the_package_visp_images_data() {
    if !Path::new(PHOTO).exists() {
        assert!(
            std::env::var_os("CI").is_none(),
            "{PHOTO} is missing: apt-get install visp-images-data"
        );
        eprintln!("not tested: {PHOTO} is missing (apt-get install visp-images-data)");
        return;
    }
    let photo = pgm(&std::fs::read(PHOTO).unwrap());
    let text = include_str!("../../testdata/reference/photo_markers_opencv.json");
    let reference: Value = serde_json::from_str(text).unwrap();
    let corners = reference["corners_px"].as_object().unwrap();
    let found = markers::find(&photo, corners.len());
    // Small and steep ones among them: not one may be read as another.
    assert!(found.len() >= 10, "{} of {}", found.len(), corners.len());
    let mut distances = Vec::new();
    for marker in &found {
        let seen = corners[&marker.marker.to_string()].as_array().unwrap();
        for (corner, seen) in marker.corners.iter().zip(seen) {
            let seen = Point::new(seen[0].as_f64().unwrap(), seen[1].as_f64().unwrap());
            distances.push(corner.distance(seen));
        }
    }
    distances.sort_by(f64::total_cmp);
    let (median, worst) = (
        distances[distances.len() / 2],
        distances[distances.len() - 1],
    );
    // The other detector looks for the corner itself, within a few pixels, ours crosses lines.
    assert!(
        median < 0.4 && worst < 2.0,
        "median {median}, worst {worst}"
    );
}
