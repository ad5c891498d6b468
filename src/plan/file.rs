//! The plan file as it is written, for its JSON Schema; and the starter plan.
//!
//! The reader itself goes by the text, so that every mistake has its place: a test holds the two
//! together.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;

/// A plan for a hand-woven band. Lengths are text with a unit, as a person would say them:
/// mm, cm, m, in, ft or yd, fractions allowed.
#[derive(Clone, Debug, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "evenfell plan")]
pub struct PlanFile {
    /// What the band is.
    #[schemars(length(max = 200))]
    pub title: Option<String>,
    /// Warp positions across the band, however many strands lie in each.
    #[schemars(range(min = 1, max = 10_000))]
    pub ends: u32,
    /// Width of the warp in the loom, such as "1 3/4 in".
    pub width_in_loom: String,
    /// Length of the body, such as "9 in".
    pub woven_length: String,
    /// How close the picks lie: "10 per inch" or "4 per cm".
    pub picks: String,
    /// Loss of width against the width in the loom that its maker expects, such as "7 %".
    pub draw_in: Option<String>,
    /// One text a row, the row woven first first: o where the weft goes over an end, u where it
    /// goes under, letter by letter ("ouu") or run by run ("o1 u2"). A row shorter than the band
    /// repeats across it.
    #[schemars(
        length(min = 1, max = 2000),
        inner(regex(pattern = "^\\s*([oOuU]\\s*[0-9]*\\s*)+$"))
    )]
    pub drawdown: Option<Vec<String>>,
    /// Row of the drawdown, from 1, that the body ends on.
    #[schemars(range(min = 1))]
    pub finish_on_row: Option<u32>,
    /// Picks of another yarn before and after the body.
    #[schemars(range(max = 10_000))]
    pub header_picks: Option<u32>,
    /// Thickness of the whole cloth, such as "2 mm".
    pub thickness: Option<String>,
    /// The warp.
    pub warp: Option<WarpFile>,
    /// The weft.
    pub weft: Option<WeftFile>,
    /// Width of the ring, hook or buckle that the band must pass.
    pub hardware_width: Option<String>,
    /// Room between the band and each bar of the loom; 2 in unless given.
    pub loom_room: Option<String>,
    /// What washing takes.
    pub shrinkage: Option<ShrinkageFile>,
    /// How far a figure may lie from the plan.
    pub tolerance: Option<ToleranceFile>,
    /// Where this schema is kept; read by editors only.
    #[serde(rename = "$schema")]
    pub schema: Option<String>,
}

/// The warp.
#[derive(Clone, Debug, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WarpFile {
    /// Its size: "8/4 cotton", "560 yd/lb", "2/48 Nm", "30 tex".
    pub yarn: Option<String>,
    /// Strands in one end; 1 unless given.
    #[schemars(range(min = 1, max = 1000))]
    pub strands: Option<u32>,
    /// Share of the warp's length that goes into its waves, such as "8 %" (ASTM D3883).
    pub take_up: Option<String>,
    /// Length that can't be woven, in all.
    pub loom_waste: Option<String>,
    /// Fringe at each end.
    pub fringe: Option<String>,
    /// Diameter of one end, where it was measured.
    pub diameter: Option<String>,
}

/// The weft.
#[derive(Clone, Debug, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WeftFile {
    /// Its size: "8/4 cotton", "560 yd/lb", "2/48 Nm", "30 tex".
    pub yarn: Option<String>,
    /// By what share of the cloth's width a pick is longer, such as "12 %" (ASTM D3883).
    pub crimp: Option<String>,
    /// Length of weft in hand at once.
    pub working_length: Option<String>,
    /// Diameter of the weft, where it was measured.
    pub diameter: Option<String>,
}

/// What washing takes; divided, not added.
#[derive(Clone, Debug, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShrinkageFile {
    /// Of the length, such as "3 %".
    pub length: Option<String>,
    /// Of the width, such as "2 %".
    pub width: Option<String>,
}

