//! The camera or scanner, the light, and how the band lies under it.

use super::ground::Ground;
use crate::geometry::Point;

/// How a picture of a band is taken.
#[derive(Clone, Debug)]
pub struct Camera {
    /// Pixels per inch of the plane in the middle of the picture.
    pub dpi: f64,
    /// How far the true resolution along x and y is from `dpi`, share.
    pub axis_error: (f64, f64),
    /// Resolution that the file states, dots per inch; `None` writes no density.
    pub stated_dpi: Option<u16>,
    /// Direction of the weaving in the picture, radians: 0 has the start at the left, π/2 at the
    /// top, −π/2 at the bottom.
    pub band_angle: f64,
    /// Bend of the band's centre line, 1/mm: positive bends to the weaver's right.
    pub curvature: f64,
    /// Where the band's middle lies on the plane, mm.
    pub band_middle_mm: Point,
    /// Place of the plane in the middle of the picture, mm.
    pub look_at_mm: Point,
    /// Width and height of the picture on the plane, mm; `None` frames the band with `margin_mm`.
    pub frame_mm: Option<(f64, f64)>,
    /// Ground shown around the band and its fringe, mm; below 0 crops them.
    pub margin_mm: f64,
    /// Shares of the picture cut off at the left, top, right and bottom.
    pub crop: [f64; 4],
    /// Turn of the camera about its own axis, radians.
    pub roll: f64,
    /// Angle between the camera's axis and the plane's normal, radians.
    pub tilt: f64,
    /// Direction on the plane that the tilt makes recede, radians.
    pub tilt_direction: f64,
    /// Distance of the camera from the place in the middle, mm; `None` for a scanner.
    pub distance_mm: Option<f64>,
    /// Radial lens term (see [`View`](crate::scale::View)).
    pub lens_k1: f64,
    /// Standard deviation of the defocus, px.
    pub defocus_px: f64,
    /// Length of the motion blur, px, and its direction, radians.
    pub motion: (f64, f64),
    /// Standard deviation of the noise, levels of 255.
    pub noise: f64,
    /// The light.
    pub light: Light,
    /// Quality of the JPEG, 1 to 100.
    pub jpeg_quality: u8,
    /// Whether the JPEG keeps colour at half resolution (4:2:0).
    pub half_colour: bool,
    /// What the band lies on.
    pub ground: Ground,
    /// Seed of ground texture and noise.
    pub seed: u64,
}

/// The light on the plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Light {
    /// Direction in the picture that the light comes from, radians.
    pub direction: f64,
    /// Height of the lamp above the plane, radians.
    pub elevation: f64,
    /// Share of light from all around, 0 to 1.
    pub soft: f64,
    /// Exposure: 1 shows white paper near white.
    pub exposure: f64,
    /// Fall of light across the picture, share of the middle.
    pub gradient: f64,
    /// Fall of light at the corners, share.
    pub vignette: f64,
    /// Colour of the light, gain of red, green and blue.
    pub tint: [f64; 3],
    /// A glare spot.
    pub glare: Option<Glare>,
    /// The shadow of a phone or hand.
    pub shade: Option<Shade>,
}

/// A spot where the light clips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glare {
    /// Its middle on the plane, mm.
    pub at_mm: Point,
    /// Its radius, mm.
    pub radius_mm: f64,
    /// Light added in its middle (1 is white).
    pub strength: f64,
}

/// A soft-edged shadow over one side of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shade {
    /// A place of its edge on the plane, mm.
    pub at_mm: Point,
    /// Direction into the shadow, radians.
    pub direction: f64,
    /// Breadth of its soft edge, mm.
    pub soft_mm: f64,
    /// Share of light lost.
    pub strength: f64,
}

impl Default for Light {
    fn default() -> Self {
        Self {
            direction: -2.0,
            elevation: 0.9,
            soft: 0.55,
            exposure: 1.0,
            gradient: 0.04,
            vignette: 0.0,
            tint: [1.0, 1.0, 1.0],
            glare: None,
            shade: None,
        }
    }
}

impl Default for Camera {
    /// A flatbed scan at 300 dpi on white paper, the start at the left.
    fn default() -> Self {
        Self {
            dpi: 300.0,
            axis_error: (0.0, 0.0),
            stated_dpi: Some(300),
            band_angle: 0.0,
            curvature: 0.0,
            band_middle_mm: Point::default(),
            look_at_mm: Point::default(),
            frame_mm: None,
            margin_mm: 8.0,
            crop: [0.0; 4],
            roll: 0.0,
            tilt: 0.0,
            tilt_direction: 0.0,
            distance_mm: None,
            lens_k1: 0.0,
            defocus_px: 0.0,
            motion: (0.0, 0.0),
            noise: 1.2,
            light: Light::default(),
            jpeg_quality: 92,
            half_colour: false,
            ground: Ground::Paper {
                colour: [0.96, 0.955, 0.945],
                texture: 0.3,
            },
            seed: 1,
        }
    }
}
