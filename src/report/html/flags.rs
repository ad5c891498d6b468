//! Numbered flags over the stretches that findings speak of.

use std::fmt::Write;

use crate::measurement::{Finding, FindingKind};

use super::panel::{Frame, INK};

/// One finding's stretch, its number and the lane it is drawn in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Flag {
    /// Number in the list of findings, from 1.
    pub(super) number: usize,
    /// The stretch, mm from the start of the body.
    pub(super) along_mm: (f64, f64),
    /// 0 nearest to the band.
    pub(super) lane: usize,
    /// Whether it is the whole body's.
    whole: bool,
}

/// A flag for each finding; those of the whole body (drift, taper) lie above the others. Stretches
/// that would touch get lanes of their own; `least_mm` is the room a number needs.
pub(super) fn flags(findings: &[Finding], least_mm: f64) -> Vec<Flag> {
    let mut ends: Vec<f64> = Vec::new();
    let mut placed: Vec<(bool, usize, (f64, f64))> = findings
        .iter()
        .enumerate()
        .map(|(index, finding)| {
            let whole = matches!(finding.kind, FindingKind::Drift | FindingKind::Taper);
            (whole, index + 1, (finding.from_mm, finding.to_mm))
        })
        .collect();
    placed.sort_by(|a, b| a.0.cmp(&b.0).then(a.2.0.total_cmp(&b.2.0)));
    let mut flags: Vec<Flag> = Vec::new();
    for (whole, number, along_mm) in placed {
        let middle = f64::midpoint(along_mm.0, along_mm.1);
        let room = (
            along_mm.0.min(middle - least_mm / 2.0),
            along_mm.1.max(middle + least_mm / 2.0),
        );
        let lane = ends
            .iter()
            .position(|&end| end <= room.0)
            .unwrap_or(ends.len());
        if lane == ends.len() {
            ends.push(room.1);
        } else {
            ends[lane] = room.1;
        }
        flags.push(Flag {
            number,
            along_mm,
            lane,
            whole,
        });
    }
    flags
}

/// Numbered brackets over the band and their guide lines through every panel.
pub(super) fn marks(
    flags: &[Flag],
    frame: &Frame,
    (top, bottom): (u32, u32),
    lane_px: f64,
) -> String {
    let mut out = String::new();
    let letters = f64::from(frame.letters);
    let colour = format!("rgb({},{},{})", INK.0, INK.1, INK.2);
    for flag in flags {
        let y = f64::from(top) - lane_px * f64::from(u32::try_from(flag.lane).unwrap_or(0)) - 4.0;
        let (a, b) = (frame.x_px(flag.along_mm.0), frame.x_px(flag.along_mm.1));
        let middle = f64::midpoint(a, b);
        let radius = letters * 0.72;
        let centre = y - radius - 2.0;
        let down = y + 5.0;
        // Whole bodies have no edges to guide the eye along. The pale line under the dashes shows
        // on dark cloth.
        let guides = if flag.whole {
            String::new()
        } else {
            let path = format!("M{a:.1} {down:.1}V{bottom}M{b:.1} {down:.1}V{bottom}");
            format!(
                "<path d=\"{path}\" stroke=\"white\" stroke-opacity=\"0.5\" stroke-width=\"1.4\"/>\
                 <path d=\"{path}\" stroke-dasharray=\"3 4\" stroke-opacity=\"0.75\"/>"
            )
        };
        // A text in memory takes every word.
        let _ = writeln!(
            out,
            "<g stroke=\"{colour}\" fill=\"none\"><path d=\"M{a:.1} {down:.1}V{y:.1}H{b:.1}V{down:.1}\" stroke-width=\"1.6\"/>\
             {guides}<circle cx=\"{middle:.1}\" cy=\"{centre:.1}\" r=\"{radius:.1}\" fill=\"{colour}\"/></g>\
             <text x=\"{middle:.1}\" y=\"{:.1}\" fill=\"white\" font-size=\"{:.1}\" font-weight=\"bold\" \
             font-family=\"sans-serif\" text-anchor=\"middle\">{}</text>",
            centre + letters * 0.34,
            letters * 0.95,
            flag.number
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(kind: FindingKind, from_mm: f64, to_mm: f64) -> Finding {
        Finding {
            kind,
            side: None,
            from_mm,
            to_mm,
            size: 1.0,
            unit: "%".to_owned(),
            pick: None,
            ends: None,
            across_mm: None,
            text: String::new(),
        }
    }

    #[test]
    fn flags_that_would_touch_get_lanes_of_their_own() {
        let findings = [
            finding(FindingKind::LooseStretch, 50.0, 70.0),
            finding(FindingKind::Drift, 0.0, 200.0),
            finding(FindingKind::EdgePull, 68.0, 71.0),
            finding(FindingKind::MisWoven, 120.0, 121.0),
        ];
        let lanes: Vec<_> = flags(&findings, 8.0)
            .iter()
            .map(|f| (f.number, f.lane))
            .collect();
        assert_eq!(lanes, [(1, 0), (3, 1), (4, 0), (2, 2)]);
    }
}
