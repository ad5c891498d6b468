//! Yarn as a chain of round places along its path.

/// One place on a yarn's centre line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Knot {
    /// Along the band, mm.
    pub s: f64,
    /// Across the band, mm.
    pub t: f64,
    /// Height of the centre above the cloth's middle plane, mm.
    pub z: f64,
    /// Lateral radius, mm.
    pub r: f64,
}

/// Which pick a piece of weft belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    /// Across the band, body pick from 0.
    Pick(usize),
    /// The turn after that body pick.
    Turn(usize),
    /// A header pick or its turn.
    Header,
    /// An end, or its fringe.
    Warp,
}

/// A piece of yarn of one look.
#[derive(Clone, Debug)]
pub(super) struct Yarn {
    /// Its path.
    pub knots: Vec<Knot>,
    /// Index of its look in the cloth's list.
    pub look: usize,
    /// What it is.
    pub part: Part,
    /// Length of yarn before the first knot, mm: keeps the twist going from piece to piece.
    pub run_mm: f64,
}

impl Yarn {
    /// Length of the path, mm, as seen from above.
    pub(super) fn length_mm(&self) -> f64 {
        let step = |pair: &[Knot]| (pair[1].s - pair[0].s).hypot(pair[1].t - pair[0].t);
        self.knots.windows(2).map(step).sum()
    }

    /// Rounds off the path's beginning or end with a half disc that sinks to `z`.
    pub(super) fn cap(&mut self, at_end: bool, sink: f64) {
        if self.knots.len() < 2 {
            return;
        }
        let n = self.knots.len();
        let (tip, before) = if at_end {
            (self.knots[n - 1], self.knots[n - 2])
        } else {
            (self.knots[0], self.knots[1])
        };
        let (ds, dt) = (tip.s - before.s, tip.t - before.t);
        let norm = ds.hypot(dt).max(1e-9);
        const STEPS: usize = 8;
        for i in 1..=STEPS {
            let x = (i as f64 / STEPS as f64 * std::f64::consts::FRAC_PI_2).sin();
            let knot = Knot {
                s: tip.s + tip.r * x * ds / norm,
                t: tip.t + tip.r * x * dt / norm,
                z: tip.z - sink * x * x,
                r: tip.r * (1.0 - x * x).max(0.0).sqrt(),
            };
            if at_end {
                self.knots.push(knot);
            } else {
                self.knots.insert(0, knot);
            }
        }
    }
}

/// 0 to 1 with level ends.
pub(super) fn ease(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

/// Height between crossings: level on top of each, eased between.
pub(super) fn height_between(crossings: &[(f64, f64)], x: f64) -> f64 {
    let i = crossings.partition_point(|&(at, _)| at <= x);
    match (
        i.checked_sub(1).and_then(|j| crossings.get(j)),
        crossings.get(i),
    ) {
        (Some(&(a, za)), Some(&(b, zb))) => za + (zb - za) * ease((x - a) / (b - a).max(1e-9)),
        (Some(&(_, z)), None) | (None, Some(&(_, z))) => z,
        (None, None) => 0.0,
    }
}
