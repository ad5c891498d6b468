//! How long does a measurement take, against bare decoding of the same photo?
//!
//! `cargo bench` prints, as ratios to bare decoding of the same JPEG of 12 megapixels, each stage
//! and the whole by scan, by the printed sheet and without a plan; then how the whole grows with
//! pixels and with picks. Each time is the shortest of some runs: what disturbs a run only adds.

use std::hint::black_box;
use std::io::Cursor;
use std::sync::Arc;
use std::time::Instant;

use evenfell::geometry::Point;
use evenfell::markers;
use evenfell::measure::{Options, Seen, figures_of, look, measure};
use evenfell::photo::{Photo, PhotoOptions, decode};
use evenfell::picks::{PickHint, PickOptions, find_picks};
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, View, find_view};
use evenfell::sheet::{Layout, write_png};
use evenfell::synth::{BandSpec, Camera, Ground, weave};
use image::codecs::jpeg::JpegEncoder;
use image::imageops::{self, FilterType};
use image::{ExtendedColorType, ImageFormat, RgbImage};

const SCAN: &[u8] = include_bytes!("../testdata/demo/lamp_pull.jpg");
const PLAN: &str = include_str!("../testdata/demo/lamp_pull.plan.json");
/// The sample's own resolution, pixels per inch.
const SAMPLE_DPI: f64 = 300.0;

/// Seconds of the shortest of `runs` runs.
fn shortest(runs: u32, mut run: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..runs {
        let start = Instant::now();
        run();
        best = best.min(start.elapsed().as_secs_f64());
    }
    best
}

fn jpeg(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (width, height) = picture.dimensions();
    JpegEncoder::new_with_quality(&mut bytes, 92)
        .encode(picture.as_raw(), width, height, ExtendedColorType::Rgb8)
        .expect("a picture in memory encodes");
    bytes
}

fn bare(bytes: &[u8]) -> RgbImage {
    image::load(Cursor::new(bytes), ImageFormat::Jpeg)
        .expect("it decodes")
        .into_rgb8()
}

fn opened(bytes: &[u8]) -> Photo {
    decode(bytes, "photo.jpg", &PhotoOptions::default()).expect("it decodes")
}

/// The sample band's scan enlarged to so many megapixels, with its resolution.
fn enlarged(megapixels: f64) -> (Vec<u8>, f64) {
    let sample = opened(SCAN).pixels;
    let (width, height) = sample.dimensions();
    let factor = (1e6 * megapixels / (f64::from(width) * f64::from(height))).sqrt();
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some thousands"
    )]
    let side = |length: u32| (f64::from(length) * factor).round() as u32;
    let large = imageops::resize(&sample, side(width), side(height), FilterType::Triangle);
    (jpeg(&large), SAMPLE_DPI * factor)
}

/// A band on the printed sheet, photographed with 12 megapixels.
fn on_the_sheet() -> (Vec<u8>, Plan) {
    let layout = Layout::default();
    let mut page = Vec::new();
    write_png(&layout, 300, &mut page).expect("memory takes it");
    let page = image::load_from_memory(&page)
        .expect("it decodes")
        .into_rgb8();
    let spec = BandSpec::default();
    let (middle, size_mm) = (layout.window().centre(), layout.paper.size_mm());
    let camera = Camera {
        dpi: 25.4 * 4032.0 / 330.0,
        stated_dpi: None,
        band_middle_mm: middle,
        look_at_mm: Point::new(0.5 * size_mm.0, 0.5 * size_mm.1),
        frame_mm: Some((330.0, 330.0 * 3024.0 / 4032.0)),
        tilt: 0.1,
        distance_mm: Some(250.0),
        ground: Ground::Page {
            picture: Arc::new(page),
            size_mm,
            corner_mm: (0.0, 0.0),
            table: [0.42, 0.31, 0.22],
        },
        ..Camera::default()
    };
    (jpeg(&camera.photograph(&weave(&spec)).pixels), spec.plan())
}

fn view(photo: &Photo, request: &ScaleRequest) -> View {
    find_view(photo, request, &ScaleOptions::default()).expect("the scale is there")
}

/// From the file's bytes to the result.
fn whole(bytes: &[u8], request: &ScaleRequest, plan: Option<&Plan>) {
    let photo = opened(bytes);
    let view = view(&photo, request);
    let result = measure(&photo, &view, plan, &Options::default(), &mut ());
    black_box(result.expect("the band is measured"));
}

