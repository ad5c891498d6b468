//! How strongly the marks repeat, by direction and distance.
//!
//! # Method
//! Patches of [`PATCH`] samples spread over the picture; in each the marks, scaled to the same
//! spread, under a Hann window; the mean of their powers. A patch holds some ten threads: long
//! enough to tell a thread from its neighbours' distance, short enough that a slanting or bowed
//! weft doesn't smear.

use ndarray::{Array2, Array3};
use rayon::prelude::*;
use rustfft::algorithm::Radix4;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftDirection};

use super::marks::{MARKS, marks};

/// Side of a patch, samples.
const PATCH: usize = 64;

/// Side of its transform: padded to twice the patch, a power of two.
pub(super) const BINS: usize = 2 * PATCH;

/// Most patches along each direction.
const MOST_PATCHES: usize = 9;

/// Mean power of each mark.
#[derive(Clone, Debug)]
pub(super) struct Spectrum {
    /// Shape (mark, bin along 0 ..= BINS/2, bin across 0 .. BINS); white noise of the same spread
    /// would be 1 everywhere.
    power: Array3<f64>,
    /// Patches that it is the mean of.
    pub(super) patches: usize,
}

impl Spectrum {
    /// The spectrum of one size of the picture.
    pub(super) fn of(picture: &Array2<f32>) -> Self {
        let (rows, columns) = picture.dim();
        let (long, wide) = (rows.min(PATCH), columns.min(PATCH));
        let window = hann(long, wide);
        let starts: Vec<(usize, usize)> = spread(rows, long)
            .into_iter()
            .flat_map(|i| spread(columns, wide).into_iter().map(move |j| (i, j)))
            .collect();
        let sums: Vec<Array3<f64>> = starts
            .par_iter()
            .map(|&(i, j)| patch_power(&cut(picture, (i, long), (j, wide)), &window))
            .collect();
        let mut power = Array3::<f64>::zeros((MARKS, BINS / 2 + 1, BINS));
        for sum in &sums {
            power += sum;
        }
        power /= sums.len() as f64;
        Self {
            power,
            patches: sums.len(),
        }
    }

    /// Power of a mark at a bin along and a (signed) bin across.
    pub(super) fn at(&self, mark: usize, along: usize, across: i64) -> f64 {
        let across = across.rem_euclid(BINS as i64) as usize;
        self.power[[mark, along.min(BINS / 2), across]]
    }
}

/// Starts of patches of `length` in `all` samples, evenly spread, half overlapping at most.
fn spread(all: usize, length: usize) -> Vec<usize> {
    let room = all - length;
    let count = (room.div_ceil((length / 2).max(1)) + 1).min(MOST_PATCHES);
    (0..count)
        .map(|k| {
            if count > 1 {
                k * room / (count - 1)
            } else {
                room / 2
            }
        })
        .collect()
}

/// A patch of the picture: starts and lengths along and across.
fn cut(picture: &Array2<f32>, along: (usize, usize), across: (usize, usize)) -> Array2<f32> {
    Array2::from_shape_fn((along.1, across.1), |(i, j)| {
        picture[[along.0 + i, across.0 + j]]
    })
}

/// A Hann window, its squares adding up to one.
fn hann(long: usize, wide: usize) -> Array2<f32> {
    let side = |n: usize| -> Vec<f64> {
        (0..n)
            .map(|i| 0.5 - 0.5 * (std::f64::consts::TAU * (i as f64 + 0.5) / n as f64).cos())
            .collect()
    };
    let (a, b) = (side(long), side(wide));
    let square: f64 = a.iter().map(|x| x * x).sum::<f64>() * b.iter().map(|x| x * x).sum::<f64>();
    Array2::from_shape_fn((long, wide), |(i, j)| (a[i] * b[j] / square.sqrt()) as f32)
}

/// Power of every mark in one patch.
fn patch_power(patch: &Array2<f32>, window: &Array2<f32>) -> Array3<f64> {
    let mut all = marks(patch);
    for mark in &mut all {
        let spread =
            (mark.iter().map(|v| f64::from(v * v)).sum::<f64>() / mark.len() as f64).sqrt();
        let scale = if spread > 1e-6 {
            (1.0 / spread) as f32
        } else {
            0.0
        };
        mark.zip_mut_with(window, |v, w| *v *= scale * w);
    }
    let fft = Radix4::<f32>::new(BINS, FftDirection::Forward);
    let mut power = Array3::zeros((MARKS, BINS / 2 + 1, BINS));
    for first in (0..MARKS).step_by(2) {
        let second = (first + 1 < MARKS).then_some(first + 1);
        let both = transform(&all[first], second.map(|k| &all[k]), &fft);
        for u in 0..=BINS / 2 {
            for v in 0..BINS {
                let (z, mirror) = (
                    both[[u, v]],
                    both[[(BINS - u) % BINS, (BINS - v) % BINS]].conj(),
                );
                power[[first, u, v]] = f64::from((z + mirror).norm_sqr()) / 4.0;
                if let Some(k) = second {
                    power[[k, u, v]] = f64::from((z - mirror).norm_sqr()) / 4.0;
                }
            }
        }
    }
    power
}

/// Two real pictures transformed at once, one as the real and one as the imaginary part.
fn transform(
    real: &Array2<f32>,
    imaginary: Option<&Array2<f32>>,
    fft: &Radix4<f32>,
) -> Array2<Complex<f32>> {
    let (long, wide) = real.dim();
    let mut out = Array2::<Complex<f32>>::zeros((BINS, BINS));
    let mut scratch = vec![Complex::default(); fft.get_inplace_scratch_len()];
    let mut line = vec![Complex::<f32>::default(); BINS];
    for i in 0..long {
        line.fill(Complex::default());
        for j in 0..wide {
            line[j] = Complex::new(real[[i, j]], imaginary.map_or(0.0, |p| p[[i, j]]));
        }
        fft.process_with_scratch(&mut line, &mut scratch);
        for (v, value) in line.iter().enumerate() {
            out[[i, v]] = *value;
        }
    }
    for v in 0..BINS {
        for (u, value) in line.iter_mut().enumerate() {
            *value = out[[u, v]];
        }
        fft.process_with_scratch(&mut line, &mut scratch);
        for (u, value) in line.iter().enumerate() {
            out[[u, v]] = *value;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::marks::Mark;
    use super::*;

    #[test]
    fn a_slanting_ripple_stands_at_its_two_bins() {
        // 16 periods in 128 along, 2 across.
        let picture = Array2::from_shape_fn((200, 150), |(i, j)| {
            (std::f32::consts::TAU * (16.0 * i as f32 + 2.0 * j as f32) / 128.0).sin()
        });
        let spectrum = Spectrum::of(&picture);
        let at = |u, v| spectrum.at(Mark::Brightness as usize, u, v);
        let mut top = (0, 0);
        for u in 4..60 {
            for v in -40..40 {
                if at(u, v) > at(top.0, top.1) {
                    top = (u, v);
                }
            }
        }
        assert_eq!(top, (16, 2));
        assert!(at(16, 2) > 100.0 * at(30, 2));
    }
}
