//! How much longer is a pick than the cloth is wide, where nobody unravelled one?
//!
//! # Method
//! F. T. Peirce, "The geometry of cloth structure", *J. Text. Inst.* 28 (1937) T45: round yarns
//! that don't stretch, each bent round the other and straight between. With D the sum of both
//! diameters, p the spacing of the threads crossed and θ the angle of the straight part, the
//! crimp height is h = p tan θ + D − D / cos θ and the length l = D θ + (p − D sin θ) / cos θ.
//! 1. Warp and weft share the height: h(warp) + h(weft) = D.
//! 2. Where the warp's take-up is known it gives the warp's height, and the weft's is the rest.
//! 3. Else the weft's height lies anywhere from what the warp can't take (it jams at
//!    sin θ = p / D) to what the weft itself can: the middle is the estimate, the whole range its
//!    interval.
//! 4. In weaves with floats the weft bends only where it crosses from face to back: the crimp is
//!    scaled by the crossings per end.
//!
//! # Limits
//! Real yarns flatten, and soft ones a good deal; the diameters from yarn sizes are good to a
//! tenth. The interval allows for the diameters, not for flattening.

use std::f64::consts::FRAC_PI_2;

use crate::measurement::Quantity;

/// How far diameters may be off, share: yarn sizes say little of twist and fibre.
const DIAMETER_DOUBT: f64 = 0.1;
/// Halvings of the angle's bracket: to the last digit of a float.
const HALVINGS: usize = 60;

/// What the geometry of a cloth is reckoned from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClothGeometry {
    /// Distance of neighbouring ends, mm.
    pub end_spacing_mm: f64,
    /// Distance of neighbouring picks, mm.
    pub pick_spacing_mm: f64,
    /// Diameter of an end and of a pick together, mm.
    pub diameters_mm: f64,
    /// How often the weft crosses from face to back for each end passed: 1 for plain weave.
    pub crossings_per_end: f64,
    /// The warp's take-up, (D − F)/D, where it is known.
    pub take_up: Option<f64>,
}

/// The weft's crimp by Peirce's geometry, % of the width it lies in; `None` where round yarns
/// can't lie that close.
///
/// ```
/// use evenfell::yarn::{ClothGeometry, estimate_weft_crimp};
/// let crimp = estimate_weft_crimp(&ClothGeometry {
///     end_spacing_mm: 4.0,
///     pick_spacing_mm: 2.5,
///     diameters_mm: 2.0,
///     crossings_per_end: 1.0,
///     take_up: Some(0.08),
/// })
/// .unwrap();
/// assert!(crimp.value > 1.0 && crimp.value < 13.0);
/// ```
#[must_use]
pub fn estimate_weft_crimp(cloth: &ClothGeometry) -> Option<Quantity> {
    let possible = [
        cloth.end_spacing_mm,
        cloth.pick_spacing_mm,
        cloth.diameters_mm,
    ]
    .iter()
    .all(|length| length.is_finite() && *length > 0.0);
    if !possible {
        return None;
    }
    let (low, high) = crimp_range(cloth, cloth.diameters_mm)?;
    let middle = f64::midpoint(low, high);
    let moved = [1.0 - DIAMETER_DOUBT, 1.0 + DIAMETER_DOUBT]
        .iter()
        .filter_map(|factor| crimp_range(cloth, cloth.diameters_mm * factor))
        .map(|(low, high)| (f64::midpoint(low, high) - middle).abs())
        .fold(0.0, f64::max);
    let to_percent = 100.0 * cloth.crossings_per_end;
    Some(Quantity {
        value: middle * to_percent,
        u95: (f64::midpoint(high, -low).hypot(moved) * to_percent).max(0.1),
    })
}

/// Least and greatest crimp that the geometry leaves to the weft of a plain weave, fractions.
fn crimp_range(cloth: &ClothGeometry, diameters_mm: f64) -> Option<(f64, f64)> {
    let weft = Thread {
        spacing_mm: cloth.end_spacing_mm,
        diameters_mm,
    };
    let warp = Thread {
        spacing_mm: cloth.pick_spacing_mm,
        diameters_mm,
    };
    let (low, high) = match cloth.take_up {
        Some(take_up) => {
            let share = cloth.crossings_per_end.clamp(0.05, 1.0);
            let crimp = take_up / (1.0 - take_up) / share;
            let height = diameters_mm - warp.height(warp.angle_of_crimp(crimp)?);
            (height.max(0.0), height.max(0.0))
        }
        None => (
            (diameters_mm - warp.height(warp.jam())).max(0.0),
            weft.height(weft.jam()).min(diameters_mm),
        ),
    };
    if low > high {
        return None;
    }
    Some((
        weft.crimp(weft.angle_of_height(low)?),
        weft.crimp(weft.angle_of_height(high)?),
    ))
}

/// One thread in Peirce's geometry.
#[derive(Clone, Copy)]
struct Thread {
    /// Spacing of the threads that it crosses, mm.
    spacing_mm: f64,
    /// Both diameters together, mm.
    diameters_mm: f64,
}

