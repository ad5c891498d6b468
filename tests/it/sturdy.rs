//! What a rough day does: a full disk, a folder that can't be written, an interrupt, a closed pipe,
//! bad photos among good ones, many photos, and any number of threads.

#![cfg(target_os = "linux")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use image::imageops::{self, FilterType};
use tempfile::TempDir;

/// Files of a result.
const FILES: [&str; 5] = [
    "band.png",
    "marked.png",
    "measurement.json",
    "picks.csv",
    "report.html",
];
/// The longest that anything here may take before the test gives up.
const PATIENCE: Duration = Duration::from_secs(120);

fn program() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin!("evenfell"))
}

/// Runs a line of bash in which `$evenfell` is the program.
fn bash(line: &str) -> Output {
    Command::new("bash")
        .args(["-c", line])
        .env("evenfell", assert_cmd::cargo::cargo_bin!("evenfell"))
        .output()
        .unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn demo_photo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/demo/lamp_pull.jpg")
}

/// The sample band at a third of its size, 100 dpi, as a file.
fn small_photo(dir: &Path) -> PathBuf {
    let photo = image::open(demo_photo()).unwrap().into_rgb8();
    let size = (photo.width() / 3, photo.height() / 3);
    let path = dir.join("small.png");
    imageops::resize(&photo, size.0, size.1, FilterType::Triangle)
        .save(&path)
        .unwrap();
    path
}

/// The first picks of it, which take little time.
fn tiny_photo(dir: &Path) -> PathBuf {
    let photo = image::open(small_photo(dir)).unwrap();
    let path = dir.join("tiny.png");
    photo
        .crop_imm(0, 0, 170, photo.height())
        .save(&path)
        .unwrap();
    path
}

/// So many copies of a photo, each with a name of its own.
fn copies(photo: &Path, dir: &Path, count: usize) -> Vec<PathBuf> {
    let ending = photo.extension().unwrap().to_str().unwrap();
    let copy = |number: usize| {
        let path = dir.join(format!("quay-{number:03}.{ending}"));
        fs::hard_link(photo, &path)
            .or_else(|_| fs::copy(photo, &path).map(drop))
            .unwrap();
        path
    };
    (1..=count).map(copy).collect()
}

/// Every file under a folder with its bytes.
fn contents(dir: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![dir.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(dir).unwrap().to_owned();
                all.insert(name, fs::read(path).unwrap());
            }
        }
    }
    all
}

#[test]
fn a_full_disk_leaves_neither_half_a_file_nor_a_folder() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("demo");
    // No file may grow beyond 200 KiB: the same error as a disk that is full, on any machine.
    let line = format!(
        "trap '' XFSZ; ulimit -f 200; $evenfell demo --out {}",
        out.display()
    );
    let output = bash(&line);
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert!(err(&output).contains("demo/"), "{}", err(&output));
    assert!(!out.exists(), "{:?}", contents(dir.path()).keys());
}

#[test]
fn a_full_disk_leaves_the_old_results_as_they_were() {
    let dir = TempDir::new().unwrap();
    let demo = format!("$evenfell demo --out {}", dir.path().display());
    assert_eq!(bash(&demo).status.code(), Some(0));
    let before = contents(dir.path());
    assert_eq!(before.len(), FILES.len());
    let output = bash(&format!("trap '' XFSZ; ulimit -f 200; {demo}"));
    assert_eq!(output.status.code(), Some(2));
    assert!(contents(dir.path()) == before);
}

#[test]
fn an_output_that_takes_nothing_is_said_and_is_wrong_use() {
    let output = bash("$evenfell schema plan > /dev/full");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("can't be written"),
        "{}",
        err(&output)
    );
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let dir = TempDir::new().unwrap();
    let photo = small_photo(dir.path());
    for out in ["/proc/evenfell-out", photo.to_str().unwrap()] {
        let output = program()
            .arg("measure")
            .arg(&photo)
            .args(["--scale", "100dpi", "--out", out])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{out}");
        assert!(err(&output).contains(out), "{}", err(&output));
    }
}

#[test]
fn a_device_is_written_to_and_not_replaced() {
    let dir = TempDir::new().unwrap();
    let link = dir.path().join("full.svg");
    std::os::unix::fs::symlink("/dev/full", &link).unwrap();
    let output = program()
        .arg("sheet")
        .arg("--out")
        .arg(&link)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("full.svg"), "{}", err(&output));
    let full = fs::metadata("/dev/full").unwrap();
    assert!(!full.is_file(), "the device is still one");
}

#[test]
fn a_starter_plan_is_whole_or_not_there() {
    let dir = TempDir::new().unwrap();
    let plan = dir.path().join("plan.json");
    let line = format!("$evenfell plan --new {}", plan.display());
    let output = bash(&format!("trap '' XFSZ; ulimit -f 0; {line}"));
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert!(contents(dir.path()).is_empty());
    assert_eq!(bash(&line).status.code(), Some(0));
    let written = fs::read(&plan).unwrap();
    let again = bash(&line);
    assert_eq!(again.status.code(), Some(2));
    assert!(err(&again).contains("is there already"));
    assert_eq!(fs::read(&plan).unwrap(), written);
}

