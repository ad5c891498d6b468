//! Is what repeats here woven?
//!
//! The boards of a floor, the grain of wood, hair, stripes and the lines of a paper repeat too, and their distance can
//! be measured as finely as that of picks. But in cloth every end goes over some picks and under others: along
//! one pick light and dark come by turns, along a later one at other places, and after a few picks where they were.
//! And cloth that shows little of that is beaten evenly by a machine, or its picks couldn't be followed.
//!
//! # Method
//! 1. The picture along the middle of every pick, less what is slower than a few picks.
//! 2. Every pick is laid beside those up to [`MOST_LAG`] later, shifted by up to [`SHIFT_PICKS`] to either side. In cloth they
//!    are alike at some shift and opposite at another: the lesser of the two is how clearly the cells recur.
//! 3. How unevenly the picks lie: the robust spread of their spacing over its median.
//!
//! Of close-ups: 469 pictures of wood, stone, hair, leaves and printed things, looked at both ways, gave picks without any warning 104 times
//! before this was asked, and 24 times since, 6 of them wicker and cloth; pictures of three other packages
//! (`tests/it/weaves.rs`) 25 and 3 times. Of 290 pictures of cloth that are counted right (110 drawn, 180 cut, turned and
//! scaled from six real ones) 33 are warned of, 20 of them cut from one canvas whose cells hardly show.
//!
//! # Limits
//! What is laid by turns, such as bricks, tiles, wicker or a chequered print, passes for cloth.

use ndarray::ArrayView2;
use rustfft::algorithm::Radix4;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftDirection};

use crate::stats::{gaps, median, robust_sd};

/// Most picks between two that are laid beside each other: longer repeats are rare.
const MOST_LAG: usize = 12;

/// Farthest shift of one pick against another, picks.
const SHIFT_PICKS: f64 = 6.0;

/// Half the height over which a pick's middle is read, picks.
const HALF_HEIGHT: f64 = 0.2;

/// Half of the width whose mean is taken off, picks.
const GROUND_HALF: f64 = 3.0;

/// A pick's contrast is taken to be no less than this share of the usual one.
const LEAST_CONTRAST: f64 = 0.2;

/// How picks lie in a picture.
pub(crate) struct PickLines<'a> {
    /// Row of each pick's middle at the middle of the width.
    pub(crate) rows: &'a [f64],
    /// Rows to a column.
    pub(crate) slope: f64,
    /// Rows a pick.
    pub(crate) spacing: f64,
}

/// What speaks for a weave.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weave {
    /// How clearly cells recur from pick to pick: 0 not at all, 1 exactly.
    pub(crate) recurring: f64,
    /// Spread of the picks' spacing over its median.
    pub(crate) unevenness: f64,
}

impl Weave {
    /// Looks at the picks of a picture; without three of them there is nothing to tell.
    pub(crate) fn of(picture: &ArrayView2<'_, f32>, lines: &PickLines<'_>) -> Self {
        let gaps = gaps(lines.rows);
        let usual = median(&gaps).unwrap_or(0.0);
        Self {
            recurring: recurring(
                &levelled(&read(picture, lines), lines.spacing),
                lines.spacing,
            ),
            unevenness: robust_sd(&gaps).unwrap_or(0.0) / usual.max(1e-9),
        }
    }
}

/// One value a column.
type Wave = Vec<Complex<f64>>;

/// One sample of a pick: what it shows, and 1; both 0 where the pick lies outside of the picture.
type Sample = [f64; 2];

/// The picture along each pick's middle.
fn read(picture: &ArrayView2<'_, f32>, lines: &PickLines<'_>) -> Vec<Vec<Sample>> {
    let (rows, columns) = picture.dim();
    let middle = 0.5 * (columns as f64 - 1.0);
    let half = HALF_HEIGHT * lines.spacing;
    let sample = |row: f64, j: usize| {
        let at = row + lines.slope * (j as f64 - middle);
        if at < 0.0 || at > rows as f64 - 1.0 {
            return [0.0; 2];
        }
        let from = (at - half).round().max(0.0) as usize;
        let to = ((at + half).round() as usize).min(rows - 1);
        let sum: f64 = (from..=to).map(|i| f64::from(picture[[i, j]])).sum();
        [sum / (to - from + 1) as f64, 1.0]
    };
    let line = |row: &f64| (0..columns).map(|j| sample(*row, j)).collect();
    lines.rows.iter().map(line).collect()
}

/// The picks' lines less their own slow changes, each brought to a mean square of one.
fn levelled(lines: &[Vec<Sample>], spacing: f64) -> Vec<Vec<Sample>> {
    let half = (GROUND_HALF * spacing).round() as usize;
    let level = |line: &Vec<Sample>| -> Vec<Sample> {
        let near = |j: usize| &line[j.saturating_sub(half)..(j + half + 1).min(line.len())];
        let less = |j: usize| {
            let [value, seen] = line[j];
            [(value - mean(near(j).iter().copied())) * seen, seen]
        };
        (0..line.len()).map(less).collect()
    };
    let mut levelled: Vec<Vec<Sample>> = lines.iter().map(level).collect();
    let contrast = |line: &Vec<Sample>| mean(line.iter().map(|[v, seen]| [v * v, *seen])).sqrt();
    let contrasts: Vec<f64> = levelled.iter().map(contrast).collect();
    let least = LEAST_CONTRAST * median(&contrasts).unwrap_or(0.0) + f64::MIN_POSITIVE;
    for (line, contrast) in levelled.iter_mut().zip(contrasts) {
        line.iter_mut()
            .for_each(|[value, _]| *value /= contrast.max(least));
    }
    levelled
}

