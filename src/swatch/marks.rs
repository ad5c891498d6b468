//! What a thread leaves in a picture.
//!
//! A pick shows as a bright crown, a dark furrow, and two flanks between them. Brightness alone may
//! beat with every second pick (two colours in turn) or with a stripe; a rising flank there is once
//! to a pick whatever the colours, and so is a furrow. Together they tell the pick from its
//! multiples.

use ndarray::Array2;

/// Number of marks.
pub(super) const MARKS: usize = 5;

/// Half of the window whose mean counts as the ground that crowns and furrows stand against,
/// samples: a thread and a half where a thread is six samples wide.
const GROUND_HALF: usize = 8;

/// The marks, in the order that [`marks`] gives them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    Brightness,
    Rising,
    Falling,
    Crown,
    Furrow,
}

/// The five pictures of marks, each without what is slower than a few threads.
pub(super) fn marks(picture: &Array2<f32>) -> [Array2<f32>; MARKS] {
    let smooth = soften(picture);
    let (rows, columns) = smooth.dim();
    let slope = Array2::from_shape_fn((rows, columns), |(i, j)| {
        smooth[[(i + 1).min(rows - 1), j]] - smooth[[i.saturating_sub(1), j]]
    });
    let height = level(&smooth);
    let half = |of: &Array2<f32>, sign: f32| level(&of.mapv(|v| (sign * v).max(0.0)));
    [
        level(picture),
        half(&slope, 1.0),
        half(&slope, -1.0),
        half(&height, 1.0),
        half(&height, -1.0),
    ]
}

/// Neighbours averaged in, ¼ ½ ¼ both ways.
fn soften(picture: &Array2<f32>) -> Array2<f32> {
    let (rows, columns) = picture.dim();
    let along = Array2::from_shape_fn((rows, columns), |(i, j)| {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(rows - 1));
        0.25 * (picture[[a, j]] + picture[[b, j]]) + 0.5 * picture[[i, j]]
    });
    Array2::from_shape_fn((rows, columns), |(i, j)| {
        let (a, b) = (j.saturating_sub(1), (j + 1).min(columns - 1));
        0.25 * (along[[i, a]] + along[[i, b]]) + 0.5 * along[[i, j]]
    })
}

/// The picture less the mean of the square around each sample.
fn level(picture: &Array2<f32>) -> Array2<f32> {
    let (rows, columns) = picture.dim();
    let mut sums = Array2::<f64>::zeros((rows + 1, columns + 1));
    for i in 0..rows {
        let mut row = 0.0;
        for j in 0..columns {
            row += f64::from(picture[[i, j]]);
            sums[[i + 1, j + 1]] = sums[[i, j + 1]] + row;
        }
    }
    Array2::from_shape_fn((rows, columns), |(i, j)| {
        let (a, b) = (
            i.saturating_sub(GROUND_HALF),
            (i + GROUND_HALF + 1).min(rows),
        );
        let (c, d) = (
            j.saturating_sub(GROUND_HALF),
            (j + GROUND_HALF + 1).min(columns),
        );
        let sum = sums[[b, d]] - sums[[a, d]] - sums[[b, c]] + sums[[a, c]];
        picture[[i, j]] - (sum / ((b - a) * (d - c)) as f64) as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_colours_in_turn_rise_once_to_a_pick() {
        // Picks six samples long, bright and dull in turn, furrows between them.
        let picture = Array2::from_shape_fn((120, 40), |(i, _)| {
            let top = if (i / 6) % 2 == 0 { 60.0 } else { 40.0 };
            top * (std::f32::consts::PI * ((i % 6) as f32 + 0.5) / 6.0).sin()
        });
        let all = marks(&picture);
        let rises = |mark: Mark| {
            let line: Vec<f32> = all[mark as usize].column(20).to_vec();
            let most = line.iter().copied().fold(0.0, f32::max);
            (1..line.len() - 1)
                .filter(|&i| line[i] > line[i - 1] && line[i] >= line[i + 1])
                .filter(|&i| line[i] > 0.1 * most)
                .count()
        };
        assert!(
            (18..=20).contains(&rises(Mark::Rising)),
            "{}",
            rises(Mark::Rising)
        );
        assert!((18..=20).contains(&rises(Mark::Falling)));
    }
}
