//! The columns' spectra in one window along the band.

use ndarray::{Array2, Axis, Slice};
use rustfft::algorithm::Radix4;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftDirection};

use super::four::Four;

/// Every column's spectrum in a Hann window.
pub(super) struct Spectrum {
    /// `columns[j][k]`: column `j` (of columns · 3 channels) at frequency bin `k`.
    pub(super) columns: Vec<Vec<Complex<f32>>>,
    /// Samples that the transform was padded to.
    pub(super) padded: usize,
}

/// The transform of windows of one length.
pub(super) struct Window {
    fft: Radix4<Four>,
    /// Weights of the window's samples (Hann).
    weights: Vec<f32>,
    padded: usize,
}

impl Window {
    /// For `window` samples; `padded` is a power of two.
    ///
    /// The one algorithm that fits is named instead of planned for: a planner builds every algorithm
    /// there is into this crate, which took two minutes to compile.
    pub(super) fn new(window: usize, padded: usize) -> Self {
        Self {
            fft: Radix4::new(padded, FftDirection::Forward),
            weights: (0..window)
                .map(|i| {
                    0.5 - 0.5 * (std::f32::consts::TAU * (i as f32 + 0.5) / window as f32).cos()
                })
                .collect(),
            padded,
        }
    }

    /// Transforms the window from sample `start` on; `bins` is the number of frequency bins kept.
    ///
    /// Eight columns are transformed at once: four transforms side by side, each of one column as the real
    /// and one as the imaginary part.
    pub(super) fn spectrum(&self, samples: &Array2<f32>, start: usize, bins: usize) -> Spectrum {
        let (padded, window) = (self.padded, self.weights.len());
        let cloth = samples.slice_axis(Axis(0), Slice::from(start..start + window));
        let means: Vec<f32> = cloth
            .columns()
            .into_iter()
            .map(|column| column.sum() / window as f32)
            .collect();
        let bins = bins.min(padded / 2 + 1);
        let mut columns: Vec<Vec<Complex<f32>>> = Vec::with_capacity(means.len() + 7);
        let mut scratch = vec![Complex::default(); self.fft.get_inplace_scratch_len()];
        let mut pairs = vec![Complex::default(); padded];
        let half = Four::all(0.5);
        let turned = Complex::new(Four::default(), Four::all(-0.5));
        for first in (0..means.len()).step_by(8) {
            pairs[window.min(padded)..].fill(Complex::default());
            let rows = cloth.rows().into_iter().zip(&self.weights);
            for (value, (row, weight)) in pairs.iter_mut().zip(rows) {
                let at = |j: usize| means.get(j).map_or(0.0, |mean| (row[j] - mean) * weight);
                value.re = Four([0, 2, 4, 6].map(|n| at(first + n)));
                value.im = Four([1, 3, 5, 7].map(|n| at(first + n)));
            }
            self.fft.process_with_scratch(&mut pairs, &mut scratch);
            columns.resize_with(first + 8, || Vec::with_capacity(bins));
            for bin in 0..bins {
                let (own, mirror) = (pairs[bin], pairs[(padded - bin) % padded].conj());
                let (a, b) = ((own + mirror) * half, (own - mirror) * turned);
                for (n, pair) in columns[first..].chunks_exact_mut(2).enumerate() {
                    pair[0].push(Complex::new(a.re.0[n], a.im.0[n]));
                    pair[1].push(Complex::new(b.re.0[n], b.im.0[n]));
                }
            }
        }
        columns.truncate(means.len());
        Spectrum { columns, padded }
    }
}

impl Spectrum {
    /// Root of the power summed over the columns, for each bin.
    pub(super) fn amplitudes(&self) -> Vec<f64> {
        let bins = self.columns.first().map_or(0, Vec::len);
        (0..bins)
            .map(|k| {
                self.columns
                    .iter()
                    .map(|c| f64::from(c[k].norm_sqr()))
                    .sum::<f64>()
                    .sqrt()
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_columns_transformed_at_once_come_apart() {
        let tone = |i: usize, cycles: f64| (std::f64::consts::TAU * cycles * i as f64 / 64.0).cos();
        let samples = Array2::from_shape_fn((64, 3), |(i, j)| tone(i, 4.0 + 4.0 * j as f64) as f32);
        let spectrum = Window::new(64, 64).spectrum(&samples, 0, 33);
        for (j, column) in spectrum.columns.iter().enumerate() {
            let top = (0..33)
                .max_by(|&a, &b| column[a].norm().total_cmp(&column[b].norm()))
                .expect("bins");
            assert_eq!(top, 4 + 4 * j);
        }
    }
}