/// Mean of the samples seen; 0 of none.
fn mean(samples: impl Iterator<Item = Sample>) -> f64 {
    let [sum, seen] = samples.fold([0.0; 2], |[a, b], [value, seen]| [a + value, b + seen]);
    sum / seen.max(1.0)
}

/// The lesser of the greatest likeness and the greatest opposition of picks some way apart.
fn recurring(lines: &[Vec<Sample>], spacing: f64) -> f64 {
    let columns = lines.first().map_or(0, Vec::len);
    let reach = ((SHIFT_PICKS * spacing) as usize).min(columns / 3);
    let size = (columns + reach).next_power_of_two();
    let forward = Radix4::<f64>::new(size, FftDirection::Forward);
    let back = Radix4::<f64>::new(size, FftDirection::Inverse);
    let spectra = |part: usize| -> Vec<Wave> {
        let transform = |line: &Vec<Sample>| {
            let mut wave: Wave = line.iter().map(|s| Complex::from(s[part])).collect();
            wave.resize(size, Complex::default());
            forward.process(&mut wave);
            wave
        };
        lines.iter().map(transform).collect()
    };
    let (values, seen) = (spectra(0), spectra(1));
    // Sum of the products of all picks with those `lag` later, by shift.
    let products = |waves: &[Wave], lag: usize| -> Vec<f64> {
        let mut sum = vec![Complex::default(); size];
        for (a, b) in waves.iter().zip(&waves[lag..]) {
            for ((sum, a), b) in sum.iter_mut().zip(a).zip(b) {
                *sum += a.conj() * b;
            }
        }
        back.process(&mut sum);
        let shifts = (size - reach..size).chain(0..=reach);
        shifts.map(|k| sum[k].re / size as f64).collect()
    };
    let likeness = |lag: usize| -> Vec<f64> {
        let pairs = products(&seen, lag);
        let both = products(&values, lag).into_iter().zip(pairs);
        both.map(|(product, pairs)| product / pairs.max(1.0))
            .collect()
    };
    let own = likeness(0)[reach].max(f64::MIN_POSITIVE);
    let lags = 1..=MOST_LAG.min(lines.len() / 2);
    let (least, most) = lags
        .flat_map(likeness)
        .fold((0.0f64, 0.0f64), |(least, most), v| {
            (least.min(v), most.max(v))
        });
    most.min(-least) / own
}

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::*;
    use crate::stats::testing::Normal;

    const SPACING: f64 = 8.0;
    const PICKS: usize = 20;

    /// A picture with picks of eight rows, by the brightness of pick and column.
    fn looked_at(slope: f64, light: impl Fn(usize, usize) -> f32) -> Weave {
        let rows: Vec<f64> = (0..PICKS).map(|k| SPACING * (k as f64 + 0.5)).collect();
        let columns = 120;
        let picture = Array2::from_shape_fn((PICKS * SPACING as usize, columns), |(i, j)| {
            let down = slope * (j as f64 - 0.5 * (columns as f64 - 1.0));
            let at = (i as f64 - down).max(0.0) / SPACING;
            light(at as usize, j) - (20.0 * (at.fract() - 0.5).powi(2)) as f32
        });
        let lines = PickLines {
            rows: &rows,
            slope,
            spacing: SPACING,
        };
        Weave::of(&picture.view(), &lines)
    }

    fn noise(seed: u64) -> Vec<Vec<f32>> {
        let mut normal = Normal::new(seed);
        let line = |_| (0..120).map(|_| normal.draw() as f32).collect();
        (0..=PICKS).map(line).collect()
    }

    #[test]
    fn plain_weave_and_twill_recur_also_where_they_lie_aslant() {
        let noise = noise(5);
        let dull = |k: usize, j: usize| 2.0 * noise[k.min(PICKS)][j];
        for slope in [0.0, 0.1] {
            let plain = looked_at(slope, |k, j| {
                dull(k, j) + if (k + j / 6) % 2 == 0 { 8.0 } else { 0.0 }
            });
            let twill = looked_at(slope, |k, j| {
                dull(k, j) + if (k + j / 6) % 4 < 2 { 8.0 } else { 0.0 }
            });
            assert!(
                plain.recurring > 0.6 && twill.recurring > 0.6,
                "{plain:?} {twill:?}"
            );
            assert!(plain.unevenness < 0.01);
        }
    }

    #[test]
    fn boards_of_any_grain_do_not() {
        let noise = noise(6);
        let grain = |k: usize, j: usize| {
            let near = &noise[k.min(PICKS)][j.saturating_sub(4)..(j + 5).min(120)];
            near.iter().sum::<f32>()
        };
        let boards = looked_at(0.0, grain);
        assert!(boards.recurring < 0.25, "{boards:?}");
    }

    #[test]
    fn picks_at_any_distance_are_uneven() {
        let rows = [3.0, 9.0, 20.0, 24.0, 37.0, 41.0];
        let lines = PickLines {
            rows: &rows,
            slope: 0.0,
            spacing: SPACING,
        };
        let weave = Weave::of(&Array2::zeros((60, 40)).view(), &lines);
        assert!(
            weave.unevenness > 0.3 && weave.recurring < 1e-6,
            "{weave:?}"
        );
    }
}
