//! The over/under grid.

use super::node::Node;
use super::section::Mistakes;
use crate::units::quoted;

/// Most rows of a drawdown.
pub(super) const MOST_ROWS: usize = 2000;

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

    /// Ends of `row` (from 0) as written, before it repeats across the band.
    #[must_use]
    pub fn row_length(&self, row: usize) -> usize {
        self.rows[row % self.rows.len()].len()
    }

    /// `row` (from 0) over `ends` ends as runs: over or under, and how many ends.
    #[must_use]
    pub fn runs(&self, row: usize, ends: u32) -> Vec<(bool, u32)> {
        let mut runs: Vec<(bool, u32)> = Vec::new();
        for end in 0..ends as usize {
            let over = self.over(row, end);
            match runs.last_mut() {
                Some((last, length)) if *last == over => *length += 1,
                _ => runs.push((over, 1)),
            }
        }
        runs
    }

    /// How often the weft passes from face to back or from back to face in all rows across `ends`
    /// ends, for each end passed: 1 for plain weave, 0.5 for a 2/2 twill.
    #[must_use]
    pub fn crossings_per_end(&self, ends: u32) -> f64 {
        let rows = self.rows.len();
        let crossings: usize = (0..rows).map(|row| self.runs(row, ends).len() - 1).sum();
        let steps = rows as f64 * f64::from(ends.max(2) - 1);
        crossings as f64 / steps
    }
}

/// Reads the drawdown of a plan for `ends` ends (`None` where the plan's own are wrong).
pub(super) fn read(node: &Node, ends: Option<u32>, mistakes: &mut Mistakes) -> Option<Drawdown> {
    const RIGHT: &str = "write a list of rows, such as [\"o1 u2\", \"uou\"]: o where the weft \
                         goes over an end, u where it goes under";
    let Node::List(list) = node else {
        mistakes.add("drawdown", format!("is {}: {RIGHT}", node.what()));
        return None;
    };
    if list.is_empty() {
        mistakes.add("drawdown", format!("has no row: {RIGHT}"));
        return None;
    }
    if list.len() > MOST_ROWS {
        mistakes.add(
            "drawdown",
            format!("has {} rows; {MOST_ROWS} are the most", list.len()),
        );
        return None;
    }
    let most = ends.unwrap_or(super::MOST_ENDS) as usize;
    let mut rows = Vec::with_capacity(list.len());
    for (at, node) in list.iter().enumerate() {
        let row = match node {
            Node::Text(text) => read_row(text, most),
            other => Err(format!(
                "is {}: write text, such as \"o1 u2\"",
                other.what()
            )),
        };
        match row {
            Ok(row) => rows.push(row),
            Err(why) => mistakes.add(format!("drawdown, row {}", at + 1), why),
        }
    }
    (rows.len() == list.len())
        .then(|| Drawdown::new(rows))
        .flatten()
}

/// One row: letters o and u, each with the number of ends it runs over, 1 unless given.
fn read_row(text: &str, most: usize) -> Result<Vec<bool>, String> {
    let mut row = Vec::new();
    let mut rest = text.trim_start();
    while let Some(letter) = rest.chars().next() {
        let over = match letter {
            'o' | 'O' => true,
            'u' | 'U' => false,
            other => {
                let sign = if other.is_control() { ' ' } else { other };
                return Err(format!(
                    "has '{sign}' in '{}': only o (over) and u (under) may stand in a row, each \
                     with the number of ends after it where it is more than one",
                    quoted(text)
                ));
            }
        };
        rest = &rest[letter.len_utf8()..];
        let end = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        let (digits, after) = rest.split_at(end);
        let run = if digits.is_empty() {
            1
        } else {
            // A number too long for a count is longer than any row as well.
            digits.parse::<usize>().unwrap_or(usize::MAX)
        };
        if run == 0 {
            return Err(format!(
                "has {letter}0 in '{}': a run is at least one end",
                quoted(text)
            ));
        }
        if run > most - row.len() {
            return Err(format!(
                "'{}' is longer than the {most} ends of the band: shorten the row, or set ends \
                 right",
                quoted(text)
            ));
        }
        row.resize(row.len() + run, over);
        rest = after.trim_start();
    }
    if row.is_empty() {
        return Err("is empty: write o and u for every end, such as \"o1 u2\"".to_owned());
    }
    Ok(row)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_read_letter_by_letter_and_run_by_run() {
        let expected = Ok(vec![true, false, false]);
        for text in ["ouu", "o1 u2", "o1u2", "O U U", " ou1u "] {
            assert_eq!(read_row(text, 11), expected, "{text}");
        }
    }

    #[test]
    fn a_row_that_is_too_long_or_has_other_letters_is_refused() {
        for text in [
            "o12",
            "ouououououou",
            "o99999999999999999999999",
            "o0 u1",
            "oxu",
            "",
            "12",
            "o-1",
            "оu",
        ] {
            assert!(read_row(text, 11).is_err(), "{text}");
        }
        assert!(read_row("o11", 11).is_ok());
    }

    #[test]
    fn plain_weave_crosses_at_every_end_and_two_two_twill_at_every_second() {
        let plain = Drawdown::new(vec![vec![true, false], vec![false, true]]).unwrap();
        assert!((plain.crossings_per_end(11) - 1.0).abs() < 1e-12);
        let twill: Vec<Vec<bool>> = (0..4)
            .map(|r| (0..4).map(|e| (e + r) % 4 < 2).collect())
            .collect();
        let share = Drawdown::new(twill).unwrap().crossings_per_end(401);
        assert!((share - 0.5).abs() < 0.01, "{share}");
    }
}
