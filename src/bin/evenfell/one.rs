//! One photo: from its file to its result.

use std::path::Path;

use evenfell::Error;
use evenfell::findings::verdict_sentences;
use evenfell::measure::{Options, measure_with};
use evenfell::measurement::Measurement;
use evenfell::photo::Photo;
use evenfell::plan::Plan;
use evenfell::report::Overlay;
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};

use crate::stages::StageFolder;

/// A photo with everything that came of it.
#[derive(Debug)]
pub(crate) struct Measured {
    pub(crate) photo: Photo,
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
}

/// Scales and measures one photo; `stages` is the folder for the stages' pictures.
pub(crate) fn measure_one(
    photo: Photo,
    setting: &Setting,
    stages: Option<&Path>,
) -> Result<Measured, Error> {
    let view = find_view(&photo, &setting.scale, &setting.scale_options)?;
    let plan = setting.plan.as_ref();
    let mut folder = StageFolder::new(stages)?;
    let found = measure_with(&photo, &view, plan, &setting.options, &mut folder)?;
    folder.end()?;
    let mut measurement = found.measurement;
    for (name, value) in &setting.asked {
        let options = &mut measurement.program.options;
        options.insert((*name).to_owned(), value.as_str().into());
    }
    Ok(Measured {
        overlay: Overlay::new(&view, &found.trace, found.track.as_ref()),
        verdict: verdict_sentences(&measurement, plan),
        measurement,
        photo,
    })
}
