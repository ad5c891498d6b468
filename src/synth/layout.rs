//! Where the weaver's hands put every yarn: pick places, rows, selvedges and ends.

use super::rng::{Rng, Wander};
use super::spec::{BandSpec, Face, RowFault, Side, Turns};

/// Labels of the random streams, one a purpose.
pub(super) mod stream {
    pub(crate) const SPACING: u64 = 1;
    pub(crate) const EDGE: u64 = 2;
    pub(crate) const SETT: u64 = 3;
    pub(crate) const WEFT: u64 = 4;
    pub(crate) const WARP: u64 = 5;
    pub(crate) const HAIR: u64 = 6;
    pub(crate) const RHYTHM: u64 = 7;
    pub(crate) const TURN: u64 = 8;
}

/// The plan of the cloth before any yarn is drawn; `s` counts from the first body pick.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// `s` of each body pick.
    pub picks_mm: Vec<f64>,
    /// Drawdown row (from 0) of each body pick.
    pub rows: Vec<usize>,
    /// `s` of header picks before and after, outward from the body.
    pub header_mm: [Vec<f64>; 2],
    /// Place of each end between the outermost two, −1 to 1.
    pub shares: Vec<f64>,
    /// Half the distance between the outermost ends' outer edges, mm, before waviness.
    pub half_mm: f64,
    /// Lateral radius of the weft, mm.
    pub weft_radius: f64,
    /// Lateral radius of one warp strand, mm.
    pub strand_radius: f64,
    /// Height of weft and warp off the middle plane where they cross, mm.
    pub lift: (f64, f64),
    wander: [Wander; 2],
}

impl Layout {
    pub(super) fn new(spec: &BandSpec) -> Self {
        let weft_radius = 0.5 * spec.weft_cover * spec.pick_spacing_mm;
        let outside = match spec.turns {
            Turns::Loops { bulge, .. } => (0.6 * bulge + 0.75) * weft_radius,
            Turns::Flat => 0.5 * weft_radius,
        };
        let half_mm = (0.5 * spec.nominal_width_mm() - outside).max(0.5);
        let sett_mm = 2.0 * half_mm / spec.ends.max(2) as f64;
        let strand_radius = 0.5 * spec.warp_cover * sett_mm / spec.strands.max(1) as f64;
        let reach = spec.flatness * (weft_radius + strand_radius);
        let share = match spec.face {
            Face::Balanced => 0.5,
            Face::WeftFaced => 0.92,
            Face::WarpFaced => 0.08,
        };
        let picks_mm = pick_places(spec);
        let mut rng = Rng::fork(spec.seed, stream::EDGE);
        let wander = [
            Wander::new(&mut rng, spec.wavelength_mm),
            Wander::new(&mut rng, spec.wavelength_mm),
        ];
        Self {
            header_mm: header_places(spec, &picks_mm, weft_radius),
            rows: rows(spec),
            shares: end_shares(spec),
            picks_mm,
            half_mm,
            weft_radius,
            strand_radius,
            lift: (share * reach, (1.0 - share) * reach),
            wander,
        }
    }

    /// Thickness of the whole cloth, mm.
    pub(super) fn thickness_mm(&self, spec: &BandSpec) -> f64 {
        let weft = spec.flatness * self.weft_radius + self.lift.0;
        let warp = spec.flatness * self.strand_radius + self.lift.1;
        2.0 * weft.max(warp)
    }

    /// Half the breadth of an end with all its strands, mm.
    pub(super) fn end_radius(&self, spec: &BandSpec) -> f64 {
        self.strand_radius * spec.strands.max(1) as f64
    }

    /// `t` of the outer edge of the outermost end on a side.
    pub(super) fn edge(&self, spec: &BandSpec, side: Side, s: f64) -> f64 {
        let (index, sign) = match side {
            Side::Left => (0, -1.0),
            Side::Right => (1, 1.0),
        };
        let length = spec.nominal_length_mm().max(1.0);
        let taper = 1.0 - spec.taper * (s / length - 0.5);
        let mut out = self.half_mm * taper + spec.waviness_mm[index] * self.wander[index].at(s);
        for mark in spec.edge_marks.iter().filter(|mark| mark.side == side) {
            let x = (s - mark.at_mm) / mark.half_width_mm.max(0.1);
            out -= mark.depth_mm * (-std::f64::consts::LN_2 * x * x).exp();
        }
        sign * out
    }

    /// `t` of the centre of an end.
    pub(super) fn end(&self, spec: &BandSpec, end: usize, s: f64) -> f64 {
        let radius = self.end_radius(spec);
        let left = self.edge(spec, Side::Left, s) + radius;
        let right = self.edge(spec, Side::Right, s) - radius;
        left + 0.5 * (self.shares[end] + 1.0) * (right - left)
    }

    /// Whether the weft of a body pick passes over an end, faults included.
    pub(super) fn over(&self, spec: &BandSpec, pick: usize, end: usize) -> bool {
        spec.drawdown.over(self.rows[pick], end) != spec.mis_woven.contains(&(pick, end))
    }

