//! How good is it? Draws fresh random bands, measures them, prints what came of it.
//!
//! `cargo run --release --example accuracy -- [SEED] [BANDS]`: bands SEED to SEED + BANDS − 1 (60
//! unless given), each once without faults and with its plan, once with faults and its plan, once
//! without any plan, and with its plan six times more, each time its photo spoiled in another way.

mod rates;
mod sought;
mod spoiled;

use std::error::Error;

use rates::{Known, Outcome, Woven, outcome, rates};
use rayon::prelude::*;
use sought::{Faults, Sought};
use spoiled::{Spoil, spoiled};

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let seed: u64 = args.next().map_or(Ok(5001), |n| n.parse())?;
    let bands: u64 = args.next().map_or(Ok(60), |n| n.parse())?;
    let run = |woven, known| -> Vec<Outcome> {
        (seed..seed + bands)
            .into_par_iter()
            .map(|seed| outcome(seed, woven, known))
            .collect()
    };
    let clean = run(Woven::Right, Known::Plan);
    let faulty = run(Woven::Faults, Known::Plan);
    let slips = run(Woven::Slips, Known::Plan);
    let unplanned = run(Woven::Right, Known::Nothing);
    println!("Bands {seed} to {}, drawn at random.\n", seed + bands - 1);
    println!("| counts | exact | one off | farther off | no count | wrong without a warning |");
    println!("|---|---|---|---|---|---|");
    counts("with the plan", &clean);
    counts("with the plan, woven with faults", &faulty);
    counts("without a plan", &unplanned);
    let all: Vec<Outcome> = clean.iter().chain(&faulty).cloned().collect();
    println!(
        "\n| figure (plan given, count exact) | values | inside the 95 % interval | error, median | nine in ten within |"
    );
    println!("|---|---|---|---|---|");
    for rate in rates(&all) {
        println!(
            "| {} | {} | {:.0} % | {:.3} | {:.3} |",
            rate.name,
            rate.values,
            100.0 * rate.inside as f64 / rate.values as f64,
            rate.median,
            rate.nine_in_ten
        );
    }
    let wrong: Vec<String> = clean
        .iter()
        .chain(&faulty)
        .filter(|o| o.off != Some(0))
        .map(|o| o.seed.to_string())
        .collect();
    println!("\nBands to look at: {}.", wrong.join(", "));
    println!("\n| woven wrong | woven | found where it is | invented on bands without faults |");
    println!("|---|---|---|---|");
    let mis_woven = |faults: Faults| faults.mis_woven;
    found("loose and tight stretches", &faulty, &clean, |f| {
        f.stretches
    });
    found("pulled-in selvedges", &faulty, &clean, |f| f.pulls);
    found("slips of two ends", &faulty, &clean, mis_woven);
    found("slips of a single end", &slips, &clean, mis_woven);
    let in_view = |outcomes: &[Outcome]| -> Vec<Outcome> {
        let seen = outcomes.iter().filter(|o| !o.slips_unseen);
        seen.cloned().collect()
    };
    found(
        "the same, where none is said to go unseen",
        &in_view(&slips),
        &in_view(&clean),
        mis_woven,
    );
    println!("\n| photos spoiled by | right | not counted | wrong | wrong without any warning |");
    println!("|---|---|---|---|---|");
    for spoil in Spoil::ALL {
        let outcomes: Vec<Outcome> = (seed..seed + bands)
            .into_par_iter()
            .map(|seed| spoiled(seed, spoil))
            .collect();
        let with = |test: &dyn Fn(&Outcome) -> bool| outcomes.iter().filter(|o| test(o)).count();
        let wrong = |o: &Outcome| o.off.is_some_and(|n| n != 0);
        println!(
            "| {spoil:?} | {} | {} | {} | {} |",
            with(&|o| o.off == Some(0)),
            with(&|o| o.off.is_none()),
            with(&wrong),
            with(&|o| wrong(o) && !o.warned_at_all),
        );
    }
    Ok(())
}

/// A line of the faults of one kind: of bands that have them, and of bands that don't.
fn found(name: &str, with: &[Outcome], without: &[Outcome], of: impl Fn(Faults) -> Sought) {
    let mut sum = Sought::default();
    with.iter().for_each(|o| sum += of(o.faults));
    let invented = without.iter().filter(|o| of(o.faults).invented > 0).count();
    println!(
        "| {name} | {} | {} | {invented} of {} |",
        sum.woven(),
        sum.found,
        without.len()
    );
}

fn counts(name: &str, outcomes: &[Outcome]) {
    let with = |test: &dyn Fn(&Outcome) -> bool| outcomes.iter().filter(|o| test(o)).count();
    println!(
        "| {name} | {} | {} | {} | {} | {} |",
        with(&|o| o.off == Some(0)),
        with(&|o| o.off.is_some_and(|n| n.abs() == 1)),
        with(&|o| o.off.is_some_and(|n| n.abs() > 1)),
        with(&|o| o.off.is_none()),
        with(&|o| o.off.is_some_and(|n| n != 0) && !o.warned),
    );
}
