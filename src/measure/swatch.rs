//! Cloth that fills the picture: only its picks.

use super::figures::{empty, hold_hand_count, leave_out, once_each, positions, stretch_per_inch};
use super::{Body, Measured, Options, Seen};
use crate::band::StartEnd;
use crate::beat;
use crate::findings;
use crate::measurement::{Picks, Swatch, Warning};
use crate::photo::Photo;
use crate::plan::Plan;
use crate::scale::View;
use crate::stages::Stages;
use crate::stats::Estimate;
use crate::swatch::{SwatchOutcome, SwatchRequest, find_swatch_picks, lay_swatch};
use crate::{Error, Result};

/// Measures the picks of a swatch.
pub(super) fn measure_swatch(
    photo: &Photo,
    view: &View,
    request: SwatchRequest,
    plan: Option<&Plan>,
    options: &Options,
    stages: &mut dyn Stages,
) -> Result<Measured> {
    let put_right = &options.corrections;
    if !put_right.body.is_empty()
        || !put_right.selvedges.is_empty()
        || !put_right.inserted_picks_mm.is_empty()
        || !put_right.deleted_picks.is_empty()
    {
        return Err(Error::Request {
            what: "--swatch".into(),
            why:
                "a swatch has no body or selvedge to put right: leave --body and --corrections out"
                    .into(),
        });
    }
    let start = options.start().unwrap_or(StartEnd::Left);
    let laid = lay_swatch(photo, view, request, start)?;
    let planned_mm = plan.map(|plan| beat::MM_PER_INCH / plan.picks_per_inch);
    let found = find_swatch_picks(&laid, planned_mm, &options.swatch_picks, stages)
        .map_err(|why| Error::Unmeasurable { why })?;
    let seen = Seen {
        photo,
        view,
        trace: &laid.trace,
        track: Some(&found.track),
    };
    let body = Body::new(&laid.trace, seen.track, view, plan);
    let mut m = empty(seen, options);
    if let Some(places) = &body.picks {
        let per_inch = stretch_per_inch(places).map(|along| square_to_the_weft(along, &found));
        m.picks = per_inch.map(|per_inch| Picks {
            count: u32::try_from(places.count()).ok(),
            per_inch: per_inch.into(),
            positions_mm: places.centres_mm.clone(),
            positions_u95_mm: positions(places, &found.track),
            spacing_cv_percent: None,
            rows: None,
            face: None,
        });
    }
    let [x, y, width, height] = laid.rectangle_px;
    m.swatch = Some(Swatch {
        x_px: x,
        y_px: y,
        width_px: width,
        height_px: height,
        length_in_picks: found.rows.into(),
        whole_picks: u32::try_from(found.whole).unwrap_or(u32::MAX),
        weft_tilt_degrees: found.evidence.tilt.to_degrees(),
    });
    hold_hand_count(&mut m, options, &body);
    say_what_is_missing(&mut m, plan);
    m.against_plan = plan.map_or_else(Vec::new, |plan| findings::against_plan(&m, plan));
    let mut warnings = view.warnings.clone();
    warnings.extend(found.warnings.iter().cloned());
    warnings.extend(quality(&laid.trace, &body, options));
    m.warnings = once_each(warnings);
    Ok(Measured {
        measurement: m,
        trace: laid.trace,
        track: Some(found.track),
    })
}

/// Picks are counted square to the weft: where it lies askew in the picture, the way along the
/// picture is longer than from pick to pick. What is doubtful about their number is so here, too.
fn square_to_the_weft(along: Estimate, found: &SwatchOutcome) -> Estimate {
    let cos = found.evidence.tilt.cos();
    // Half a degree of doubt in the tilt.
    let by_tilt = along.value * found.evidence.tilt.sin().abs() * 0.5_f64.to_radians();
    let by_slips = along.value * found.slips_u / found.rows.value;
    Estimate::new(
        along.value / cos,
        (along.scatter / cos).hypot(by_tilt).hypot(by_slips),
        along.scale / cos,
    )
}

/// What a swatch can't show.
fn say_what_is_missing(m: &mut crate::measurement::Measurement, plan: Option<&Plan>) {
    leave_out(
        m,
        "length",
        "the cloth fills the picture: its ends aren't in view",
    );
    for what in ["width", "draw_in", "selvedges"] {
        leave_out(
            m,
            what,
            "the cloth fills the picture: no selvedge is in view",
        );
    }
    leave_out(
        m,
        "beat",
        "a swatch's picks are placed by their neighbours' help, which hides how even they are: \
         photograph a whole band for that",
    );
    if plan.is_some_and(|plan| plan.drawdown.is_some()) {
        leave_out(
            m,
            "rows",
            "without a selvedge the drawdown's rows can't be told from one another",
        );
    }
}

/// What is doubtful about the photo, as far as it can be told without selvedges.
fn quality(trace: &crate::band::BandTrace, body: &Body, options: &Options) -> Vec<Warning> {
    let all = findings::quality(trace, body.ends_mm, body.pitch_mm, &options.quality);
    let here = ["coarse", "blown_out"];
    all.into_iter()
        .filter(|warning| here.contains(&warning.code.as_str()))
        .collect()
}