/// How far a figure may lie from the plan.
#[derive(Clone, Debug, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ToleranceFile {
    /// Picks per inch, % of the planned; 8 % unless given.
    pub picks: Option<String>,
    /// Draw-in, points either way; 10 % unless given.
    pub draw_in: Option<String>,
    /// Local picks per inch against the band's median, and drift; 8 % unless given.
    pub beat: Option<String>,
    /// Waviness of a selvedge (Wq), a length; 0.5 mm unless given.
    pub waviness: Option<String>,
}

/// The JSON Schema of the plan file.
///
/// ```
/// let schema = evenfell::plan::plan_schema();
/// assert!(schema["properties"]["width_in_loom"]["description"].is_string());
/// ```
#[must_use]
pub fn plan_schema() -> serde_json::Value {
    let mut schema = SchemaSettings::draft2020_12()
        .into_generator()
        .into_root_schema_for::<PlanFile>()
        .to_value();
    refuse_null(&mut schema);
    schema
}

/// Takes `null` out of every type: a key that isn't wanted is left out of a plan.
fn refuse_null(schema: &mut serde_json::Value) {
    use serde_json::Value;
    match schema {
        Value::Object(map) => {
            if let Some(Value::Array(types)) = map.get_mut("type") {
                types.retain(|name| name != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    map.insert("type".to_owned(), only);
                }
            }
            if let Some(Value::Array(choices)) = map.get_mut("anyOf") {
                choices.retain(|choice| choice["type"] != "null");
            }
            map.values_mut().for_each(refuse_null);
        }
        Value::Array(list) => list.iter_mut().for_each(refuse_null),
        _ => {}
    }
}

/// The plan that `plan --new` writes: a lamp pull for a ferry quay, to be changed to taste.
///
/// ```
/// let plan = evenfell::plan::Plan::from_json(evenfell::plan::STARTER_PLAN)?;
/// assert_eq!(plan.title, "Ferry-quay lamp pull");
/// # Ok::<(), evenfell::Error>(())
/// ```
pub const STARTER_PLAN: &str = include_str!("starter.json");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;

    #[test]
    fn the_starter_plan_is_right_by_the_reader_and_by_the_schema() {
        Plan::from_json(STARTER_PLAN).unwrap();
        let schema = plan_schema();
        let plan: serde_json::Value = serde_json::from_str(STARTER_PLAN).unwrap();
        assert!(jsonschema::is_valid(&schema, &plan));
    }

    #[test]
    fn the_schema_refuses_what_the_reader_refuses() {
        let schema = plan_schema();
        for (key, value) in [
            ("pick", serde_json::json!("10 per inch")),
            ("ends", serde_json::json!(0)),
            ("ends", serde_json::json!(10_001)),
            ("ends", serde_json::json!("11")),
            ("drawdown", serde_json::json!([])),
            ("drawdown", serde_json::json!(["ox"])),
            ("width_in_loom", serde_json::json!(4)),
            ("draw_in", serde_json::Value::Null),
            ("warp", serde_json::Value::Null),
        ] {
            let mut plan: serde_json::Value = serde_json::from_str(STARTER_PLAN).unwrap();
            plan[key] = value;
            assert!(!jsonschema::is_valid(&schema, &plan), "{key}");
            assert!(Plan::from_json(&plan.to_string()).is_err(), "{key}");
        }
    }

    #[test]
    fn the_schema_has_exactly_the_keys_that_the_reader_knows() {
        let schema = plan_schema();
        let keys = |node: &serde_json::Value| -> Vec<String> {
            let mut keys: Vec<String> = node["properties"]
                .as_object()
                .unwrap()
                .keys()
                .cloned()
                .collect();
            keys.sort();
            keys
        };
        let known = |list: &[&str]| -> Vec<String> {
            let mut known: Vec<String> = list.iter().map(|key| (*key).to_owned()).collect();
            known.sort();
            known
        };
        let parts = crate::plan::read_keys();
        assert_eq!(keys(&schema), known(parts[0]));
        for (name, list) in ["WarpFile", "WeftFile", "ShrinkageFile", "ToleranceFile"]
            .iter()
            .zip(&parts[1..])
        {
            assert_eq!(keys(&schema["$defs"][name]), known(list), "{name}");
        }
    }
}
