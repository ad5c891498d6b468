//! What a weaver reads first, in a terminal.
//!
//! The verdict comes before the figures: what is fine, what isn't, where, and what to try next.
//! Then every figure with the half-width of its 95 % interval, what the plan says to it, what was
//! found and where, what is doubtful, what couldn't be measured, and how the scale was known.

use std::io::{self, Write};

use crate::measurement::{Measurement, ScaleMethod, Verdict};

use super::Context;
use super::caution::caution_for;
use super::figures::{Shown, figures, plan_name, planned_value, state_words};
use super::layout::{table, wrapped};
use super::left_out::left_out;
use super::quantity::{Kind, Units, plain, with_unit};

/// How the text is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TextOptions {
    /// Characters a line. Default: 80.
    pub width: usize,
}

impl Default for TextOptions {
    fn default() -> Self {
        Self { width: 80 }
    }
}

/// Writes one result for reading.
///
/// # Errors
/// What the writer says.
pub fn write_text(
    measurement: &Measurement,
    context: &Context<'_>,
    options: TextOptions,
    out: &mut impl Write,
) -> io::Result<()> {
    let page = Page {
        measurement,
        context,
        units: context.shown_units(),
        width: options.width.max(40),
    };
    let parts = [
        page.heading(),
        page.verdict(),
        page.figures(),
        page.hand_count(),
        page.against_plan(),
        page.findings(),
        page.warnings(),
        page.unmeasured(),
        page.scale(),
        page.caution(),
    ];
    let text: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    out.write_all(text.join("\n").as_bytes())
}

/// What every part of the text needs.
struct Page<'a> {
    measurement: &'a Measurement,
    context: &'a Context<'a>,
    units: Units,
    width: usize,
}

impl Page<'_> {
    fn heading(&self) -> String {
        let state = state_words(self.measurement).map_or_else(String::new, |s| format!(", {s}"));
        let file = &self.measurement.photo.file;
        match self.context.plan {
            Some(plan) if !plan.title.is_empty() => wrapped(
                "",
                &format!("{} ({file}){state}", plan.title),
                0,
                self.width,
            ),
            _ => wrapped("", &format!("{file}{state}"), 0, self.width),
        }
    }

    fn verdict(&self) -> String {
        match self.context.verdict {
            [] => String::new(),
            sentences => wrapped("", &sentences.join(" "), 0, self.width),
        }
    }

    fn figures(&self) -> String {
        let rows: Vec<Vec<String>> = figures(self.measurement, self.context.plan, self.units)
            .into_iter()
            .map(|figure| {
                let value = match figure.value {
                    Shown::Count(count) => count.to_string(),
                    Shown::Measured(quantity, kind) => with_unit(quantity, kind, self.units),
                };
                vec![
                    figure.name.to_owned(),
                    value,
                    figure.note.unwrap_or_default(),
                ]
            })
            .collect();
        self.part("Figures (± half of the 95 % interval)", &rows)
    }

    fn hand_count(&self) -> String {
        self.measurement
            .hand_count
            .as_ref()
            .map_or_else(String::new, |held| {
                format!(
                    "Your own count\n{}",
                    wrapped("  ", &held.text, 2, self.width)
                )
            })
    }

    fn against_plan(&self) -> String {
        let rows: Vec<Vec<String>> = self
            .measurement
            .against_plan
            .iter()
            .map(|line| {
                let planned = planned_value(&line.what, line.planned, &line.unit, self.units);
                let measured = match Kind::of(&line.what, &line.unit) {
                    Some(kind) => with_unit(line.measured, kind, self.units),
                    None => format!("{} {}", plain(line.measured.value), line.unit),
                };
                let verdict = match line.verdict {
                    Verdict::Within => "within",
                    Verdict::Outside => "OUTSIDE",
                    Verdict::CannotTell => "cannot tell",
                };
                vec![
                    plan_name(&line.what).to_owned(),
                    format!("plan {planned}"),
                    measured,
                    verdict.to_owned(),
                ]
            })
            .collect();
        self.part("Against the plan", &rows)
    }

    fn part(&self, heading: &str, rows: &[Vec<String>]) -> String {
        if rows.is_empty() {
            return String::new();
        }
        format!("{heading}\n{}", table(rows, 2, self.width))
    }

    fn findings(&self) -> String {
        let list = self
            .measurement
            .findings
            .iter()
            .map(|finding| finding.text.clone());
        self.list("Found", list, true)
    }

    fn warnings(&self) -> String {
        let list = self
            .measurement
            .warnings
            .iter()
            .map(|warning| warning.text.clone());
        self.list("Doubts", list, false)
    }

    fn unmeasured(&self) -> String {
        let parts = left_out(&self.measurement.unmeasured).into_iter();
        let list = parts.map(|(names, why)| format!("{names}: {why}"));
        self.list("Not measured", list, false)
    }

    fn list(&self, heading: &str, items: impl Iterator<Item = String>, numbered: bool) -> String {
        let lines: String = (1..)
            .zip(items)
            .map(|(number, item)| {
                let first = if numbered {
                    format!("  {number}. ")
                } else {
                    "  - ".to_owned()
                };
                wrapped(&first, &item, first.chars().count(), self.width)
            })
            .collect();
        if lines.is_empty() {
            return lines;
        }
        format!("{heading}\n{lines}")
    }

    fn scale(&self) -> String {
        let text = scale_sentences(self.measurement).join(" ");
        wrapped("", &text, 0, self.width)
    }

    fn caution(&self) -> String {
        caution_for(self.measurement, self.context.plan).map_or_else(String::new, |caution| {
            wrapped("Caution: ", caution, 0, self.width)
        })
    }
}

/// Where the scale came from and what else is known of it, a sentence each.
#[must_use]
pub fn scale_sentences(measurement: &Measurement) -> Vec<String> {
    let notes = measurement.scale.notes.iter().map(|note| {
        let mut letters = note.trim().trim_end_matches('.').chars();
        let first = letters.next().into_iter().flat_map(char::to_uppercase);
        first.chain(letters.clone()).chain(['.']).collect()
    });
    std::iter::once(scale_sentence(measurement))
        .chain(notes)
        .collect()
}

/// Where the scale came from.
fn scale_sentence(measurement: &Measurement) -> String {
    let scale = &measurement.scale;
    let source = match scale.method {
        ScaleMethod::Sheet => "the printed sheet",
        ScaleMethod::Dpi => "the file's resolution",
        ScaleMethod::Points => "two places of known distance",
        ScaleMethod::Card => "the card beside the band",
    };
    let value = crate::stats::shown(scale.px_per_mm.value, scale.px_per_mm.u95);
    let share = 100.0 * scale.px_per_mm.u95 / scale.px_per_mm.value;
    let tilt = if scale.camera_tilt_degrees > 0.05 {
        format!(", camera tilted {:.1}°", scale.camera_tilt_degrees)
    } else {
        String::new()
    };
    format!("Scale from {source}: {value} pixels a millimetre ({share:.2} %){tilt}.")
}
