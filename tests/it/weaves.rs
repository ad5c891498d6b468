//! Pictures of real cloth, from packages that anyone can install; counted by eye.
//!
//! `testdata/README.md` says how each was counted. They aren't carried along: `.ci/run` fetches the
//! packages, and a test that misses one fails where `CI` is set and says so elsewhere.

use std::path::{Path, PathBuf};

use base64::Engine;
use evenfell::measure::{Options, measure};
use evenfell::measurement::Measurement;
use evenfell::photo::{PhotoOptions, open};
use evenfell::scale::{ScaleOptions, find_view};
use evenfell::swatch::SwatchRequest;
use evenfell::{Error, band::StartEnd};
use image::{Rgb, RgbImage};
use tempfile::TempDir;

/// Resolution that the pictures are taken at for the test, dots per inch: 100 px are 10 mm.
const DPI: &str = "254dpi";

/// A file of a package, where the package is at hand.
fn file_of(package: &str, path: &str) -> Option<PathBuf> {
    let unpacked = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/weaves");
    let places = [
        PathBuf::from(path),
        unpacked.join(path.trim_start_matches('/')),
    ];
    let found = places.into_iter().find(|place| place.exists());
    if found.is_none() {
        let words = format!("{path} of Debian's {package} is missing: .ci/run fetches it");
        assert!(std::env::var_os("CI").is_none(), "{words}");
        eprintln!("skipped: {words}");
    }
    found
}

/// The whole picture as a swatch.
fn swatch(path: &Path, start: StartEnd) -> Result<Measurement, Error> {
    let photo = open(path, &PhotoOptions::default())?;
    let view = find_view(&photo, &DPI.parse()?, &ScaleOptions::default())?;
    let options = Options {
        start: Some(start),
        swatch: Some(SwatchRequest::Whole),
        ..Options::default()
    };
    measure(&photo, &view, None, &options, &mut ())
}

/// Holds count, length in picks and picks per inch of a picture `px` long to what was counted.
fn holds(path: &Path, start: StartEnd, px: f64, counted: f64, within: f64) {
    let m = swatch(path, start).unwrap();
    let picks = m.picks.as_ref().unwrap();
    let rows = m.swatch.as_ref().unwrap().length_in_picks;
    let count = f64::from(picks.count.unwrap());
    // A picture's edges cut picks anywhere: those whose middle is in view are up to one off.
    assert!(
        (count - counted).abs() <= within.max(1.0),
        "{count} for {counted}"
    );
    assert!(
        (rows.value - counted).abs() <= within,
        "{rows:?} for {counted}"
    );
    let by_density = picks.per_inch.value * px / 254.0;
    assert!(
        (by_density - counted).abs() <= within,
        "{by_density} for {counted}"
    );
    assert_eq!(picks.positions_mm.len(), picks.count.unwrap() as usize);
    for missing in ["width", "draw_in", "selvedges", "length"] {
        assert!(m.unmeasured.iter().any(|u| u.what == missing), "{missing}");
    }
}

#[test]
fn ribbed_canvas_of_mypaint_data_extras_reads_72_rows_within_one_from_either_end() {
    let path = "/usr/share/mypaint/backgrounds/ramon/HR_Canvas 02.png";
    if let Some(path) = file_of("mypaint-data-extras", path) {
        holds(&path, StartEnd::Bottom, 512.0, 72.0, 1.0);
        holds(&path, StartEnd::Top, 512.0, 72.0, 1.0);
    }
}

#[test]
fn pale_canvas_of_mypaint_data_extras_reads_71_rows_within_two() {
    let path = "/usr/share/mypaint/backgrounds/ramon/HR_Canvas 01.png";
    if let Some(path) = file_of("mypaint-data-extras", path) {
        holds(&path, StartEnd::Bottom, 512.0, 71.0, 2.0);
    }
}

#[test]
fn cork_of_mypaint_data_extras_shows_no_weave() {
    let path = "/usr/share/mypaint/backgrounds/ramon/HR_Cork.png";
    if let Some(path) = file_of("mypaint-data-extras", path) {
        for start in [StartEnd::Left, StartEnd::Bottom] {
            let error = swatch(&path, start).unwrap_err();
            assert_eq!(error.exit_code(), 3, "{start:?}: {error}");
        }
    }
}

/// A bitmap of Inkscape's patterns, written out as a picture.
fn inkscape_cloth(dir: &Path) -> Option<PathBuf> {
    let file = file_of("inkscape", "/usr/share/inkscape/paint/patterns.svg")?;
    let text = std::fs::read_to_string(file).unwrap();
    let from = text.find("Cloth (bitmap)").unwrap();
    let data = "data:image/png;base64,";
    let from = from + text[from..].find(data).unwrap() + data.len();
    let until = from + text[from..].find('"').unwrap();
    let letters: String = text[from..until].split_whitespace().collect();
    let bytes = base64::engine::general_purpose::STANDARD
        .decode(letters)
        .unwrap();
    let path = dir.join("cloth.png");
    std::fs::write(&path, bytes).unwrap();
    Some(path)
}

#[test]
fn plain_weave_among_inkscapes_patterns_reads_42_rows_one_way_and_44_the_other() {
    let dir = TempDir::new().unwrap();
    if let Some(path) = inkscape_cloth(dir.path()) {
        holds(&path, StartEnd::Bottom, 187.0, 42.0, 1.0);
        holds(&path, StartEnd::Left, 186.0, 44.0, 1.0);
    }
}

