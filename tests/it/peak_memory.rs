//! How much memory the program takes: read from the process itself, at its peak.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use image::imageops::{FilterType, resize};

use super::made_files::{jpeg, read};

/// A pixel of the photo may cost this much, bytes; and besides …
const A_PIXEL: u64 = 12;
/// … all else this much, bytes.
const ELSE: u64 = 100 << 20;

/// The sample band's scan enlarged by a whole number, and its resolution.
fn enlarged(times: u32) -> (PathBuf, u64, u32) {
    let sample = read(include_bytes!("../../testdata/demo/lamp_pull.jpg")).pixels;
    let (width, height) = (sample.width() * times, sample.height() * times);
    let large = resize(&sample, width, height, FilterType::Nearest);
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("enlarged-{times}.jpg"));
    fs::write(&place, jpeg(&large, None, None)).unwrap();
    (place, u64::from(width) * u64::from(height), 300 * times)
}

/// Runs the program and reads its `VmHWM` until it ends; `None` where the system has no such file.
fn peak_bytes(arguments: &[&str]) -> Option<u64> {
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("evenfell"))
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = None;
    loop {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find(|line| line.starts_with("VmHWM:"));
        if let Some(kib) = line.and_then(|l| l.split_whitespace().nth(1)?.parse::<u64>().ok()) {
            peak = Some(kib << 10);
        }
        if let Some(ended) = child.try_wait().unwrap() {
            assert!(ended.success(), "{ended}");
            return peak;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

#[test]
fn a_large_photo_takes_twelve_bytes_a_pixel_and_a_hundred_mebibytes_at_most() {
    let plan = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/demo/lamp_pull.plan.json");
    for times in [2, 5] {
        let (photo, pixels, dpi) = enlarged(times);
        let scale = format!("{dpi}dpi");
        let arguments = [
            "measure",
            photo.to_str().unwrap(),
            "--scale",
            &scale,
            "--plan",
            plan.to_str().unwrap(),
            "--format",
            "json",
        ];
        let Some(peak) = peak_bytes(&arguments) else {
            eprintln!("not tested: this system doesn't say a process's peak of memory");
            return;
        };
        let most = (A_PIXEL * pixels + ELSE).min(1 << 30);
        assert!(
            peak <= most,
            "{pixels} pixels: {peak} bytes, {most} at most"
        );
        fs::remove_file(photo).unwrap();
    }
}
