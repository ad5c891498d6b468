//! The stages in their order.

use super::second_look::SecondLook;
use super::swatch::measure_swatch;
use super::{Body, Options, Seen, figures_of};
use crate::Result;
use crate::band::{BandHint, BandTrace, StartEnd, trace_band};
use crate::corrections::{PutRight, Ruler, put_right};
use crate::geometry::Point;
use crate::measurement::{Measurement, Unmeasured};
use crate::photo::Photo;
use crate::picks::{
    PickHint, PickOptions, PickOutcome, PickTrack, Woven, find_picks, rough_picks_per_inch,
};
use crate::plan::Plan;
use crate::scale::View;
use crate::stages::Stages;
use crate::units::MM_PER_INCH;

/// A result with what it was read from, for those who draw it.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The result.
    pub measurement: Measurement,
    /// The band laid straight, its selvedges and ends.
    pub trace: BandTrace,
    /// The picks, where they were found.
    pub track: Option<PickTrack>,
}

/// Measures the band in a photo, or the picks alone where the options name a swatch.
///
/// `stages` is shown each stage's picture; `&mut ()` looks away.
///
/// # Errors
///
/// [`Error::Unmeasurable`](crate::Error::Unmeasurable) where no band is found. A part that can't be
/// measured is `None` in the result and stands under `unmeasured`.
///
/// # Examples
///
/// ```no_run
/// use evenfell::measure::{Options, measure};
/// use evenfell::photo::{PhotoOptions, open};
/// use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
///
/// # fn main() -> evenfell::Result<()> {
/// let photo = open("lamp-pull.png".as_ref(), &PhotoOptions::default())?;
/// let view = find_view(&photo, &ScaleRequest::Auto, &ScaleOptions::default())?;
/// let plan = evenfell::plan::read("lamp-pull.plan.json".as_ref())?;
/// let result = measure(&photo, &view, Some(&plan), &Options::default(), &mut ())?;
/// # Ok(())
/// # }
/// ```
pub fn measure(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    stages: &mut dyn Stages,
) -> Result<Measurement> {
    measure_with(photo, view, plan, options, stages).map(|measured| measured.measurement)
}

/// Measures the band in a photo, and hands out the trace and the picks beside the result.
///
/// # Errors
///
/// As [`measure`].
pub fn measure_with(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    stages: &mut dyn Stages,
) -> Result<Measured> {
    if let Some(request) = options.swatch {
        return measure_swatch(photo, view, request, plan, options, stages);
    }
    let looked = look(photo, view, plan, options, stages)?;
    measure_looked(photo, view, plan, options, looked)
}

/// Most other pieces of a photo that are looked at where the likeliest doesn't look woven.
const MOST_OTHERS: usize = 2;

/// What the program sees in a photo by itself, before anything is put right.
#[derive(Clone, Debug)]
pub struct Looked {
    /// The band laid straight, its selvedges and ends.
    pub trace: BandTrace,
    /// Its picks.
    pub found: PickOutcome,
}

/// Traces the band and finds its picks; corrections other than the start are left aside. Where what was taken for the
/// band doesn't plainly look woven, a rule or a tag beside it, the two next pieces are looked at, and one is
/// taken that looks so rather and lies whole in the picture.
///
/// # Errors
///
/// As [`measure`].
pub fn look(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    stages: &mut dyn Stages,
) -> Result<Looked> {
    let hint = |piece| BandHint {
        piece,
        ..band_hint(view, plan, options.start())
    };
    let look_at = |piece, stages: &mut dyn Stages| {
        looked_at(photo, view, plan, options, (hint(piece), stages))
    };
    let mut best = (0, look_at(0, stages)?);
    for piece in 1..=MOST_OTHERS {
        let woven = best.1.found.woven();
        if woven == Woven::Plainly {
            break;
        }
        let Ok(other) = look_at(piece, &mut ()) else {
            break;
        };
        if rather_the_band(&other) > woven.max(Woven::Hardly) {
            best = (piece, other);
        }
    }
    match best {
        (piece, _) if piece > 0 && stages.watching() => look_at(piece, stages),
        (_, best) => Ok(best),
    }
}