/// A pattern file of GIMP (a header of big-endian numbers, then pixels), and its bytes a pixel.
fn gimp_pixels(path: &Path) -> (RgbImage, usize) {
    let bytes = std::fs::read(path).unwrap();
    let number = |k: usize| u32::from_be_bytes(bytes[4 * k..4 * k + 4].try_into().unwrap());
    let (header, width, height, deep) = (number(0) as usize, number(2), number(3), number(4));
    let deep = deep as usize;
    assert!([1, 3, 4].contains(&deep), "{}: {deep}", path.display());
    let pixels = RgbImage::from_fn(width, height, |x, y| {
        let pixel = &bytes[header + deep * (y * width + x) as usize..][..deep];
        Rgb([0, 1, 2].map(|c| pixel[c.min(deep - 1)]))
    });
    (pixels, deep)
}

/// GIMP's burlap, written out as a picture.
fn gimp_pattern(dir: &Path) -> Option<PathBuf> {
    let file = file_of(
        "gimp-data",
        "/usr/share/gimp/2.0/patterns/Fabric/burlap.pat",
    )?;
    let path = dir.join("burlap.png");
    let (pixels, deep) = gimp_pixels(&file);
    assert_eq!(deep, 3, "three bytes a pixel");
    pixels.save(&path).unwrap();
    Some(path)
}

#[test]
fn burlap_among_gimps_patterns_reads_6_rows_one_way_and_7_the_other() {
    let dir = TempDir::new().unwrap();
    if let Some(path) = gimp_pattern(dir.path()) {
        holds(&path, StartEnd::Bottom, 96.0, 5.9, 0.3);
        holds(&path, StartEnd::Left, 96.0, 6.9, 0.3);
    }
}

#[test]
fn open_cloth_of_krita_data_reads_32_rows_both_ways() {
    let path = "/usr/share/krita/patterns/02b_WoofTissue.png";
    if let Some(path) = file_of("krita-data", path) {
        for start in [StartEnd::Left, StartEnd::Top] {
            holds(&path, start, 512.0, 32.0, 0.4);
        }
    }
}

#[test]
fn rough_canvas_of_krita_data_reads_100_rows_within_two() {
    let path = "/usr/share/krita/patterns/02_rough-canvas.png";
    if let Some(path) = file_of("krita-data", path) {
        holds(&path, StartEnd::Left, 512.0, 100.0, 2.0);
    }
}

#[test]
fn canvas_of_krita_data_with_three_pixels_a_pick_is_refused_for_its_fineness() {
    let path = "/usr/share/krita/patterns/01_canvas.png";
    if let Some(path) = file_of("krita-data", path) {
        let error = swatch(&path, StartEnd::Top).unwrap_err();
        assert_eq!(error.exit_code(), 3);
        assert!(error.to_string().contains("covers only"), "{error}");
    }
}

/// Pictures of stone, wood, paper, sky and drawn textures, written out where they aren't pictures yet.
fn things_not_woven(dir: &Path) -> Vec<PathBuf> {
    let folders = [
        (
            "mypaint-data-extras",
            "/usr/share/mypaint/backgrounds/ramon/HR_Cork.png",
        ),
        (
            "krita-data",
            "/usr/share/krita/patterns/14_texture-rock.png",
        ),
        (
            "gimp-data",
            "/usr/share/gimp/2.0/patterns/Animal/leather.pat",
        ),
        ("gimp-data", "/usr/share/gimp/2.0/patterns/Paper/paper.pat"),
        (
            "gimp-data",
            "/usr/share/gimp/2.0/patterns/Sky/starfield.pat",
        ),
        ("gimp-data", "/usr/share/gimp/2.0/patterns/Stone/slate.pat"),
        ("gimp-data", "/usr/share/gimp/2.0/patterns/Water/rain.pat"),
        ("gimp-data", "/usr/share/gimp/2.0/patterns/Wood/bark.pat"),
    ];
    let mut pictures = Vec::new();
    for (package, one) in folders {
        let Some(one) = file_of(package, one) else {
            return Vec::new();
        };
        let mut files: Vec<PathBuf> = std::fs::read_dir(one.parent().unwrap())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        files.sort();
        for file in files {
            let name = file.file_stem().unwrap().to_string_lossy().into_owned();
            let cloth = ["canvas", "WoofTissue"]
                .iter()
                .any(|c| name.to_lowercase().contains(&c.to_lowercase()));
            match file.extension().and_then(|e| e.to_str()) {
                Some("png") if !cloth => pictures.push(file),
                Some("pat") if package == "gimp-data" => {
                    let path = dir.join(format!("{name}.png"));
                    gimp_pixels(&file).0.save(&path).unwrap();
                    pictures.push(path);
                }
                _ => {}
            }
        }
    }
    pictures
}

#[test]
fn of_wood_stone_paper_and_drawn_textures_of_three_packages_hardly_any_is_counted_without_a_warning()
 {
    let dir = TempDir::new().unwrap();
    let pictures = things_not_woven(dir.path());
    if pictures.is_empty() {
        return;
    }
    let ways = pictures
        .iter()
        .flat_map(|path| [StartEnd::Left, StartEnd::Top].map(|start| (path, start)));
    let (mut looked_at, mut refused, mut unsaid) = (0, 0, Vec::new());
    for (path, start) in ways {
        looked_at += 1;
        match swatch(path, start) {
            Err(_) => refused += 1,
            Ok(m) if m.warnings.is_empty() => unsaid.push((path.file_name().unwrap(), start)),
            Ok(_) => {}
        }
    }
    println!(
        "{looked_at} looked at, {refused} refused, {} counted without a warning: {unsaid:?}",
        unsaid.len()
    );
    assert!(looked_at >= 100, "{looked_at}");
    assert!(3 * refused >= 2 * looked_at, "{refused} of {looked_at}");
    assert!(20 * unsaid.len() <= looked_at, "{unsaid:?}");
}
