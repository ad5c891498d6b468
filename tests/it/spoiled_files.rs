//! Strangers' files: truncated, bit-flipped, spliced, wrong-typed, bomb-sized. Each is read or
//! refused with a sentence; none panics, loops or takes memory that it has no pixels for.
//!
//! Files that once did harm stand in `testdata/seeds`, one folder a kind; what is found here is
//! written beside the build, to be put there. `EVENFELL_SPOIL_SECONDS` says how long each kind is
//! tried.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use evenfell::corrections::corrections_from_json;
use evenfell::measure::{Options, measure};
use evenfell::measurement::results_from_json;
use evenfell::photo::{Photo, PhotoOptions, decode};
use evenfell::plan::{Plan, STARTER_PLAN, work_out};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, Rng, weave};
use image::{DynamicImage, ImageFormat, RgbImage};

use super::made_files::{as_file, exif_block, field, jpeg, png_with_exif, ratio, short, tiff};

/// Longest that one file may take: far above any honest one, so that only a loop fails it.
const LONGEST: Duration = Duration::from_secs(60);

fn seconds() -> Duration {
    let text = std::env::var("EVENFELL_SPOIL_SECONDS").unwrap_or_default();
    Duration::from_secs_f64(text.parse().unwrap_or(2.0))
}

/// The kept files of a kind.
fn kept(kind: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("testdata/seeds")
        .join(kind);
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// One to six mistakes in a file.
fn spoil(file: &[u8], others: &[Vec<u8>], rng: &mut Rng) -> Vec<u8> {
    let mut bytes = file.to_vec();
    for _ in 0..rng.whole(1, 6) {
        if bytes.is_empty() {
            return bytes;
        }
        let last = bytes.len() - 1;
        // Headers hold the sizes: half of the mistakes go there.
        let at = if rng.chance(0.5) {
            rng.whole(0, last.min(200))
        } else {
            rng.whole(0, last)
        };
        let end = (at + rng.whole(1, 24)).min(bytes.len());
        match rng.whole(0, 8) {
            0 => bytes.truncate(at),
            1 => bytes[at] ^= 1 << rng.whole(0, 7),
            2 => bytes[at..end].fill(*rng.choose(&[0x00, 0xff, 0x7f, 0x80, b'9', b'['])),
            3 => drop(bytes.drain(at..end)),
            4 => {
                let copy = bytes[at..end].to_vec();
                bytes.splice(at..at, copy);
            }
            5 => {
                let other = &others[rng.whole(0, others.len() - 1)];
                let from = rng.whole(0, other.len().max(1) - 1);
                let to = (from + 40).min(other.len());
                bytes.splice(at..end, other[from..to].iter().copied());
            }
            6 => {
                let words: [&[u8]; 8] = [
                    b"1e400",
                    b"-1",
                    b"null",
                    b"[[[[",
                    b"{\"a\":",
                    b"\"\"",
                    b"99999999999",
                    b"NaN",
                ];
                bytes.splice(at..end, rng.choose(&words).iter().copied());
            }
            7 => bytes.splice(at..at, vec![b'['; 4000]).for_each(drop),
            _ => {
                let value = u8::try_from(rng.whole(0, 255)).unwrap();
                bytes[at] = value;
            }
        }
    }
    bytes
}

/// Tries spoiled copies of the files until the time is up.
fn tried(kind: &str, seeds: &[Vec<u8>], read: impl Fn(&[u8])) {
    let mut all = seeds.to_vec();
    all.extend(kept(kind));
    let all_again = all.clone();
    let check = |bytes: &[u8]| {
        let start = Instant::now();
        let done = catch_unwind(AssertUnwindSafe(|| read(bytes)));
        if done.is_err() || start.elapsed() > LONGEST {
            let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("spoiled.{kind}"));
            fs::write(&place, bytes).unwrap();
            panic!("{} did harm after {:?}", place.display(), start.elapsed());
        }
    };
    for file in &all {
        check(file);
    }
    let mut rng = Rng::fork(2026, 4);
    let end = Instant::now() + seconds();
    let mut count = 0;
    while Instant::now() < end {
        let file = &all[rng.whole(0, all.len() - 1)];
        check(&spoil(file, &all_again, &mut rng));
        count += 1;
    }
    assert!(count > 20, "only {count} {kind} files were tried");
}

