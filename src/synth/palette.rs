//! Yarn colours and kinds to choose from.

use super::rng::Rng;
use super::spec::YarnLook;

/// Dyes of an imagined yarn shelf, sRGB.
const SHELF: [[f64; 3]; 18] = [
    [0.93, 0.90, 0.83],
    [0.86, 0.80, 0.68],
    [0.96, 0.95, 0.93],
    [0.16, 0.34, 0.55],
    [0.10, 0.16, 0.30],
    [0.72, 0.36, 0.22],
    [0.60, 0.13, 0.16],
    [0.82, 0.62, 0.18],
    [0.36, 0.48, 0.24],
    [0.14, 0.30, 0.26],
    [0.45, 0.62, 0.68],
    [0.55, 0.55, 0.54],
    [0.22, 0.21, 0.21],
    [0.42, 0.30, 0.22],
    [0.70, 0.48, 0.55],
    [0.40, 0.25, 0.45],
    [0.62, 0.70, 0.50],
    [0.88, 0.45, 0.20],
];

/// Any colour of the shelf, a little off.
pub(super) fn colour(rng: &mut Rng) -> [f64; 3] {
    let base = *rng.choose(&SHELF);
    near(rng, base)
}

/// A colour close to another.
pub(super) fn near(rng: &mut Rng, base: [f64; 3]) -> [f64; 3] {
    base.map(|c| (c + 0.02 * rng.normal()).clamp(0.04, 0.97))
}

/// A colour that is told from another at a glance.
pub(super) fn against(rng: &mut Rng, other: [f64; 3]) -> [f64; 3] {
    let mut best = colour(rng);
    for _ in 0..20 {
        if apart(best, other) > 0.3 {
            break;
        }
        best = colour(rng);
    }
    best
}

/// Distance of two colours, lightness counted most.
pub(super) fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    let weights = [0.3, 0.5, 0.2];
    (0..3)
        .map(|c| weights[c] * (a[c] - b[c]).powi(2))
        .sum::<f64>()
        .sqrt()
}

/// A yarn of this colour: cotton, wool, linen or silk in its manner.
pub(super) fn yarn(rng: &mut Rng, colour: [f64; 3]) -> YarnLook {
    let woolly = rng.chance(0.3);
    let (hairs, hair_mm) = if woolly {
        (rng.between(0.3, 1.2), 2.2)
    } else {
        (rng.between(0.0, 0.15), 1.2)
    };
    YarnLook {
        colour,
        plies: *rng.choose(&[1, 2, 2, 3, 4]),
        lay: rng.between(1.8, 4.5) * if rng.chance(0.7) { 1.0 } else { -1.0 },
        groove: if woolly {
            rng.between(0.2, 0.5)
        } else {
            rng.between(0.35, 0.9)
        },
        thickness_cv: rng.between(0.01, 0.05),
        thick_mm: rng.between(5.0, 25.0),
        heather: rng.between(0.02, 0.12),
        hairs_per_mm: hairs,
        hair_mm,
        sheen: if woolly { 0.0 } else { rng.between(0.0, 0.5) },
    }
}
