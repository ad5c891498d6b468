//! A photo measured, and measured again as it is put right.
//!
//! What the program sees by itself is kept until something else is asked, so that a correction
//! costs only the figures.

use std::sync::Arc;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use evenfell::band::StartEnd;
use evenfell::corrections::{Corrections, corrections_from_json};
use evenfell::measure::Options;
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::{Context, shown_figures, shown_plan_lines};
use serde::Deserialize;
use serde_json::{Value, json};

use super::marks::{cloth_marks, marks};
use super::refusal::Refusal;
use super::store::{Desk, Done};
use crate::args::{State as ClothState, Units};
use crate::job::{asked, extent, scale_options};
use crate::one::{Looked, Setting, look_at, measure_at_once, measure_looked_at};

/// With what a photo is to be measured; as the options of `measure`.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Ask {
    /// As `--scale`.
    scale: String,
    /// As `--print-bar`.
    print_bar: Option<String>,
    /// As `--start`.
    start: Option<StartEnd>,
    /// As `--state`.
    state: Option<ClothState>,
    /// The plan's text.
    plan: Option<String>,
    /// As `--units`.
    units: Option<Units>,
    /// As `--part`.
    #[serde(default)]
    part: bool,
    /// As `--swatch`: empty for the whole photo.
    swatch: Option<String>,
    /// As `--hand-count`.
    hand_count: Option<String>,
    /// What was put right.
    corrections: Option<Value>,
}

/// Measures a photo.
pub(super) async fn measure(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<u64>,
    ask: Result<Json<Ask>, JsonRejection>,
) -> Result<Json<Value>, Refusal> {
    let Json(ask) = ask.map_err(|rejection| Refusal::unclear(rejection.body_text()))?;
    desk.work(move |desk| measured(desk, id, &ask))
        .await
        .map(Json)
}

fn measured(desk: &Desk, id: u64, ask: &Ask) -> Result<Value, Refusal> {
    let mut setting = setting(ask)?;
    let photo = desk.photo(id)?;
    let corrections = &mut setting.options.corrections;
    if !corrections.is_empty() {
        // So that a saved file is refused by another photo.
        corrections.photo_sha256 = Some(photo.sha256.clone());
    }
    let both = if setting.options.swatch.is_some() {
        measure_at_once(photo, &setting, &mut ()).map(|measured| {
            let marks = cloth_marks(&measured);
            (measured, marks)
        })
    } else {
        let looked = seen(desk, id, ask, &setting)?;
        measure_looked_at(photo, &setting, Looked::clone(&looked)).map(|(measured, found)| {
            let marks = marks(&measured, &found, &looked, setting.plan.as_ref());
            (measured, marks)
        })
    };
    let (measured, marks) = match both {
        Ok(both) => both,
        Err(error) => {
            if setting.options.corrections.is_empty() {
                desk.set_done(id, None);
            }
            return Err(error.into());
        }
    };
    let reply = reply(&measured, &marks, &setting, ask);
    let done = Done {
        measurement: measured.measurement,
        overlay: measured.overlay,
        verdict: measured.verdict,
        plan: setting.plan,
        plan_text: ask.plan.clone(),
        units: ask.units.map(LengthUnits::from),
        corrections: setting.options.corrections,
    };
    desk.set_done(id, Some(Arc::new(done)));
    Ok(reply)
}

/// What the command line would make of the same options.
fn setting(ask: &Ask) -> Result<Setting, Refusal> {
    let corrections = ask.corrections.as_ref().filter(|given| !given.is_null());
    let corrections = match corrections {
        Some(given) => corrections_from_json("corrections", &given.to_string())?,
        None => Corrections::default(),
    };
    if corrections.start.is_some() && ask.start.is_some() {
        return Err(Refusal::unclear("the start is said twice: leave one out"));
    }
    if ask.part && ask.swatch.is_some() {
        let why = "a photo shows a stretch of a band or cloth all over: say one of them";
        return Err(Refusal::unclear(why));
    }
    Ok(Setting {
        scale: ask.scale.parse()?,
        scale_options: scale_options(ask.print_bar.as_deref())?,
        plan: ask.plan.as_deref().map(Plan::from_json).transpose()?,
        options: Options {
            start: ask.start,
            corrections,
            extent: extent(ask.part),
            hand_count: ask.hand_count.as_deref().map(str::parse).transpose()?,
            swatch: ask.swatch.as_deref().map(str::parse).transpose()?,
            ..Options::default()
        },
        asked: asked(
            &ask.scale,
            (ask.print_bar.as_deref(), ask.hand_count.as_deref()),
            ask.state,
        ),
        figures_alone: false,
    })
}

/// What the program sees by itself, from the last time where it was asked the same.
fn seen(desk: &Desk, id: u64, ask: &Ask, setting: &Setting) -> Result<Arc<Looked>, Refusal> {
    let asked = format!(
        "{id} {:?} {:?} {:?} {:?}",
        ask.scale,
        ask.print_bar,
        setting.options.start(),
        ask.plan
    );
    if let Some(looked) = desk.looked(&asked) {
        return Ok(looked);
    }
    let photo = desk.photo(id)?;
    let looked = match look_at(&photo, setting) {
        Ok(looked) => Arc::new(looked),
        Err(error) => {
            desk.set_done(id, None);
            return Err(error.into());
        }
    };
    desk.keep_looked(asked, Arc::clone(&looked));
    Ok(looked)
}

/// Everything that the page shows of a result.
fn reply(measured: &crate::one::Measured, marks: &Value, setting: &Setting, ask: &Ask) -> Value {
    let measurement = &measured.measurement;
    let context = Context {
        plan: setting.plan.as_ref(),
        verdict: &measured.verdict,
        units: ask.units.map(LengthUnits::from),
    };
    json!({
        "measurement": measurement,
        "verdict": measured.verdict,
        "figures": shown_figures(measurement, &context),
        "against": shown_plan_lines(measurement, &context),
        "scale": evenfell::report::scale_sentences(measurement),
        "caution": evenfell::report::caution_for(measurement, setting.plan.as_ref()),
        "corrections": setting.options.corrections,
        "marks": marks,
    })
}
