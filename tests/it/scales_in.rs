//! The scale that a file carries, or that a person types.

use evenfell::photo::DensitySource;
use evenfell::scale::{ScaleOptions, find_view};
use exif::{Tag, Value};
use image::{DynamicImage, ImageBuffer, ImageFormat};

use super::made_files::{
    as_file, exif_block, field, jpeg, picture, png_with_exif, png_with_phys, ratio, read, short,
    tiff,
};

#[test]
fn the_resolution_is_read_wherever_it_stands() {
    let image = picture(16, 16);
    let inch = |dpi: u32| {
        vec![
            field(Tag::XResolution, ratio(dpi, 1)),
            field(Tag::YResolution, ratio(dpi, 1)),
        ]
    };
    let centimetre = [
        field(Tag::XResolution, ratio(23_622, 100)),
        field(Tag::YResolution, ratio(23_622, 100)),
        field(Tag::ResolutionUnit, short(3)),
    ];
    for (file, source, dpi) in [
        (jpeg(&image, Some(400), None), DensitySource::Jfif, 400.0),
        (
            png_with_exif(&image, exif_block(&centimetre)),
            DensitySource::Exif,
            600.0,
        ),
        (tiff(&image, inch(1200)), DensitySource::Tiff, 1200.0),
        (
            tiff(&image, centimetre.to_vec()),
            DensitySource::Tiff,
            600.0,
        ),
        (
            png_with_phys(11_811, png::Unit::Meter),
            DensitySource::Phys,
            300.0,
        ),
    ] {
        let photo = read(&file);
        let density = photo.densities[0];
        assert_eq!(density.source, source);
        assert!((density.x_dpi - dpi).abs() < 0.01, "{density:?}");
        let view = find_view(&photo, &"auto".parse().unwrap(), &ScaleOptions::default()).unwrap();
        assert!((view.plane_to_px[(0, 0)] * 25.4 - dpi).abs() < 0.01);
        assert!(1.96 * view.relative_u >= 0.003 - 1e-12);
    }
    assert!(
        read(&png_with_phys(11_811, png::Unit::Unspecified))
            .densities
            .is_empty()
    );
    assert!(read(&jpeg(&image, None, None)).densities.is_empty());
}

fn scale_refusal(file: &[u8], request: &str) -> String {
    let request = request.parse().unwrap();
    find_view(&read(file), &request, &ScaleOptions::default())
        .expect_err("there is no scale in it")
        .to_string()
}

#[test]
fn a_cameras_resolution_is_never_a_scale() {
    let image = picture(16, 16);
    for camera in [
        field(Tag::ExposureTime, ratio(1, 60)),
        field(Tag::FocalLength, ratio(57, 10)),
        field(Tag::FNumber, ratio(18, 10)),
        field(Tag::LensModel, Value::Ascii(vec![b"lens".to_vec()])),
    ] {
        for dpi in [72, 300] {
            let block = exif_block(&[
                field(Tag::XResolution, ratio(dpi, 1)),
                field(Tag::YResolution, ratio(dpi, 1)),
                camera.clone(),
            ]);
            let file = jpeg(&image, Some(300), Some(block));
            for request in ["auto", "dpi"] {
                let words = scale_refusal(&file, request);
                assert!(words.contains("a camera made the photo"), "{words}");
                assert!(words.contains("--scale card"), "{words}");
            }
            let typed = find_view(
                &read(&file),
                &"300dpi".parse().unwrap(),
                &ScaleOptions::default(),
            );
            assert!(typed.is_ok());
        }
    }
}

#[test]
fn a_resolution_that_means_nothing_is_no_scale() {
    let image = picture(16, 16);
    for dpi in [72, 96] {
        let words = scale_refusal(&jpeg(&image, Some(dpi), None), "dpi");
        assert!(words.contains("don't know"), "{words}");
    }
    let none = scale_refusal(&jpeg(&image, None, None), "auto");
    assert!(none.contains("carries no resolution"), "{none}");
    let tags = [
        field(Tag::XResolution, ratio(600, 1)),
        field(Tag::YResolution, ratio(600, 1)),
    ];
    let two = jpeg(&image, Some(300), Some(exif_block(&tags)));
    let words = scale_refusal(&two, "dpi");
    assert!(words.contains("contradicts itself"), "{words}");
    // A placeholder beside a real figure gives way to it.
    let one = read(&jpeg(&image, Some(72), Some(exif_block(&tags))));
    let view = find_view(&one, &"dpi".parse().unwrap(), &ScaleOptions::default()).unwrap();
    assert!((view.plane_to_px[(0, 0)] * 25.4 - 600.0).abs() < 1e-6);
}

#[test]
fn two_points_give_a_scale_with_the_doubt_of_clicks_and_ruler() {
    let photo = read(&as_file(
        &DynamicImage::ImageRgb8(ImageBuffer::new(1000, 700)),
        ImageFormat::Png,
    ));
    let view_of = |text: &str| {
        let request = text.parse().unwrap();
        find_view(&photo, &request, &ScaleOptions::default())
    };
    let view = view_of("points:100,50,900,650=200.0mm").unwrap();
    assert!((view.plane_to_px[(0, 0)] - 5.0).abs() < 1e-12);
    let expected = (2.0_f64.sqrt() / 1000.0).hypot(0.05 / 3.0_f64.sqrt() / 200.0);
    assert!((view.relative_u - expected).abs() < 1e-12);
    for outside in ["points:-1,0,900,650=200mm", "points:0,0,999.6,650=200mm"] {
        let error = view_of(outside).unwrap_err();
        assert!(matches!(error, evenfell::Error::Request { .. }));
        assert!(error.to_string().contains("1000 × 700"), "{error}");
        assert_eq!(error.exit_code(), 2);
    }
    assert!(view_of("points:5,5,5,5=200mm").is_err());
    assert!(view_of("points:0,0,900,0=3mm").is_err());
}
