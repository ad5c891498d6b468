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
    for _ in 0..200 {
        let mut columns: Vec<Vec<bool>> = Vec::with_capacity(ends);
        while columns.len() < ends {
            columns.push(column(rng, rows, &columns));
        }
        let grid: Vec<Vec<bool>> = (0..rows)
            .map(|row| columns.iter().map(|column| column[row]).collect())
            .collect();
        if sound(&grid) {
            return Drawdown::new(grid).unwrap_or_else(plain);
        }
    }
    twill(rows / 2, rows - rows / 2, rng.chance(0.5))
}

/// A random end that floats nowhere too long and makes no pick float too long.
fn column(rng: &mut Rng, rows: usize, before: &[Vec<bool>]) -> Vec<bool> {
    let fits = |column: &[bool]| {
        longest_run(2 * rows, |row| column[row % rows]) <= LONGEST_FLOAT
            && (0..rows).all(|row| {
                before.len() < LONGEST_FLOAT
                    || before[before.len() - LONGEST_FLOAT..]
                        .iter()
                        .any(|end| end[row] != column[row])
            })
    };
    for _ in 0..200 {
        let column: Vec<bool> = (0..rows).map(|_| rng.chance(0.5)).collect();
        if fits(&column) {
            return column;
        }
    }
    // The end before, woven the other way, is always sound.
    before.last().map_or_else(
        || (0..rows).map(|row| row % 2 == 0).collect(),
        |end| end.iter().map(|over| !over).collect(),
    )
}

/// The longest run of equal cells.
fn longest_run(cells: usize, cell: impl Fn(usize) -> bool) -> usize {
    let mut longest = 0;
    let mut run = 0;
    for i in 0..cells {
        run = if i > 0 && cell(i) == cell(i - 1) {
            run + 1
        } else {
            1
        };
        longest = longest.max(run);
    }
    longest
}

/// Neighbouring rows differ well, and no shorter repeat is hidden in the grid.
fn sound(grid: &[Vec<bool>]) -> bool {
    let rows = grid.len();
    let unlike = (0..rows).all(|row| differs(&grid[row], &grid[(row + 1) % rows]));
    let same = |period: usize| (0..rows).all(|row| grid[row] == grid[(row + period) % rows]);
    unlike && !(1..rows).any(|period| rows.is_multiple_of(period) && same(period))
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
            let along = (0..11).map(|end| longest_run(2 * rows, |row| grid[row % rows][end]));
            assert!(along.max() <= Some(LONGEST_FLOAT), "{grid:?}");
            let across = grid.iter().map(|row| longest_run(11, |end| row[end]));
            assert!(across.max() <= Some(LONGEST_FLOAT), "{grid:?}");
        }
    }
}
