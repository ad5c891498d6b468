//! Where is the beat looser or tighter than elsewhere?
//!
//! # Method
//! 1. Local picks per inch (windows of five picks) against the band's median; against the creep's
//!    line where the band has a creep, which is a finding of its own.
//! 2. A stretch begins where the difference exceeds the tolerance, the interval and what the
//!    pick-to-pick scatter outside all such places makes likely anywhere along the band.
//! 3. It ends where the difference has fallen to half of its greatest.
//!
//! # Limits
//! A slip shorter than the window shows weakened by its share of the window.

use super::chance::{FALSE_SHARE, stands_out};
use super::words;
use crate::beat::{LOCAL_PICKS, PickPlaces, local_picks, spacings};
use crate::measurement::{Finding, FindingKind};
use crate::plan::LengthUnits;
use crate::stats::{LineFit, median, robust_sd};

/// One stretch, as indices of local windows.
struct Run {
    from: usize,
    to: usize,
    peak: f64,
}

/// Loose and tight stretches, in their order along the band.
///
/// `tolerance` is the share that local picks per inch may differ by; `creeps` says that drift is
/// a finding of its own.
#[must_use]
pub fn loose_and_tight(
    places: &PickPlaces,
    tolerance: f64,
    creeps: bool,
    units: LengthUnits,
) -> Vec<Finding> {
    let local = local_picks(places);
    let Some(usual) = usual(&local.at_mm, &local.per_inch, creeps) else {
        return Vec::new();
    };
    let off: Vec<f64> = local
        .per_inch
        .iter()
        .zip(&usual)
        .map(|(p, u)| p / u - 1.0)
        .collect();
    let doubt: Vec<f64> = local.u95.iter().zip(&usual).map(|(u, p)| u / p).collect();
    let limit = tolerance.max(chance(places, &off, tolerance));
    let mut runs = runs(&off, &doubt, limit);
    runs.sort_by_key(|run| run.from);
    runs.iter()
        .map(|run| finding(run, &off, &local.at_mm, places, units))
        .collect()
}

/// What the local picks per inch are held against at each window.
fn usual(at_mm: &[f64], per_inch: &[f64], creeps: bool) -> Option<Vec<f64>> {
    let middle = median(per_inch).filter(|m| *m > 0.0)?;
    if creeps {
        let (slope, offset) = crate::stats::theil_sen(at_mm, per_inch)?;
        let line: Vec<f64> = at_mm.iter().map(|at| offset + slope * at).collect();
        if line.iter().all(|v| *v > 0.0) {
            return Some(line);
        }
    }
    Some(vec![middle; per_inch.len()])
}

/// How far a window may differ by chance anywhere along the band, as a share.
fn chance(places: &PickPlaces, off: &[f64], tolerance: f64) -> f64 {
    let mids: Vec<f64> = places.centres_mm.windows(2).map(|p| p[0]).collect();
    let spacing = spacings(&places.centres_mm);
    let (Some(pitch), Some(line)) = (places.pitch_mm(), LineFit::new(&mids, &spacing)) else {
        return f64::INFINITY;
    };
    let usual = |k: &usize| {
        let first = (k + 1).saturating_sub(LOCAL_PICKS - 1);
        let windows = off.get(first..=(*k).min(off.len().saturating_sub(1)));
        windows.is_none_or(|near| near.iter().all(|o| o.abs() <= tolerance))
    };
    let left = |k: usize| spacing[k] - line.at(mids[k]);
    let quiet: Vec<f64> = (0..spacing.len()).filter(usual).map(left).collect();
    let gaps = (LOCAL_PICKS - 1) as f64;
    let (sd, freedom) = if quiet.len() * 2 > spacing.len() {
        let mean = quiet.iter().sum::<f64>() / quiet.len() as f64;
        let square: f64 = quiet.iter().map(|q| (q - mean).powi(2)).sum();
        let freedom = (quiet.len() - 2) as f64;
        ((square / freedom).sqrt(), freedom)
    } else {
        let all: Vec<f64> = (0..spacing.len()).map(left).collect();
        // A median absolute deviation is worth 0.37 of its values.
        (
            robust_sd(&all).unwrap_or(f64::INFINITY),
            0.37 * all.len() as f64,
        )
    };
    let spread = sd * neighbours(&(0..spacing.len()).map(left).collect::<Vec<f64>>()).sqrt();
    // Overlapping windows: about one independent look for every two picks.
    stands_out(FALSE_SHARE, spacing.len() as f64 / 2.0, freedom) * spread / gaps.sqrt() / pitch
}

/// How much more the mean of a window scatters because a spacing takes after the one before it:
/// 1 where it doesn't, the number of spacings where all are alike.
fn neighbours(left: &[f64]) -> f64 {
    let usual = 2.0 * robust_sd(left).unwrap_or(0.0);
    let clipped: Vec<f64> = left.iter().map(|v| v.clamp(-usual, usual)).collect();
    let own: f64 = clipped.iter().map(|v| v * v).sum();
    let next: f64 = clipped.windows(2).map(|pair| pair[0] * pair[1]).sum();
    if own <= 0.0 {
        return 1.0;
    }
    let alike = (next / own).clamp(0.0, 0.95);
    let gaps = LOCAL_PICKS - 1;
    let share = |lag: usize| 1.0 - lag as f64 / gaps as f64;
    let lags = (1..gaps).map(|lag| share(lag) * alike.powf(lag as f64));
    1.0 + 2.0 * lags.sum::<f64>()
}

