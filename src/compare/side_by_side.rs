//! Several bands side by side: the conductor.

use super::comparison::{COMPARISON_SCHEMA, Comparison, NotCompared, Order, Standing};
use super::criterion::Criterion;
use super::group::group;
use super::places::place;
use super::progress::progress;
use super::remarks::remark;
use super::repeat::repeatability;
use super::sample::{Sample, SampleFigures};
use super::states::{seen, states};
use crate::measurement::Quantity;
use crate::{Error, Result};

/// Plans whose figures differ by less are one plan, share.
const SAME: f64 = 1e-6;

/// Photos of one band differ too much where their standard deviation is this much of the half-width
/// that they state: twice what it should be.
const SURPRISE: f64 = 2.0 / 1.96;

/// How the samples belong together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CompareOptions {
    /// The samples are one weaver's, oldest first. Default: no.
    pub in_order: bool,
    /// All photos show one band. Default: no.
    pub same_band: bool,
}

/// Compares measured bands.
///
/// ```
/// use evenfell::compare::{CompareOptions, compare};
/// assert!(compare(&[], CompareOptions::default()).is_err());
/// ```
///
/// # Errors
///
/// [`Error::Request`] for fewer than two samples, and for one band over time: several photos of one
/// band have no order.
pub fn compare(samples: &[Sample], options: CompareOptions) -> Result<Comparison> {
    check(samples, options)?;
    let mut figures: Vec<SampleFigures> = samples.iter().map(Sample::figures).collect();
    name_apart(&mut figures);
    let one_plan = one_plan(&figures);
    let states_seen = seen(&figures);
    let mut not_compared = Vec::new();
    let orders = if options.same_band {
        Vec::new()
    } else {
        orders(&figures, states_seen.len() > 1, &mut not_compared)
    };
    if !one_plan && !options.same_band {
        not_compared.push(NotCompared {
            what: "picks per inch, width and draw-in of the group".to_owned(),
            why:
                "the bands follow different plans: each is held to its own, and the distances are \
                  compared"
                    .to_owned(),
        });
    }
    if !options.same_band {
        remark(samples, &mut figures, &orders);
    }
    let alike = states_seen.len() < 2;
    let repeatability = (options.same_band && alike).then(|| repeatability(&figures));
    Ok(Comparison {
        schema: COMPARISON_SCHEMA.to_owned(),
        group: group(&figures, one_plan && alike),
        progress: options.in_order.then(|| progress(&figures)),
        states: if options.same_band {
            states(&figures)
        } else {
            None
        },
        notes: notes(samples, &figures, &orders, options),
        samples: figures,
        orders,
        repeatability,
        not_compared,
    })
}

fn check(samples: &[Sample], options: CompareOptions) -> Result<()> {
    let refuse = |why: &str| {
        Err(Error::Request {
            what: "compare".to_owned(),
            why: why.to_owned(),
        })
    };
    if samples.len() < 2 {
        return refuse("takes two bands or more: give their photos or results");
    }
    if options.in_order && options.same_band {
        return refuse(
            "several photos of one band have no order: give either --in-order or --same-band",
        );
    }
    Ok(())
}

/// Gives samples of one name a number each.
fn name_apart(figures: &mut [SampleFigures]) {
    for at in 1..figures.len() {
        let (before, rest) = figures.split_at_mut(at);
        let wanted = rest[0].name.clone();
        let taken = |name: &str| before.iter().any(|other| other.name == name);
        if taken(&wanted) {
            let mut number = 2;
            while taken(&format!("{wanted} ({number})")) {
                number += 1;
            }
            rest[0].name = format!("{wanted} ({number})");
        }
    }
}

fn one_plan(figures: &[SampleFigures]) -> bool {
    let same = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= SAME * a.abs().max(1.0),
        (None, None) => true,
        _ => false,
    };
    figures.windows(2).all(|pair| {
        let (a, b) = (pair[0].planned, pair[1].planned);
        same(a.per_inch, b.per_inch) && same(a.draw_in_percent, b.draw_in_percent)
    })
}

