//! Fresh random bands against their truth: counts, and whether the stated intervals hold.

use rayon::prelude::*;

#[allow(dead_code, reason = "the example uses more of it than the test does")]
#[path = "../../examples/accuracy/rates.rs"]
mod rates;

use rates::{Known, Outcome, outcome, rates};

/// Bands that nothing was tuned on.
const FIRST: u64 = 9501;
const BANDS: u64 = 40;

fn measured() -> Vec<Outcome> {
    (FIRST..FIRST + BANDS)
        .into_par_iter()
        .map(|seed| outcome(seed, false, Known::Plan))
        .collect()
}

#[test]
fn random_bands_are_counted_and_their_truths_lie_inside_the_intervals() {
    let outcomes = measured();
    let exact = outcomes.iter().filter(|o| o.off == Some(0)).count();
    let wrong: Vec<_> = outcomes
        .iter()
        .filter(|o| o.off != Some(0))
        .map(|o| (o.seed, o.off, o.warned))
        .collect();
    println!("exact {exact} of {BANDS}; others {wrong:?}");
    let rates = rates(&outcomes);
    for rate in &rates {
        println!("{rate:?}");
    }
    let (inside, values) = rates
        .iter()
        .fold((0, 0), |sum, r| (sum.0 + r.inside, sum.1 + r.values));
    println!("inside {inside} of {values}");
    assert!(exact * 100 >= 78 * BANDS as usize, "{wrong:?}");
    let quiet = wrong.iter().filter(|w| !w.2).count();
    assert!(quiet * 100 <= 8 * BANDS as usize, "{wrong:?}");
    assert!(inside * 100 >= 92 * values, "{rates:#?}");
    // Each by itself, over some thirty values: 95 in 100 with a standard deviation of four.
    for rate in &rates {
        assert!(rate.inside * 100 >= 88 * rate.values, "{rate:?}");
    }
}