impl Thread {
    /// The angle at which nothing straight is left, radians.
    fn jam(self) -> f64 {
        let sine = self.spacing_mm / self.diameters_mm;
        if sine < 1.0 {
            sine.asin()
        } else {
            FRAC_PI_2 * 0.999
        }
    }

    fn height(self, angle: f64) -> f64 {
        self.spacing_mm * angle.tan() + self.diameters_mm * (1.0 - 1.0 / angle.cos())
    }

    fn crimp(self, angle: f64) -> f64 {
        let straight = (self.spacing_mm - self.diameters_mm * angle.sin()) / angle.cos();
        (self.diameters_mm * angle + straight) / self.spacing_mm - 1.0
    }

    fn angle_of_height(self, height: f64) -> Option<f64> {
        self.solve(|angle| self.height(angle), height)
    }

    fn angle_of_crimp(self, crimp: f64) -> Option<f64> {
        self.solve(|angle| self.crimp(angle), crimp)
    }

    /// The angle at which the rising function `of` reaches `wanted`.
    fn solve(self, of: impl Fn(f64) -> f64, wanted: f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, self.jam());
        let rounding = 1e-9 * (1.0 + wanted.abs());
        if wanted < -rounding || wanted > of(high) + rounding {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if of(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(f64::midpoint(low, high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plain cloth drawn from Peirce's geometry: the weft at an angle, the warp taking the rest
    /// of the height; gives the cloth and the true weft crimp, %.
    fn drawn(
        end_spacing_mm: f64,
        diameters_mm: f64,
        weft_angle: f64,
        warp_angle: f64,
    ) -> (ClothGeometry, f64, f64) {
        let weft = Thread {
            spacing_mm: end_spacing_mm,
            diameters_mm,
        };
        let warp_height = diameters_mm - weft.height(weft_angle);
        // The pick spacing at which the warp has that height at that angle.
        let pick_spacing_mm =
            (warp_height - diameters_mm * (1.0 - 1.0 / warp_angle.cos())) / warp_angle.tan();
        let warp = Thread {
            spacing_mm: pick_spacing_mm,
            diameters_mm,
        };
        let warp_crimp = warp.crimp(warp_angle);
        let cloth = ClothGeometry {
            end_spacing_mm,
            pick_spacing_mm,
            diameters_mm,
            crossings_per_end: 1.0,
            take_up: None,
        };
        (
            cloth,
            100.0 * weft.crimp(weft_angle),
            warp_crimp / (1.0 + warp_crimp),
        )
    }

    #[test]
    fn an_unravelled_pick_of_a_drawn_cloth_lies_within_the_estimate() {
        for end_spacing in [2.4, 3.0, 4.0] {
            for weft_angle in [0.1, 0.2, 0.35] {
                for warp_angle in [0.3, 0.5, 0.7] {
                    let (cloth, crimp, take_up) = drawn(end_spacing, 2.0, weft_angle, warp_angle);
                    if cloth.pick_spacing_mm <= cloth.diameters_mm * warp_angle.sin() {
                        continue;
                    }
                    let blind = estimate_weft_crimp(&cloth).unwrap();
                    assert!(
                        (blind.value - crimp).abs() <= blind.u95,
                        "{cloth:?}: {crimp} {blind:?}"
                    );
                    let known = ClothGeometry {
                        take_up: Some(take_up),
                        ..cloth
                    };
                    let told = estimate_weft_crimp(&known).unwrap();
                    assert!(
                        (told.value - crimp).abs() < 0.01,
                        "{known:?}: {crimp} {told:?}"
                    );
                    assert!(told.u95 < blind.u95);
                }
            }
        }
    }

    #[test]
    fn the_length_of_a_bent_thread_agrees_with_its_arcs_and_straights() {
        // Two arcs of radius D/2 through θ, and the straight between them.
        let thread = Thread {
            spacing_mm: 3.0,
            diameters_mm: 2.0,
        };
        let angle: f64 = 0.4;
        let along_arcs = 2.0 * angle.sin();
        let straight = (3.0 - along_arcs) / angle.cos();
        let length = 2.0 * angle + straight;
        assert!((thread.crimp(angle) - (length / 3.0 - 1.0)).abs() < 1e-12);
        let height = straight * angle.sin() + 2.0 * (1.0 - angle.cos());
        assert!((thread.height(angle) - height).abs() < 1e-12);
    }

    #[test]
    fn yarns_that_are_too_thick_for_their_spacing_give_no_estimate() {
        let cloth = ClothGeometry {
            end_spacing_mm: 1.0,
            pick_spacing_mm: 1.0,
            diameters_mm: 2.0,
            crossings_per_end: 1.0,
            take_up: None,
        };
        assert_eq!(estimate_weft_crimp(&cloth), None);
        assert_eq!(
            estimate_weft_crimp(&ClothGeometry {
                end_spacing_mm: f64::NAN,
                ..cloth
            }),
            None
        );
    }
}
