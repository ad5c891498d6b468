//! Random close-ups of cloth: any weave, no selvedge in view.

use std::f64::consts::{FRAC_PI_2, PI};

use super::camera::{Camera, Light};
use super::drawdowns::{plain, twill};
use super::palette;
use super::rng::Rng;
use super::spec::{BandSpec, Face, Fringe, Turns};
use crate::plan::Drawdown;

/// Most pixels of a close-up.
const LARGEST_MPX: f64 = 0.9;

/// A random cloth and a camera that sees nothing but a piece from its middle, its start at the left
/// or at the bottom: plain weave, twills and satin, balanced or faced, in one colour or two,
/// 12 to 70 picks in view at 5 to 32 pixels a pick, up to 6° askew.
///
/// ```
/// let (spec, camera) = evenfell::synth::random_swatch(3);
/// assert!(camera.frame_mm.is_some() && spec.ends >= 30);
/// ```
#[must_use]
pub fn random_swatch(seed: u64) -> (BandSpec, Camera) {
    let mut rng = Rng::fork(seed, 300);
    let spacing = 25.4 / (6.0 * 8.0_f64.powf(rng.unit()));
    let face = match rng.whole(0, 9) {
        0..=6 => Face::Balanced,
        7 => Face::WeftFaced,
        _ => Face::WarpFaced,
    };
    let end_mm = spacing
        * match face {
            Face::Balanced => rng.between(0.6, 1.5),
            Face::WeftFaced => rng.between(1.4, 2.4),
            Face::WarpFaced => rng.between(0.4, 0.7),
        };
    let in_view = rng.between(12.0, 70.0);
    let high = in_view * spacing;
    let wide = high * rng.between(0.5, 1.3);
    let px = rng
        .between(5.0_f64.ln(), 32.0_f64.ln())
        .exp()
        .min((LARGEST_MPX * 1e6 * spacing * spacing / (high * wide)).sqrt())
        .max(5.0);
    // Enough cloth around the view that no edge shows at six degrees askew.
    let ends = ((1.25 * wide + 0.25 * high) / end_mm + 6.0) as usize;
    let mut spec = BandSpec {
        seed,
        title: "Tide-table cloth".to_owned(),
        drawdown: weave_for(&mut rng, face),
        ends,
        strands: 1,
        picks: (1.25 * in_view + 0.25 * wide / spacing + 8.0) as usize,
        pick_spacing_mm: spacing,
        spacing_cv: rng.between(0.01, 0.08),
        spacing_correlation: rng.between(-0.3, 0.6),
        drift: rng.between(-0.1, 0.1),
        width_in_loom_mm: ends as f64 * end_mm / 0.95,
        draw_in: 0.05,
        face,
        turns: Turns::Flat,
        weft_cover: match face {
            Face::Balanced => rng.between(0.6, 1.0),
            Face::WeftFaced => rng.between(1.15, 1.5),
            Face::WarpFaced => rng.between(0.3, 0.6),
        },
        warp_cover: match face {
            Face::Balanced => rng.between(0.5, 0.95),
            Face::WeftFaced => rng.between(0.15, 0.3),
            Face::WarpFaced => rng.between(1.1, 1.5),
        },
        flatness: rng.between(0.7, 1.0),
        sett_scatter: rng.between(0.0, 0.08),
        slant: 0.02 * rng.normal(),
        zigzag: rng.between(0.0, 0.2),
        creases: rng.between(0.0, 0.03),
        bow_mm: 0.3 * spacing * rng.normal(),
        wobble: rng.between(0.0, 0.05),
        header: None,
        fringe: Fringe {
            length_mm: 0.0,
            scatter: 0.0,
            wander_mm: 0.0,
            kept: 1.0,
            taut_mm: [0.0; 2],
        },
        ..BandSpec::default()
    };
    let weft = palette::colour(&mut rng);
    let warp = if rng.chance(0.4) {
        palette::near(&mut rng, weft)
    } else {
        palette::against(&mut rng, weft)
    };
    spec.weft = palette::yarn(&mut rng, weft);
    spec.warp = palette::yarn(&mut rng, warp);
    if rng.chance(0.3) {
        spec.weft.thickness_cv = rng.between(0.08, 0.2);
        spec.warp.thickness_cv = spec.weft.thickness_cv;
    }
    let camera = camera(&mut rng, seed, (high, wide), px / spacing);
    (spec, camera)
}

/// A camera over the middle of the cloth.
fn camera(rng: &mut Rng, seed: u64, (high, wide): (f64, f64), px_per_mm: f64) -> Camera {
    let stands = rng.chance(0.5);
    let askew = rng.between(-0.1, 0.1);
    Camera {
        dpi: 25.4 * px_per_mm,
        stated_dpi: None,
        band_angle: if stands { -FRAC_PI_2 } else { 0.0 } + askew,
        frame_mm: Some(if stands { (wide, high) } else { (high, wide) }),
        defocus_px: rng.between(0.3, 0.9),
        noise: rng.between(0.5, 4.0),
        light: Light {
            direction: rng.between(-PI, PI),
            elevation: rng.between(0.5, 1.1),
            soft: rng.between(0.3, 0.75),
            exposure: rng.between(0.8, 1.0),
            gradient: rng.between(0.0, 0.2),
            vignette: rng.between(0.0, 0.1),
            ..Light::default()
        },
        jpeg_quality: *rng.choose(&[80, 90, 95]),
        half_colour: rng.chance(0.5),
        seed,
        ..Camera::default()
    }
}

fn weave_for(rng: &mut Rng, face: Face) -> Drawdown {
    let leftward = rng.chance(0.5);
    match (face, rng.whole(0, 9)) {
        (Face::Balanced, 0..=4) | (_, 0..=6) => plain(),
        (Face::Balanced, 9) => satin(),
        _ => {
            let (over, under) = *rng.choose(&[(2, 1), (1, 2), (2, 2), (3, 1), (1, 3)]);
            twill(over, under, leftward)
        }
    }
}

/// Over four, under one, the binding points two ends apart.
fn satin() -> Drawdown {
    square(5, |row, end| (end + 5 * row - 2 * row) % 5 != 0)
}

fn square(size: usize, cell: impl Fn(usize, usize) -> bool) -> Drawdown {
    let rows = (0..size).map(|row| (0..size).map(|end| cell(row, end)).collect());
    Drawdown::new(rows.collect()).unwrap_or_else(plain)
}
