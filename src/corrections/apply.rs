//! A traced band and its picks, corrected.
//!
//! # Method
//! 1. Selvedges are sought again along the lines drawn (`selvedges`).
//! 2. A body set narrower keeps its picks as they are. Where it is set wider, picks are looked for
//!    once more between the two ends, headers left aside, and those that are new are added. An end
//!    that wasn't set stays as it was found.
//! 3. Picks are taken out and put in (`picks`).
//! 4. An end by hand is as doubtful as a hand, and as it disagrees with half a spacing beyond the
//!    outermost pick: a body cut within a pick has no whole number of picks to its length.

use super::picks::{between, edit, is_wider, spacing_of};
use super::selvedges::seek;
use super::{BY_HAND_U_MM, BodyEnds, Corrections, Ruler};
use crate::band::BandTrace;
use crate::picks::{PickOutcome, PickTrack};
use crate::{Error, Result};

/// Standard uncertainty, in spacings, of an end taken to lie half a spacing beyond the outermost
/// pick that was left.
const HALF_SPACING_U: f64 = 0.13;

/// What a hand's end and the picks may differ by counts by this share.
const DISAGREEMENT: f64 = 0.5;

/// A traced band and its picks, corrected.
#[derive(Clone, Debug)]
pub struct PutRight {
    /// The trace.
    pub trace: BandTrace,
    /// The picks and what is to be said of them.
    pub found: PickOutcome,
}

/// Applies `corrections` to what the program saw by itself.
///
/// `find` finds the picks of a trace whose cloth is all body.
///
/// # Errors
///
/// [`Error::Request`] where a place lies off the band or there is no such pick.
pub fn put_right(
    mut trace: BandTrace,
    mut found: PickOutcome,
    corrections: &Corrections,
    ruler: &Ruler,
    find: impl FnOnce(&BandTrace) -> PickOutcome,
) -> Result<PutRight> {
    let own = found.track.clone();
    let body = body_places(&trace, own.as_ref(), corrections.body, ruler)?;
    seek(&mut trace, corrections, ruler)?;
    if !corrections.body.is_empty() {
        bound(&mut trace, own.as_ref(), body, corrections.body);
        match &own {
            Some(own) => {
                let more = is_wider(own, body).then(|| find(&trace).track).flatten();
                found.track = Some(between(own, more.as_ref(), body));
            }
            None => found = find(&trace),
        }
    }
    let touched =
        !corrections.inserted_picks_mm.is_empty() || !corrections.deleted_picks.is_empty();
    match (&mut found.track, &own) {
        (Some(track), Some(own)) => {
            if touched {
                edit(track, own, corrections, ruler)?;
            }
            ends(track, own, corrections.body);
        }
        _ if touched => {
            return Err(Error::Request {
                what: "corrections: picks".to_owned(),
                why: "no picks were found that one could be taken from or put among".to_owned(),
            });
        }
        _ => {}
    }
    Ok(PutRight { trace, found })
}

/// Both ends of the body in the trace, those that weren't set as they were found.
fn body_places(
    trace: &BandTrace,
    own: Option<&PickTrack>,
    set: BodyEnds,
    ruler: &Ruler,
) -> Result<(f64, f64)> {
    let straight = &trace.straight;
    let rows = straight.lab[0].nrows().saturating_sub(1);
    let band = (
        straight.s0_mm,
        straight.s0_mm + rows as f64 * straight.step_mm,
    );
    let found = own.map_or(trace.cloth_mm, |track| track.body_mm);
    let place = |set: Option<f64>, found: f64| set.map_or(found, |at| ruler.s(at));
    let body = (place(set.from_mm, found.0), place(set.to_mm, found.1));
    let refuse = |why: String| Error::Request {
        what: "body set by hand".to_owned(),
        why,
    };
    for (given, s) in [(set.from_mm, body.0), (set.to_mm, body.1)] {
        if let Some(at) = given.filter(|_| s < band.0 || s > band.1) {
            return Err(refuse(format!(
                "{at} mm lies off the band, which is seen from {:.0} to {:.0} mm",
                ruler.at(band.0).ceil(),
                ruler.at(band.1).floor()
            )));
        }
    }
    if body.0 >= body.1 {
        return Err(refuse(format!(
            "it would start at {:.1} mm and finish at {:.1} mm: the start comes first",
            ruler.at(body.0),
            ruler.at(body.1)
        )));
    }
    Ok(body)
}

/// Tells the trace that its cloth is the body, no more and no less.
fn bound(trace: &mut BandTrace, own: Option<&PickTrack>, body: (f64, f64), set: BodyEnds) {
    let found_u = own.map_or(trace.cloth_u_mm, |track| track.body_u_mm);
    let doubt = |set: Option<f64>, found: f64| set.map_or(found, |_| BY_HAND_U_MM);
    trace.cloth_mm = body;
    trace.cloth_u_mm = (doubt(set.from_mm, found_u.0), doubt(set.to_mm, found_u.1));
    // An end that was shown lies in the picture, wherever the cloth goes on to.
    trace.runs_out.0 &= set.from_mm.is_none();
    trace.runs_out.1 &= set.to_mm.is_none();
}

/// Both ends after the picks were edited: as set by hand, as found, or beyond the pick that is now
/// the outermost.
fn ends(track: &mut PickTrack, own: &PickTrack, set: BodyEnds) {
    let (Some(first), Some(last)) = (
        track.centres_mm.first().copied(),
        track.centres_mm.last().copied(),
    ) else {
        return;
    };
    let spacing = spacing_of(own);
    let end = |set: Option<f64>, place: f64, u: f64, by_picks: f64| {
        if set.is_some() {
            return (
                place,
                BY_HAND_U_MM.hypot(DISAGREEMENT * (place - by_picks).abs()),
            );
        }
        if (place - by_picks).abs() > 0.75 * spacing {
            return (by_picks, HALF_SPACING_U * spacing);
        }
        (place, u)
    };
    let near = end(
        set.from_mm,
        track.body_mm.0,
        track.body_u_mm.0,
        first - 0.5 * spacing,
    );
    let far = end(
        set.to_mm,
        track.body_mm.1,
        track.body_u_mm.1,
        last + 0.5 * spacing,
    );
    track.body_mm = (near.0, far.0);
    track.body_u_mm = (near.1, far.1);
}
