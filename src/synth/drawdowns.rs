//! Weaves to choose from: plain, twills, and free ones of three to eight rows.

use super::rng::Rng;
use crate::plan::Drawdown;

/// Longest float of a free weave, in picks or ends.
const LONGEST_FLOAT: usize = 3;

/// Plain weave: over one, under one.
pub(super) fn plain() -> Drawdown {
    Drawdown::new(vec![vec![true, false], vec![false, true]])
        .expect("two rows of two ends are a drawdown")
}

/// A twill that goes over `over` ends and under `under`, one end farther in every row.
pub(super) fn twill(over: usize, under: usize, leftward: bool) -> Drawdown {
    let size = (over + under).max(2);
    let cell = |row: usize, end: usize| {
        let step = if leftward {
            end + row
        } else {
            end + size * size - row
        };
        step % size < over
    };
    let rows = (0..size).map(|row| (0..size).map(|end| cell(row, end)).collect());
    Drawdown::new(rows.collect()).expect("a twill has at least two rows of two ends")
}

/// A free weave of `rows` rows over `ends` ends: floats of at most three, every end woven both
/// ways, no row like the one before, and no shorter repeat hidden in it.
pub(super) fn free(rng: &mut Rng, rows: usize, ends: usize) -> Drawdown {
    for _ in 0..400 {
        let grid: Vec<Vec<bool>> = (0..rows)
            .map(|_| (0..ends).map(|_| rng.chance(0.5)).collect())
            .collect();
        if sound(&grid) {
            return Drawdown::new(grid).unwrap_or_else(plain);
        }
    }
    // Rarely needed: a twill has every property that is asked for.
    twill(rows / 2, rows - rows / 2, rng.chance(0.5))
}

fn sound(grid: &[Vec<bool>]) -> bool {
    let (rows, ends) = (grid.len(), grid[0].len());
    let short = |n: usize, cell: &dyn Fn(usize) -> bool| {
        let run = (0..2 * n).fold((0, 0), |(run, longest): (usize, usize), i| {
            let run = if i > 0 && cell(i % n) == cell((i - 1) % n) {
                run + 1
            } else {
                1
            };
            (run, longest.max(run))
        });
        run.1 <= LONGEST_FLOAT
    };
    let across = grid.iter().all(|row| short(ends, &|end| row[end]));
    let along = (0..ends).all(|end| short(rows, &|row| grid[row][end]));
    let unlike = (0..rows).all(|row| differs(&grid[row], &grid[(row + 1) % rows]));
    let whole = (1..rows)
        .filter(|period| rows % period == 0)
        .all(|period| (0..rows).any(|row| grid[row] != grid[(row + period) % rows]));
    across && along && unlike && whole
}

/// At least a quarter of the ends change sides from one row to the next.
fn differs(a: &[bool], b: &[bool]) -> bool {
    let changes = a.iter().zip(b).filter(|(x, y)| x != y).count();
    4 * changes >= a.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn free_weaves_have_no_shorter_repeat_and_no_long_float() {
        let mut rng = Rng::new(5);
        for rows in 3..=8 {
            let weave = free(&mut rng, rows, 11);
            let grid: Vec<Vec<bool>> = (0..weave.rows())
                .map(|row| (0..11).map(|end| weave.over(row, end)).collect())
                .collect();
            assert_eq!(weave.rows(), rows);
            assert!(sound(&grid), "{grid:?}");
        }
    }
}
