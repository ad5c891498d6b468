//! Where the body lies, and how lengths read on the plane become lengths on the cloth.
//!
//! Picks are seen at the cloth's top, selvedges at half its thickness; both matter only to a
//! camera, whose height over the plane is known.

use crate::band::BandTrace;
use crate::beat::{MM_PER_INCH, PickPlaces};
use crate::picks::PickTrack;
use crate::plan::Plan;
use crate::scale::{OnCloth, View};

/// How well a thickness that the plan states is known, as a share of it: a weaver measures it
/// with a ruler's edge.
const STATED_THICKNESS_U: f64 = 0.15;

/// Thickness of the cloth over its pick spacing, where the plan doesn't state it, and how well
/// that is known.
///
/// A weft of diameter d lies at least d apart from the next where picks touch, and the cloth is
/// between d (flat warp) and 2 d (balanced crimp) thick; loosely beaten cloth is thinner for its
/// spacing. The interval holds 0.3 to 1.7 spacings.
const THICKNESS_A_PICK: (f64, f64) = (1.0, 0.35);

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
        let thickness = thickness(plan, read.or(planned));
        let along = OnCloth::at_height(view, thickness);
        let across = OnCloth::at_height(view, (0.5 * thickness.0, 0.5 * thickness.1));
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

/// The cloth's thickness and its standard uncertainty, mm.
fn thickness(plan: Option<&Plan>, pitch_mm: Option<f64>) -> (f64, f64) {
    match (plan.and_then(|plan| plan.thickness_mm), pitch_mm) {
        (Some(stated), _) => (stated, STATED_THICKNESS_U * stated),
        (None, Some(pitch)) => (THICKNESS_A_PICK.0 * pitch, THICKNESS_A_PICK.1 * pitch),
        (None, None) => (1.5, 0.75),
    }
}