/// A sentence is what people are told.
fn is_sentence(words: &str) {
    assert!(words.len() > 12 && words.len() < 5000, "{words}");
    assert!(
        words.contains(' ') && !words.contains('\u{fffd}'),
        "{words}"
    );
}

fn small_scan() -> RgbImage {
    let spec = BandSpec {
        picks: 24,
        ..BandSpec::default()
    };
    let camera = Camera {
        dpi: 60.0,
        margin_mm: 4.0,
        ..Camera::default()
    };
    camera.photograph(&weave(&spec)).pixels
}

#[test]
fn a_spoiled_photo_is_read_or_refused_with_a_sentence() {
    let scan = small_scan();
    let all = DynamicImage::ImageRgb8(scan.clone());
    let tags = || {
        vec![
            field(exif::Tag::Orientation, short(6)),
            field(exif::Tag::XResolution, ratio(300, 1)),
            field(exif::Tag::ResolutionUnit, short(2)),
        ]
    };
    let seeds = [
        jpeg(&scan, Some(60), Some(exif_block(&tags()))),
        png_with_exif(&scan, exif_block(&tags())),
        tiff(&scan, tags()),
        as_file(&all, ImageFormat::WebP),
        as_file(
            &DynamicImage::ImageRgba16(all.to_rgba16()),
            ImageFormat::Png,
        ),
    ];
    let small = PhotoOptions {
        max_pixels: 4_000_000,
        ..PhotoOptions::default()
    };
    tried("photo", &seeds, |bytes| {
        match decode(bytes, "quay.jpg", &small) {
            Ok(photo) => measured(&photo),
            Err(error) => {
                is_sentence(&error.to_string());
                assert_eq!(error.exit_code(), 2);
            }
        }
    });
}

/// What is left of a spoiled photo is measured, or it is said why not.
fn measured(photo: &Photo) {
    let (width, height) = photo.pixels.dimensions();
    if u64::from(width) * u64::from(height) > 300_000 {
        return;
    }
    let request = ScaleRequest::TypedDpi(60.0);
    let view = find_view(photo, &request, &ScaleOptions::default()).unwrap();
    if let Err(error) = measure(photo, &view, None, &Options::default(), &mut ()) {
        is_sentence(&error.to_string());
        assert_eq!(error.exit_code(), 3);
    }
}

#[test]
fn a_spoiled_plan_is_read_or_refused_with_a_sentence() {
    let full = r#"{ "title": "Oar-strap band", "ends": 11, "width_in_loom": "1 3/4 in",
        "woven_length": "9 in", "picks": "10 per inch", "draw_in": "7 %",
        "drawdown": ["o1 u1 o1", "u1 o1 u1"], "finish_on_row": 1, "header_picks": 3,
        "thickness": "2 mm", "warp": { "yarn": "8/4 cotton", "strands": 2, "take_up": "8 %",
        "loom_waste": "8 in", "fringe": "2 in" }, "weft": { "yarn": "560 yd/lb",
        "crimp": "12 %", "working_length": "3 yd" }, "hardware_width": "1 1/2 in",
        "shrinkage": { "length": "3 %", "width": "2 %" },
        "tolerance": { "picks": "8 %", "draw_in": "10 %", "beat": "8 %", "waviness": "0.5 mm" } }"#;
    let seeds = [STARTER_PLAN.into(), full.into()];
    tried("plan", &seeds, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        match Plan::from_json(&text) {
            Ok(plan) => {
                let worked = work_out(&plan);
                assert!(worked.woven_length_mm.is_finite(), "{plan:?}");
            }
            Err(error) => is_sentence(&error.to_string().replace('\u{fffd}', "?")),
        }
    });
}

