//! Yardage as a person reads it.

use super::yardage_result::{Amount, CrimpSource, MeasuredAmount, Yardage};
use crate::measurement::Quantity;
use crate::stats::{shown, shown_value};
use crate::units::{LengthUnits, rounded, shown_mass};

/// Metres in a yard.
const M_PER_YARD: f64 = 0.9144;

/// The yardage in words, in `units`, ending in a line break.
///
/// ```
/// use evenfell::plan::{LengthUnits, Plan, STARTER_PLAN};
/// use evenfell::yarn::{YardageOptions, yardage, yardage_text};
/// let plan = Plan::from_json(STARTER_PLAN)?;
/// let yarn = yardage(&plan, &[], &YardageOptions { bands: 12, ..Default::default() })?;
/// assert!(yardage_text(&yarn, LengthUnits::Centimetres).contains("50.56 m"));
/// # Ok::<(), evenfell::Error>(())
/// ```
#[must_use]
pub fn yardage_text(yarn: &Yardage, units: LengthUnits) -> String {
    let title = if yarn.title.is_empty() {
        "the plan"
    } else {
        yarn.title.as_str()
    };
    let bands = if yarn.bands == 1 {
        "1 band".to_owned()
    } else {
        format!("{} bands", yarn.bands)
    };
    let mut lines = vec![format!("Yarn for {bands} of {title}"), String::new()];
    lines.push(format!(
        "as planned   warp {}",
        planned(&yarn.planned.warp, units)
    ));
    lines.push(format!(
        "             weft {}, {} picks a band",
        planned(&yarn.planned.weft, units),
        yarn.planned.picks
    ));
    if let Some(measured) = &yarn.measured {
        lines.push(format!(
            "as measured  warp {}",
            length_and_mass(&measured.warp, units)
        ));
        lines.push(format!(
            "             weft {}, {} picks a band",
            length_and_mass(&measured.weft, units),
            shown(measured.picks.value, measured.picks.u95)
        ));
        lines.push(String::new());
        lines.push(order(yarn, measured.weft.length_m, units, &bands));
        lines.extend(yarn.weft_ratio.map(ratio));
    }
    lines.push(String::new());
    lines.push(crimp(yarn, units));
    if !yarn.assumed_zero.is_empty() {
        lines.push(format!(
            "Not given, counted as 0 %: {}.",
            yarn.assumed_zero.join(", ")
        ));
    }
    lines.extend(yarn.notes.iter().map(|note| format!("Note: {note}.")));
    lines.push(String::new());
    lines.join("\n")
}

fn in_units(length_m: f64, units: LengthUnits) -> (f64, &'static str) {
    match units {
        LengthUnits::Inches => (length_m / M_PER_YARD, "yd"),
        LengthUnits::Centimetres => (length_m, "m"),
    }
}

fn planned(amount: &Amount, units: LengthUnits) -> String {
    let (length, unit) = in_units(amount.length_m, units);
    let mass = amount
        .mass_g
        .map(|mass| format!(" ({})", shown_mass(mass / 1000.0, units)))
        .unwrap_or_default();
    format!("{} {unit}{mass}", rounded(length, 2))
}

fn length_and_mass(amount: &MeasuredAmount, units: LengthUnits) -> String {
    let (value, unit) = in_units(amount.length_m.value, units);
    let (u95, _) = in_units(amount.length_m.u95, units);
    let mass = amount
        .mass_g
        .map(|mass| format!(" ({})", shown_mass(mass.value / 1000.0, units)))
        .unwrap_or_default();
    format!("{} {unit}{mass}", shown(value, u95))
}

/// What to order, and how sure that is.
fn order(yarn: &Yardage, weft: Quantity, units: LengthUnits, bands: &str) -> String {
    let (value, unit) = in_units(weft.value, units);
    let (u95, _) = in_units(weft.u95, units);
    let at = |length: f64| shown_value(length.max(0.0), u95);
    if yarn.measured_bands < 2 {
        return format!(
            "For {bands} like the one that was measured, order {} {unit} of weft: between {} and \
             {} for the doubt of measuring.",
            at(value),
            at(value - u95),
            at(value + u95)
        );
    }
    format!(
        "For {bands} order {} {unit} of weft; 19 times in 20 it is between {} and {} {unit}. To \
         be sure of enough, order {}.",
        at(value),
        at(value - u95),
        at(value + u95),
        at(value + u95)
    )
}

fn ratio(ratio: Quantity) -> String {
    let percent = 100.0 * (ratio.value - 1.0);
    let doubt = 100.0 * ratio.u95;
    if percent.abs() <= doubt {
        return format!(
            "That can't be told from the plan: {} % of the planned weft.",
            shown(100.0 * ratio.value, doubt)
        );
    }
    let word = if percent > 0.0 { "more" } else { "less" };
    format!(
        "That is {} % {word} than planned.",
        shown(percent.abs(), doubt)
    )
}

fn crimp(yarn: &Yardage, units: LengthUnits) -> String {
    let percent = rounded(yarn.crimp.percent, 1);
    match (yarn.crimp.source, &yarn.estimate) {
        (CrimpSource::Plan, _) => format!("The weft's crimp, {percent} %, is the plan's."),
        (CrimpSource::Weighed, _) => {
            let doubt = yarn
                .crimp
                .weighed_percent
                .map_or(1.0, |weighed| weighed.u95);
            format!(
                "The weft's crimp, {} %, comes from the weighed band.",
                shown(yarn.crimp.percent, doubt)
            )
        }
        (CrimpSource::NotGiven, Some(estimate)) => {
            let (length, unit) = in_units(estimate.weft_length_m.value, units);
            let (doubt, _) = in_units(estimate.weft_length_m.u95, units);
            format!(
                "The plan gives no crimp. The geometry of the cloth makes it {} % of the cloth's \
                 own width, an estimate: {} {unit} of weft. Unravel a pick or weigh a band to know.",
                shown(estimate.crimp_percent.value, estimate.crimp_percent.u95),
                shown(length, doubt)
            )
        }
        (CrimpSource::NotGiven, None) => "The plan gives no crimp: unravel a pick, or weigh a \
             band (--weighed) and give both yarns' sizes."
            .to_owned(),
    }
}
