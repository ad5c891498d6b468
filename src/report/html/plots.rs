//! The plots under the band: local picks, both selvedges, the width.

use plotters::prelude::*;

use crate::plan::Plan;
use crate::report::quantity::Kind;
use crate::stats::median;

use super::along::Along;
use super::panel::{
    ALLOWED, Area, Drawn, Frame, INTERVAL, LIMIT, LINE, PLAN, QUIET, beside, chart, dashed, range,
    scale_bar,
};

/// Air above, between and below the selvedges' lanes, as a share of both lanes.
const LANE_AIR: f64 = 0.12;
/// The most that selvedges are drawn larger: beyond it their noise would look like waves.
const LARGEST_FACTOR: f64 = 20.0;
/// Height of one panel for each letter height.
const PANEL_LETTERS: u32 = 11;
/// The plots under the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Panel {
    LocalPicks,
    Selvedges,
    Width,
}

impl Panel {
    /// Its height without the axis, px: both selvedges share theirs.
    pub(super) fn height_px(self, letters: u32) -> u32 {
        match self {
            Self::Selvedges => 3 * PANEL_LETTERS * letters / 2,
            Self::LocalPicks | Self::Width => PANEL_LETTERS * letters,
        }
    }
}

impl Along<'_> {
    /// Local picks with their interval, the tolerance and the plan.
    pub(super) fn local_picks(&self, area: &Area<'_>, frame: &Frame, lowest: bool) -> Drawn {
        let Some(beat) = &self.measurement.beat else {
            return Ok(());
        };
        let (factor, unit) = Kind::Density.shown_as(self.units);
        let local = &beat.local;
        let samples: Vec<(f64, f64, f64)> = local
            .at_mm
            .iter()
            .zip(&local.per_inch)
            .zip(&local.u95)
            .map(|((at, value), u95)| (at * frame.shown_per_mm, value * factor, u95 * factor))
            .collect();
        let densities: Vec<f64> = samples.iter().map(|sample| sample.1).collect();
        let median = median(&densities).unwrap_or(0.0);
        let share = self.plan.map_or(0.08, |plan| plan.tolerance.beat);
        let allowed = (median * (1.0 - share), median * (1.0 + share));
        let planned = self.plan.map(|plan| plan.picks_per_inch * factor);
        let ends = samples
            .iter()
            .flat_map(|(_, value, u95)| [value - u95, value + u95]);
        let Some((low, high)) = range(ends.chain([allowed.0, allowed.1]).chain(planned)) else {
            return Ok(());
        };
        let heading = format!(
            "Picks {unit}, over 5 picks; pale ground: within {:.0} % of the band's own median{}",
            share * 100.0,
            if planned.is_some() {
                "; dashes: plan"
            } else {
                ""
            }
        );
        let mut plot = chart(
            area,
            frame,
            &short(&heading, frame),
            (low, high),
            lowest,
            true,
        )?;
        let whole = frame.length_mm * frame.shown_per_mm;
        let ground = Rectangle::new([(0.0, allowed.0), (whole, allowed.1)], ALLOWED.filled());
        plot.draw_series([ground])?;
        // The limits as lines too: a pale ground is lost on a poor printer.
        for limit in [allowed.0, allowed.1] {
            let line = LineSeries::new([(0.0, limit), (whole, limit)], LIMIT);
            plot.draw_series(line)?;
        }
        let upper = samples.iter().map(|(at, value, u95)| (*at, value + u95));
        let lower = samples
            .iter()
            .rev()
            .map(|(at, value, u95)| (*at, value - u95));
        plot.draw_series([Polygon::new(
            upper.chain(lower).collect::<Vec<_>>(),
            INTERVAL.filled(),
        )])?;
        if let Some(planned) = planned {
            dashed(&mut plot, (0.0, whole), planned, PLAN)?;
        }
        let line = samples.iter().map(|(at, value, _)| (*at, *value));
        plot.draw_series(LineSeries::new(line, LINE.stroke_width(2)))?;
        Ok(())
    }

    /// Both selvedges against their own mean, outward away from each other.
    pub(super) fn selvedges(
        &self,
        area: &Area<'_>,
        frame: &Frame,
        lowest: bool,
    ) -> Result<Option<f64>, Box<dyn std::error::Error>> {
        let Some(width) = &self.measurement.width else {
            return Ok(None);
        };
        let profile = &width.profile;
        let left = centred(&profile.left_mm);
        let right = centred(&profile.right_mm);
        let plot_px = f64::from(Panel::Selvedges.height_px(frame.letters) - frame.letters - 16);
        let least_mm = plot_px / frame.px_per_mm() / LARGEST_FACTOR;
        let Some(lanes) = Lanes::new(&left, &right, least_mm) else {
            return Ok(None);
        };
        let heading = "Selvedges against their own mean: left above, right below; outward is away from the middle";
        let bounds = (0.0, lanes.height);
        let mut plot = chart(area, frame, &short(heading, frame), bounds, lowest, false)?;
        let whole = frame.length_mm * frame.shown_per_mm;
        for (edge, middle, sign, name) in [
            (&left, lanes.left, 1.0, "left"),
            (&right, lanes.right, -1.0, "right"),
        ] {
            dashed(&mut plot, (0.0, whole), middle, QUIET)?;
            let at = profile.at_mm.iter().map(|at| at * frame.shown_per_mm);
            let line = at.zip(edge).map(|(at, out)| (at, middle + sign * out));
            plot.draw_series(LineSeries::new(thinned(line, frame), LINE.stroke_width(2)))?;
            beside(area, &plot, frame, middle, name)?;
        }
        let apart = lanes.left - lanes.right;
        let between = f64::midpoint(lanes.left, lanes.right);
        scale_bar(area, &plot, frame, between, apart * 0.55)?;
        Ok(Some(plot_px / lanes.height / frame.px_per_mm()))
    }

    /// The width with the planned one.
    pub(super) fn width(&self, area: &Area<'_>, frame: &Frame, lowest: bool) -> Drawn {
        let Some(width) = &self.measurement.width else {
            return Ok(());
        };
        let (factor, unit) = Kind::Length.shown_as(self.units);
        let profile = &width.profile;
        let planned = self.plan.and_then(planned_width_mm).map(|mm| mm * factor);
        let values = profile.width_mm.iter().map(|mm| mm * factor);
        let Some(bounds) = range(values.clone().chain(planned)) else {
            return Ok(());
        };
        let heading = format!(
            "Width, {unit}{}",
            if planned.is_some() {
                "; dashes: planned finished width"
            } else {
                ""
            }
        );
        let mut plot = chart(area, frame, &short(&heading, frame), bounds, lowest, true)?;
        let whole = frame.length_mm * frame.shown_per_mm;
        if let Some(planned) = planned {
            dashed(&mut plot, (0.0, whole), planned, PLAN)?;
        }
        let at = profile.at_mm.iter().map(|at| at * frame.shown_per_mm);
        plot.draw_series(LineSeries::new(
            thinned(at.zip(values), frame),
            LINE.stroke_width(2),
        ))?;
        Ok(())
    }
}

