//! Files of every kind go in: right ones come out upright, wrong ones with words.

use evenfell::photo::{PhotoOptions, decode, open};
use exif::Tag;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};

use super::made_files::{
    as_file, exif_block, field, jpeg, picture, png_with_exif, ratio, read, short, tiff,
};

fn refusal(file: &[u8]) -> String {
    let error = decode(file, "band", &PhotoOptions::default()).expect_err("this is no photo");
    assert_eq!(error.exit_code(), 2);
    error.to_string()
}

#[test]
fn all_eight_orientations_come_out_upright() {
    let upright = picture(7, 4);
    let (w, h) = upright.dimensions();
    for orientation in 1..=8_u16 {
        // Exif 2.32, 4.6.4: where row 0 and column 0 of the stored picture lie.
        let turned = orientation > 4;
        let stored = RgbImage::from_fn(
            if turned { h } else { w },
            if turned { w } else { h },
            |column, row| {
                let (x, y) = match orientation {
                    1 => (column, row),
                    2 => (w - 1 - column, row),
                    3 => (w - 1 - column, h - 1 - row),
                    4 => (column, h - 1 - row),
                    5 => (row, column),
                    6 => (w - 1 - row, column),
                    7 => (w - 1 - row, h - 1 - column),
                    _ => (row, h - 1 - column),
                };
                *upright.get_pixel(x, y)
            },
        );
        let block = exif_block(&[
            field(Tag::Orientation, short(orientation)),
            field(Tag::XResolution, ratio(300, 1)),
            field(Tag::YResolution, ratio(600, 1)),
            field(Tag::ResolutionUnit, short(2)),
        ]);
        let photo = read(&png_with_exif(&stored, block));
        assert_eq!(photo.pixels, upright, "orientation {orientation}");
        let density = photo.densities[0];
        let swapped = if turned {
            (600.0, 300.0)
        } else {
            (300.0, 600.0)
        };
        assert_eq!((density.x_dpi, density.y_dpi), swapped);
    }
}

#[test]
fn every_format_and_depth_gives_the_same_picture() {
    let rgb = DynamicImage::ImageRgb8(picture(31, 17));
    for format in [ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP] {
        assert_eq!(&read(&as_file(&rgb, format)).pixels, rgb.as_rgb8().unwrap());
    }
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        let deep = DynamicImage::ImageRgb16(rgb.to_rgb16());
        assert_eq!(
            &read(&as_file(&deep, format)).pixels,
            rgb.as_rgb8().unwrap()
        );
        let grey = rgb.to_luma8();
        let grey_rgb = DynamicImage::ImageLuma8(grey.clone()).to_rgb8();
        for kind in [
            DynamicImage::ImageLuma8(grey.clone()),
            DynamicImage::ImageLuma16(DynamicImage::ImageLuma8(grey.clone()).to_luma16()),
        ] {
            assert_eq!(read(&as_file(&kind, format)).pixels, grey_rgb);
        }
        let mut clear = rgb.to_rgba8();
        clear.get_pixel_mut(3, 2).0[3] = 0;
        let clear = read(&as_file(&DynamicImage::ImageRgba8(clear), format)).pixels;
        assert_eq!(clear.get_pixel(3, 2), &Rgb([255; 3]));
        assert_eq!(clear.get_pixel(4, 2), picture(31, 17).get_pixel(4, 2));
    }
    let near = |a: &RgbImage, b: &RgbImage, most: u8| {
        assert_eq!(a.dimensions(), b.dimensions());
        assert!(a.iter().zip(b.iter()).all(|(a, b)| a.abs_diff(*b) <= most));
    };
    let smooth = RgbImage::from_fn(33, 18, |x, y| {
        let v = |n: u32| u8::try_from(n).unwrap();
        Rgb([v(60 + 2 * x), v(80 + 3 * y), v(100 + x + y)])
    });
    near(&read(&jpeg(&smooth, None, None)).pixels, &smooth, 6);
    let grey = DynamicImage::ImageRgb8(smooth).to_luma8();
    let file = as_file(&DynamicImage::ImageLuma8(grey.clone()), ImageFormat::Jpeg);
    near(
        &read(&file).pixels,
        &DynamicImage::ImageLuma8(grey).to_rgb8(),
        6,
    );
}

#[test]
fn a_jpeg_of_four_inks_shows_its_colours() {
    let photo = read(include_bytes!("../../testdata/photos/cmyk.jpg"));
    let near = |x: u32, y: u32, colour: [u8; 3]| {
        let seen = photo.pixels.get_pixel(x, y).0;
        let off = seen.iter().zip(colour).map(|(a, b)| a.abs_diff(b)).max();
        assert!(off <= Some(8), "{seen:?} instead of {colour:?}");
    };
    near(7, 7, [255, 255, 255]);
    near(24, 7, [0, 255, 255]);
    near(7, 24, [255, 0, 255]);
    near(24, 24, [0, 0, 0]);
}

#[test]
fn a_cut_off_file_of_any_kind_is_an_error_and_not_grey_rows() {
    let image = picture(160, 120);
    let rgb = DynamicImage::ImageRgb8(image.clone());
    let files = [
        ("JPEG", jpeg(&image, Some(300), None)),
        ("PNG", as_file(&rgb, ImageFormat::Png)),
        ("TIFF", tiff(&image, Vec::new())),
        ("WebP", as_file(&rgb, ImageFormat::WebP)),
    ];
    for (kind, file) in files {
        read(&file);
        for share in [0.3, 0.6, 0.95] {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss,
                reason = "a share of a small length"
            )]
            let keep = (file.len() as f64 * share) as usize;
            let words = refusal(&file[..keep]);
            assert!(words.contains(kind), "{words}");
            assert!(
                words.contains("cut off") || words.contains("again"),
                "{words}"
            );
        }
    }
}

