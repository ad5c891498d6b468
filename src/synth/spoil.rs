//! Pictures that went wrong, each in one way: the measuring has to refuse or warn, never to guess.

use super::camera::{Camera, Glare, Shade};
use super::rng::Rng;
use super::spec::BandSpec;
use crate::geometry::Point;

/// What went wrong with a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spoilage {
    /// The camera moved along the band or across it.
    Motion,
    /// Out of focus.
    Defocus,
    /// Too few pixels to a pick.
    LowResolution,
    /// Taken in too little light.
    Noise,
    /// A clipped spot on the band.
    Glare,
    /// Saved at JPEG quality 20.
    Jpeg20,
    /// One end of the band is out of the picture.
    Cropped,
    /// The shadow of a phone or hand across the band.
    Shadow,
}

impl Spoilage {
    /// Every way, in order.
    pub const ALL: [Self; 8] = [
        Self::Motion,
        Self::Defocus,
        Self::LowResolution,
        Self::Noise,
        Self::Glare,
        Self::Jpeg20,
        Self::Cropped,
        Self::Shadow,
    ];
}

/// The camera as it is, but for one thing that went wrong, by an amount that follows from `seed`:
/// from hardly to hopelessly.
#[must_use]
pub fn spoil(camera: &Camera, spec: &BandSpec, how: Spoilage, seed: u64) -> Camera {
    let mut rng = Rng::fork(seed, 300);
    let mut camera = camera.clone();
    let pick_px = spec.pick_spacing_mm * camera.dpi / 25.4;
    let length = spec.nominal_length_mm();
    let along = Point::new(camera.band_angle.cos(), camera.band_angle.sin());
    let place = |share: f64| {
        let far = share * length;
        Point::new(
            camera.band_middle_mm.x + far * along.x,
            camera.band_middle_mm.y + far * along.y,
        )
    };
    match how {
        Spoilage::Motion => {
            let across = if rng.chance(0.3) {
                std::f64::consts::FRAC_PI_2
            } else {
                0.0
            };
            camera.motion = (
                pick_px * rng.between(0.3, 1.6),
                camera.band_angle + camera.roll + across,
            );
        }
        Spoilage::Defocus => camera.defocus_px = pick_px * rng.between(0.15, 0.7),
        Spoilage::LowResolution => {
            let dpi = (rng.between(2.0, 6.0) * 25.4 / spec.pick_spacing_mm)
                .round()
                .max(20.0);
            camera.dpi = dpi;
            camera.stated_dpi = camera.stated_dpi.map(|_| dpi as u16);
        }
        Spoilage::Noise => camera.noise = rng.between(8.0, 40.0),
        Spoilage::Glare => {
            let at_mm = place(rng.between(-0.35, 0.35));
            camera.light.glare = Some(Glare {
                at_mm,
                radius_mm: rng.between(0.3, 1.0) * spec.nominal_width_mm(),
                strength: rng.between(0.8, 3.0),
            });
        }
        Spoilage::Jpeg20 => camera.jpeg_quality = 20,
        Spoilage::Cropped => {
            let cut = rng.between(0.2, 0.5);
            let lying = along.x.abs() > along.y.abs();
            let side = usize::from(!lying) + 2 * usize::from(rng.chance(0.5));
            camera.crop[side] = cut;
        }
        Spoilage::Shadow => {
            camera.light.shade = Some(Shade {
                at_mm: place(rng.between(-0.2, 0.2)),
                direction: rng.between(-3.0, 3.0),
                soft_mm: rng.between(2.0, 25.0),
                strength: rng.between(0.3, 0.75),
            });
        }
    }
    camera
}
