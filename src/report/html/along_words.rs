//! What the drawing along the band shows, in words, for those who don't see it.

use crate::measurement::Measurement;
use crate::report::figures::{finding_name, planned_value};
use crate::report::quantity::{Kind, Units, plain, stretch, value_only};

use super::along::Along;

impl Along<'_> {
    /// The description: what each panel runs between, and what is marked where.
    pub(super) fn described(&self) -> String {
        let parts = [
            Some("Start of the weaving at the left.".to_owned()),
            self.picks_in_words(),
            self.width_in_words(),
            selvedges_in_words(self.measurement, self.units),
            self.marks_in_words(),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        parts.join(" ")
    }

    fn picks_in_words(&self) -> Option<String> {
        let local = &self.measurement.beat.as_ref()?.local;
        let (least, most) = ends(&local.per_inch)?;
        let (factor, unit) = Kind::Density.shown_as(self.units);
        let planned = self.plan.map(|plan| {
            let planned = planned_value("picks", plan.picks_per_inch, "per inch", self.units);
            format!("; the plan says {planned}")
        });
        Some(format!(
            "Local picks run from {} to {} {unit}{}.",
            plain(round(least * factor)),
            plain(round(most * factor)),
            planned.unwrap_or_default()
        ))
    }

    fn width_in_words(&self) -> Option<String> {
        let profile = &self.measurement.width.as_ref()?.profile;
        let (least, most) = ends(&profile.width_mm)?;
        let (factor, unit) = Kind::Length.shown_as(self.units);
        Some(format!(
            "The width runs from {} to {} {unit}.",
            plain(round(least * factor)),
            plain(round(most * factor))
        ))
    }

    fn marks_in_words(&self) -> Option<String> {
        let marks: Vec<String> = (1..)
            .zip(&self.measurement.findings)
            .map(|(number, finding)| {
                let place = stretch(finding.from_mm, finding.to_mm, self.units.lengths);
                format!("{number} {}, {place}", finding_name(finding))
            })
            .collect();
        (!marks.is_empty()).then(|| format!("Marked: {}.", marks.join("; ")))
    }
}

fn selvedges_in_words(measurement: &Measurement, units: Units) -> Option<String> {
    let edges = measurement.selvedges.as_ref()?;
    let waviness = |q| value_only(q, Kind::Millimetres, units);
    Some(format!(
        "The left selvedge waves by {} mm rms, the right by {} mm.",
        waviness(edges.left.wq_mm),
        waviness(edges.right.wq_mm)
    ))
}

/// Least and most of the values that are numbers.
fn ends(values: &[f64]) -> Option<(f64, f64)> {
    let finite = || values.iter().copied().filter(|value| value.is_finite());
    let least = finite().min_by(f64::total_cmp)?;
    Some((least, finite().max_by(f64::total_cmp)?))
}

/// Two decimals: as far as a drawing can be read.
fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