fn line(what: &str, seconds: f64, decoding: f64) {
    println!(
        "  {what:<34}{:7.0} ms  {:5.2} × bare decoding",
        1e3 * seconds,
        seconds / decoding
    );
}

fn by_scan() {
    let (bytes, dpi) = enlarged(12.0);
    let plan = Plan::from_json(PLAN).expect("the sample's plan reads");
    let request = ScaleRequest::TypedDpi(dpi);
    let photo = opened(&bytes);
    let view = view(&photo, &request);
    let picks = PickHint {
        picks_per_inch: Some(plan.picks_per_inch),
        drawdown: plan.drawdown.clone(),
        ends: Some(plan.ends),
        ..PickHint::default()
    };
    let options = Options::default();
    let look_at = || look(&photo, &view, Some(&plan), &options, &mut ()).expect("a band");
    let looked = look_at();
    let find = || find_picks(&looked.trace, &picks, &PickOptions::default(), &mut ());
    let figures = || {
        let seen = Seen {
            photo: &photo,
            view: &view,
            trace: &looked.trace,
            track: looked.found.track.as_ref(),
        };
        figures_of(seen, Some(&plan), &options, Vec::new(), Vec::new())
    };
    println!("A scan of 12 megapixels");
    let decoding = shortest(7, || drop(black_box(bare(&bytes))));
    line("bare decoding", decoding, decoding);
    let time = |what: &str, run: &mut dyn FnMut()| line(what, shortest(7, run), decoding);
    time("open (decode, hash, EXIF)", &mut || {
        drop(black_box(opened(&bytes)))
    });
    time("trace the band and find the picks", &mut || {
        drop(black_box(look_at()))
    });
    time("  of it, find the picks", &mut || drop(black_box(find())));
    time("figures and findings", &mut || drop(black_box(figures())));
    time("the whole", &mut || whole(&bytes, &request, Some(&plan)));
    time("the whole, without a plan", &mut || {
        whole(&bytes, &request, None)
    });
}

fn by_sheet() {
    let (bytes, plan) = on_the_sheet();
    println!("A phone's photo of the sheet, 12 megapixels");
    let decoding = shortest(7, || drop(black_box(bare(&bytes))));
    line("bare decoding", decoding, decoding);
    let time = |what: &str, run: &mut dyn FnMut()| line(what, shortest(7, run), decoding);
    let photo = opened(&bytes);
    time("find and refine the markers", &mut || {
        drop(black_box(markers::find(&photo.pixels, 10)));
    });
    let request = ScaleRequest::Auto;
    time("the whole scale", &mut || {
        drop(black_box(view(&photo, &request)))
    });
    time("the whole", &mut || whole(&bytes, &request, Some(&plan)));
}

fn growth_with_pixels() {
    println!("Growth with pixels, by scan");
    let plan = Plan::from_json(PLAN).expect("the sample's plan reads");
    for megapixels in [3.0, 12.0, 48.0, 108.0] {
        let (bytes, dpi) = enlarged(megapixels);
        let decoding = shortest(2, || drop(black_box(bare(&bytes))));
        let request = ScaleRequest::TypedDpi(dpi);
        let seconds = shortest(2, || whole(&bytes, &request, Some(&plan)));
        println!(
            "  {megapixels:>4.0} megapixels {:7.0} ms  {:5.1} ns a pixel  {:5.2} × bare decoding",
            1e3 * seconds,
            1e3 * seconds / megapixels,
            seconds / decoding
        );
    }
}

fn growth_with_picks() {
    println!("Growth with picks, 150 dpi");
    for picks in [60, 120, 240, 480] {
        let spec = BandSpec {
            picks,
            ..BandSpec::default()
        };
        let camera = Camera {
            dpi: 150.0,
            ..Camera::default()
        };
        let bytes = jpeg(&camera.photograph(&weave(&spec)).pixels);
        let (request, plan) = (ScaleRequest::TypedDpi(150.0), spec.plan());
        let seconds = shortest(3, || whole(&bytes, &request, Some(&plan)));
        println!(
            "  {picks:>4} picks {:7.0} ms  {:5.2} ms a pick",
            1e3 * seconds,
            1e3 * seconds / f64::from(u32::try_from(picks).unwrap_or(u32::MAX))
        );
    }
}

fn main() {
    by_scan();
    by_sheet();
    growth_with_pixels();
    growth_with_picks();
}
