//! What does a photo without colour still tell?

use std::io::Cursor;

use evenfell::synth::{self, Photograph};
use image::{ImageFormat, load_from_memory};
use rayon::prelude::*;

use super::coverage::rates::{Known, Outcome, developed};

/// Bands that nothing was tuned on.
const SEEDS: std::ops::Range<u64> = 17_001..17_025;

/// The photo as a scanner set to grey writes it.
fn in_grey(photograph: &Photograph) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let grey = load_from_memory(&photograph.jpeg()?)?.into_luma8();
    let mut file = Cursor::new(Vec::new());
    grey.write_to(&mut file, ImageFormat::Jpeg)?;
    Ok(file.into_inner())
}

#[test]
fn without_colour_widths_stay_within_their_intervals_or_are_left_out() {
    let outcome = |seed| {
        let spec = synth::random_spec(seed);
        let camera = synth::random_camera(seed, &spec);
        developed(&camera, &spec, Known::Plan, in_grey)
    };
    let outcomes: Vec<Outcome> = SEEDS.into_par_iter().map(outcome).collect();
    let across = ["width, mm", "width over the turns, mm", "draw-in, %"];
    let (mut inside, mut values, mut errors) = (0, 0, Vec::new());
    for outcome in &outcomes {
        for (name, error, u95) in &outcome.figures {
            if !across.contains(name) {
                continue;
            }
            values += 1;
            inside += usize::from(error.abs() <= *u95);
            if *name == across[0] {
                println!("{}: width {error:+.3} mm, ± {u95:.3}", outcome.seed);
                errors.push(error.abs());
            }
        }
    }
    errors.sort_by(f64::total_cmp);
    let quiet = |o: &&Outcome| o.off.is_some_and(|off| off != 0) && !o.warned_at_all;
    let (exact, wrong_quiet) = (
        outcomes.iter().filter(|o| o.off == Some(0)).count(),
        outcomes.iter().filter(quiet).count(),
    );
    println!(
        "{exact} of {} counts exact; {inside} of {values} inside",
        outcomes.len()
    );
    assert!(errors.len() >= 12, "{} widths to be judged", errors.len());
    assert!(inside * 100 >= 88 * values, "{inside} of {values} inside");
    assert!(errors[errors.len() / 2] < 0.2, "{errors:.3?}");
    assert_eq!(wrong_quiet, 0, "counts wrong without a word");
}
