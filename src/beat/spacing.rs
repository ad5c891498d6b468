//! How much do neighbouring picks differ in distance?
//!
//! # Method
//! 1. Spacings are the distances between the centres of neighbouring picks.
//! 2. Their mean square about the mean, less what the noise of measuring adds: an error of s on
//!    each centre adds 2 s² (half a pixel at 15 px a pick reads as 4.7 % on a perfectly even
//!    cloth). The noise of each centre is the pick finder's, half-to-half scatter included.
//! 3. Where two estimates of each centre from disjoint halves of the width are at hand, the
//!    covariance of their two spacing series is the cloth's own variance directly. What error is
//!    common to the whole width stays in the interval: it is no independent noise that could be
//!    taken out. Errors that the halves have against each other (a weft that lies aslant, seen
//!    early on one side and late on the other) make the covariance too small, and the whole width
//!    hasn't got them: the greater of the two variances counts. (Of 255 drawn bands' CVs nine
//!    in ten come out within 2.9 points so, with the covariance alone within 3.6.)
//! 4. The pull of neighbouring picks (`neighbours`), which evens a beat out, goes into the interval.
//!
//! # Limits
//! The spread falls with the length it is taken over: this one is pick to pick.

use super::neighbours::{pull_u, second_difference, square_pull};
use crate::picks::PickTrack;
use crate::scale::OnCloth;
use crate::stats::{Estimate, MeanSquare, gaps};

/// The centres of the body's picks on the cloth, mm from the start of the body.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PickPlaces {
    /// Centre of each pick, mm.
    pub centres_mm: Vec<f64>,
    /// One standard uncertainty of each centre from noise alone, mm.
    pub noise_u_mm: Vec<f64>,
    /// One standard uncertainty of each centre, its neighbours' pull and the scale left aside, mm.
    pub own_u_mm: Vec<f64>,
    /// The same centres from two disjoint halves of the width, mm.
    pub halves_mm: Option<(Vec<f64>, Vec<f64>)>,
    /// One standard uncertainty of each centre, its neighbours' pull included, the scale left
    /// aside, mm.
    pub centre_u_mm: Vec<f64>,
    /// Whether the weft hides the warp, so that every pick is pressed against its neighbours.
    pub weft_hides_warp: bool,
    /// Drawdown row (from 0) of each pick, and how many rows there are.
    pub rows: Option<(Vec<usize>, usize)>,
    /// Length of the body, the scale's doubt kept apart, mm.
    pub length_mm: Estimate,
}

impl PickPlaces {
    /// Brings a track onto the cloth: distances times `lengths.factor`, from the start of the body.
    ///
    /// `drawdown_rows` is the number of rows of the plan's drawdown, where it has one.
    #[must_use]
    pub fn new(track: &PickTrack, lengths: OnCloth, drawdown_rows: Option<usize>) -> Self {
        let place = |s: &f64| (s - track.body_mm.0) * lengths.factor;
        let places = |all: &[f64]| all.iter().map(place).collect::<Vec<f64>>();
        let centres_mm = places(&track.centres_mm);
        let length = (track.body_mm.1 - track.body_mm.0) * lengths.factor;
        // What misleads one end (how far a pick reaches, how the warp lies beyond it) misleads the other
        // the same way: the two doubts add up.
        let ends_u = (track.body_u_mm.0 + track.body_u_mm.1) * lengths.factor;
        let on_cloth = |all: &[f64]| all.iter().map(|u| u * lengths.factor).collect::<Vec<_>>();
        let own_u_mm = on_cloth(&track.centre_u_mm);
        let pulls = pull_u(&centres_mm, track.weft_hides_warp);
        let both = own_u_mm.iter().zip(&pulls).map(|(n, p)| n.hypot(*p));
        Self {
            centre_u_mm: both.collect(),
            noise_u_mm: on_cloth(&track.noise_u_mm),
            own_u_mm,
            centres_mm,
            halves_mm: track
                .halves_mm
                .as_ref()
                .map(|(a, b)| (places(a), places(b))),
            weft_hides_warp: track.weft_hides_warp,
            rows: track.rows.clone().zip(drawdown_rows),
            length_mm: Estimate::new(length, ends_u, length * lengths.relative_u),
        }
    }

    /// Number of picks.
    #[must_use]
    pub fn count(&self) -> usize {
        self.centres_mm.len()
    }

