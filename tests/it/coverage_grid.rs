//! Do the stated intervals hold for every structure, resolution, noise and blur by itself?

use evenfell::synth::{self, Camera, Face};
use rayon::prelude::*;

use super::coverage::rates::{Known, Outcome, photographed};

/// Bands that nothing was tuned on: of each face the first so many random ones from this seed on.
const FIRST: u64 = 16_001;
const OF_A_FACE: usize = 16;
/// Figures that are held against their truth.
const FIGURES: [&str; 5] = [
    "picks per inch",
    "width, mm",
    "width over the turns, mm",
    "draw-in, %",
    "selvedge Wq, mm",
];

/// One band with what it stands for in each split.
struct Case {
    splits: [&'static str; 4],
    outcome: Outcome,
}

/// Every band of a face has its own of the eight mixtures of resolution, noise and blur.
fn cases() -> Vec<Case> {
    let faces = [
        (Face::Balanced, "balanced"),
        (Face::WeftFaced, "weft-faced"),
        (Face::WarpFaced, "warp-faced"),
    ];
    let mut wanted = Vec::new();
    for (face, name) in faces {
        let own = (FIRST..).filter(|seed| synth::random_spec(*seed).face == face);
        wanted.extend(
            own.take(OF_A_FACE)
                .enumerate()
                .map(|(k, seed)| (k, seed, name)),
        );
    }
    let case = |(k, seed, face): (usize, u64, &'static str)| {
        let spec = synth::random_spec(seed);
        let pick = |bit: usize| k >> bit & 1;
        // Nine pixels a pick or twice that, as far as common resolutions go.
        let px_a_pick = [9.0, 18.0][pick(0)];
        let camera = Camera {
            dpi: (px_a_pick * 25.4 / spec.pick_spacing_mm).clamp(150.0, 400.0),
            noise: [0.5, 3.0][pick(1)],
            defocus_px: [0.0, 0.8][pick(2)],
            ..synth::random_camera(seed, &spec)
        };
        Case {
            splits: [
                face,
                ["coarse", "fine"][pick(0)],
                ["clean", "noisy"][pick(1)],
                ["sharp", "blurred"][pick(2)],
            ],
            outcome: photographed(&camera, &spec, Known::Plan),
        }
    };
    wanted.into_par_iter().map(case).collect()
}

/// Of 100 true values 92 or more lie inside, as far as so many bands can tell: the figures of one band
/// hang together, so a split's share has the binomial spread of about two values a band. Half as wide, the
/// intervals would be too narrow.
#[test]
fn the_intervals_hold_in_every_structure_resolution_noise_and_blur() {
    let cases = cases();
    let splits = [
        "balanced",
        "weft-faced",
        "warp-faced",
        "coarse",
        "fine",
        "clean",
        "noisy",
        "sharp",
        "blurred",
    ];
    let (mut all, mut all_inside, mut half_inside) = (0.0, 0.0, 0.0);
    for split in splits {
        let (mut bands, mut values, mut inside) = (0.0_f64, 0.0, 0.0);
        let mut outside = Vec::new();
        for case in cases.iter().filter(|case| case.splits.contains(&split)) {
            let figures = case.outcome.figures.iter();
            let own: Vec<_> = figures.filter(|f| FIGURES.contains(&f.0)).collect();
            bands += f64::from(u8::from(!own.is_empty()));
            for (name, error, u95) in own {
                values += 1.0;
                half_inside += f64::from(u8::from(error.abs() <= 0.5 * u95));
                if error.abs() <= *u95 {
                    inside += 1.0;
                } else {
                    outside.push((case.outcome.seed, *name, *error, *u95));
                }
            }
        }
        let spread = (0.95_f64 * 0.05 / (2.0 * bands)).sqrt();
        let least = 0.92 - 2.0 * spread;
        println!(
            "{split}: {inside} of {values} in {bands} bands, at least {least:.3}; {outside:.3?}"
        );
        assert!(bands >= 12.0, "{split}: {bands} bands counted right");
        assert!(
            inside >= least * values,
            "{split}: {inside} of {values}; {outside:.3?}"
        );
        (all, all_inside) = (all + values, all_inside + inside);
    }
    let (share, half) = (all_inside / all, half_inside / all);
    println!("{share:.3} of all values are inside, {half:.3} of intervals half as wide");
    assert!(share >= 0.92, "{share} of all values are inside");
    assert!(
        half <= 0.95,
        "{half} of all values are inside of half the interval"
    );
}
