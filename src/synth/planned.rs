//! The plan that goes with a drawn band.

use super::spec::BandSpec;
use crate::plan::{Drawdown, LengthUnits, Plan, Tolerance};

impl BandSpec {
    /// What the weaver of this band would have written down before.
    ///
    /// Its picks per inch are off the real ones by [`planned_over_real`](Self::planned_over_real),
    /// its length is rounded to 5 mm; its thickness and drawdown are right.
    #[must_use]
    pub fn plan(&self) -> Plan {
        let real = 25.4 / self.pick_spacing_mm;
        Plan {
            title: self.title.clone(),
            ends: u32::try_from(self.ends).unwrap_or(u32::MAX),
            width_in_loom_mm: self.width_in_loom_mm,
            woven_length_mm: 5.0 * (self.nominal_length_mm() / 5.0).round().max(1.0),
            picks_per_inch: (real * self.planned_over_real * 100.0).round() / 100.0,
            draw_in: None,
            drawdown: Some(self.drawdown.clone()),
            finish_on_row: None,
            header_picks: Some(
                self.header
                    .as_ref()
                    .map_or(0, |header| u32::try_from(header.picks).unwrap_or(0)),
            ),
            thickness_mm: Some((self.thickness_mm() * 100.0).round() / 100.0),
            tolerance: Tolerance::default(),
            units: LengthUnits::Centimetres,
        }
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
            "thickness": format!("{:.2} mm", self.thickness_mm()),
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
