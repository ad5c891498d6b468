//! Where does each selvedge run, pick by pick, its weft turns averaged out?
//!
//! At each pick the mean of the selvedge from the centre of the pick before to that of the pick after: two
//! picks, within which the weft turns once on each side, so that turns that alternate leave nothing behind.
//!
//! # Limits
//! Turns that follow a longer repeat, or a beat so uneven that two neighbouring picks differ greatly, leave some
//! of themselves.

use super::BodyEdges;

/// Both selvedges at each pick, outward positive.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnlessEdges {
    /// Place of each pick, mm from the start of the body.
    pub at_mm: Vec<f64>,
    /// The left selvedge, mm from the centre line.
    pub left_mm: Vec<f64>,
    /// The right selvedge.
    pub right_mm: Vec<f64>,
    /// Mean distance between picks, mm.
    pub pitch_mm: f64,
}

impl TurnlessEdges {
    /// At the centres of the picks (mm from the start of the body), or every `pitch_mm` where there are none;
    /// `None` for a body without samples or without a pitch.
    #[must_use]
    pub fn new(edges: &BodyEdges, centres_mm: Option<&[f64]>, pitch_mm: f64) -> Option<Self> {
        if edges.is_empty() || !(pitch_mm.is_finite() && pitch_mm > 0.0) {
            return None;
        }
        let from = edges.first_mm - 0.5 * edges.step_mm;
        let to = from + edges.len() as f64 * edges.step_mm;
        let within = |at: &f64| *at > from && *at < to;
        let at_mm: Vec<f64> = match centres_mm {
            Some(centres) => centres.iter().copied().filter(within).collect(),
            None => (0..)
                .map(|k| from + (f64::from(k) + 0.5) * pitch_mm)
                .take_while(within)
                .collect(),
        };
        let last = at_mm.len().checked_sub(1)?;
        let reach = |k: usize| {
            let before = k.checked_sub(1).map_or(at_mm[0] - pitch_mm, |b| at_mm[b]);
            let after = at_mm.get(k + 1).map_or(at_mm[last] + pitch_mm, |a| *a);
            (before.max(from), after.min(to))
        };
        let means = |edge: &[f64]| {
            let sums = Sums::new(edge, from, edges.step_mm);
            let mean = |k| {
                let (from, to) = reach(k);
                (sums.up_to(to) - sums.up_to(from)) / (to - from)
            };
            (0..=last).map(mean).collect()
        };
        Some(Self {
            left_mm: means(&edges.left_mm),
            right_mm: means(&edges.right_mm),
            at_mm,
            pitch_mm,
        })
    }
}

/// Integral of a row of samples from its start.
struct Sums {
    from_mm: f64,
    step_mm: f64,
    sums: Vec<f64>,
}

impl Sums {
    fn new(row: &[f64], from_mm: f64, step_mm: f64) -> Self {
        let mut sum = 0.0;
        let sums = row.iter().map(|v| {
            sum += v * step_mm;
            sum
        });
        Self {
            from_mm,
            step_mm,
            sums: std::iter::once(0.0).chain(sums).collect(),
        }
    }

    fn up_to(&self, at_mm: f64) -> f64 {
        let last = self.sums.len() - 1;
        let place = ((at_mm - self.from_mm) / self.step_mm).clamp(0.0, last as f64);
        let before = (place as usize).min(last.saturating_sub(1));
        let share = place - before as f64;
        let next = self.sums[(before + 1).min(last)];
        self.sums[before] + share * (next - self.sums[before])
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::edges_of;
    use super::*;

    #[test]
    fn turns_on_every_second_pick_leave_nothing() {
        let turn = |at: f64| (std::f64::consts::PI * at / 2.5).cos();
        let edges = edges_of(2000, 0.05, |at| (16.0 + turn(at), 16.0 + 0.01 * at));
        let centres: Vec<f64> = (0..40).map(|k| 2.5 * (f64::from(k) + 0.5)).collect();
        let found = TurnlessEdges::new(&edges, Some(&centres), 2.5).expect("a body");
        assert_eq!(found.left_mm.len(), 40);
        let inside = 1..39;
        assert!(
            found.left_mm[inside.clone()]
                .iter()
                .all(|v| (v - 16.0).abs() < 0.01)
        );
        for k in inside {
            assert!((found.right_mm[k] - 16.0 - 0.01 * found.at_mm[k]).abs() < 0.01);
        }
    }

    #[test]
    fn without_picks_the_places_are_a_pitch_apart() {
        let edges = edges_of(2000, 0.05, |_| (16.0, 17.0));
        let found = TurnlessEdges::new(&edges, None, 2.5).expect("a body");
        assert_eq!(found.at_mm.len(), 40);
        assert!(found.right_mm.iter().all(|v| (v - 17.0).abs() < 1e-9));
        assert_eq!(TurnlessEdges::new(&edges, None, 0.0), None);
    }
}
