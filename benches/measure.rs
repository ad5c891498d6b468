//! How long does a measurement take, against bare decoding of the same photo?
//!
//! `cargo bench` prints each stage and, at the end, their ratios to bare decoding: the sample band
//! enlarged to 12 megapixels, as a scan of known resolution.

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use evenfell::band::{BandHint, BandOptions, trace_band};
use evenfell::measure::{Options, measure};
use evenfell::photo::{Photo, PhotoOptions, decode};
use evenfell::picks::{PickHint, PickOptions, find_picks};
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, View, find_view};
use image::codecs::jpeg::JpegEncoder;
use image::imageops::{self, FilterType};
use image::{ExtendedColorType, RgbImage};

const SCAN: &[u8] = include_bytes!("../testdata/demo/lamp_pull.jpg");
const PLAN: &str = include_str!("../testdata/demo/lamp_pull.plan.json");
/// The sample's own resolution, pixels per inch.
const SAMPLE_DPI: f64 = 300.0;
/// Pixels of the enlarged scan.
const PIXELS: f64 = 12e6;

/// Something to be timed.
type Run<'a> = Box<dyn FnMut() + 'a>;

/// The enlarged scan as a JPEG, with its resolution.
fn enlarged() -> (Vec<u8>, f64) {
    let sample = decode(SCAN, "sample.jpg", &PhotoOptions::default()).expect("the sample decodes");
    let (width, height) = sample.pixels.dimensions();
    let factor = (PIXELS / (f64::from(width) * f64::from(height))).sqrt();
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some thousands"
    )]
    let side = |length: u32| (f64::from(length) * factor).round() as u32;
    let large: RgbImage = imageops::resize(
        &sample.pixels,
        side(width),
        side(height),
        FilterType::CatmullRom,
    );
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 92)
        .encode(
            large.as_raw(),
            large.width(),
            large.height(),
            ExtendedColorType::Rgb8,
        )
        .expect("a picture in memory encodes");
    (bytes, SAMPLE_DPI * factor)
}

fn opened(bytes: &[u8]) -> Photo {
    decode(bytes, "enlarged.jpg", &PhotoOptions::default()).expect("it decodes")
}

fn seen(photo: &Photo, dpi: f64) -> View {
    let request = ScaleRequest::TypedDpi(dpi);
    find_view(photo, &request, &ScaleOptions::default()).expect("the scale is given")
}

/// The shortest of three runs.
fn shortest(mut run: impl FnMut()) -> Duration {
    let time = |run: &mut dyn FnMut()| {
        let start = Instant::now();
        run();
        start.elapsed()
    };
    (0..3).map(|_| time(&mut run)).min().unwrap_or_default()
}

fn stages(criterion: &mut Criterion) {
    let (bytes, dpi) = enlarged();
    let plan = Plan::from_json(PLAN).expect("the sample's plan reads");
    let photo = opened(&bytes);
    let view = seen(&photo, dpi);
    let band = BandHint {
        loom_width_mm: Some(plan.width_in_loom_mm),
        ..BandHint::default()
    };
    let picks = PickHint {
        picks_per_inch: Some(plan.picks_per_inch),
        drawdown: plan.drawdown.clone(),
        ends: Some(plan.ends),
        ..PickHint::default()
    };
    let trace = || trace_band(&photo, &view, &band, &BandOptions::default(), &mut ());
    let traced = trace().expect("the band is found");
    let mut work: Vec<(&str, Run<'_>)> = vec![
        ("decode", Box::new(|| drop(black_box(opened(&bytes))))),
        ("trace the band", Box::new(|| drop(black_box(trace())))),
        (
            "find the picks",
            Box::new(|| {
                drop(black_box(find_picks(
                    &traced,
                    &picks,
                    &PickOptions::default(),
                    &mut (),
                )))
            }),
        ),
        (
            "whole, with a plan",
            Box::new(|| {
                let photo = opened(&bytes);
                let view = seen(&photo, dpi);
                drop(black_box(measure(
                    &photo,
                    &view,
                    Some(&plan),
                    &Options::default(),
                    &mut (),
                )));
            }),
        ),
        (
            "whole, without a plan",
            Box::new(|| {
                let photo = opened(&bytes);
                let view = seen(&photo, dpi);
                drop(black_box(measure(
                    &photo,
                    &view,
                    None,
                    &Options::default(),
                    &mut (),
                )));
            }),
        ),
    ];
    let mut group = criterion.benchmark_group("12 megapixels");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(8));
    for (name, run) in &mut work {
        group.bench_function(*name, |bencher| bencher.iter(&mut *run));
    }
    group.finish();
    let times: Vec<(&str, Duration)> = work
        .iter_mut()
        .map(|(name, run)| (*name, shortest(run)))
        .collect();
    let decoding = times[0].1.as_secs_f64();
    for (name, time) in times {
        println!(
            "{name}: {:.2} × bare decoding",
            time.as_secs_f64() / decoding
        );
    }
}

criterion_group!(benches, stages);
criterion_main!(benches);
