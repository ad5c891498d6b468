//! The best boundary through a table of scores: one place a row, few and short jumps.
//!
//! Dynamic programming (Viterbi) with a cost that grows linearly with a jump and stops growing at
//! a cap, so that the edge of a weft turn may stand straight out, while a single noisy row may
//! not. The linear and capped cost needs two sweeps a row instead of all pairs (P. Felzenszwalb
//! and D. Huttenlocher, "Efficient Belief Propagation for Early Vision", IJCV 70, 2006).

/// What it costs to go from one column to another between two rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct JumpCost<'a> {
    /// Cost of each step from a column to the next: `columns − 1` of them for each pair of rows.
    pub each: &'a [f32],
    /// Highest cost of a jump.
    pub cap: f32,
}

/// The column for each row that makes the sum of scores, less jump costs, largest. `scores` holds
/// `rows` rows of `columns`.
pub(super) fn best_path(scores: &[f32], columns: usize, cost: JumpCost<'_>) -> Vec<usize> {
    if columns == 0 || scores.is_empty() {
        return Vec::new();
    }
    let rows = scores.len() / columns;
    let mut total = scores[..columns].to_vec();
    let mut from = vec![0_u32; rows * columns];
    let mut reach = vec![0.0_f32; columns];
    for i in 1..rows {
        let back = &mut from[i * columns..(i + 1) * columns];
        let each = &cost.each[(i - 1) * (columns - 1)..i * (columns - 1)];
        spread_jumps(&total, each, cost.cap, &mut reach, back);
        for ((t, r), s) in total.iter_mut().zip(&reach).zip(&scores[i * columns..]) {
            *t = r + s;
        }
    }
    let mut path = vec![argmax(&total); rows];
    for i in (1..rows).rev() {
        path[i - 1] = from[i * columns + path[i]] as usize;
    }
    path
}

/// For every column the best predecessor's total less the jump, and which it was.
#[allow(clippy::cast_possible_truncation, reason = "columns of a picture")]
fn spread_jumps(total: &[f32], each: &[f32], cap: f32, reach: &mut [f32], back: &mut [u32]) {
    let top = argmax(total);
    let floor = total[top] - cap;
    for (j, &t) in total.iter().enumerate() {
        (reach[j], back[j]) = (t, j as u32);
    }
    for j in 1..total.len() {
        if reach[j - 1] - each[j - 1] > reach[j] {
            (reach[j], back[j]) = (reach[j - 1] - each[j - 1], back[j - 1]);
        }
    }
    for j in (1..total.len()).rev() {
        if reach[j] - each[j - 1] > reach[j - 1] {
            (reach[j - 1], back[j - 1]) = (reach[j] - each[j - 1], back[j]);
        }
    }
    for (r, b) in reach.iter_mut().zip(back.iter_mut()) {
        if floor > *r {
            (*r, *b) = (floor, top as u32);
        }
    }
}

fn argmax(values: &[f32]) -> usize {
    (0..values.len())
        .max_by(|&a, &b| values[a].total_cmp(&values[b]))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_followed_and_a_single_odd_row_is_not() {
        let (rows, columns) = (30, 20);
        let mut scores = vec![0.0; rows * columns];
        for i in 0..rows {
            scores[i * columns + if i < 15 { 4 } else { 14 }] = 3.0;
        }
        scores[7 * columns + 4] = 0.0;
        scores[7 * columns + 12] = 5.0;
        let path = best_path(
            &scores,
            columns,
            JumpCost {
                each: &vec![1.0; (rows - 1) * (columns - 1)],
                cap: 6.0,
            },
        );
        let want: Vec<usize> = (0..rows).map(|i| if i < 15 { 4 } else { 14 }).collect();
        assert_eq!(path, want);
    }
}