/// The runs of windows beyond the limit, each widened to half of its greatest difference; runs
/// that touch become one.
fn runs(off: &[f64], doubt: &[f64], limit: f64) -> Vec<Run> {
    let beyond = |k: usize| off[k].abs() > limit.max(doubt[k]);
    let mut found: Vec<Run> = Vec::new();
    let mut order: Vec<usize> = (0..off.len()).filter(|k| beyond(*k)).collect();
    order.sort_by(|a, b| off[*b].abs().total_cmp(&off[*a].abs()));
    for top in order {
        if found.iter().any(|run| (run.from..=run.to).contains(&top)) {
            continue;
        }
        let half = 0.5 * off[top].abs();
        let holds = |k: &usize| off[*k].abs() >= half && off[*k].signum() * off[top] > 0.0;
        let run = Run {
            from: (0..=top).rev().take_while(holds).last().unwrap_or(top),
            to: (top..off.len()).take_while(holds).last().unwrap_or(top),
            peak: off[top],
        };
        let touches = |old: &&mut Run| {
            old.peak.signum() * run.peak > 0.0 && old.from <= run.to + 1 && run.from <= old.to + 1
        };
        match found.iter_mut().find(touches) {
            Some(old) => {
                old.from = old.from.min(run.from);
                old.to = old.to.max(run.to);
            }
            None => found.push(run),
        }
    }
    found
}

/// Place where the difference falls to half between a window inside and the next one outside.
fn half_way(inside: usize, outside: Option<usize>, off: &[f64], at_mm: &[f64], half: f64) -> f64 {
    let Some(outside) = outside.filter(|k| *k < off.len()) else {
        return at_mm[inside];
    };
    let (a, b) = (off[inside] - half, off[outside] - half);
    let share = if (a - b).abs() > 1e-12 {
        (a / (a - b)).clamp(0.0, 1.0)
    } else {
        0.5
    };
    at_mm[inside] + share * (at_mm[outside] - at_mm[inside])
}

fn finding(
    run: &Run,
    off: &[f64],
    at_mm: &[f64],
    places: &PickPlaces,
    units: LengthUnits,
) -> Finding {
    let half = 0.5 * run.peak;
    let from_mm = match run.from {
        0 => 0.0,
        k => half_way(k, Some(k - 1), off, at_mm, half),
    };
    let to_mm = if run.to + 1 == off.len() {
        places.length_mm.value
    } else {
        half_way(run.to, Some(run.to + 1), off, at_mm, half)
    };
    let loose = run.peak < 0.0;
    let size = 100.0 * run.peak.abs();
    let numbers = words::picks_within(places, from_mm, to_mm);
    let finding = Finding {
        kind: if loose {
            FindingKind::LooseStretch
        } else {
            FindingKind::TightStretch
        },
        side: None,
        from_mm,
        to_mm,
        size,
        unit: "%".into(),
        pick: numbers.map(|(first, _)| first),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let which = numbers.map_or_else(|| "the picks".into(), |(a, b)| words::picks(a, b));
    let fewer = if loose { "fewer" } else { "more" };
    let unit = match units {
        LengthUnits::Inches => "inch",
        LengthUnits::Centimetres => "centimetre",
    };
    let seen = format!(
        "{which}, {}, are beaten {}: up to {size:.0} % {fewer} picks to the {unit} than usual on this band",
        words::stretch(from_mm, to_mm, units),
        if loose {
            "more loosely"
        } else {
            "more tightly"
        },
    );
    words::finish(finding, &seen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::places_of;
    use crate::stats::testing::Normal;

    fn band(cv: f64, seed: u64, factor: impl Fn(f64) -> f64) -> PickPlaces {
        let mut normal = Normal::new(seed);
        let mut at = 0.0;
        let spacing: Vec<f64> = (0..52)
            .map(|_| {
                let step = 2.8 * factor(at) * (1.0 + cv * normal.draw());
                at += step;
                step
            })
            .collect();
        places_of(&spacing)
    }

    #[test]
    fn a_loose_stretch_is_found_where_it_is() {
        for seed in 0..40 {
            let places = band(0.04, seed, |at| {
                if (50.0..70.0).contains(&at) { 1.3 } else { 1.0 }
            });
            let found = loose_and_tight(&places, 0.08, false, LengthUnits::Centimetres);
            assert_eq!(found.len(), 1, "seed {seed}: {found:?}");
            let one = &found[0];
            assert_eq!(one.kind, FindingKind::LooseStretch);
            assert!(
                one.text.contains("fewer picks to the centimetre"),
                "{one:?}"
            );
            let shared = one.to_mm.min(70.0) - one.from_mm.max(50.0);
            assert!(shared > 12.0, "seed {seed}: {one:?}");
            assert!(one.to_mm - one.from_mm < 36.0, "seed {seed}: {one:?}");
        }
    }

    #[test]
    fn a_tight_stretch_at_the_finish_reaches_the_end() {
        let places = band(0.03, 3, |at| if at > 110.0 { 0.75 } else { 1.0 });
        let found = loose_and_tight(&places, 0.08, false, LengthUnits::Centimetres);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].kind, FindingKind::TightStretch);
        assert!((found[0].to_mm - places.length_mm.value).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_invented_on_even_bands() {
        let invented: usize = (0..600)
            .map(|seed| {
                let cv = [0.01, 0.04, 0.08][usize::try_from(seed % 3).unwrap_or(0)];
                let places = band(cv, 1000 + seed, |_| 1.0);
                loose_and_tight(&places, 0.08, false, LengthUnits::Inches).len()
            })
            .sum();
        assert!(invented <= 2, "{invented} of 600");
    }
}
