//! The same picture coarser and coarser, half an octave a step.

use ndarray::Array2;

use crate::band::StraightBand;

/// Shortest side that is worth looking at, samples.
const LEAST_ROWS: usize = 24;

/// One size of the picture.
#[derive(Clone, Debug)]
pub(super) struct Level {
    /// One brightness a sample, rows along the weaving.
    pub(super) picture: Array2<f32>,
    /// Samples of the finest level to one of this.
    pub(super) factor: f64,
}

impl Level {
    /// The finest level's coordinate (sample centres at integers) of a row of this one.
    pub(super) fn finest_row(&self, row: f64) -> f64 {
        (row + 0.5) * self.factor - 0.5
    }
}

/// All sizes down to the one where a thread's five samples are a quarter of the cloth.
pub(super) fn pyramid(straight: &StraightBand) -> Vec<Level> {
    let mut even = Level {
        picture: most_contrast(straight),
        factor: 1.0,
    };
    let most = even.picture.nrows() as f64 / (4.0 * 5.0);
    let mut levels = Vec::new();
    loop {
        let root2 = std::f64::consts::SQRT_2;
        let odd = Level {
            picture: shrink(&even.picture, root2),
            factor: even.factor * root2,
        };
        let next = Level {
            picture: shrink(&even.picture, 2.0),
            factor: even.factor * 2.0,
        };
        levels.push(std::mem::replace(&mut even, next));
        levels.push(odd);
        let (rows, columns) = even.picture.dim();
        if even.factor > most || rows < LEAST_ROWS || columns < LEAST_ROWS / 2 {
            levels.retain(|level| {
                level.picture.nrows() >= LEAST_ROWS && level.factor <= most.max(1.0)
            });
            return levels;
        }
    }
}

/// The mix of L*, a* and b* that changes most from sample to sample along the weaving, brighter
/// upwards.
fn most_contrast(straight: &StraightBand) -> Array2<f32> {
    let (rows, columns) = straight.lab[0].dim();
    let mut covariance = nalgebra::Matrix3::<f64>::zeros();
    let every = (rows * columns / 200_000).max(1);
    for k in (0..rows.saturating_sub(2) * columns).step_by(every) {
        let (i, j) = (k / columns, k % columns);
        let change = nalgebra::Vector3::from_fn(|c, _| {
            f64::from(straight.lab[c][[i + 2, j]] - straight.lab[c][[i, j]])
        });
        covariance += change * change.transpose();
    }
    let eigen = covariance.symmetric_eigen();
    let mut mix: nalgebra::Vector3<f64> =
        eigen.eigenvectors.column(eigen.eigenvalues.imax()).into();
    if mix[0] < 0.0 {
        mix = -mix;
    }
    Array2::from_shape_fn((rows, columns), |at| {
        (0..3)
            .map(|c| mix[c] as f32 * straight.lab[c][at])
            .sum::<f32>()
    })
}

/// The picture with `factor` samples averaged into one, both ways.
pub(super) fn shrink(picture: &Array2<f32>, factor: f64) -> Array2<f32> {
    let along = shrink_rows(picture, factor);
    shrink_rows(
        &along.reversed_axes().as_standard_layout().to_owned(),
        factor,
    )
    .reversed_axes()
    .as_standard_layout()
    .to_owned()
}

/// The same along the rows' direction only.
fn shrink_rows(picture: &Array2<f32>, factor: f64) -> Array2<f32> {
    let (rows, columns) = picture.dim();
    let count = ((rows as f64 / factor).floor() as usize).max(1);
    let mut out = Array2::<f32>::zeros((count, columns));
    for k in 0..count {
        let (from, to) = (
            k as f64 * factor,
            ((k + 1) as f64 * factor).min(rows as f64),
        );
        let mut row = out.row_mut(k);
        for i in (from.floor() as usize)..(to.ceil() as usize).min(rows) {
            let share = ((i + 1) as f64).min(to) - (i as f64).max(from);
            row.scaled_add((share / (to - from)) as f32, &picture.row(i));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_stays_a_slope_at_its_place() {
        let slope = Array2::from_shape_fn((60, 40), |(i, _)| i as f32);
        for factor in [std::f64::consts::SQRT_2, 2.0] {
            let level = Level {
                picture: shrink(&slope, factor),
                factor,
            };
            for k in [3, 12, 20] {
                let place = level.finest_row(f64::from(k));
                let seen = f64::from(level.picture[[k as usize, 5]]);
                assert!((seen - place).abs() < 0.1, "{factor}: {seen} for {place}");
            }
        }
    }
}
