//! Every figure, finding and verdict of a traced band and its picks.

use super::across::{across, edges, hidden_turns_mm, hidden_turns_warning, widen_by_hand};
use super::{Body, Extent, Options};
use crate::band::BandTrace;
use crate::beat::{self, PickPlaces};
use crate::corrections::corrections_warning;
use crate::findings;
use crate::hand_count::hold;
use crate::measurement::{
    Finding, Measurement, Photo as PhotoSeen, Picks, Program, Quantity, SCHEMA, Scale, Unmeasured,
    Warning,
};
use crate::photo::Photo;
use crate::picks::PickTrack;
use crate::plan::Plan;
use crate::scale::View;
use crate::stats::Estimate;
use crate::width::{self, BodyEdges, TurnlessEdges};

/// Why a part has neither count nor length.
const STRETCH: &str = "the photo shows a stretch of a longer piece";

/// What the stages before have seen.
#[derive(Clone, Copy, Debug)]
pub struct Seen<'a> {
    /// The photo.
    pub photo: &'a Photo,
    /// Its scale.
    pub view: &'a View,
    /// The band in it.
    pub trace: &'a BandTrace,
    /// The band's picks, where they were found.
    pub track: Option<&'a PickTrack>,
}

/// Puts a result together; what can't be measured is left out and said so.
///
/// `warnings` and `unmeasured` are what the stages before have to say.
#[must_use]
pub fn figures_of(
    seen: Seen<'_>,
    plan: Option<&Plan>,
    options: &Options,
    mut warnings: Vec<Warning>,
    unmeasured: Vec<Unmeasured>,
) -> Measurement {
    let body = Body::new(seen.trace, seen.track, seen.view, plan);
    let hidden_mm = hidden_turns_mm(seen, options);
    warnings.extend(hidden_mm.map(hidden_turns_warning));
    let edges = edges(seen, &body, hidden_mm);
    let quality = || findings::quality(seen.trace, body.ends_mm, body.pitch_mm, &options.quality);
    let figures = || {
        let mut m = empty(seen, options);
        m.unmeasured = unmeasured;
        along(&mut m, seen, &body, plan, options.extent);
        across(&mut m, &body, edges.as_ref().map_err(|why| *why), plan);
        m
    };
    let (quality, mut m) = rayon::join(quality, figures);
    warnings.extend(quality);
    if options.extent == Extent::Part {
        // A stretch is meant to run on: neither its ends nor its count are in question.
        warnings.retain(|w| {
            w.code != "count_unsure" && !(w.code == "cropped" && seen.trace.is_cropped())
        });
    }
    widen_by_hand(&mut m, &options.corrections, &body);
    hold_hand_count(&mut m, options, &body);
    m.findings = find(&m, seen, &body, edges.as_ref().ok(), plan);
    m.against_plan = plan.map_or_else(Vec::new, |plan| findings::against_plan(&m, plan));
    warnings.extend(corrections_warning(&options.corrections));
    m.warnings = once_each(warnings);
    m
}

/// A result without figures.
pub(super) fn empty(seen: Seen<'_>, options: &Options) -> Measurement {
    let line = &seen.trace.straight.centre_line;
    let (from, to) = seen.trace.cloth_mm;
    let px_per_mm = seen
        .view
        .px_per_mm(line.place(f64::midpoint(from, to), 0.0));
    let doubt = px_per_mm * seen.view.relative_u;
    Measurement {
        schema: SCHEMA.into(),
        program: Program {
            version: env!("CARGO_PKG_VERSION").into(),
            options: options.by_name(),
        },
        photo: PhotoSeen {
            file: seen.photo.file.clone(),
            width_px: seen.photo.pixels.width(),
            height_px: seen.photo.pixels.height(),
            sha256: seen.photo.sha256.clone(),
        },
        scale: Scale {
            method: seen.view.method,
            px_per_mm: Estimate::new(px_per_mm, 0.0, doubt).into(),
            camera_tilt_degrees: seen.view.tilt.to_degrees(),
            notes: seen.view.notes.clone(),
        },
        corrections: Some(options.corrections.clone()).filter(|made| !made.is_empty()),
        length_mm: None,
        picks: None,
        beat: None,
        width: None,
        draw_in_percent: None,
        selvedges: None,
        against_plan: Vec::new(),
        findings: Vec::new(),
        warnings: Vec::new(),
        unmeasured: Vec::new(),
        swatch: None,
        hand_count: None,
    }
}

