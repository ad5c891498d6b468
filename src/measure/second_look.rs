//! The outline followed anew once the colour of turns is known that the first look left out.
//!
//! What the second look finds is believed where the band has grown by about as much as the turns reach out, and nowhere by
//! more, and no selvedge is lost on the way: anything else beside the selvedges (a printed line, fuzz) would draw the outline somewhere else.

use std::ops::Range;

use crate::band::{BandHint, BandTrace};
use crate::picks::PickTrack;
use crate::stats::{gaps, median, quantile};
use crate::width::{self, SeenTurns};

/// The least and the greatest growth, times the expected one: the turns' outer ends are a little blurred when folded.
const LEAST: f64 = 0.8;
/// See [`LEAST`].
const MOST: f64 = 2.0;

/// Share of the rows, and how far beyond the first look's selvedge such a row's may lie at most, picks.
const ROWS: f64 = 0.97;
/// See [`ROWS`].
const FARTHEST_PICKS: f64 = 1.5;

/// One standard uncertainty of a selvedge whose turns were told by their colour, shared by all rows, mm: on 22 bands
/// that another renderer drew, their widths were off by 0.22 mm (root mean square).
const TOLD_BY_COLOUR_MM: f64 = 0.1;

/// What a second look is told, and what it is held against.
pub(super) struct SecondLook<'a> {
    first: &'a BandTrace,
    turns: SeenTurns,
    pitch_mm: f64,
}

impl<'a> SecondLook<'a> {
    /// `None` where no turns were left out.
    pub(super) fn new(first: &'a BandTrace, track: Option<&PickTrack>) -> Option<Self> {
        let track = track.filter(|_| first.selvedges_unseen.is_none())?;
        let gaps = gaps(&track.centres_mm);
        Some(Self {
            first,
            turns: width::seen_turns(first, &track.centres_mm)?,
            pitch_mm: median(&gaps)?,
        })
    }

    /// The hint, with the turns' colours.
    pub(super) fn told(&self, hint: &BandHint) -> BandHint {
        BandHint {
            turns: self.turns.lab.clone(),
            ..hint.clone()
        }
    }

    /// The first look's trace with the second's selvedges and their doubt; `None` where these followed something else
    /// than the turns. The ends stay as they were: to the second look, fringe of the turns' colour is cloth.
    pub(super) fn believed(&self, mut second: BandTrace) -> Option<BandTrace> {
        let [before, after] = [self.first, &second].map(widths_mm);
        let grown_mm = mean(&after)? - mean(&before)?;
        let expected_mm = self.turns.wider_mm;
        let farthest_mm = quantile(&after, ROWS)? - median(&before)?;
        let as_turns = grown_mm > LEAST * expected_mm
            && grown_mm < MOST * expected_mm
            && farthest_mm < 2.0 * FARTHEST_PICKS * self.pitch_mm
            && second.selvedges_unseen.is_none()
            && (loses_a_selvedge(self.first) || !loses_a_selvedge(&second));
        second.edge_bias_mm = second.edge_bias_mm.hypot(TOLD_BY_COLOUR_MM);
        as_turns.then(|| self.first.with_selvedges_of(second))
    }
}

/// Whether the outline leaves a selvedge somewhere.
fn loses_a_selvedge(trace: &BandTrace) -> bool {
    trace.warnings.iter().any(|w| w.code == "selvedge_lost")
}

/// Distances from selvedge to selvedge in the middle of the cloth, mm.
fn widths_mm(trace: &BandTrace) -> Vec<f64> {
    let rows = inner_rows(trace);
    let edges = trace.left_mm.iter().zip(&trace.right_mm);
    let edges = edges.skip(rows.start).take(rows.len());
    edges.map(|(left, right)| right - left).collect()
}

/// Rows that are well within the cloth.
fn inner_rows(trace: &BandTrace) -> Range<usize> {
    let straight = &trace.straight;
    let (from, to) = trace.cloth_mm;
    let row = |share: f64| {
        let s = from + share * (to - from);
        ((s - straight.s0_mm) / straight.step_mm).max(0.0) as usize
    };
    row(0.1)..row(0.9)
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}
