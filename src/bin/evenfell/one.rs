//! One photo: from its file to its result.

use std::path::Path;

use evenfell::Error;
use evenfell::findings::verdict_sentences;
use evenfell::measure::measure_with;
use evenfell::measurement::Measurement;
use evenfell::photo::{self, Photo, PhotoOptions};
use evenfell::report::Overlay;
use evenfell::scale::{ScaleOptions, find_view};

use crate::job::MeasureJob;

/// A photo with everything that came of it.
#[derive(Debug)]
pub(crate) struct Measured {
    pub(crate) photo: Photo,
    pub(crate) measurement: Measurement,
    pub(crate) overlay: Option<Overlay>,
    pub(crate) verdict: Vec<String>,
}

/// Opens, scales and measures one photo.
pub(crate) fn measure_one(path: &Path, job: &MeasureJob) -> Result<Measured, Error> {
    let photo = photo::open(path, &PhotoOptions::default())?;
    let view = find_view(&photo, &job.scale, &ScaleOptions::default())?;
    let plan = job.plan.as_ref();
    let found = measure_with(&photo, &view, plan, &job.options, &mut ())?;
    Ok(Measured {
        overlay: Some(Overlay::new(&view, &found.trace, found.track.as_ref())),
        verdict: verdict_sentences(&found.measurement, plan),
        measurement: found.measurement,
        photo,
    })
}
