//! What becomes of photos that something spoiled?

use evenfell::geometry::Point;
use evenfell::synth::{self, BandSpec, Camera, Glare};

use super::rates::{Known, Outcome, photographed};

/// What spoils a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Spoil {
    Motion,
    Defocus,
    FewPixels,
    Noise,
    Glare,
    HardJpeg,
}

impl Spoil {
    pub(crate) const ALL: [Self; 6] = [
        Self::Motion,
        Self::Defocus,
        Self::FewPixels,
        Self::Noise,
        Self::Glare,
        Self::HardJpeg,
    ];

    /// The camera of a band, spoiled: from hardly to beyond use, by the seed.
    fn of(self, seed: u64, spec: &BandSpec) -> Camera {
        let mut camera = synth::random_camera(seed, spec);
        // A share of the way from hardly to beyond use.
        let bad = (seed.wrapping_mul(7) + self as u64 * 3) % 10;
        let bad = bad as f64 / 9.0;
        let between = |least: f64, most: f64| least + bad * (most - least);
        let px_a_pick = camera.dpi / 25.4 * spec.pick_spacing_mm;
        match self {
            Self::Motion => camera.motion = (px_a_pick * between(0.4, 1.5), 3.0 * bad),
            Self::Defocus => camera.defocus_px = px_a_pick * between(0.12, 0.5),
            Self::FewPixels => camera.dpi *= (between(6.0, 2.5) / px_a_pick).min(1.0),
            Self::Noise => camera.noise = between(15.0, 45.0),
            Self::Glare => {
                let length = spec.nominal_length_mm();
                camera.light.glare = Some(Glare {
                    at_mm: Point {
                        x: (bad - 0.5) * 0.6 * length,
                        y: 0.0,
                    },
                    radius_mm: 0.2 * length,
                    strength: between(0.8, 1.6),
                });
            }
            Self::HardJpeg => camera.jpeg_quality = 20,
        }
        camera
    }
}

/// A random band, woven without faults, with its plan, its photo spoiled.
pub(crate) fn spoiled(seed: u64, spoil: Spoil) -> Outcome {
    let spec = synth::random_spec(seed);
    photographed(&spoil.of(seed, &spec), &spec, Known::Plan)
}