    /// Mean square of what a linear recipe makes of the centres, over `divisor`, freed of noise; the
    /// neighbours' pull is in its uncertainty.
    pub(super) fn mean_square(
        &self,
        divisor: f64,
        recipe: impl Fn(&[f64]) -> Vec<f64>,
    ) -> MeanSquare {
        let pull = second_difference(&self.centres_mm);
        let share = square_pull(self.weft_hides_warp);
        let shared: Vec<f64> = pull.iter().map(|d| share * d).collect();
        let places_u = (&self.own_u_mm[..], &self.noise_u_mm[..]);
        MeanSquare::new(&self.centres_mm, places_u, &shared, divisor, recipe)
    }

    /// Mean spacing, mm: the distance from the first centre to the last over their number less
    /// one. `None` with fewer than two picks.
    #[must_use]
    pub fn pitch_mm(&self) -> Option<f64> {
        let (first, last) = (self.centres_mm.first()?, self.centres_mm.last()?);
        let gaps = self.count() - 1;
        (gaps > 0).then(|| (last - first) / gaps as f64)
    }
}

/// Coefficient of variation of the spacing, pick to pick, %, with the noise of measuring taken
/// out. `None` with fewer than four picks.
#[must_use]
pub fn spacing_cv(places: &PickPlaces) -> Option<Estimate> {
    let pitch = places.pitch_mm().filter(|p| *p > 0.0)?;
    if places.count() < 4 {
        return None;
    }
    let freedom = (places.count() - 2) as f64;
    let plain = places.mean_square(freedom, |x| centred(&gaps(x)));
    let square = match &places.halves_mm {
        Some((a, b)) if a.len() == places.count() && b.len() == places.count() => {
            plain.with_value(covariance(a, b, freedom).max(plain.value))
        }
        _ => plain,
    };
    Some(square.root(100.0 / pitch))
}

/// The values less their mean.
fn centred(values: &[f64]) -> Vec<f64> {
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    values.iter().map(|v| v - mean).collect()
}

/// Covariance of the spacings of two series of places.
fn covariance(a: &[f64], b: &[f64], freedom: f64) -> f64 {
    let (a, b) = (centred(&gaps(a)), centred(&gaps(b)));
    a.iter().zip(&b).map(|(a, b)| a * b).sum::<f64>() / freedom
}

#[cfg(test)]
mod tests {
    use super::super::testing::even_places;
    use super::*;
    use crate::stats::testing::Normal;

    #[test]
    fn an_even_cloth_measured_with_noise_reads_even() {
        let mut places = even_places(80, 2.5);
        let mut normal = Normal::new(3);
        for at in &mut places.centres_mm {
            *at += 0.08 * normal.draw();
        }
        places.noise_u_mm = vec![0.08; 80];
        places.own_u_mm = vec![0.08; 80];
        let cv = spacing_cv(&places).expect("80 picks");
        assert!(cv.value < cv.u95(), "{cv:?}");
        assert!(cv.u95() < 4.0, "{cv:?}");
    }

    #[test]
    fn an_uneven_beat_reads_within_its_interval_whether_its_picks_touch_or_not() {
        let mut normal = Normal::new(5);
        let mut at = 0.0;
        let truth: Vec<f64> = (0..120)
            .map(|_| {
                at += 2.5 * (1.0 + 0.05 * normal.draw());
                at
            })
            .collect();
        let exact = {
            let steps = centred(&gaps(&truth));
            100.0 * (steps.iter().map(|d| d * d).sum::<f64>() / 118.0).sqrt() / 2.5
        };
        for pull in [0.0, 0.05, 0.1] {
            let off = second_difference(&truth);
            let seen = truth.iter().zip(&off).map(|(t, d)| t + pull * d);
            let track = PickTrack {
                centres_mm: seen.map(|s| s + 0.01 * normal.draw()).collect(),
                centre_u_mm: vec![0.01; 120],
                noise_u_mm: vec![0.01; 120],
                body_mm: (0.0, at + 1.0),
                ..PickTrack::default()
            };
            let lengths = OnCloth {
                factor: 1.0,
                relative_u: 0.0,
            };
            let cv = spacing_cv(&PickPlaces::new(&track, lengths, None)).expect("120 picks");
            assert!(
                (cv.value - exact).abs() < cv.u95(),
                "{pull}: {cv:?} for {exact}"
            );
            assert!(cv.u95() < 0.65 * exact, "{pull}: {cv:?}");
        }
    }
}
