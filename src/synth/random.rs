//! Random bands over the whole range that the program has to cope with.

use super::drawdowns::{free, plain, twill};
use super::palette;
use super::rng::Rng;
use super::spec::{BandSpec, EdgeMark, Face, Fringe, Header, Side, Stretch, Stripes, Turns};
use crate::plan::Drawdown;

/// Fewest and most picks per inch.
const PICKS_PER_INCH: (f64, f64) = (4.5, 36.0);

/// A random band without a weaver's fault: any structure, yarn, sett, beat and selvedge.
///
/// ```
/// let spec = evenfell::synth::random_spec(11);
/// assert_eq!(spec, evenfell::synth::random_spec(11));
/// ```
#[must_use]
pub fn random_spec(seed: u64) -> BandSpec {
    let mut rng = Rng::fork(seed, 100);
    let (low, high) = PICKS_PER_INCH;
    let picks_per_inch = low * (high / low).powf(rng.unit());
    let spacing = 25.4 / picks_per_inch;
    let face = match rng.whole(0, 9) {
        0..=5 => Face::Balanced,
        6..=7 => Face::WeftFaced,
        _ => Face::WarpFaced,
    };
    let (ends, width) = sett(&mut rng, face, spacing);
    let least = (55.0 / spacing).max(22.0);
    let picks = rng.between(least, (190.0 / spacing).clamp(least + 6.0, 170.0)) as usize;
    let loops = spacing > 1.2 && rng.chance(0.8) || rng.chance(0.4);
    let draw_in = rng.between(0.02, 0.14);
    let cv = rng.between(0.01, 0.12);
    let mut spec = BandSpec {
        seed,
        title: "Oar-strap band".to_owned(),
        drawdown: weave_for(&mut rng, face, ends),
        ends,
        strands: strands(&mut rng, face),
        picks,
        pick_spacing_mm: spacing,
        spacing_cv: cv,
        spacing_correlation: rng.between(-0.3, 0.6),
        drift: if rng.chance(0.35) {
            rng.between(-0.35, 0.35)
        } else {
            rng.between(-0.05, 0.05)
        },
        rhythm: if rng.chance(0.4) {
            rng.between(0.0, 0.05)
        } else {
            0.0
        },
        width_in_loom_mm: width / (1.0 - draw_in),
        draw_in,
        taper: rng.between(-0.03, 0.04),
        waviness_mm: [
            rng.between(0.002, 0.012) * width,
            rng.between(0.002, 0.012) * width,
        ],
        wavelength_mm: rng.between(18.0, 70.0),
        face,
        turns: if loops {
            Turns::Loops {
                bulge: rng.between(0.5, 1.25),
                scatter: rng.between(0.05, 0.25),
            }
        } else {
            Turns::Flat
        },
        weft_cover: match face {
            Face::Balanced => rng.between(0.75, 1.02),
            Face::WeftFaced => rng.between(1.15, 1.6),
            Face::WarpFaced => rng.between(0.3, 0.6),
        },
        warp_cover: match face {
            Face::Balanced => rng.between(0.4, 0.88),
            Face::WeftFaced => rng.between(0.12, 0.3),
            Face::WarpFaced => rng.between(1.1, 1.6),
        },
        flatness: rng.between(0.7, 1.0),
        sett_scatter: rng.between(0.0, 0.08),
        slant: 0.012 * rng.normal(),
        zigzag: rng.between(0.0, 0.3),
        creases: rng.between(0.0, 0.03),
        bow_mm: 0.12 * spacing * rng.normal(),
        wobble: rng.between(0.0, 0.04),
        fringe: fringe(&mut rng),
        planned_over_real: rng.between(0.87, 1.15),
        ..BandSpec::default()
    };
    yarns(&mut rng, &mut spec);
    spec
}

/// The same band on a bad day: a loose or tight stretch, a pulled-in selvedge, mis-woven rows.
#[must_use]
pub fn with_faults(mut spec: BandSpec) -> BandSpec {
    let mut rng = Rng::fork(spec.seed, 101);
    let length = spec.nominal_length_mm();
    if rng.chance(0.5) {
        let from = rng.between(0.15, 0.6) * length;
        let factor = if rng.chance(0.7) {
            rng.between(1.2, 1.4)
        } else {
            rng.between(0.72, 0.82)
        };
        spec.stretches.push(Stretch {
            from_mm: from,
            to_mm: from + (0.15 * length).max(9.0 * spec.pick_spacing_mm),
            factor,
        });
    }
    if rng.chance(0.5) {
        let width = spec.nominal_width_mm();
        spec.edge_marks.push(EdgeMark {
            side: if rng.chance(0.5) {
                Side::Left
            } else {
                Side::Right
            },
            at_mm: rng.between(0.2, 0.8) * length,
            depth_mm: rng.between(0.045, 0.09) * width,
            half_width_mm: rng.between(1.8, 4.0) * spec.pick_spacing_mm.max(1.2),
        });
    }
    if rng.chance(0.5) {
        let pick = rng.whole(spec.picks / 5, spec.picks * 4 / 5);
        let end = rng.whole(1, spec.ends - 2);
        spec.mis_woven = vec![(pick, end), (pick, (end + 1).min(spec.ends - 1))];
    }
    spec
}

