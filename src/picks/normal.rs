//! The normal equations of one pick's place.
//!
//! Parameters are shift, tilt, stretch, gain and an offset for each channel. The first three, the moves,
//! differ only in how far each moves the template at a sample: by 1, by its place across and by its place
//! along. And along a row of samples, the place along is a straight line of the place across. So each row
//! is summed with powers of the place across alone, several columns at once in `f32`; then rows and moves come
//! together in `f64`.

use nalgebra::{SMatrix, SVector};

use super::side_by_side::{LANES, Lanes};

/// Parameters: shift, tilt, stretch, gain, three offsets.
pub(super) const PARAMETERS: usize = 7;

/// Parameters that move the template: shift, tilt, stretch.
const MOVES: usize = 3;

/// Sums over one row: products of the template's slope (a state), its value and what the sample has beyond
/// it, by powers of the place across.
#[derive(Default)]
pub(super) struct RowSums {
    slopes: [Lanes; 3],
    slopes_values: [Lanes; 2],
    slopes_rests: [Lanes; 2],
    values: Lanes,
    values_rests: Lanes,
    rests: Lanes,
    /// Each channel's slope, by powers; its value; its rest.
    channels: [([Lanes; 2], Lanes, Lanes); 3],
}

impl RowSums {
    /// Adds one channel of a row of samples: the four states `around` each, its place across and its
    /// share of the way from the second state to the third.
    pub(super) fn add(
        &mut self,
        channel: usize,
        around: [&[Lanes]; 4],
        samples: &[Lanes],
        (across, shares): (&[Lanes], &[Lanes]),
    ) {
        let blocks = samples.len();
        let [before, from, to, behind] = around.map(|rows| &rows[..blocks]);
        let (across, shares) = (&across[..blocks], &shares[..blocks]);
        let own = &mut self.channels[channel];
        for k in 0..blocks {
            let (mut slope, mut value, mut rest) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
            let mut slanted = [0.0; LANES];
            for n in 0..LANES {
                let share = shares[k][n];
                let (at_from, at_to) = (to[k][n] - before[k][n], behind[k][n] - from[k][n]);
                slope[n] = 0.5 * (at_from + share * (at_to - at_from));
                value[n] = from[k][n] + share * (to[k][n] - from[k][n]);
                rest[n] = samples[k][n] - value[n];
                slanted[n] = slope[n] * across[k][n];
            }
            add_product(&mut self.slopes[0], &slope, &slope);
            add_product(&mut self.slopes[1], &slope, &slanted);
            add_product(&mut self.slopes[2], &slanted, &slanted);
            add_product(&mut self.slopes_values[0], &slope, &value);
            add_product(&mut self.slopes_values[1], &slanted, &value);
            add_product(&mut self.slopes_rests[0], &slope, &rest);
            add_product(&mut self.slopes_rests[1], &slanted, &rest);
            add_product(&mut self.values, &value, &value);
            add_product(&mut self.values_rests, &value, &rest);
            add_product(&mut self.rests, &rest, &rest);
            for n in 0..LANES {
                own.0[0][n] += slope[n];
                own.0[1][n] += slanted[n];
                own.1[n] += value[n];
                own.2[n] += rest[n];
            }
        }
    }
}

#[inline]
fn add_product(sum: &mut Lanes, a: &Lanes, b: &Lanes) {
    for n in 0..LANES {
        sum[n] += a[n] * b[n];
    }
}

fn total(lanes: &Lanes) -> f64 {
    lanes.iter().map(|lane| f64::from(*lane)).sum()
}

/// The normal equations' sums.
#[derive(Default)]
pub(super) struct Sums {
    /// Moves with moves.
    moves: [[f64; MOVES]; MOVES],
    /// Moves with the gain.
    moves_gain: [f64; MOVES],
    /// The gain with itself.
    gain: f64,
    /// Each channel's offset with moves and gain.
    offset_moves: [[f64; MOVES]; 3],
    offset_gain: [f64; 3],
    /// The right side, in the order of the parameters.
    right: [f64; PARAMETERS],
    /// Weighted sum of the squared residuals.
    pub(super) rest: f64,
    /// Sum of the weights of one channel.
    pub(super) weight: f64,
}

