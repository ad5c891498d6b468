//! The figures across a band: width, draw-in, both selvedges, and what turns that were missed mean for them.

use super::figures::{Seen, leave_out};
use super::{Body, Options};
use crate::corrections::{BY_HAND_U_MM, Corrections, hand_doubt_mm};
use crate::measurement::{Measurement, Selvedges, Side, Warning, Width};
use crate::plan::Plan;
use crate::stats::Estimate;
use crate::width::{self, BodyEdges, Waviness};

/// Picks at each end of the body in which the selvedge isn't followed: about as well as the body's
/// ends are known.
const CORNER_PICKS: f64 = 0.1;

/// Doubt of each selvedge by turns that seem to have been missed, as a share of how far out they reach: drawn bands
/// that show some lacked about as much width as that, and 22 of 25 lie inside of their interval.
const HIDDEN_DOUBT: f64 = 0.5;

/// How far beyond the selvedges turns seem to have been missed, mm; not where the selvedges were set by hand.
pub(super) fn hidden_turns_mm(seen: Seen<'_>, options: &Options) -> Option<f64> {
    let looked_for = seen.trace.selvedges_unseen.is_none() && options.corrections.is_empty();
    let track = seen.track.filter(|_| looked_for)?;
    width::hidden_turns(seen.trace, &track.centres_mm)
}

pub(super) fn hidden_turns_warning(reach_mm: f64) -> Warning {
    Warning {
        code: "ground_alike".into(),
        text: format!(
            "the weft's turns seem to reach up to {reach_mm:.1} mm beyond the selvedges that were followed, so the \
             width may be too small: look at the marked photo, and lay the band on a ground of another colour \
             than any of its yarns"
        ),
    }
}

/// Both selvedges of the body, in doubt by turns that were missed up to `hidden_mm` beyond them; why they can't be followed.
pub(super) fn edges<'a>(
    seen: Seen<'a>,
    body: &Body,
    hidden_mm: Option<f64>,
) -> Result<BodyEdges, &'a str> {
    if let Some(why) = seen.trace.selvedges_unseen.as_deref() {
        return Err(why);
    }
    let corner_mm = CORNER_PICKS * body.pitch_mm.unwrap_or(0.0);
    BodyEdges::new(seen.trace, body.ends_mm, corner_mm, body.along, body.across)
        .map(|edges| edges.in_doubt(HIDDEN_DOUBT * hidden_mm.unwrap_or(0.0)))
        .ok_or("too little of the selvedges is in view")
}

/// The figures across the band: width, draw-in, selvedges.
pub(super) fn across(
    m: &mut Measurement,
    body: &Body,
    edges: Result<&BodyEdges, &str>,
    plan: Option<&Plan>,
) {
    let edges = match edges {
        Ok(edges) => edges,
        Err(why) => {
            for what in ["width", "draw_in", "selvedges"] {
                leave_out(m, what, why);
            }
            return;
        }
    };
    let mean = width::mean_width(edges);
    let loom = plan.map(|plan| plan.width_in_loom_mm);
    m.draw_in_percent = loom
        .and_then(|loom| width::draw_in_percent(mean, loom))
        .map(Into::into);
    if loom.is_none() {
        leave_out(
            m,
            "draw_in",
            "no plan says how wide the warp was in the loom",
        );
    }
    let why = match body.pitch_mm {
        Some(_) => "the band in view is too short for its picks",
        None => "the weft turns can't be told from the selvedge without the picks or a plan",
    };
    let pitch = body.pitch_mm.unwrap_or(0.0);
    m.width = width_figures(edges, mean, pitch);
    if m.width.is_none() {
        leave_out(m, "width", why);
    }
    m.selvedges = selvedges(edges, pitch);
    if m.selvedges.is_none() {
        leave_out(m, "selvedges", why);
    }
}

/// Lets the doubt of the selvedges' waviness grow where a person drew a line.
pub(super) fn widen_by_hand(m: &mut Measurement, corrections: &Corrections, body: &Body) {
    let length = (body.ends_mm.1 - body.ends_mm.0) * body.along.factor;
    let Some(selvedges) = &mut m.selvedges else {
        return;
    };
    for (side, selvedge) in [
        (Side::Left, &mut selvedges.left),
        (Side::Right, &mut selvedges.right),
    ] {
        let doubt = Estimate::new(0.0, hand_doubt_mm(corrections, side, length), 0.0).u95();
        selvedge.wq_mm.u95 = selvedge.wq_mm.u95.hypot(doubt);
        // Highest less lowest: the whole of a hand's error may lie at either.
        let most = if doubt > 0.0 { BY_HAND_U_MM } else { 0.0 };
        selvedge.wt_mm.u95 = selvedge
            .wt_mm
            .u95
            .hypot(Estimate::new(0.0, most, 0.0).u95());
    }
}

fn width_figures(edges: &BodyEdges, mean: Estimate, pitch_mm: f64) -> Option<Width> {
    let (least, greatest) = width::width_range(edges, pitch_mm)?;
    Some(Width {
        mean_mm: mean.into(),
        over_turns_mm: width::width_over_turns(edges, pitch_mm)?.into(),
        min_mm: least.into(),
        max_mm: greatest.into(),
        profile: edges.profile(),
    })
}

fn selvedges(edges: &BodyEdges, pitch_mm: f64) -> Option<Selvedges> {
    let side = |side| Waviness::new(edges, side, pitch_mm).map(|waves| waves.figures());
    let (left, right) = rayon::join(|| side(Side::Left), || side(Side::Right));
    Some(Selvedges {
        left: left?,
        right: right?,
    })
}
