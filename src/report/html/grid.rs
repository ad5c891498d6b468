//! The drawdown as it was woven: every pick of the body, cells that differ from the plan marked.

use std::fmt::Write;

use crate::measurement::{FindingKind, Measurement};
use crate::plan::Plan;

use super::svg::opened;

/// Most picks in one line of the grid.
const MOST_PICKS_A_LINE: usize = 80;
/// Side of a cell, px of the drawing.
const CELL: usize = 14;
/// Room for numbers above and left of a line, px.
const MARGIN: usize = 26;

/// A cell that differs: pick and end, from 0.
type Cell = (usize, usize);

/// The grid, pick 1 at the left and the weaver's leftmost end on top; `None` where rows aren't
/// known.
pub(super) fn grid(measurement: &Measurement, plan: &Plan) -> Option<String> {
    let drawdown = plan.drawdown.as_ref()?;
    let rows = measurement.picks.as_ref()?.rows.as_ref()?;
    let ends = usize::try_from(plan.ends).ok()?;
    if rows.is_empty() || ends > 200 {
        return None;
    }
    let odd = odd_cells(measurement);
    let line_px = MARGIN + ends * CELL + CELL / 2;
    let lines = rows.len().div_ceil(MOST_PICKS_A_LINE);
    let longest = match lines {
        1 => rows.len(),
        _ => rows.len().div_ceil(lines).next_multiple_of(10),
    };
    let (width, height) = (MARGIN + longest * CELL + 2, lines * line_px);
    #[allow(clippy::cast_precision_loss, reason = "a drawing's size")]
    let size = (width as f64, height as f64);
    let mut out = opened(size, "drawdown", "The drawdown as woven", &spoken(&odd));
    for (pick, row) in rows.iter().enumerate() {
        let x = MARGIN + pick % longest * CELL;
        let top = pick / longest * line_px + MARGIN;
        let row = usize::try_from(*row).ok()?.saturating_sub(1);
        tenth(&mut out, pick, (x, top));
        if pick.is_multiple_of(longest) {
            outer_ends(&mut out, top, ends);
        }
        for end in 0..ends {
            let is_odd = odd.contains(&(pick, end));
            let over = drawdown.over(row, end) != is_odd;
            cell(&mut out, (x, top + end * CELL), over, is_odd);
        }
    }
    out.push_str("</svg>");
    Some(out)
}

/// Cells that the findings say differ.
fn odd_cells(measurement: &Measurement) -> Vec<Cell> {
    let woven = measurement
        .findings
        .iter()
        .filter(|finding| finding.kind == FindingKind::MisWoven);
    woven
        .flat_map(|finding| {
            let pick = finding.pick.unwrap_or(0);
            let ends = finding.ends.clone().unwrap_or_default();
            ends.into_iter().map(move |end| (pick, end))
        })
        .filter_map(|(pick, end)| {
            let from_zero = |number: u32| usize::try_from(number).ok()?.checked_sub(1);
            Some((from_zero(pick)?, from_zero(end)?))
        })
        .collect()
}

/// What the picture shows, for those who don't see it.
fn spoken(odd: &[Cell]) -> String {
    if odd.is_empty() {
        return "Every cell as planned.".to_owned();
    }
    let cells: Vec<String> = odd
        .iter()
        .map(|(pick, end)| format!("pick {} end {}", pick + 1, end + 1))
        .collect();
    format!("Not as planned: {}.", cells.join(", "))
}

/// The pick's number above the first and every tenth.
fn tenth(out: &mut String, pick: usize, (x, top): (usize, usize)) {
    if pick == 0 || (pick + 1).is_multiple_of(10) {
        // A text in memory takes every word.
        let _ = write!(
            out,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
            x + CELL / 2,
            top - 6,
            pick + 1
        );
    }
}

/// The first and the last end's number beside a line.
fn outer_ends(out: &mut String, top: usize, ends: usize) {
    for end in [1, ends] {
        let (x, y) = (MARGIN - 5, top + end * CELL - 3);
        let _ = write!(
            out,
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"end\">{end}</text>"
        );
    }
}

/// One crossing: dark where the weft lies over the end.
fn cell(out: &mut String, (x, y): (usize, usize), over: bool, odd: bool) {
    let class = if over { "over" } else { "under" };
    let side = CELL - 1;
    let _ = write!(
        out,
        "<rect x=\"{x}\" y=\"{y}\" width=\"{side}\" height=\"{side}\" class=\"{class}\"/>"
    );
    if odd {
        let (a, b) = (x + 3, x + side - 3);
        let (c, d) = (y + 3, y + side - 3);
        let _ = write!(
            out,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{side}\" height=\"{side}\" class=\"odd\"/>\
             <path d=\"M{a} {c}L{b} {d}M{a} {d}L{b} {c}\" class=\"cross {class}-cross\"/>"
        );
    }
}
