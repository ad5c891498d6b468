//! Whose doing is the unevenness: a creep, the structure's own rhythm, slow waves, or the hand?
//!
//! # Method
//! 1. **Drift**: plain least squares of spacing against mid-position over all picks; at the last
//!    spacing minus at the first, % of the mean. Positive: picks lie farther apart at the finish.
//! 2. **Rhythm**: of what the line leaves, the mean of each drawdown row (a spacing belongs to the
//!    pick that was woven later). The structure's own, not the hand's; only where rows are known. Places come
//!    without what their rows have in common, for that can't be told from how a row looks (`picks::settle`): so little
//!    rhythm is left to find, and its doubt holds what an uneven hand gives to rows by chance. (The true
//!    rhythm of 649 drawn bands, 40 % of them with one of their structure's, lay within at 96 %; by the noise of measuring alone 67 %.)
//! 3. **Waves**: of what rhythm leaves, the Gaussian low-pass with cut-off [`WAVES_PICKS`]; rms %.
//! 4. **Scatter**: the rest; rms %.
//!
//! Every step is linear in the places of the picks, so the noise of measuring is followed through
//! it exactly ([`MeanSquare`](crate::stats::MeanSquare)).
//!
//! # Limits
//! A loose stretch is neither: it shows as waves here and as a finding of its own.

use super::{PickPlaces, local_picks};
use crate::measurement::Beat;
use crate::stats::{Estimate, LineFit, gaps, gaussian_low_pass};

/// Cut-off of the waves, in picks.
pub const WAVES_PICKS: f64 = 10.0;

/// Fewest picks that a split by cause makes sense for.
pub(super) const LEAST_PICKS: usize = 8;

/// Splits the beat; `None` with fewer than eight picks.
#[must_use]
pub fn split(places: &PickPlaces) -> Option<Beat> {
    let pitch = places.pitch_mm().filter(|p| *p > 0.0)?;
    if places.count() < LEAST_PICKS {
        return None;
    }
    let recipe = Recipe::new(places);
    let freedom = (places.count() - 1) as f64;
    let part =
        |of: &dyn Fn(&[f64]) -> Vec<f64>| places.mean_square(freedom, of).root(100.0 / pitch);
    let scatter = part(&|x| recipe.scatter(x));
    let rhythm = recipe.owners.as_ref().map(|(_, rows)| {
        let found = part(&|x| recipe.rhythm(x));
        let by_chance = scatter.value * (*rows as f64 / places.count() as f64).sqrt();
        Estimate::new(found.value, found.scatter.hypot(by_chance), found.scale)
    });
    Some(Beat {
        drift_percent: drift(places, pitch)?.into(),
        rhythm_percent: rhythm.map(Into::into),
        rhythm_rows_percent: recipe.rhythm_rows(&places.centres_mm, pitch),
        waves_percent: part(&|x| recipe.waves(x)).into(),
        scatter_percent: scatter.into(),
        local: local_picks(places),
    })
}

/// Drift, %, with the noise of the centres followed through the fit.
fn drift(places: &PickPlaces, pitch: f64) -> Option<Estimate> {
    let x = &places.centres_mm;
    let mids: Vec<f64> = x.windows(2).map(|p| f64::midpoint(p[0], p[1])).collect();
    let line = LineFit::new(&mids, &gaps(x))?;
    let run = mids.last()? - mids.first()?;
    let to_percent = 100.0 * run / pitch;
    // The slope is Σ w(i) · spacing(i) with w = (mid − mean) / Sxx; a centre stands in two
    // spacings, with opposite signs.
    let weight = |i: Option<usize>| {
        i.and_then(|i| mids.get(i))
            .map_or(0.0, |m| (m - line.mean_x) / line.sxx)
    };
    let square: f64 = places
        .centre_u_mm
        .iter()
        .enumerate()
        .map(|(k, u)| (u * (weight(k.checked_sub(1)) - weight(Some(k)))).powi(2))
        .sum();
    Some(Estimate::new(
        line.slope * to_percent,
        square.sqrt() * to_percent,
        0.0,
    ))
}

/// The linear steps from places to each part of the spacing, the fit's abscissa held fixed.
pub(super) struct Recipe {
    /// Middle of each spacing less their mean, mm.
    mids: Vec<f64>,
    /// Sum of their squares, mm².
    sxx: f64,
    /// Drawdown row that each spacing belongs to, and the number of rows.
    owners: Option<(Vec<usize>, usize)>,
}

impl Recipe {
    pub(super) fn new(places: &PickPlaces) -> Self {
        let x = &places.centres_mm;
        let mut mids: Vec<f64> = x.windows(2).map(|p| f64::midpoint(p[0], p[1])).collect();
        let mean = mids.iter().sum::<f64>() / mids.len() as f64;
        mids.iter_mut().for_each(|m| *m -= mean);
        let owners = places.rows.as_ref().and_then(|(rows, of)| {
            let known = rows.len() == places.count() && *of > 0;
            known.then(|| (rows[1..].iter().map(|r| r % of).collect(), *of))
        });
        Self {
            sxx: mids.iter().map(|m| m * m).sum(),
            mids,
            owners,
        }
    }