fn orders(
    figures: &[SampleFigures],
    mixed_states: bool,
    not_compared: &mut Vec<NotCompared>,
) -> Vec<Order> {
    let mut orders = Vec::new();
    for by in Criterion::ALL {
        if mixed_states && matches!(by, Criterion::Picks | Criterion::DrawIn) {
            not_compared.push(NotCompared {
                what: by.word().to_owned(),
                why: "the bands are in different states: coming off the loom and washing change \
                      both; measure them in one state"
                    .to_owned(),
            });
            continue;
        }
        let known: Vec<(&SampleFigures, Quantity)> = figures
            .iter()
            .filter_map(|f| Some((f, by.of(f)?)))
            .collect();
        let missing: Vec<&str> = figures
            .iter()
            .filter(|f| by.of(f).is_none())
            .map(|f| f.name.as_str())
            .collect();
        if !missing.is_empty() {
            not_compared.push(missing_from(by, &missing, figures));
        }
        if known.len() > 1 {
            orders.push(order(by, &known));
        }
    }
    orders
}

fn missing_from(by: Criterion, missing: &[&str], figures: &[SampleFigures]) -> NotCompared {
    let measured = |f: &&SampleFigures| match by {
        Criterion::Picks => f.per_inch.is_some(),
        _ => false,
    };
    let no_plan = figures
        .iter()
        .filter(|f| missing.contains(&f.name.as_str()))
        .all(|f| measured(&f));
    let why = if no_plan {
        "no plan says how many picks there should be: give --plan"
    } else {
        "it wasn't measured there"
    };
    NotCompared {
        what: format!("{} of {}", by.word(), missing.join(", ")),
        why: why.to_owned(),
    }
}

fn order(by: Criterion, known: &[(&SampleFigures, Quantity)]) -> Order {
    let values: Vec<Quantity> = known.iter().map(|(_, value)| *value).collect();
    let placed = place(&values);
    let name = |at: &usize| known[*at].0.name.clone();
    let mut standing: Vec<Standing> = known
        .iter()
        .map(|(sample, value)| Standing {
            name: sample.name.clone(),
            value: *value,
        })
        .collect();
    standing.sort_by(|a, b| a.value.value.total_cmp(&b.value.value));
    Order {
        by,
        places: placed
            .places
            .iter()
            .map(|place| place.iter().map(name).collect())
            .collect(),
        unit: by.measure().1.to_owned(),
        values: standing,
        pairs_told_apart: placed.told_apart,
        pairs: placed.pairs,
    }
}

fn notes(
    samples: &[Sample],
    figures: &[SampleFigures],
    orders: &[Order],
    options: CompareOptions,
) -> Vec<String> {
    let mut notes = Vec::new();
    for (at, sample) in samples.iter().enumerate() {
        let photo = &sample.measurement.photo.sha256;
        if samples[..at]
            .iter()
            .any(|other| other.measurement.photo.sha256 == *photo)
        {
            notes.push(format!(
                "{} is a photo that was given before: it adds nothing",
                figures[at].name
            ));
        }
    }
    let draws_in = orders.iter().any(|order| order.by == Criterion::DrawIn);
    if draws_in && figures.iter().any(|f| f.planned.draw_in_percent.is_none()) {
        notes.push(
            "where no plan says what draw-in is expected, draw-in is held against 0 %".to_owned(),
        );
    }
    if options.same_band {
        let wide: Vec<String> = repeatability(figures)
            .into_iter()
            .filter(|figure| {
                figure.photos > 2 && figure.standard_deviation > SURPRISE * figure.stated_u95
            })
            .map(|figure| figure.figure)
            .collect();
        if !wide.is_empty() && seen(figures).len() < 2 {
            notes.push(format!(
                "the photos differ by more than their own intervals allow in {}: lay the band the \
                 same way each time, flat and without pull",
                wide.join(", ")
            ));
        }
    }
    notes
}

#[cfg(test)]
mod tests;
