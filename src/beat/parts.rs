//! The beat's parts pick by pick, as a drawing shows them.
//!
//! The same steps as [`split`](super::split()), but each part is kept as a series, one number a
//! spacing, instead of its size. Noise isn't taken out here: a series can't be freed of it, only
//! its mean square can, so the drawn scatter is a little larger than the figure.

use super::PickPlaces;
use super::split::{LEAST_PICKS, Recipe};
use crate::stats::{LineFit, gaps};

/// What each spacing owes to each cause, % of the mean spacing; above 0 the picks lie wider apart.
#[derive(Clone, Debug, PartialEq)]
pub struct BeatParts {
    /// Middle of each spacing, mm from the start of the body.
    pub at_mm: Vec<f64>,
    /// The straight line of the drift.
    pub drift: Vec<f64>,
    /// Slow waves.
    pub waves: Vec<f64>,
    /// What is left from pick to pick.
    pub scatter: Vec<f64>,
}

/// The parts of a beat from the picks' places, mm, and their drawdown rows (from 1) where these are
/// known; `None` with fewer than eight picks.
///
/// ```
/// let at: Vec<f64> = (0..20).map(|n| 2.5 * f64::from(n)).collect();
/// let parts = evenfell::beat::parts(&at, None).expect("20 picks");
/// assert!(parts.scatter.iter().all(|share| share.abs() < 1e-9));
/// assert!(evenfell::beat::parts(&at[..5], None).is_none());
/// ```
#[must_use]
pub fn parts(centres_mm: &[f64], rows: Option<&[u32]>) -> Option<BeatParts> {
    let places = PickPlaces {
        centres_mm: centres_mm.to_vec(),
        rows: rows.and_then(from_zero),
        ..PickPlaces::default()
    };
    let pitch = places.pitch_mm().filter(|pitch| *pitch > 0.0)?;
    if places.count() < LEAST_PICKS {
        return None;
    }
    let at_mm: Vec<f64> = centres_mm
        .windows(2)
        .map(|pair| f64::midpoint(pair[0], pair[1]))
        .collect();
    let line = LineFit::new(&at_mm, &gaps(centres_mm))?;
    let recipe = Recipe::new(&places);
    let percent = |series: Vec<f64>| series.iter().map(|mm| 100.0 * mm / pitch).collect();
    Some(BeatParts {
        drift: percent(
            at_mm
                .iter()
                .map(|at| line.slope * (at - line.mean_x))
                .collect(),
        ),
        waves: percent(recipe.waves(centres_mm)),
        scatter: percent(recipe.scatter(centres_mm)),
        at_mm,
    })
}

/// Rows counted from 0, and how many there are; `None` where a row is 0 or there are none.
fn from_zero(rows: &[u32]) -> Option<(Vec<usize>, usize)> {
    let rows: Option<Vec<usize>> = rows
        .iter()
        .map(|row| usize::try_from(row.checked_sub(1)?).ok())
        .collect();
    let rows = rows?;
    let last = rows.iter().copied().max()?;
    // A row number beyond the picks' count stands for no drawdown that these picks could show.
    (last < rows.len()).then(|| (rows, last + 1))
}

#[cfg(test)]
mod tests {
    use super::super::split;
    use super::super::testing::places_of;
    use super::*;

    #[test]
    fn the_parts_are_what_the_figures_are_the_size_of() {
        let spacing: Vec<f64> = (0..60)
            .map(|i| 2.5 + 0.004 * f64::from(i) + 0.2 * (f64::from(i) / 4.0).sin())
            .collect();
        let places = places_of(&spacing);
        let beat = split(&places).expect("61 picks");
        let parts = parts(&places.centres_mm, None).expect("61 picks");
        let rise = parts.drift[59] - parts.drift[0];
        assert!((rise - beat.drift_percent.value).abs() < 1e-6, "{rise}");
        let squares: f64 = parts.waves.iter().map(|share| share * share).sum();
        let rms = (squares / 60.0).sqrt();
        assert!(
            (rms - beat.waves_percent.value).abs() < 0.1,
            "{rms} {beat:?}"
        );
    }

    #[test]
    fn rows_that_no_drawdown_has_are_left_aside() {
        let at: Vec<f64> = (0..12).map(|n| 2.0 * f64::from(n)).collect();
        assert!(parts(&at, Some(&[u32::MAX; 12])).is_some());
        assert!(parts(&at, Some(&[0; 12])).is_some());
        assert!(parts(&at, Some(&[1, 2])).is_some(), "too few rows are none");
    }
}
