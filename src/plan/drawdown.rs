//! The over/under grid.

/// Which ends the weft passes over, row by row; the first row is the one woven first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawdown {
    rows: Vec<Vec<bool>>,
}

impl Drawdown {
    /// A drawdown from its rows, `true` where the weft goes over the end; a row shorter than the
    /// band repeats across it. `None` when there is no row, or an empty one.
    #[must_use]
    pub fn new(rows: Vec<Vec<bool>>) -> Option<Self> {
        (!rows.is_empty() && rows.iter().all(|row| !row.is_empty())).then_some(Self { rows })
    }

    /// Rows before the drawdown repeats as written.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Whether the weft goes over `end` (from 0 at the weaver's left) in `row` (from 0).
    #[must_use]
    pub fn over(&self, row: usize, end: usize) -> bool {
        let row = &self.rows[row % self.rows.len()];
        row[end % row.len()]
    }
}