#[test]
fn an_interrupt_leaves_whole_results_and_nothing_else() {
    let dir = TempDir::new().unwrap();
    let photos = copies(&demo_photo(), dir.path(), 12);
    let out = dir.path().join("out");
    let mut child = program()
        .arg("measure")
        .args(&photos)
        .args(["--scale", "dpi", "--out"])
        .arg(&out)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let begin = Instant::now();
    while !out.join("quay-001/measurement.json").exists() {
        assert!(begin.elapsed() < PATIENCE, "no photo was measured");
        sleep(Duration::from_millis(5));
    }
    let id = child.id().to_string();
    let told = Command::new("kill").args(["-INT", &id]).status().unwrap();
    assert!(told.success());
    assert_eq!(child.wait().unwrap().code(), Some(130));
    let folders: Vec<PathBuf> = fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert!(folders.len() < photos.len(), "it stopped before the end");
    for folder in folders {
        let files: Vec<PathBuf> = contents(&folder).into_keys().collect();
        assert_eq!(files, FILES.map(PathBuf::from), "{}", folder.display());
    }
}

#[test]
fn closed_pipes_are_quiet() {
    let photo = demo_photo();
    let photo = photo.display();
    for line in [
        format!("$evenfell measure {photo} --scale dpi --format json | head -c 1 > /dev/null"),
        "$evenfell --help | true".to_owned(),
        "$evenfell schema measurement | true".to_owned(),
    ] {
        let output = bash(&format!("{line}; echo ${{PIPESTATUS[0]}}"));
        assert_eq!(String::from_utf8_lossy(&output.stdout), "0\n", "{line}");
        assert_eq!(err(&output), "", "{line}");
    }
    // Nobody hears the message; the exit code still says it, and nothing panics.
    let output = bash("$evenfell measure gone.jpg 2>&1 >/dev/null | true; echo ${PIPESTATUS[0]}");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "2\n");
}

#[test]
fn a_batch_goes_on_past_bad_photos_and_says_at_the_end_which_and_why() {
    let dir = TempDir::new().unwrap();
    let good = small_photo(dir.path());
    let torn = dir.path().join("torn.png");
    fs::write(&torn, &fs::read(&good).unwrap()[..2000]).unwrap();
    let output = program()
        .arg("measure")
        .args([&torn, &good, &dir.path().join("gone.jpg"), &good])
        .args(["--scale", "100dpi"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8_lossy(&output.stdout);
    assert_eq!(text.matches("Scale from").count(), 2, "{text}");
    let said = err(&output);
    let lines: Vec<&str> = said.lines().collect();
    assert_eq!(lines[0], "evenfell: 2 of 4 files failed");
    assert!(
        lines[1].contains("torn.png") && lines[2].contains("gone.jpg"),
        "{said}"
    );
    assert_eq!(lines.len(), 3);
}

#[test]
fn results_are_the_same_bytes_whatever_the_number_of_threads() {
    let dir = TempDir::new().unwrap();
    let small = small_photo(dir.path());
    let mut photos = copies(&small, dir.path(), 5);
    photos.insert(2, dir.path().join("gone.jpg"));
    photos.push(demo_photo());
    let run = |threads: &str| {
        let out = dir.path().join(format!("out-{threads}"));
        let output = program()
            .env("RAYON_NUM_THREADS", threads)
            .arg("measure")
            .args(&photos)
            .args(["--scale", "100dpi", "--format", "json", "--out"])
            .arg(&out)
            .output()
            .unwrap();
        let said = err(&output);
        (output.stdout, said, contents(&out))
    };
    let one = run("1");
    assert_eq!(one.2.len(), FILES.len() * 6, "{}", one.1);
    for threads in ["2", "5"] {
        assert!(run(threads) == one, "{threads} threads");
    }
}

/// The most memory that the program took for so many small photos, KiB.
fn peak_kib(photos: &[PathBuf]) -> u64 {
    let mut child = program()
        .env("RAYON_NUM_THREADS", "2")
        .arg("measure")
        .args(photos)
        .args(["--scale", "100dpi", "--format", "json"])
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    let ended = loop {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = line.and_then(|line| line.trim().strip_suffix(" kB"));
        peak = peak.max(kib.map_or(0, |kib| kib.parse().unwrap()));
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        sleep(Duration::from_millis(2));
    };
    assert_eq!(ended.code(), Some(0));
    peak
}

#[test]
fn memory_does_not_grow_with_the_number_of_photos() {
    let dir = TempDir::new().unwrap();
    let photos = copies(&tiny_photo(dir.path()), dir.path(), 200);
    let few = peak_kib(&photos[..12]);
    let many = peak_kib(&photos);
    assert!(few > 1000, "{few} KiB");
    // The pixels of 200 photos, kept, would be 21 MiB, and all that is made of them many times that.
    assert!(many < few + 12 * 1024, "{few} KiB for 12, {many} for 200");
}
