//! Random scans and photos of a band, all of them good enough to be measured.

use std::f64::consts::{FRAC_PI_2, PI};

use super::camera::{Camera, Light, Shade};
use super::ground::Ground;
use super::palette;
use super::rng::Rng;
use super::spec::BandSpec;
use crate::geometry::Point;

/// Fewest pixels a pick.
const LEAST_PX_A_PICK: f64 = 6.0;
/// Resolutions that scanners offer, dots per inch.
const RESOLUTIONS: [u16; 5] = [150, 200, 300, 400, 600];
/// Largest picture, million pixels: keeps long coarse bands off the finest resolutions.
const LARGEST_MPX: f64 = 3.5;

/// A random flatbed scan of a band, lying with its start at the left or standing with it at the
/// bottom, a little turned; any ground, and any resolution with at least six pixels a pick. The
/// true resolution is off the stated one as real scanners' are.
#[must_use]
pub fn random_camera(seed: u64, spec: &BandSpec) -> Camera {
    let mut rng = Rng::fork(seed, 200);
    let stated = resolution(&mut rng, spec);
    let lie = *rng.choose(&[0.0, 0.0, -FRAC_PI_2]);
    let curvature = if rng.chance(0.3) {
        rng.between(-1.0, 1.0) / 2500.0
    } else {
        0.0
    };
    Camera {
        dpi: f64::from(stated),
        axis_error: (0.0012 * rng.normal(), 0.0012 * rng.normal()),
        stated_dpi: Some(stated),
        band_angle: lie + rng.between(-0.05, 0.05),
        curvature,
        margin_mm: rng.between(5.0, 14.0),
        defocus_px: rng.between(0.0, 0.6),
        noise: rng.between(0.4, 3.0),
        light: Light {
            direction: rng.between(-PI, PI),
            elevation: rng.between(0.6, 1.2),
            soft: rng.between(0.3, 0.75),
            exposure: rng.between(0.85, 1.02),
            gradient: rng.between(0.0, 0.12),
            vignette: 0.0,
            tint: [1.0 + 0.03 * rng.normal(), 1.0, 1.0 + 0.03 * rng.normal()],
            glare: None,
            shade: None,
        },
        jpeg_quality: *rng.choose(&[80, 88, 92, 95]),
        half_colour: rng.chance(0.4),
        ground: ground(&mut rng, spec),
        seed,
        ..Camera::default()
    }
}

/// A random photo from a phone that is held over the band nearly level: perspective, lens,
/// vignette, a shadow now and then, and 72 dpi written in the file.
#[must_use]
pub fn random_phone_camera(seed: u64, spec: &BandSpec) -> Camera {
    let mut rng = Rng::fork(seed, 201);
    let scan = random_camera(seed, spec);
    let least = LEAST_PX_A_PICK * 25.4 / spec.pick_spacing_mm;
    let mut light = Light {
        elevation: rng.between(0.5, 1.3),
        gradient: rng.between(0.0, 0.25),
        vignette: rng.between(0.0, 0.35),
        ..scan.light
    };
    if rng.chance(0.25) {
        light.shade = Some(Shade {
            at_mm: Point::new(rng.between(-60.0, 60.0), rng.between(-30.0, 30.0)),
            direction: rng.between(-PI, PI),
            soft_mm: rng.between(15.0, 60.0),
            strength: rng.between(0.05, 0.3),
        });
    }
    Camera {
        dpi: rng.between(1.2 * least, (1.6 * least).max(250.0)),
        axis_error: (0.0, 0.0),
        stated_dpi: Some(72),
        margin_mm: rng.between(15.0, 35.0),
        roll: rng.between(-0.1, 0.1),
        tilt: rng.between(0.0, 0.17),
        tilt_direction: rng.between(-PI, PI),
        distance_mm: Some(rng.between(280.0, 480.0)),
        lens_k1: rng.between(-0.02, 0.02),
        defocus_px: rng.between(0.3, 0.8),
        noise: rng.between(0.8, 4.0),
        half_colour: true,
        light,
        ..scan
    }
}

fn resolution(rng: &mut Rng, spec: &BandSpec) -> u16 {
    let length = spec.nominal_length_mm() + 2.0 * spec.fringe.length_mm + 20.0;
    let area = length * (spec.nominal_width_mm() + 20.0) / 645.16;
    let fits: Vec<u16> = RESOLUTIONS
        .into_iter()
        .filter(|&dpi| f64::from(dpi) * spec.pick_spacing_mm / 25.4 >= LEAST_PX_A_PICK)
        .filter(|&dpi| area * f64::from(dpi).powi(2) <= LARGEST_MPX * 1e6 || dpi == 300)
        .collect();
    if fits.is_empty() {
        600
    } else {
        *rng.choose(&fits)
    }
}

/// Grounds that people have, mostly told from the band at a glance.
fn ground(rng: &mut Rng, spec: &BandSpec) -> Ground {
    let dark_band = spec.weft.colour.iter().sum::<f64>() < 1.2;
    match rng.whole(0, 9) {
        0..=3 => Ground::Paper {
            colour: palette::near(rng, [0.95, 0.945, 0.93]),
            texture: rng.between(0.0, 1.0),
        },
        4 => Ground::Paper {
            colour: if dark_band {
                [0.10, 0.10, 0.11]
            } else {
                [0.955, 0.95, 0.94]
            },
            texture: rng.between(0.2, 1.0),
        },
        5 | 6 => Ground::Felt {
            colour: palette::against(rng, spec.weft.colour),
        },
        7 => Ground::Wood {
            colour: *rng.choose(&[[0.66, 0.50, 0.36], [0.45, 0.32, 0.22], [0.80, 0.70, 0.56]]),
            grain: rng.between(0.4, 1.0),
        },
        8 => Ground::Mat {
            colour: *rng.choose(&[[0.20, 0.40, 0.50], [0.15, 0.36, 0.27], [0.25, 0.26, 0.28]]),
            line: [0.75, 0.85, 0.85],
            grid_mm: *rng.choose(&[10.0, 12.7, 25.4]),
            line_mm: rng.between(0.25, 0.5),
        },
        _ => Ground::Paper {
            colour: palette::against(rng, spec.weft.colour),
            texture: rng.between(0.2, 1.0),
        },
    }
}
