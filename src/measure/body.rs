//! Where the body lies, and how lengths read on the plane become lengths on the cloth.
//!
//! Picks are seen at the cloth's top, selvedges at half its thickness; both matter only to a
//! camera, whose height over the plane is known.

use super::thickness::heights;
use crate::band::BandTrace;
use crate::beat::{MM_PER_INCH, PickPlaces};
use crate::geometry::Point;
use crate::picks::PickTrack;
use crate::plan::Plan;
use crate::scale::{OnCloth, View};

/// The body of a traced band.
#[derive(Clone, Debug)]
pub struct Body {
    /// `s` of its two ends in the trace, mm.
    pub ends_mm: (f64, f64),
    /// The picks on the cloth, where they were found.
    pub picks: Option<PickPlaces>,
    /// Distance from pick to pick on the cloth, mm: measured, else planned.
    pub pitch_mm: Option<f64>,
    /// Lengths along: at the cloth's top.
    pub along: OnCloth,
    /// Lengths across: at half the cloth's thickness.
    pub across: OnCloth,
}

impl Body {
    /// The body by its picks where they were found, else the whole of the cloth.
    #[must_use]
    pub fn new(
        trace: &BandTrace,
        track: Option<&PickTrack>,
        view: &View,
        plan: Option<&Plan>,
    ) -> Self {
        let planned = plan.map(|plan| MM_PER_INCH / plan.picks_per_inch);
        let read = track.and_then(|t| {
            let (first, last) = (t.centres_mm.first()?, t.centres_mm.last()?);
            let gaps = t.centres_mm.len().saturating_sub(1);
            (gaps > 0).then(|| (last - first) / gaps as f64)
        });
        let heights = heights(plan, read.or(planned));
        let lies = trace.straight.centre_line.along;
        let right = Point::new(-lies.y, lies.x);
        let along = OnCloth::at_height(view, heights.picks, lies);
        let across = OnCloth::at_height(view, heights.selvedges, right);
        let rows = plan
            .and_then(|plan| plan.drawdown.as_ref())
            .map(|d| d.rows());
        let picks = track.map(|track| PickPlaces::new(track, along, rows));
        Self {
            ends_mm: track.map_or(trace.cloth_mm, |track| track.body_mm),
            pitch_mm: picks.as_ref().and_then(PickPlaces::pitch_mm).or(planned),
            picks,
            along,
            across,
        }
    }
}