    /// Every pick from the first header pick to the last: its `s`, and whether it goes over `end`.
    pub(super) fn crossings(&self, spec: &BandSpec, end: usize) -> Vec<(f64, bool)> {
        let header = |i: usize, s: f64| (s, (i + end).is_multiple_of(2));
        let before = self.header_mm[0].iter().enumerate().rev();
        let after = self.header_mm[1].iter().enumerate();
        before
            .map(|(i, &s)| header(i, s))
            .chain(
                self.picks_mm
                    .iter()
                    .enumerate()
                    .map(|(k, &s)| (s, self.over(spec, k, end))),
            )
            .chain(after.map(|(i, &s)| header(i, s)))
            .collect()
    }
}

impl BandSpec {
    /// Thickness of the whole cloth, mm.
    #[must_use]
    pub fn thickness_mm(&self) -> f64 {
        Layout::new(self).thickness_mm(self)
    }
}

/// `s` of each body pick, the first at 0.
fn pick_places(spec: &BandSpec) -> Vec<f64> {
    let mut rng = Rng::fork(spec.seed, stream::SPACING);
    let rhythm = rhythm(spec);
    let rows = rows(spec);
    let keep = spec.spacing_correlation.clamp(-0.95, 0.95);
    let fresh = (1.0 - keep * keep).sqrt();
    let mut places = vec![0.0];
    let mut error = rng.normal();
    let gaps = spec.picks.max(1) - 1;
    for k in 0..gaps {
        let along = if gaps > 1 {
            k as f64 / (gaps - 1) as f64 - 0.5
        } else {
            0.0
        };
        let at = places[k];
        let stretch: f64 = spec
            .stretches
            .iter()
            .filter(|stretch| stretch.from_mm <= at && at < stretch.to_mm)
            .map(|stretch| stretch.factor)
            .product();
        let structure =
            1.0 + 0.5 * (rhythm[rows[k] % rhythm.len()] + rhythm[rows[k + 1] % rhythm.len()]);
        let hand = 1.0 + spec.spacing_cv * error.clamp(-3.0, 3.0);
        let step = spec.pick_spacing_mm * (1.0 + spec.drift * along) * stretch * structure * hand;
        places.push(at + step.max(0.3 * spec.pick_spacing_mm));
        error = keep * error + fresh * rng.normal();
    }
    places
}

/// The structure's own mean spacing of each drawdown row, share, mean 0.
fn rhythm(spec: &BandSpec) -> Vec<f64> {
    let mut rng = Rng::fork(spec.seed, stream::RHYTHM);
    let rows = spec.drawdown.rows();
    let mut shares: Vec<f64> = (0..rows).map(|_| spec.rhythm * rng.normal()).collect();
    let mean = shares.iter().sum::<f64>() / rows as f64;
    for share in &mut shares {
        *share -= mean;
    }
    shares
}

/// Drawdown row (from 0) of each body pick, rows out of turn included.
fn rows(spec: &BandSpec) -> Vec<usize> {
    let count = spec.drawdown.rows();
    let mut row = count - 1;
    (0..spec.picks.max(1))
        .map(|pick| {
            let step = if spec.row_faults.contains(&RowFault::LeftOut(pick)) {
                2
            } else {
                usize::from(!spec.row_faults.contains(&RowFault::Doubled(pick)))
            };
            row = (row + step) % count;
            row
        })
        .collect()
}

/// Header picks before and after the body, outward.
fn header_places(spec: &BandSpec, picks_mm: &[f64], weft_radius: f64) -> [Vec<f64>; 2] {
    let Some(header) = &spec.header else {
        return [Vec::new(), Vec::new()];
    };
    let last = picks_mm.last().copied().unwrap_or(0.0);
    let gap = weft_radius + 0.5 * header.spacing_mm;
    let place = |i: usize| gap + i as f64 * header.spacing_mm;
    [
        (0..header.picks).map(|i| -place(i)).collect(),
        (0..header.picks).map(|i| last + place(i)).collect(),
    ]
}

/// Place of each end between the outermost two, −1 to 1, rising.
fn end_shares(spec: &BandSpec) -> Vec<f64> {
    let mut rng = Rng::fork(spec.seed, stream::SETT);
    let ends = spec.ends.max(2);
    let step = 2.0 / (ends - 1) as f64;
    (0..ends)
        .map(|e| {
            let nudge = if e == 0 || e == ends - 1 {
                0.0
            } else {
                (spec.sett_scatter * rng.normal()).clamp(-0.3, 0.3)
            };
            (e as f64 + nudge) * step - 1.0
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_beat_puts_the_picks_at_equal_distance() {
        let spec = BandSpec {
            spacing_cv: 0.0,
            ..BandSpec::default()
        };
        let places = pick_places(&spec);
        assert_eq!(places.len(), spec.picks);
        for pair in places.windows(2) {
            assert!((pair[1] - pair[0] - spec.pick_spacing_mm).abs() < 1e-9);
        }
    }

    #[test]
    fn a_row_left_out_or_doubled_shifts_the_rows_after_it() {
        let spec = BandSpec {
            picks: 8,
            row_faults: vec![RowFault::LeftOut(2), RowFault::Doubled(5)],
            drawdown: crate::plan::Drawdown::new(vec![
                vec![true, false, false],
                vec![false, true, false],
                vec![false, false, true],
            ])
            .expect("a twill is a drawdown"),
            ..BandSpec::default()
        };
        assert_eq!(rows(&spec), [0, 1, 0, 1, 2, 2, 0, 1]);
    }
}