/// The same band with two slips of the shed, each of one end by itself.
#[must_use]
pub fn with_single_slips(mut spec: BandSpec) -> BandSpec {
    let mut rng = Rng::fork(spec.seed, 777);
    for _ in 0..2 {
        let pick = rng.whole(spec.picks / 8, spec.picks * 7 / 8);
        let end = rng.whole(1, spec.ends - 2);
        spec.mis_woven.push((pick, end));
    }
    spec
}

/// Ends and finished width that suit a face and a pick spacing.
fn sett(rng: &mut Rng, face: Face, spacing: f64) -> (usize, f64) {
    let distance = spacing
        * match face {
            Face::Balanced => rng.between(0.7, 1.5),
            Face::WeftFaced => rng.between(1.4, 2.6),
            Face::WarpFaced => rng.between(0.35, 0.6),
        };
    let width = rng.between(14.0, 55.0);
    let ends = ((width / distance).round() as usize).clamp(6, 48);
    (ends, (ends as f64 * distance).clamp(8.0, 70.0))
}

fn weave_for(rng: &mut Rng, face: Face, ends: usize) -> Drawdown {
    let choice = if face == Face::Balanced {
        rng.whole(0, 9)
    } else {
        rng.whole(0, 5)
    };
    match choice {
        0..=3 => plain(),
        4 | 5 => {
            let (over, under) = *rng.choose(&[(2, 1), (1, 2), (2, 2), (3, 1), (1, 3)]);
            twill(over, under, rng.chance(0.5))
        }
        _ => {
            let rows = rng.whole(3, 8);
            free(rng, rows, ends.min(14))
        }
    }
}

fn strands(rng: &mut Rng, face: Face) -> usize {
    match face {
        Face::WarpFaced => 1,
        _ => *rng.choose(&[1, 1, 2, 2, 3]),
    }
}

fn fringe(rng: &mut Rng) -> Fringe {
    let length_mm = match rng.whole(0, 3) {
        0 => 0.0,
        1 => rng.between(3.0, 10.0),
        _ => rng.between(10.0, 28.0),
    };
    Fringe {
        length_mm,
        scatter: rng.between(0.02, 0.3),
        wander_mm: rng.between(0.2, 2.0),
        kept: if rng.chance(0.8) {
            1.0
        } else {
            rng.between(0.4, 1.0)
        },
        taut_mm: [0.0; 2],
    }
}

/// Colours and yarns: one colour, two, or two wefts in stripes; header or none.
fn yarns(rng: &mut Rng, spec: &mut BandSpec) {
    let weft = palette::colour(rng);
    let warp = if rng.chance(0.2) {
        palette::near(rng, weft)
    } else {
        palette::against(rng, weft)
    };
    spec.weft = palette::yarn(rng, weft);
    spec.warp = palette::yarn(rng, warp);
    spec.warp.hairs_per_mm *= 0.5;
    if rng.chance(0.2) {
        spec.weft.thickness_cv = rng.between(0.08, 0.22);
    }
    if rng.chance(0.22) {
        let mut other = spec.weft.clone();
        other.colour = palette::against(rng, weft);
        spec.weft_stripes = Some(Stripes {
            other,
            first: rng.whole(1, 8),
            second: rng.whole(1, 6),
        });
    }
    if rng.chance(0.15) && spec.face == Face::WarpFaced {
        let mut other = spec.warp.clone();
        other.colour = palette::against(rng, warp);
        spec.warp_stripes = Some(Stripes {
            other,
            first: rng.whole(2, 5),
            second: rng.whole(1, 4),
        });
    }
    if rng.chance(0.4) {
        let colour = palette::against(rng, weft);
        spec.header = Some(Header {
            picks: rng.whole(2, 5),
            yarn: palette::yarn(rng, colour),
            spacing_mm: (spec.pick_spacing_mm * rng.between(0.4, 0.8)).max(0.45),
        });
    }
}