/// The figures along the band: length, picks, beat.
fn along(m: &mut Measurement, seen: Seen<'_>, body: &Body, plan: Option<&Plan>, extent: Extent) {
    let part = extent == Extent::Part;
    let cropped = part || seen.trace.is_cropped();
    if part {
        leave_out(m, "count", STRETCH);
        leave_out(m, "length", STRETCH);
    }
    let (Some(places), Some(track)) = (&body.picks, seen.track) else {
        m.length_mm = without_picks(m, seen, body, plan, cropped);
        leave_out(m, "picks", "no picks could be told apart");
        leave_out(m, "beat", "the beat is read from the picks");
        return;
    };
    let seen_in_part = "the band runs out of the picture: take all of it in, both ends";
    m.picks = picks(places, track, cropped);
    if m.picks.is_none() {
        leave_out(
            m,
            "picks",
            "too few picks are in view: photograph more of the band",
        );
    }
    if cropped {
        leave_out(m, "count", seen_in_part);
        leave_out(m, "length", seen_in_part);
    } else {
        m.length_mm = Some(places.length_mm.into());
    }
    m.beat = beat::split(places);
    if m.beat.is_none() {
        leave_out(
            m,
            "beat",
            "it takes eight picks or more to tell how even the beat is",
        );
    }
    if places.rows.is_none() && plan.is_some_and(|plan| plan.drawdown.is_some()) {
        leave_out(
            m,
            "rows",
            "the picks couldn't be matched with the drawdown's rows",
        );
    }
}

/// Length of a body whose picks aren't known: the whole cloth, where the plan says that no header
/// is among it.
fn without_picks(
    m: &mut Measurement,
    seen: Seen<'_>,
    body: &Body,
    plan: Option<&Plan>,
    cropped: bool,
) -> Option<Quantity> {
    if cropped || plan.and_then(|plan| plan.header_picks) != Some(0) {
        let why = "without the picks, header and body can't be told apart";
        leave_out(m, "length", why);
        return None;
    }
    let length = (body.ends_mm.1 - body.ends_mm.0) * body.along.factor;
    let ends = seen.trace.cloth_u_mm.0.hypot(seen.trace.cloth_u_mm.1);
    Some(Estimate::new(length, ends, length * body.along.relative_u).into())
}

fn picks(places: &PickPlaces, track: &PickTrack, cropped: bool) -> Option<Picks> {
    let per_inch = if cropped {
        stretch_per_inch(places)?
    } else {
        beat::picks_per_inch(places)?
    };
    let rows = places.rows.as_ref().map(|(rows, of)| {
        let number = |row: &usize| u32::try_from(row % of + 1).unwrap_or(u32::MAX);
        rows.iter().map(number).collect()
    });
    Some(Picks {
        count: u32::try_from(places.count()).ok().filter(|_| !cropped),
        per_inch: per_inch.into(),
        positions_mm: places.centres_mm.clone(),
        positions_u95_mm: positions(places, track),
        spacing_cv_percent: beat::spacing_cv(places).map(Into::into),
        rows,
        face: track.face.clone(),
    })
}

/// Half-widths of the positions' 95 % intervals, mm: the pick's own, the start of the body they
/// are counted from, and the scale over the distance from it.
pub(super) fn positions(places: &PickPlaces, track: &PickTrack) -> Vec<f64> {
    let share = places.length_mm.scale / places.length_mm.value.max(f64::MIN_POSITIVE);
    let each = places.centres_mm.iter().zip(&places.centre_u_mm);
    each.map(|(at, u)| Estimate::new(*at, u.hypot(track.body_u_mm.0), at * share).u95())
        .collect()
}