#[test]
fn a_spoiled_result_is_read_or_refused_with_a_sentence() {
    let seeds = [include_bytes!("../../testdata/golden/measurement.json").to_vec()];
    tried("result", &seeds, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        if let Err(error) = results_from_json("result.json", &text) {
            is_sentence(&error.to_string().replace('\u{fffd}', "?"));
        }
    });
}

#[test]
fn spoiled_corrections_are_read_or_refused_with_a_sentence() {
    let full = br#"{ "schema": "evenfell/corrections/1", "start": "left",
        "body": { "from_mm": 2.5, "to_mm": 140.0 },
        "selvedges": [ { "side": "left", "within_mm": 1.0,
            "places": [ { "at_mm": 1.0, "from_line_mm": 10.0 } ] } ],
        "inserted_picks_mm": [ 12.5 ], "deleted_picks": [ 3, 4 ] }"#;
    tried("corrections", &[full.to_vec()], |bytes| {
        let text = String::from_utf8_lossy(bytes);
        if let Err(error) = corrections_from_json("corrections.json", &text) {
            is_sentence(&error.to_string().replace('\u{fffd}', "?"));
        }
    });
}

#[test]
fn a_picture_that_says_it_is_enormous_is_refused_before_its_memory_is_taken() {
    let scan = small_scan();
    let mut png = Vec::new();
    DynamicImage::ImageRgb8(scan.clone())
        .write_to(&mut std::io::Cursor::new(&mut png), ImageFormat::Png)
        .unwrap();
    // Width and height stand behind the signature and the header's name; its check sum follows.
    for (width, height) in [(100_000_u32, 100_000_u32), (u32::MAX, 2), (20_000, 20_000)] {
        let mut bomb = png.clone();
        bomb[16..20].copy_from_slice(&width.to_be_bytes());
        bomb[20..24].copy_from_slice(&height.to_be_bytes());
        let sum = crc32(&bomb[12..29]);
        bomb[29..33].copy_from_slice(&sum.to_be_bytes());
        refused_as_too_large(&bomb);
    }
    let mut bomb = jpeg(&scan, None, None);
    let frame = bomb
        .windows(2)
        .position(|pair| pair == [0xff, 0xc0] || pair == [0xff, 0xc1])
        .unwrap();
    bomb[frame + 5..frame + 9].fill(0xff);
    refused_as_too_large(&bomb);
}

fn refused_as_too_large(bytes: &[u8]) {
    let words = decode(bytes, "bomb", &PhotoOptions::default())
        .unwrap_err()
        .to_string();
    assert!(
        words.contains("million is the most") || words.contains("memory"),
        "{words}"
    );
}

/// The check sum of a PNG's chunk (ISO 3309).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
            (sum >> 1) ^ (0xedb8_8320 & (sum & 1).wrapping_neg())
        })
    })
}

#[test]
fn the_command_line_goes_past_strangers_files_and_says_what_is_wrong_with_each() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("strangers");
    fs::create_dir_all(&folder).unwrap();
    let scan = jpeg(&small_scan(), Some(60), None);
    let flat = jpeg(
        &RgbImage::from_pixel(300, 200, image::Rgb([200; 3])),
        Some(60),
        None,
    );
    let files: [(&str, &[u8]); 7] = [
        ("cut.jpg", &scan[..scan.len() / 2]),
        ("empty.jpg", b""),
        ("words.jpg", b"high tide at noon, bring the rope"),
        ("pattern.pdf", b"%PDF-1.7 drawdown"),
        ("plan.jpg", STARTER_PLAN.as_bytes()),
        ("zeros.png", &[0; 4096]),
        ("paper.jpg", &flat),
    ];
    let mut command = crate::program::evenfell();
    command.arg("measure").args(["--format", "json"]);
    for (name, bytes) in files {
        fs::write(folder.join(name), bytes).unwrap();
        command.arg(folder.join(name));
    }
    let output = command.assert().code(3).get_output().clone();
    let out = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<serde_json::Value> = out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(lines.len(), files.len());
    for line in &lines {
        is_sentence(line["error"].as_str().unwrap());
    }
    assert!(!String::from_utf8_lossy(&output.stderr).contains("panicked"));
}