    /// Spacings less their straight line.
    fn without_drift(&self, places: &[f64]) -> Vec<f64> {
        let d = gaps(places);
        let mean = d.iter().sum::<f64>() / d.len() as f64;
        let slope = self.mids.iter().zip(&d).map(|(m, d)| m * d).sum::<f64>() / self.sxx;
        let left = d.iter().zip(&self.mids).map(|(d, m)| d - mean - slope * m);
        left.collect()
    }

    /// Mean of each row over what the line leaves.
    fn row_means(&self, left: &[f64]) -> Vec<f64> {
        let Some((owners, of)) = &self.owners else {
            return Vec::new();
        };
        let mut sums = vec![(0.0, 0.0); *of];
        for (row, value) in owners.iter().zip(left) {
            sums[*row].0 += value;
            sums[*row].1 += 1.0;
        }
        sums.iter()
            .map(|(sum, n)| sum / f64::max(*n, 1.0))
            .collect()
    }

    /// The rhythm's share of each spacing.
    fn rhythm(&self, places: &[f64]) -> Vec<f64> {
        let left = self.without_drift(places);
        let means = self.row_means(&left);
        match &self.owners {
            Some((owners, _)) => owners.iter().map(|row| means[*row]).collect(),
            None => vec![0.0; left.len()],
        }
    }

    /// Mean spacing of each drawdown row against the mean of all, %.
    fn rhythm_rows(&self, places: &[f64], pitch: f64) -> Vec<f64> {
        let means = self.row_means(&self.without_drift(places));
        means.iter().map(|m| 100.0 * m / pitch).collect()
    }

    /// What line and rhythm leave.
    fn left(&self, places: &[f64]) -> Vec<f64> {
        let rhythm = self.rhythm(places);
        let left = self.without_drift(places);
        left.iter().zip(&rhythm).map(|(l, r)| l - r).collect()
    }

    pub(super) fn waves(&self, places: &[f64]) -> Vec<f64> {
        gaussian_low_pass(&self.left(places), WAVES_PICKS)
    }

    pub(super) fn scatter(&self, places: &[f64]) -> Vec<f64> {
        let left = self.left(places);
        let slow = gaussian_low_pass(&left, WAVES_PICKS);
        left.iter().zip(&slow).map(|(l, s)| l - s).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{even_places, places_of};
    use super::*;
    use crate::stats::testing::Normal;

    #[test]
    fn an_even_band_has_nothing_to_split() {
        let beat = split(&even_places(50, 2.5)).expect("50 picks");
        assert!(beat.drift_percent.value.abs() < 1e-6);
        assert!(beat.scatter_percent.value < 1e-6 && beat.waves_percent.value < 1e-6);
        assert_eq!(beat.rhythm_percent, None);
    }

    #[test]
    fn a_creep_is_drift_and_nothing_else() {
        let spacing: Vec<f64> = (0..60).map(|i| 2.0 + 0.01 * f64::from(i)).collect();
        let beat = split(&places_of(&spacing)).expect("61 picks");
        let expected = 100.0 * 0.59 / 2.295;
        assert!(
            (beat.drift_percent.value - expected).abs() < 1.0,
            "{beat:?}"
        );
        assert!(beat.scatter_percent.value < 0.5, "{beat:?}");
    }

    #[test]
    fn the_structures_rhythm_is_not_blamed_on_the_hand() {
        let spacing: Vec<f64> = (0..60).map(|i| [2.2, 2.5, 2.8][i % 3]).collect();
        let mut places = places_of(&spacing);
        places.rows = Some(((0..61).map(|i| (i + 2) % 3).collect(), 3));
        let beat = split(&places).expect("61 picks");
        let rows = &beat.rhythm_rows_percent;
        assert!(
            (rows[0] + 12.0).abs() < 0.3 && (rows[2] - 12.0).abs() < 0.3,
            "{rows:?}"
        );
        let rhythm = beat.rhythm_percent.expect("rows are known").value;
        assert!((rhythm - 9.8).abs() < 0.3, "{rhythm}");
        // The line leans a little on the rhythm: that much is left.
        let left = beat.scatter_percent.value.max(beat.waves_percent.value);
        assert!(left < 0.8, "{left}");
    }

    #[test]
    fn the_drifts_interval_holds_under_noise() {
        let mut normal = Normal::new(9);
        let (mut inside, truth) = (0, split(&even_places(40, 2.5)).expect("40 picks"));
        for _ in 0..300 {
            let mut places = even_places(40, 2.5);
            places.centre_u_mm = vec![0.06; 40];
            for at in &mut places.centres_mm {
                *at += 0.06 * normal.draw();
            }
            let drift = split(&places).expect("40 picks").drift_percent;
            inside += u32::from((drift.value - truth.drift_percent.value).abs() < drift.u95);
        }
        assert!((276..=297).contains(&inside), "{inside} of 300");
    }
}