impl Sums {
    /// Adds a row of `count` columns, each with weight `w`, that lies `d` samples behind the pick's middle
    /// in the middle, and nearer by `tilt` times the place across; slopes are made to be a sample's.
    pub(super) fn add(
        &mut self,
        row: &RowSums,
        (w, count): (f64, f64),
        (d, tilt): (f64, f64),
        states_a_sample: f64,
    ) {
        let slope = w * states_a_sample;
        // By how far each move takes the template: 1, across, d − tilt · across.
        let moved = |[one, across]: [f64; 2]| [one, across, d * one - tilt * across];
        let [ones, once, twice] = row.slopes.map(|s| slope * states_a_sample * total(&s));
        let (by_shift, by_tilt) = (moved([ones, once]), moved([once, twice]));
        self.moves[0][0] += by_shift[0];
        self.moves[0][1] += by_shift[1];
        self.moves[0][2] += by_shift[2];
        self.moves[1][1] += by_tilt[1];
        self.moves[1][2] += by_tilt[2];
        self.moves[2][2] += d * by_shift[2] - tilt * by_tilt[2];
        let values = moved(row.slopes_values.map(|s| slope * total(&s)));
        let rests = moved(row.slopes_rests.map(|s| slope * total(&s)));
        for a in 0..MOVES {
            self.moves_gain[a] -= values[a];
            self.right[a] -= rests[a];
        }
        self.gain += w * total(&row.values);
        self.right[MOVES] += w * total(&row.values_rests);
        self.rest += w * total(&row.rests);
        self.weight += w * count;
        for (c, (slopes, value, rest)) in row.channels.iter().enumerate() {
            let by = moved(slopes.map(|s| slope * total(&s)));
            for a in 0..MOVES {
                self.offset_moves[c][a] -= by[a];
            }
            self.offset_gain[c] += w * total(value);
            self.right[MOVES + 1 + c] += w * total(rest);
        }
    }

    /// Matrix and right side.
    pub(super) fn system(
        &self,
    ) -> (
        SMatrix<f64, PARAMETERS, PARAMETERS>,
        SVector<f64, PARAMETERS>,
    ) {
        let mut normal = SMatrix::<f64, PARAMETERS, PARAMETERS>::zeros();
        let mut set = |a: usize, b: usize, value: f64| {
            normal[(a, b)] = value;
            normal[(b, a)] = value;
        };
        for a in 0..MOVES {
            for b in a..MOVES {
                set(a, b, self.moves[a][b]);
            }
            set(a, MOVES, self.moves_gain[a]);
        }
        set(MOVES, MOVES, self.gain);
        for c in 0..3 {
            let k = MOVES + 1 + c;
            for a in 0..MOVES {
                set(a, k, self.offset_moves[c][a]);
            }
            set(MOVES, k, self.offset_gain[c]);
            set(k, k, self.weight);
        }
        (normal, SVector::from(self.right))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What lies at lane `n`: the four states around, sample, place across and share.
    fn lane(n: usize, channel: usize) -> ([f32; 4], f32, f32, f32) {
        let value = |k: usize| ((n * 7 + k * 5 + channel * 3) % 13) as f32 - 6.0;
        let across = n as f32 / 4.0 - 1.0;
        let share = (n * 3 % 8) as f32 / 8.0;
        (
            [value(0), value(1), value(2), value(3)],
            value(9),
            across,
            share,
        )
    }

    /// Matrix and right side, sample by sample as the parameters' derivatives say.
    fn one_by_one(
        (w, d, tilt): (f64, f64, f64),
        states_a_sample: f64,
    ) -> (
        SMatrix<f64, PARAMETERS, PARAMETERS>,
        SVector<f64, PARAMETERS>,
    ) {
        let mut normal = SMatrix::zeros();
        let mut right = SVector::zeros();
        for channel in 0..3 {
            for n in 0..2 * LANES {
                let (around, sample, across, share) = lane(n, channel);
                let [before, from, to, behind] = around.map(f64::from);
                let (across, share) = (f64::from(across), f64::from(share));
                let value = from + share * (to - from);
                let slope = 0.5 * ((to - before) * (1.0 - share) + (behind - from) * share);
                let slope = slope * states_a_sample;
                let mut by = SVector::<f64, PARAMETERS>::zeros();
                by[0] = -slope;
                by[1] = -slope * across;
                by[2] = -slope * (d - tilt * across);
                by[3] = value;
                by[4 + channel] = 1.0;
                normal += w * by * by.transpose();
                right += w * by * (f64::from(sample) - value);
            }
        }
        (normal, right)
    }

    #[test]
    fn rows_summed_several_columns_at_once_give_what_one_by_one_gives() {
        let lanes = |of: &dyn Fn(usize) -> f32| -> Vec<Lanes> {
            (0..2)
                .map(|block| [0, 1, 2, 3].map(|n| of(LANES * block + n)))
                .collect()
        };
        let mut row = RowSums::default();
        for c in 0..3 {
            let around = [0, 1, 2, 3].map(|k| lanes(&|n| lane(n, c).0[k]));
            let samples = lanes(&|n| lane(n, c).1);
            let (across, shares) = (lanes(&|n| lane(n, c).2), lanes(&|n| lane(n, c).3));
            let around = around.each_ref().map(Vec::as_slice);
            row.add(c, around, &samples, (&across, &shares));
        }
        let (w, d, tilt) = (0.7, 3.5, 1.25);
        let mut sums = Sums::default();
        sums.add(&row, (w, 2.0 * LANES as f64), (d, tilt), 2.3);
        let (normal, right) = sums.system();
        let (want, want_right) = one_by_one((w, d, tilt), 2.3);
        assert!((normal - want).abs().max() < 1e-4 * want.abs().max());
        assert!((right - want_right).abs().max() < 1e-4 * want_right.abs().max());
    }
}