/// How much another piece looks like cloth; hardly where it doesn't lie whole in the picture.
fn rather_the_band(other: &Looked) -> Woven {
    let most = if other.trace.is_cropped() {
        Woven::Hardly
    } else {
        Woven::Plainly
    };
    other.found.woven().min(most)
}

/// Traces one piece of the photo and finds its picks.
fn looked_at(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    (mut hint, stages): (BandHint, &mut dyn Stages),
) -> Result<Looked> {
    let mut trace = traced(photo, view, &hint, options, stages)?;
    if hint.picks_per_inch.is_none() {
        hint.picks_per_inch = rough_picks_per_inch(&trace, &options.picks);
        if hint.picks_per_inch.is_some_and(unlike_reckoned) {
            trace = traced(photo, view, &hint, options, stages)?;
        }
    }
    let found = find_picks(&trace, &pick_hint(plan), &options.picks, stages);
    if let Some(second) = SecondLook::new(&trace, found.track.as_ref()) {
        let again = traced(photo, view, &second.told(&hint), options, &mut ())?;
        if let Some(believed) = second.believed(again) {
            trace = believed;
        }
    }
    Ok(Looked { trace, found })
}

/// Puts right what was seen and reads the figures.
///
/// # Errors
///
/// [`Error::Request`](crate::Error::Request) where a correction speaks of what isn't there.
pub fn measure_looked(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    looked: Looked,
) -> Result<Measured> {
    let Looked { trace, found } = corrected(photo, view, plan, options, looked)?;
    let mut warnings = view.warnings.clone();
    warnings.extend(trace.warnings.iter().cloned());
    warnings.extend(found.warnings);
    let mut unmeasured = found.unmeasured;
    let track = usable(found.track, &mut unmeasured);
    let seen = Seen {
        photo,
        view,
        trace: &trace,
        track: track.as_ref(),
    };
    let measurement = figures_of(seen, plan, options, warnings, unmeasured);
    Ok(Measured {
        measurement,
        trace,
        track,
    })
}

/// Where 0 mm of the corrections lies, and how long a millimetre is there.
#[must_use]
pub fn ruler(looked: &Looked, view: &View, plan: Option<&Plan>) -> Ruler {
    let body = Body::new(&looked.trace, looked.found.track.as_ref(), view, plan);
    Ruler {
        start_mm: body.ends_mm.0,
        along: body.along,
        across: body.across,
    }
}

/// What was seen, as the corrections have it.
fn corrected(
    photo: &Photo,
    view: &View,
    plan: Option<&Plan>,
    options: &Options,
    looked: Looked,
) -> Result<Looked> {
    let corrections = &options.corrections;
    if let Some(other) = corrections
        .photo_sha256
        .as_ref()
        .filter(|sha| **sha != photo.sha256)
    {
        return Err(crate::Error::Request {
            what: "corrections".to_owned(),
            why: format!(
                "they were made on another photo (its SHA-256 begins {:.8}): take \"photo_sha256\" \
                 out of the file if they fit all the same",
                other
            ),
        });
    }
    if corrections.leaves_places() {
        return Ok(looked);
    }
    let ruler = ruler(&looked, view, plan);
    let all_body = PickOptions {
        headers: false,
        ..options.picks.clone()
    };
    let find = |trace: &BandTrace| find_picks(trace, &pick_hint(plan), &all_body, &mut ());
    let PutRight { trace, found } =
        put_right(looked.trace, looked.found, corrections, &ruler, find)?;
    Ok(Looked { trace, found })
}

/// Pixels a millimetre that are enough for selvedges: 250 dpi. On 34 bands drawn at 520 and 700 dpi the
/// counts stayed the same, and the width's error stayed at 0.05 mm.
const ENOUGH_PX_A_MM: f64 = 10.0;

/// The band as it lies in the photo.
fn traced(
    photo: &Photo,
    view: &View,
    hint: &BandHint,
    options: &Options,
    stages: &mut dyn Stages,
) -> Result<BandTrace> {
    match finer_than_needed(photo, view, hint.picks_per_inch) {
        1 => trace_band(photo, view, hint, &options.band, stages),
        factor => trace_band(
            &photo.binned(factor),
            &view.binned(factor),
            hint,
            &options.band,
            stages,
        ),
    }
}