/// Where the two selvedges' means lie in their plot, mm of waviness above its foot.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lanes {
    left: f64,
    right: f64,
    height: f64,
}

impl Lanes {
    /// Lanes as high as each selvedge needs, outward up for the left and down for the right, that
    /// can't touch; at least `least_mm` high together.
    fn new(left: &[f64], right: &[f64], least_mm: f64) -> Option<Self> {
        let (left_low, left_high) = range(left.iter().copied())?;
        let (right_low, right_high) = range(right.iter().copied())?;
        let both = left_high - left_low + right_high - right_low;
        let height = (both * (1.0 + 3.0 * LANE_AIR)).max(least_mm);
        let air = (height - both) / 3.0;
        let right = air + right_high;
        Some(Self {
            right,
            left: right - right_low + air - left_low,
            height,
        })
    }
}

/// The finished width that the plan expects, mm, where it says what it will lose.
pub(super) fn planned_width_mm(plan: &Plan) -> Option<f64> {
    plan.draw_in
        .map(|draw_in| plan.width_in_loom_mm * (1.0 - draw_in))
}

/// Values less their mean.
fn centred(values: &[f64]) -> Vec<f64> {
    #[allow(clippy::cast_precision_loss, reason = "a count of samples")]
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    values.iter().map(|value| value - mean).collect()
}

/// At most two samples a pixel: the lowest and the highest of each.
fn thinned(line: impl Iterator<Item = (f64, f64)>, frame: &Frame) -> Vec<(f64, f64)> {
    let px_per_shown = frame.px_per_mm() / frame.shown_per_mm;
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut column: Vec<(f64, f64)> = Vec::new();
    let mut last = f64::NAN;
    let mut flush = |column: &mut Vec<(f64, f64)>| {
        let low = column.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1));
        let high = column.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
        let mut pair: Vec<(f64, f64)> = low.into_iter().chain(high).collect();
        pair.sort_by(|a, b| a.0.total_cmp(&b.0));
        pair.dedup();
        out.append(&mut pair);
        column.clear();
    };
    for (at, value) in line {
        let here = (at * px_per_shown).floor();
        if !(here - last).abs().lt(&0.5) {
            flush(&mut column);
            last = here;
        }
        column.push((at, value));
    }
    flush(&mut column);
    out
}

/// A heading cut to what fits over a narrow drawing.
fn short(heading: &str, frame: &Frame) -> String {
    let fits =
        usize::try_from((frame.width - frame.left) * 2 / frame.letters).unwrap_or(usize::MAX);
    if heading.chars().count() <= fits {
        return heading.to_owned();
    }
    let cut = heading
        .find(';')
        .or_else(|| heading.find(':'))
        .unwrap_or(heading.len());
    heading[..cut].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn selvedges_have_lanes_that_cannot_touch() {
        let lanes = Lanes::new(&[0.2, -0.9], &[-0.1, 0.1], 0.0).expect("both are there");
        let (left_foot, right_top) = (lanes.left - 0.9, lanes.right + 0.1);
        assert!(left_foot > right_top, "{lanes:?}");
        assert!(lanes.left + 0.2 < lanes.height && lanes.right > 0.1);
        let calm = Lanes::new(&[0.0; 3], &[0.0; 3], 2.0).expect("both are there");
        assert!((calm.height - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_thinned_line_keeps_its_extremes() {
        let frame = Frame {
            width: 120,
            left: 10,
            right: 10,
            letters: 10,
            length_mm: 100.0,
            shown_per_mm: 1.0,
            unit: "mm",
        };
        let line = (0..1000).map(|i| (f64::from(i) * 0.1, if i == 555 { 9.0 } else { 0.0 }));
        let thin = thinned(line, &frame);
        assert!(thin.len() <= 202, "{}", thin.len());
        assert!(thin.iter().any(|sample| sample.1 > 8.0));
    }
}
