//! A worked plan as a person reads it.

use super::{Plan, PlanWorked};
use crate::units::{rounded, shown_length, shown_mass};

/// The worked plan in words and in the plan's own units, ending in a line break.
///
/// ```
/// use evenfell::plan::{Plan, STARTER_PLAN, plan_text, work_out};
/// let plan = Plan::from_json(STARTER_PLAN)?;
/// let text = plan_text(&plan, &work_out(&plan));
/// assert!(text.contains("91 picks"));
/// # Ok::<(), evenfell::Error>(())
/// ```
#[must_use]
pub fn plan_text(plan: &Plan, worked: &PlanWorked) -> String {
    let mut lines = Vec::new();
    if !plan.title.is_empty() {
        lines.push(plan.title.clone());
        lines.push(String::new());
    }
    lines.push(format!("picks       {}", picks(plan, worked)));
    lines.push(format!("width       {}", width(plan, worked)));
    lines.push(format!("warp        {}", warp(plan, worked)));
    lines.push(format!(
        "loom        at least {} between its bars",
        shown_length(worked.loom_length_mm, plan.units)
    ));
    lines.push(format!("weft        {}", weft(plan, worked)));
    if !worked.assumed_zero.is_empty() {
        lines.push(format!(
            "not given   {}: counted as 0 %",
            worked.assumed_zero.join(", ")
        ));
    }
    lines.extend(
        worked
            .notes
            .iter()
            .map(|note| format!("note        {note}")),
    );
    if !worked.rows.is_empty() {
        lines.push(String::new());
        lines.push("Row by row, from the weaver's left; the first is woven first:".to_owned());
        lines.extend(
            worked
                .rows
                .iter()
                .enumerate()
                .map(|(at, row)| format!("{:5}  {row}", at + 1)),
        );
    }
    lines.push(String::new());
    lines.join("\n")
}

fn picks(plan: &Plan, worked: &PlanWorked) -> String {
    let length = shown_length(worked.woven_length_mm, plan.units);
    let mut text = format!("{} picks, {length} woven", worked.picks);
    if let (Some(drawdown), Some(repeats), Some(last)) =
        (&plan.drawdown, worked.repeats, worked.last_row)
    {
        let over = worked.picks as usize % drawdown.rows();
        let rest = match over {
            0 => String::new(),
            1 => " and 1 row more".to_owned(),
            rows => format!(" and {rows} rows more"),
        };
        let word = if repeats == 1 { "repeat" } else { "repeats" };
        text.push_str(&format!(": {repeats} {word}{rest}, ending on row {last}"));
    }
    text
}

fn width(plan: &Plan, worked: &PlanWorked) -> String {
    let shown = |mm: f64| shown_length(mm, plan.units);
    let mut text = format!(
        "{} in the loom, {} finished",
        shown(plan.width_in_loom_mm),
        shown(worked.finished_width_mm)
    );
    if let (Some(hardware), Some(fits)) = (plan.hardware_width_mm, worked.fits_hardware) {
        let by = shown((hardware - worked.finished_width_mm).abs());
        text.push_str(&if fits {
            format!(
                ": passes hardware of {} with {by} to spare",
                shown(hardware)
            )
        } else {
            format!(": too wide for hardware of {}, by {by}", shown(hardware))
        });
    }
    text
}

fn warp(plan: &Plan, worked: &PlanWorked) -> String {
    let mut text = format!("{} ends", plan.ends);
    if plan.warp.strands > 1 {
        text.push_str(&format!(" of {} strands", plan.warp.strands));
    }
    text.push_str(&format!(
        ", each strand cut {}, {} in all",
        shown_length(worked.warp_each_mm, plan.units),
        shown_length(worked.warp_total_mm, plan.units)
    ));
    if let Some(yarn) = &plan.warp.yarn {
        let mass = yarn.mass_kg(worked.warp_total_mm / 1000.0);
        text.push_str(&format!(
            " ({} of {})",
            shown_mass(mass, plan.units),
            yarn.written
        ));
    }
    text
}

fn weft(plan: &Plan, worked: &PlanWorked) -> String {
    let mut text = format!(
        "{} a pick, {} in all",
        shown_length(worked.weft_each_pick_mm, plan.units),
        shown_length(worked.weft_total_mm, plan.units)
    );
    if let Some(yarn) = &plan.weft.yarn {
        let mass = yarn.mass_kg(worked.weft_total_mm / 1000.0);
        text.push_str(&format!(
            " ({} of {})",
            shown_mass(mass, plan.units),
            yarn.written
        ));
    }
    if let (Some(joins), Some(length)) = (worked.joins, plan.weft.working_length_mm) {
        let joins = match joins {
            0 => "no join".to_owned(),
            1 => "1 join".to_owned(),
            joins => format!("{} joins", rounded(f64::from(joins), 0)),
        };
        text.push_str(&format!(
            "; {joins} with {} in hand",
            shown_length(length, plan.units)
        ));
    }
    text
}
