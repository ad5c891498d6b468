//! Several bands compared; yarn for the next.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use evenfell::Error;
use evenfell::compare::{CompareOptions, Comparison, Sample, compare, comparison_text};
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::wrap_text;
use evenfell::yarn::{Weighed, YardageOptions, yardage, yardage_text};
use serde::Deserialize;
use serde_json::{Value, json};

use super::refusal::Refusal;
use super::store::{Desk, Done};
use crate::args::Units;
use crate::names::stem;

/// Characters a line of the texts.
const LINE: usize = 78;

/// Which bands are to be compared, and how.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Class {
    /// The bands, in their order.
    bands: Vec<u64>,
    /// What each is called, where it isn't called by its photo.
    #[serde(default)]
    names: BTreeMap<u64, String>,
    #[serde(default)]
    in_order: bool,
    #[serde(default)]
    same_band: bool,
    units: Option<Units>,
}

impl Class {
    /// What came of each band.
    pub(super) fn done(&self, desk: &Desk) -> Result<Vec<Arc<Done>>, Refusal> {
        self.bands.iter().map(|id| desk.done(*id)).collect()
    }

    /// The units of what people read.
    pub(super) fn units(&self) -> LengthUnits {
        self.units.map(LengthUnits::from).unwrap_or_default()
    }
}

/// Compares bands.
pub(super) async fn side_by_side(
    State(desk): State<Arc<Desk>>,
    class: Result<Json<Class>, JsonRejection>,
) -> Result<Json<Value>, Refusal> {
    let Json(class) = class.map_err(|rejection| Refusal::unclear(rejection.body_text()))?;
    let comparison = compared(&desk, &class)?;
    let text = wrap_text(&comparison_text(&comparison, class.units()), LINE);
    Ok(Json(json!({ "comparison": comparison, "text": text })))
}

/// The comparison of a class.
pub(super) fn compared(desk: &Desk, class: &Class) -> Result<Comparison, Refusal> {
    let samples: Vec<Sample> = class
        .done(desk)?
        .iter()
        .zip(&class.bands)
        .map(|(done, id)| {
            let typed = class.names.get(id).map(|name| name.trim());
            Sample {
                name: match typed.filter(|name| !name.is_empty()) {
                    Some(name) => name.to_owned(),
                    None => stem(&done.measurement.photo.file).to_owned(),
                },
                measurement: done.measurement.clone(),
                plan: None,
            }
        })
        .collect();
    let options = CompareOptions {
        in_order: class.in_order,
        same_band: class.same_band,
    };
    Ok(compare(&samples, options)?)
}

/// For which bands to come yarn is to be reckoned.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Kits {
    /// The plan's text.
    plan: String,
    /// Bands to come.
    kits: u32,
    /// Measured bands that say how it really goes.
    #[serde(default)]
    bands: Vec<u64>,
    /// As `--weighed`.
    weighed: Option<String>,
    units: Option<Units>,
}

/// Reckons yarn.
pub(super) async fn yarn(
    State(desk): State<Arc<Desk>>,
    kits: Result<Json<Kits>, JsonRejection>,
) -> Result<Json<Value>, Refusal> {
    let Json(kits) = kits.map_err(|rejection| Refusal::unclear(rejection.body_text()))?;
    let plan = Plan::from_json(&kits.plan)?;
    let weighed = kits.weighed.as_deref().map(Weighed::parse).transpose();
    let weighed = weighed.map_err(|why| {
        Refusal::from(Error::Request {
            what: "what a band weighs".to_owned(),
            why,
        })
    })?;
    let mut measured = Vec::new();
    for id in &kits.bands {
        measured.push(desk.done(*id)?.measurement.clone());
    }
    let options = YardageOptions {
        bands: kits.kits,
        weighed,
    };
    let yarn = yardage(&plan, &measured, &options)?;
    let units = kits.units.map_or(plan.units, LengthUnits::from);
    let text = wrap_text(&yardage_text(&yarn, units), LINE);
    Ok(Json(json!({ "yardage": yarn, "text": text })))
}