/// Standard uncertainty of the place of an outermost pick that lies against the picture's edge, spacings: what is
/// seen of it has a neighbour on one side only. The first and last picks of 147 drawn bands err by so much, rms.
const OUTERMOST_U: f64 = 0.06;

/// Picks per inch between the first and the last pick in view, of a band that runs out of the
/// picture.
pub(super) fn stretch_per_inch(places: &PickPlaces) -> Option<Estimate> {
    let pitch = places.pitch_mm().filter(|p| *p > 0.0)?;
    let density = beat::MM_PER_INCH / pitch;
    let (first, last) = (places.centre_u_mm.first()?, places.centre_u_mm.last()?);
    let run = pitch * (places.count() - 1) as f64;
    let scale = places.length_mm.scale / places.length_mm.value.max(f64::MIN_POSITIVE);
    let each = OUTERMOST_U * pitch;
    let noise = first.hypot(*last).hypot(each).hypot(each) / run;
    Some(Estimate::new(density, density * noise, density * scale))
}

/// What is off, in the order that a weaver looks: beat, selvedges, pattern.
fn find(
    m: &Measurement,
    seen: Seen<'_>,
    body: &Body,
    edges: Option<&BodyEdges>,
    plan: Option<&Plan>,
) -> Vec<Finding> {
    let tolerance = plan.map(|plan| plan.tolerance).unwrap_or_default();
    let units = plan.map(|plan| plan.units).unwrap_or_default();
    let mut found = Vec::new();
    if let (Some(places), Some(split)) = (&body.picks, &m.beat) {
        found.extend(findings::loose_and_tight(places, tolerance.beat, units));
        found.extend(findings::drift(places, split, tolerance.beat));
    }
    if let (Some(edges), Some(pitch)) = (edges, body.pitch_mm) {
        let mean = width::mean_width(edges).value;
        let places = body.picks.as_ref();
        let centres = places.map(|places| places.centres_mm.as_slice());
        if let Some(turnless) = TurnlessEdges::new(edges, centres, pitch) {
            found.extend(findings::edge_runs(&turnless, mean, places, units));
        }
        found.extend(findings::taper(edges, pitch));
    }
    if let (Some(places), Some(track)) = (&body.picks, seen.track) {
        found.extend(findings::mis_woven(
            (&track.odd_cells, track.own_ends.as_ref()),
            places,
            units,
        ));
        found.extend(findings::row_order(places, units));
    }
    found
}

/// The weaver's own count beside the picks that were found.
pub(super) fn hold_hand_count(m: &mut Measurement, options: &Options, body: &Body) {
    let Some(request) = &options.hand_count else {
        return;
    };
    let per_inch = m.picks.as_ref().map(|picks| picks.per_inch);
    let held = body
        .picks
        .as_ref()
        .zip(per_inch)
        .ok_or_else(|| "no picks were found to hold your count beside".to_owned())
        .and_then(|(places, per_inch)| hold(request, places, per_inch));
    match held {
        Ok(held) => m.hand_count = Some(held),
        Err(why) => leave_out(m, "hand_count", &why),
    }
}

/// Says that a part couldn't be measured, unless a stage before has said so with its own reason.
pub(super) fn leave_out(m: &mut Measurement, what: &str, why: &str) {
    if m.unmeasured.iter().all(|part| part.what != what) {
        m.unmeasured.push(Unmeasured {
            what: what.into(),
            why: why.into(),
        });
    }
}

/// Warnings without those whose code has come before.
pub(super) fn once_each(warnings: Vec<Warning>) -> Vec<Warning> {
    let mut kept: Vec<Warning> = Vec::new();
    for warning in warnings {
        if kept.iter().all(|old| old.code != warning.code) {
            kept.push(warning);
        }
    }
    kept
}
