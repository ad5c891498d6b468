//! One photo: from its pixels to its result.

use std::path::Path;
use std::sync::Arc;

use evenfell::Error;
use evenfell::band::BandTrace;
use evenfell::findings::verdict_sentences;
use evenfell::measure::{self, Options, measure_with};
#[cfg(feature = "desk")]
use evenfell::measure::{look, measure_looked};
use evenfell::measurement::Measurement;
use evenfell::photo::Photo;
use evenfell::picks::PickTrack;
use evenfell::plan::Plan;
use evenfell::report::Overlay;
use evenfell::scale::{ScaleOptions, ScaleRequest, View, find_view};
use evenfell::stages::Stages;

use crate::stages::StageFolder;

/// A photo with everything that came of it.
#[derive(Debug)]
pub(crate) struct Measured {
    pub(crate) photo: Arc<Photo>,
    pub(crate) measurement: Measurement,
    pub(crate) overlay: Overlay,
    pub(crate) verdict: Vec<String>,
}

/// What every photo of a job is measured with.
#[derive(Clone, Debug, Default)]
pub(crate) struct Setting {
    pub(crate) plan: Option<Plan>,
    pub(crate) scale: ScaleRequest,
    pub(crate) scale_options: ScaleOptions,
    pub(crate) options: Options,
    /// What was typed, as it stands in the result.
    pub(crate) asked: Vec<(&'static str, String)>,
    /// Whether nothing of a photo will be shown but its figures.
    pub(crate) figures_alone: bool,
}

/// What the program sees in a photo by itself, before anything is put right.
#[cfg(feature = "desk")]
#[derive(Clone, Debug)]
pub(crate) struct Looked {
    pub(crate) view: View,
    pub(crate) seen: measure::Looked,
}

/// What a result was read from, once everything is put right.
#[derive(Debug)]
#[cfg_attr(
    not(feature = "desk"),
    expect(dead_code, reason = "only the desk draws over the photo")
)]
pub(crate) struct Found {
    pub(crate) trace: BandTrace,
    pub(crate) track: Option<PickTrack>,
}

/// Scales and measures one photo; `stages` is the folder for the stages' pictures.
pub(crate) fn measure_one(
    photo: Photo,
    setting: &Setting,
    stages: Option<&Path>,
) -> Result<Measured, Error> {
    let mut folder = StageFolder::new(stages)?;
    let measured = measure_at_once(Arc::new(photo), setting, &mut folder)?;
    folder.end()?;
    Ok(measured)
}

/// The same of a photo that stays; the pictures of the stages go to `stages`.
pub(crate) fn measure_at_once(
    photo: Arc<Photo>,
    setting: &Setting,
    stages: &mut dyn Stages,
) -> Result<Measured, Error> {
    let view = find_view(&photo, &setting.scale, &setting.scale_options)?;
    let plan = setting.plan.as_ref();
    let found = measure_with(&photo, &view, plan, &setting.options, stages)?;
    Ok(finished(photo, setting, &view, found).0)
}

/// Scales a photo and sees the band in it.
#[cfg(feature = "desk")]
pub(crate) fn look_at(photo: &Photo, setting: &Setting) -> Result<Looked, Error> {
    let view = find_view(photo, &setting.scale, &setting.scale_options)?;
    let plan = setting.plan.as_ref();
    let seen = look(photo, &view, plan, &setting.options, &mut ())?;
    Ok(Looked { view, seen })
}

/// Puts right what was seen and measures it.
#[cfg(feature = "desk")]
pub(crate) fn measure_looked_at(
    photo: Arc<Photo>,
    setting: &Setting,
    looked: Looked,
) -> Result<(Measured, Found), Error> {
    let Looked { view, seen } = looked;
    let plan = setting.plan.as_ref();
    let found = measure_looked(&photo, &view, plan, &setting.options, seen)?;
    Ok(finished(photo, setting, &view, found))
}

/// A result with what was typed, its verdict and its lines over the photo.
fn finished(
    photo: Arc<Photo>,
    setting: &Setting,
    view: &View,
    found: measure::Measured,
) -> (Measured, Found) {
    let mut measurement = found.measurement;
    for (name, value) in &setting.asked {
        let options = &mut measurement.program.options;
        options.insert((*name).to_owned(), value.as_str().into());
    }
    let overlay = if setting.figures_alone {
        Overlay::without_strip
    } else {
        Overlay::new
    };
    let measured = Measured {
        overlay: overlay(view, &found.trace, found.track.as_ref()),
        verdict: verdict_sentences(&measurement, setting.plan.as_ref()),
        measurement,
        photo,
    };
    let (trace, track) = (found.trace, found.track);
    (measured, Found { trace, track })
}
