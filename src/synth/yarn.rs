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
    /// Lightness of this piece against its look: no two dyeings or wraps are quite alike.
    pub tone: f64,
    /// How far the tip at its beginning and at its end is tucked down, mm, where it is.
    pub tucked: (Option<f64>, Option<f64>),
}

impl Yarn {
    /// Length of the path, mm, as seen from above.
    pub(super) fn length_mm(&self) -> f64 {
        let step = |pair: &[Knot]| (pair[1].s - pair[0].s).hypot(pair[1].t - pair[0].t);
        self.knots.windows(2).map(step).sum()
    }

    /// The path as it is drawn: with rounded tips where the yarn is tucked in.
    pub(super) fn drawn_knots(&self) -> Vec<Knot> {
        let n = self.knots.len();
        if n < 2 {
            return self.knots.clone();
        }
        let mut knots = Vec::with_capacity(n + 2 * CAP_KNOTS);
        if let Some(sink) = self.tucked.0 {
            knots.extend(cap(&self.knots[1], &self.knots[0], sink).into_iter().rev());
        }
        knots.extend_from_slice(&self.knots);
        if let Some(sink) = self.tucked.1 {
            knots.extend(cap(&self.knots[n - 2], &self.knots[n - 1], sink));
        }
        knots
    }
}

/// Knots of a rounded tip.
const CAP_KNOTS: usize = 8;

/// A half disc beyond `tip` that sinks by `sink`: within the disc around the tip, so that the
/// outline by discs needs no knowledge of it.
fn cap(before: &Knot, tip: &Knot, sink: f64) -> Vec<Knot> {
    let (ds, dt) = (tip.s - before.s, tip.t - before.t);
    let norm = ds.hypot(dt).max(1e-9);
    (1..=CAP_KNOTS)
        .map(|i| {
            let x = (i as f64 / CAP_KNOTS as f64 * std::f64::consts::FRAC_PI_2).sin();
            Knot {
                s: tip.s + tip.r * x * ds / norm,
                t: tip.t + tip.r * x * dt / norm,
                z: tip.z - sink * x * x,
                r: tip.r * (1.0 - x * x).max(0.0).sqrt(),
            }
        })
        .collect()
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
