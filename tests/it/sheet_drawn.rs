//! The printed sheet, as it is drawn.

use std::fs;
use std::path::Path;

use evenfell::sheet::{Ground, Layout, Paper, check_dpi, write_pdf, write_png, write_svg};
use serde_json::Value;

fn out(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

#[test]
fn the_png_is_exactly_the_page_at_any_resolution() {
    for (paper, dpi, size) in [
        (Paper::A4, 300, (3508, 2480)),
        (Paper::A4, 97, (1134, 802)),
        (Paper::Letter, 300, (3300, 2550)),
        (Paper::Letter, 144, (1584, 1224)),
    ] {
        let mut file = Vec::new();
        write_png(&Layout::new(paper, Ground::White), dpi, &mut file).unwrap();
        let picture = image::load_from_memory(&file).unwrap().into_luma8();
        assert_eq!(picture.dimensions(), size);
        assert_eq!(picture.get_pixel(0, 0).0, [255]);
        let photo = super::made_files::read(&file);
        assert!((photo.densities[0].x_dpi - f64::from(dpi)).abs() < 0.05);
    }
    let mut file = Vec::new();
    assert!(write_png(&Layout::default(), 49, &mut file).is_err());
    assert!(file.is_empty());
    assert_eq!(check_dpi(1201).unwrap_err().exit_code(), 2);
}

#[test]
fn a_general_library_reads_every_marker_of_the_png_with_the_same_corners() {
    let papers = [(Paper::A4, "a4"), (Paper::Letter, "letter")];
    for (paper, name) in papers {
        let mut file = Vec::new();
        write_png(&Layout::new(paper, Ground::Grey), 300, &mut file).unwrap();
        fs::write(out(&format!("sheet-{name}.png")), &file).unwrap();
    }
    for (paper, name) in papers {
        let layout = Layout::new(paper, Ground::Grey);
        let reference = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join(format!("testdata/reference/sheet_{name}_opencv.json"));
        let reference: Value =
            serde_json::from_str(&fs::read_to_string(reference).unwrap()).unwrap();
        let corners = reference["corners_px"].as_object().unwrap();
        let markers = layout.markers();
        assert_eq!(corners.len(), markers.len());
        let (width, _) = paper.size_mm();
        let scale = reference["page_px"][0].as_f64().unwrap() / width;
        let (mut squares, mut count) = (0.0, 0.0);
        for marker in markers {
            let seen = corners[&marker.id.to_string()].as_array().unwrap();
            for (corner, seen) in marker.corners().iter().zip(seen) {
                let dx = corner.x * scale - 0.5 - seen[0].as_f64().unwrap();
                let dy = corner.y * scale - 0.5 - seen[1].as_f64().unwrap();
                // OpenCV refines such corners to some tenths of a pixel, 0.04 mm at the worst.
                assert!(dx.hypot(dy) < 0.5, "marker {}: {dx} {dy}", marker.id);
                squares += dx * dx + dy * dy;
                count += 2.0;
            }
        }
        let rms = f64::sqrt(squares / count);
        // Measured with the version in the reference: 0.185 px an axis, 0.016 mm on the paper.
        assert!(rms < 0.2, "{name}: {rms}");
    }
}

#[test]
fn pdf_and_svg_hold_the_page_its_words_and_no_scaling() {
    for paper in [Paper::A4, Paper::Letter] {
        for ground in [Ground::White, Ground::Grey] {
            let layout = Layout::new(paper, ground);
            let mut pdf = Vec::new();
            write_pdf(&layout, &mut pdf).unwrap();
            fs::write(out(&format!("sheet-{paper:?}-{ground:?}.pdf")), &pdf).unwrap();
            let text = String::from_utf8_lossy(&pdf);
            assert!(text.contains("/PrintScaling /None"));
            let (box_text, bar) = match paper {
                Paper::A4 => ("/MediaBox [0 0 841.8898 595.2756]", "Check bar, 100 mm"),
                Paper::Letter => ("/MediaBox [0 0 792 612]", "Check bar, 100 mm"),
            };
            assert!(text.contains(box_text), "{text}");
            assert!(text.contains(bar));
            let mut svg = Vec::new();
            write_svg(&layout, &mut svg).unwrap();
            let svg = String::from_utf8(svg).unwrap();
            fs::write(out(&format!("sheet-{paper:?}-{ground:?}.svg")), &svg).unwrap();
            let (width, height) = paper.size_mm();
            assert!(svg.contains(&format!("viewBox=\"0 0 {width} {height}\"")));
            assert!(svg.contains("START") && svg.contains("its start at the left"));
            assert!(svg.contains("--print-bar"));
        }
    }
}
