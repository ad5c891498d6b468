//! What was woven wrong, and what of it was found?

use std::ops::AddAssign;

use evenfell::measurement::{Finding, FindingKind, Measurement, Side};
use evenfell::synth::{self, Truth};

/// Least share of a loose or tight stretch that must lie within the one told.
const LEAST_SHARE: f64 = 0.6;

/// How far a pull may lie from the place told, mm.
const NEAR_MM: f64 = 5.0;

/// Faults of one kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Sought {
    /// Told where they are.
    pub(crate) found: usize,
    /// Woven, and not told.
    pub(crate) missed: usize,
    /// Told, and not woven there.
    pub(crate) invented: usize,
}

impl Sought {
    /// Holds what was told against what was woven.
    fn new<W, T>(woven: &[W], told: &[T], same: impl Fn(&W, &T) -> bool) -> Self {
        let found = woven.iter().filter(|w| told.iter().any(|t| same(w, t)));
        let found = found.count();
        let invented = told.iter().filter(|t| !woven.iter().any(|w| same(w, t)));
        Self {
            found,
            missed: woven.len() - found,
            invented: invented.count(),
        }
    }

    /// How many were woven.
    pub(crate) fn woven(self) -> usize {
        self.found + self.missed
    }
}

impl AddAssign for Sought {
    fn add_assign(&mut self, other: Self) {
        self.found += other.found;
        self.missed += other.missed;
        self.invented += other.invented;
    }
}

/// The faults of one band, kind by kind.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Faults {
    /// Picks with a mis-woven cell.
    pub(crate) mis_woven: Sought,
    /// Stretches beaten more loosely or tightly.
    pub(crate) stretches: Sought,
    /// Places where a selvedge is pulled in or stands out.
    pub(crate) pulls: Sought,
}

impl Faults {
    /// Of a band that was measured.
    pub(crate) fn new(m: &Measurement, truth: &Truth) -> Self {
        let told = |kinds: &[FindingKind]| -> Vec<&Finding> {
            let all = m.findings.iter();
            all.filter(|f| kinds.contains(&f.kind)).collect()
        };
        let stretches = told(&[FindingKind::LooseStretch, FindingKind::TightStretch]);
        let edges = told(&[FindingKind::EdgePull, FindingKind::EdgeLoop]);
        Self {
            mis_woven: Sought::new(
                &mis_woven(truth),
                &told(&[FindingKind::MisWoven]),
                |pick, f| f.pick.is_some_and(|p| p as usize == *pick),
            ),
            stretches: Sought::new(&truth.stretches, &stretches, |woven, f| {
                let shared = f.to_mm.min(woven.to_mm) - f.from_mm.max(woven.from_mm);
                (f.kind == FindingKind::LooseStretch) == (woven.factor > 1.0)
                    && shared > LEAST_SHARE * (woven.to_mm - woven.from_mm)
            }),
            pulls: Sought::new(&truth.edge_marks, &edges, |woven, f| {
                let near = f.from_mm - NEAR_MM..f.to_mm + NEAR_MM;
                let left = f.side.map(|side| side == Side::Left);
                left == Some(woven.side == synth::Side::Left)
                    && (f.kind == FindingKind::EdgePull) == (woven.depth_mm > 0.0)
                    && near.contains(&woven.at_mm)
            }),
        }
    }

    /// Of a band that gave no result.
    pub(crate) fn all_missed(truth: &Truth) -> Self {
        let missed = |missed| Sought {
            missed,
            ..Sought::default()
        };
        Self {
            mis_woven: missed(mis_woven(truth).len()),
            stretches: missed(truth.stretches.len()),
            pulls: missed(truth.edge_marks.len()),
        }
    }
}

/// Picks (from 1) with a mis-woven cell.
fn mis_woven(truth: &Truth) -> Vec<usize> {
    let mut picks: Vec<usize> = truth.mis_woven.iter().map(|(pick, _)| pick + 1).collect();
    picks.sort_unstable();
    picks.dedup();
    picks
}