#[test]
fn damaged_files_never_panic() {
    let image = picture(64, 48);
    let rgb = DynamicImage::ImageRgb8(image.clone());
    let block = exif_block(&[
        field(Tag::Orientation, short(6)),
        field(Tag::FNumber, ratio(18, 10)),
        field(Tag::XResolution, ratio(72, 1)),
    ]);
    let files = [
        jpeg(&image, Some(300), Some(block.clone())),
        as_file(&rgb, ImageFormat::Png),
        png_with_exif(&image, block),
        tiff(&image, vec![field(Tag::XResolution, ratio(300, 1))]),
        as_file(&DynamicImage::ImageRgb16(rgb.to_rgb16()), ImageFormat::Tiff),
        as_file(&rgb, ImageFormat::WebP),
        include_bytes!("../../testdata/photos/cmyk.jpg").to_vec(),
    ];
    let options = PhotoOptions {
        max_pixels: 4_000_000,
        ..PhotoOptions::default()
    };
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = move |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        usize::try_from(state % below as u64).unwrap()
    };
    for file in &files {
        for round in 0..120 {
            let mut mutated = file.clone();
            // Half of the damage goes to the headers, where sizes and offsets stand.
            let reach = if round % 2 == 0 {
                file.len()
            } else {
                file.len().min(300)
            };
            for _ in 0..=next(8) {
                let at = next(reach);
                mutated[at] = u8::try_from(next(256)).unwrap();
            }
            if round % 5 == 0 {
                mutated.truncate(next(file.len()));
            }
            let _outcome = decode(&mutated, "damaged", &options);
        }
    }
}

#[test]
fn a_huge_size_in_a_small_file_is_refused_before_decoding() {
    let image = picture(16, 16);
    let mut png = as_file(&DynamicImage::ImageRgb8(image.clone()), ImageFormat::Png);
    png[16..24].copy_from_slice(&[0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0]);
    let mut state = !0_u32;
    for byte in &png[12..29] {
        state ^= u32::from(*byte);
        for _ in 0..8 {
            state = (state >> 1) ^ (0xedb8_8320 & 0_u32.wrapping_sub(state & 1));
        }
    }
    png[29..33].copy_from_slice(&(!state).to_be_bytes());
    assert!(
        refusal(&png).contains("100000 × 100000 pixels"),
        "{}",
        refusal(&png)
    );

    let mut large = jpeg(&image, None, None);
    let frame = large
        .windows(2)
        .position(|pair| pair == [0xff, 0xc0])
        .unwrap();
    large[frame + 5..frame + 9].copy_from_slice(&[0xff, 0xdc, 0xff, 0xdc]);
    assert!(
        refusal(&large).contains("lower resolution"),
        "{}",
        refusal(&large)
    );

    let mut wide = tiff(&image, Vec::new());
    let entry = [0x00, 0x01, 4, 0, 1, 0, 0, 0, 16, 0, 0, 0];
    let at = wide.windows(12).position(|bytes| bytes == entry).unwrap();
    wide[at + 8..at + 12].copy_from_slice(&40_000_000_u32.to_le_bytes());
    assert!(
        refusal(&wide).contains("lower resolution"),
        "{}",
        refusal(&wide)
    );

    let small = PhotoOptions {
        max_pixels: 200,
        ..PhotoOptions::default()
    };
    assert!(decode(&jpeg(&image, None, None), "band", &small).is_err());
}

#[test]
fn what_is_no_photo_is_told_what_to_do() {
    let boxes =
        |brand: &[u8; 4]| [b"\0\0\0\x18ftyp".as_slice(), brand, b"\0\0\0\0mif1heic"].concat();
    for (file, words) in [
        (boxes(b"heic"), "JPEG from the phone's photo app"),
        (boxes(b"mif1"), "is a HEIC picture"),
        (boxes(b"avif"), "is an AVIF picture"),
        (b"\0\0\0\x14ftypisom\0\0\0\0mp42".to_vec(), "film"),
        (b"%PDF-1.7 ...".to_vec(), "PDF"),
        (b"GIF89a...".to_vec(), "GIF"),
        (Vec::new(), "empty"),
        (b"over one, under one\n".to_vec(), "text file"),
        (vec![0; 64], "no picture"),
        (vec![0xff, 0xd8], "cut off"),
    ] {
        let seen = refusal(&file);
        assert!(seen.contains(words), "{seen}");
    }
}

#[test]
fn a_missing_file_a_folder_and_a_good_file_by_path() {
    let folder = tempfile::tempdir().unwrap();
    let options = PhotoOptions::default();
    let missing = open(&folder.path().join("none.jpg"), &options).unwrap_err();
    assert!(matches!(missing, evenfell::Error::File { .. }));
    let words = open(folder.path(), &options).unwrap_err().to_string();
    assert!(words.contains("is a folder"), "{words}");
    for (name, file) in [
        ("a.txt", jpeg(&picture(8, 8), None, None)),
        (
            "b.jpg",
            tiff(&picture(8, 8), vec![field(Tag::Orientation, short(3))]),
        ),
    ] {
        let path = folder.path().join(name);
        std::fs::write(&path, &file).unwrap();
        let photo = open(&path, &options).unwrap();
        let same = decode(&file, name, &options).unwrap();
        assert_eq!(photo.file, name);
        assert_eq!(photo.pixels, same.pixels);
        assert_eq!(photo.sha256, same.sha256);
        assert_eq!(photo.densities, same.densities);
        assert_eq!(photo.sha256.len(), 64);
    }
}
