//! What does a photo without colour, or one that was compressed hard, still tell?

use std::io::Cursor;

use evenfell::synth::{self, Photograph};
use image::codecs::jpeg::JpegEncoder;
use image::{ImageFormat, load_from_memory};
use rayon::prelude::*;

use super::coverage::rates::{Known, Outcome, developed};

/// Bands that nothing was tuned on.
const SEEDS: std::ops::Range<u64> = 17_001..17_025;

/// The photo as a messenger makes it small: quality 25.
fn compressed_hard(photograph: &Photograph) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let picture = load_from_memory(&photograph.jpeg()?)?;
    let mut file = Vec::new();
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut file, 25))?;
    Ok(file)
}

/// The photo as a scanner set to grey writes it.
fn in_grey(photograph: &Photograph) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let grey = load_from_memory(&photograph.jpeg()?)?.into_luma8();
    let mut file = Cursor::new(Vec::new());
    grey.write_to(&mut file, ImageFormat::Jpeg)?;
    Ok(file.into_inner())
}

/// What became of the widths of some bands.
struct Widths {
    outcomes: Vec<Outcome>,
    inside: usize,
    values: usize,
    errors: Vec<f64>,
}

fn widths<E>(develop: impl Fn(&Photograph) -> Result<Vec<u8>, E> + Sync) -> Widths {
    let outcome = |seed| {
        let spec = synth::random_spec(seed);
        let camera = synth::random_camera(seed, &spec);
        developed(&camera, &spec, Known::Plan, &develop)
    };
    let outcomes: Vec<Outcome> = SEEDS.into_par_iter().map(outcome).collect();
    let across = ["width, mm", "width over the turns, mm", "draw-in, %"];
    let (mut inside, mut values, mut errors) = (0, 0, Vec::new());
    for outcome in &outcomes {
        for (name, error, u95) in outcome.figures.iter().filter(|f| across.contains(&f.0)) {
            values += 1;
            inside += usize::from(error.abs() <= *u95);
            if *name == across[0] {
                println!("{}: width {error:+.3} mm, ± {u95:.3}", outcome.seed);
                errors.push(error.abs());
            }
        }
    }
    errors.sort_by(f64::total_cmp);
    println!("{inside} of {values} inside");
    Widths {
        outcomes,
        inside,
        values,
        errors,
    }
}

#[test]
fn without_colour_widths_stay_within_their_intervals_or_are_left_out() {
    let seen = widths(in_grey);
    let (inside, values, errors) = (seen.inside, seen.values, &seen.errors);
    assert!(errors.len() >= 12, "{} widths to be judged", errors.len());
    assert!(inside * 100 >= 88 * values, "{inside} of {values} inside");
    assert!(errors[errors.len() / 2] < 0.2, "{errors:.3?}");
    let quiet = |o: &&Outcome| o.off.is_some_and(|off| off != 0) && !o.warned_at_all;
    let wrong_quiet = seen.outcomes.iter().filter(quiet).count();
    assert_eq!(wrong_quiet, 0, "counts wrong without a word");
}

#[test]
fn hard_compression_is_warned_of_and_widths_stay_within_their_intervals() {
    let seen = widths(compressed_hard);
    let (inside, values, errors) = (seen.inside, seen.values, &seen.errors);
    assert!(errors.len() >= 16, "{} widths to be judged", errors.len());
    assert!(inside * 100 >= 88 * values, "{inside} of {values} inside");
    assert!(errors[errors.len() / 2] < 0.15, "{errors:.3?}");
    assert!(seen.outcomes.iter().all(|o| o.warned_at_all));
}
