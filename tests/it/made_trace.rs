//! A traced band made up by hand, for the stages after the tracing.

use evenfell::band::{BandTrace, CentreLine, Lean, StraightBand};
use evenfell::geometry::Point;
use evenfell::measurement::ScaleMethod;
use evenfell::photo::Photo;
use evenfell::picks::PickTrack;
use evenfell::scale::View;
use ndarray::Array2;

/// Distance between samples, mm.
pub(crate) const STEP_MM: f64 = 0.1;
/// Ground kept around the cloth, mm.
const MARGIN_MM: f64 = 5.0;

/// A band lying level: its length, half its width on each side at each place, and the lightness of
/// each place (along, across; mm from the start and from the centre line).
#[expect(
    clippy::cast_possible_truncation,
    reason = "a few thousand samples, and lightness"
)]
pub(crate) fn trace(
    length_mm: f64,
    edges: impl Fn(f64) -> (f64, f64),
    lightness: impl Fn(f64, f64) -> f64,
) -> BandTrace {
    let rows = ((length_mm + 2.0 * MARGIN_MM) / STEP_MM).round() as usize;
    let widest = 25.0;
    let columns = (2.0 * widest / STEP_MM).round() as usize;
    let s = |row: usize| row as f64 * STEP_MM - MARGIN_MM;
    let t = |column: usize| column as f64 * STEP_MM - widest;
    let plane = Array2::from_shape_fn((rows, columns), |(row, column)| {
        lightness(s(row), t(column)) as f32
    });
    let sides: Vec<(f64, f64)> = (0..rows).map(|row| edges(s(row))).collect();
    BandTrace {
        lean: Lean::default(),
        light: None,
        straight: StraightBand {
            lab: [
                plane,
                Array2::zeros((rows, columns)),
                Array2::zeros((rows, columns)),
            ],
            step_mm: STEP_MM,
            s0_mm: -MARGIN_MM,
            t0_mm: -widest,
            centre_line: CentreLine {
                origin: Point::new(30.0, 60.0),
                along: Point::new(1.0, 0.0),
                curvature: 0.0,
            },
        },
        left_mm: sides.iter().map(|side| -side.0).collect(),
        right_mm: sides.iter().map(|side| side.1).collect(),
        edge_noise_mm: 0.02,
        edge_jitter_mm: 0.02,
        edge_bias_mm: 0.02,
        selvedges_unseen: None,
        cloth_mm: (0.0, length_mm),
        cloth_u_mm: (0.05, 0.05),
        runs_out: (false, false),
        warnings: Vec::new(),
    }
}

/// Picks at the given spacings from half the first spacing on, ended half the last behind.
pub(crate) fn track(spacing: &[f64]) -> PickTrack {
    let mut centres_mm = vec![spacing[0] / 2.0];
    for step in spacing {
        centres_mm.push(centres_mm[centres_mm.len() - 1] + step);
    }
    let last = centres_mm[centres_mm.len() - 1] + spacing[spacing.len() - 1] / 2.0;
    PickTrack {
        centre_u_mm: vec![0.03; centres_mm.len()],
        noise_u_mm: vec![0.03; centres_mm.len()],
        centres_mm,
        body_mm: (0.0, last),
        body_u_mm: (0.05, 0.05),
        count_confidence: 1.0,
        ..PickTrack::default()
    }
}

/// A level scan at 254 dpi.
pub(crate) fn view() -> View {
    View::level((10.0, 10.0), 0.0015, ScaleMethod::Dpi)
}

/// The photo that the trace pretends to come from.
pub(crate) fn photo() -> Photo {
    Photo {
        file: "strap.png".into(),
        sha256: "00".into(),
        pixels: image::RgbImage::new(40, 30),
        densities: Vec::new(),
        camera: None,
        jpeg_rounding: 0.0,
    }
}