/// Whether so many picks per inch are so unlike what the band was traced with that it is worth tracing
/// again: the selvedges are followed in steps of the picks.
fn unlike_reckoned(picks_per_inch: f64) -> bool {
    !(RECKONED_PICKS_PER_INCH.0..RECKONED_PICKS_PER_INCH.1).contains(&picks_per_inch)
}

/// Picks per inch that a band traced without a plan may have.
const RECKONED_PICKS_PER_INCH: (f64, f64) = (9.5, 10.9);

/// Pixels that are enough for one pick, which is looked at in 14 samples.
const ENOUGH_PX_A_PICK: f64 = 16.0;

/// Picks per inch that are reckoned with where no plan says it.
const FINE_PICKS_PER_INCH: f64 = 24.0;

/// How many pixels may be averaged to one, along x and y, before the band is looked for.
fn finer_than_needed(photo: &Photo, view: &View, picks_per_inch: Option<f64>) -> u32 {
    let (width, height) = photo.pixels.dimensions();
    let corners = [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)];
    let coarsest = corners
        .iter()
        .filter_map(|&(x, y)| {
            let px = Point::new(x * f64::from(width), y * f64::from(height));
            Some(view.px_per_mm(view.to_plane(px)?))
        })
        .fold(f64::INFINITY, f64::min);
    let picks_per_inch = picks_per_inch.unwrap_or(FINE_PICKS_PER_INCH);
    let enough = ENOUGH_PX_A_MM.max(ENOUGH_PX_A_PICK * picks_per_inch / MM_PER_INCH);
    let factor = (coarsest / enough).clamp(1.0, 64.0);
    if factor.is_finite() { factor as u32 } else { 1 }
}

/// What the sheet, the plan and the weaver say of the band.
fn band_hint(view: &View, plan: Option<&Plan>, start: Option<StartEnd>) -> BandHint {
    BandHint {
        loom_width_mm: plan.map(|plan| plan.width_in_loom_mm),
        picks_per_inch: plan.map(|plan| plan.picks_per_inch),
        woven_length_mm: plan.map(|plan| plan.woven_length_mm),
        thickness_mm: plan.and_then(|plan| plan.thickness_mm),
        start,
        region_mm: view.region_mm,
        ground_changes_mm: view.ground_changes_mm.clone(),
        main_ground_mm: middle_of(&view.ground_changes_mm),
        printed: view.printed.clone(),
        turns: Vec::new(),
        piece: 0,
    }
}

/// The middle of the innermost stretch: a sheet's window lies in the middle of its page.
fn middle_of(changes: &[f64]) -> Option<f64> {
    Some(0.5 * (changes.first()? + changes.last()?))
}

/// What the plan says of the picks.
fn pick_hint(plan: Option<&Plan>) -> PickHint {
    PickHint {
        picks_per_inch: plan.map(|plan| plan.picks_per_inch),
        ends: plan.map(|plan| plan.ends),
        drawdown: plan.and_then(|plan| plan.drawdown.clone()),
        header_picks: plan.and_then(|plan| plan.header_picks),
        width_in_loom_mm: plan.map(|plan| plan.width_in_loom_mm),
    }
}

/// The track, if its places run one way and lie within the body; picks that don't are no picks.
fn usable(track: Option<PickTrack>, unmeasured: &mut Vec<Unmeasured>) -> Option<PickTrack> {
    let track = track?;
    let (from, to) = track.body_mm;
    let centres = &track.centres_mm;
    let ordered = centres.windows(2).all(|pair| pair[0] < pair[1]);
    let inside = centres.iter().all(|at| *at >= from && *at <= to);
    let told = [&track.centre_u_mm, &track.noise_u_mm];
    let told = told.iter().all(|u| u.len() == centres.len());
    if ordered && inside && told && !centres.is_empty() {
        return Some(track);
    }
    unmeasured.push(Unmeasured {
        what: "picks".into(),
        why: "the picks that were found don't follow one another: photograph the band sharper and \
              flatter"
            .into(),
    });
    None
}
