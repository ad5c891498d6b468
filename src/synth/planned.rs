//! The plan that goes with a drawn band.

use super::spec::BandSpec;
use crate::plan::{Drawdown, Plan};

impl BandSpec {
    /// What the weaver of this band would have written down before.
    ///
    /// Its picks per inch are off the real ones by [`planned_over_real`](Self::planned_over_real),
    /// its length is rounded to 5 mm; its thickness and drawdown are right.
    #[must_use]
    pub fn plan(&self) -> Plan {
        let real = 25.4 / self.pick_spacing_mm;
        let mut plan = Plan::new(
            u32::try_from(self.ends).unwrap_or(u32::MAX),
            (self.width_in_loom_mm * 100.0).round() / 100.0,
            5.0 * (self.nominal_length_mm() / 5.0).round().max(1.0),
            (real * self.planned_over_real * 100.0).round() / 100.0,
        );
        plan.title.clone_from(&self.title);
        plan.drawdown = Some(self.drawdown.clone());
        plan.header_picks = Some(
            self.header
                .as_ref()
                .map_or(0, |header| u32::try_from(header.picks).unwrap_or(0)),
        );
        plan.thickness_mm = Some((self.thickness_mm() * 100.0).round() / 100.0);
        plan
    }

    /// The plan as the text of a plan file.
    #[must_use]
    pub fn plan_json(&self) -> String {
        let plan = self.plan();
        let value = serde_json::json!({
            "title": plan.title,
            "ends": plan.ends,
            "width_in_loom": format!("{:.2} mm", plan.width_in_loom_mm),
            "woven_length": format!("{:.0} mm", plan.woven_length_mm),
            "picks": format!("{:.2} per inch", plan.picks_per_inch),
            "drawdown": drawdown_text(&self.drawdown, self.ends),
            "header_picks": plan.header_picks,
            "thickness": format!("{:.2} mm", plan.thickness_mm.unwrap_or_default()),
        });
        format!("{value:#}\n")
    }
}

/// Each row as `o` and `u`, as long as the band is wide.
fn drawdown_text(drawdown: &Drawdown, ends: usize) -> Vec<String> {
    let letter = |row, end| if drawdown.over(row, end) { 'o' } else { 'u' };
    (0..drawdown.rows())
        .map(|row| (0..ends).map(|end| letter(row, end)).collect())
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::synth::random_spec;

    #[test]
    fn the_written_plan_reads_back_as_the_plan() {
        for seed in 0..20 {
            let spec = random_spec(seed);
            let plan = crate::plan::Plan::from_json(&spec.plan_json()).expect("the plan is sound");
            let meant = spec.plan();
            assert_eq!(plan.ends, meant.ends);
            assert_eq!(plan.header_picks, meant.header_picks);
            assert!((plan.picks_per_inch - meant.picks_per_inch).abs() < 1e-9);
            assert!((plan.width_in_loom_mm - meant.width_in_loom_mm).abs() < 1e-9);
        }
    }
}
