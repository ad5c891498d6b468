//! The whole result in one to three sentences: what is fine, what isn't and where, what to try
//! next time.

use std::collections::BTreeSet;

use super::words;
use crate::measurement::{Finding, FindingKind, Measurement, Verdict};
use crate::plan::Plan;

/// Findings named in the second sentence; the rest is counted.
const NAMED: usize = 2;

/// One to three sentences for the weaver.
///
/// The first says what is fine, the second what isn't and where, the third what to try next time.
#[must_use]
pub fn verdict_sentences(measurement: &Measurement, plan: Option<&Plan>) -> Vec<String> {
    let mut sentences = vec![fine(measurement, plan)];
    let ranked = ranked(&measurement.findings);
    sentences.extend(off(measurement, &ranked));
    if let Some(first) = ranked.first() {
        let kinds = ranked.iter().filter(|f| f.kind == first.kind).count();
        let place = if kinds > 1 { "in those places: " } else { "" };
        let try_it = words::advice(first);
        let mut letters = try_it.chars();
        let lower: String = letters
            .next()
            .into_iter()
            .flat_map(char::to_lowercase)
            .collect();
        sentences.push(format!("Next time, {place}{lower}{}.", letters.as_str()));
    }
    sentences
}

/// Findings by what a weaver would put right first.
fn ranked(findings: &[Finding]) -> Vec<&Finding> {
    let weight = |f: &Finding| match f.kind {
        FindingKind::MisWoven | FindingKind::RowOrder => 0,
        FindingKind::LooseStretch | FindingKind::TightStretch => 1,
        FindingKind::Drift => 2,
        FindingKind::EdgePull | FindingKind::EdgeLoop => 3,
        FindingKind::Taper => 4,
    };
    let mut ranked: Vec<&Finding> = findings.iter().collect();
    ranked.sort_by_key(|f| weight(f));
    ranked
}

/// What a figure held against the plan is called in a sentence.
fn name(what: &str) -> &str {
    match what {
        "picks" => "picks per inch",
        "draw_in" => "draw-in",
        "beat" => "evenness of the beat",
        "waviness_left" => "left selvedge",
        "waviness_right" => "right selvedge",
        other => other,
    }
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_string(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn with_verdict(measurement: &Measurement, verdict: Verdict) -> Vec<&str> {
    let held = measurement.against_plan.iter();
    held.filter(|h| h.verdict == verdict)
        // The width says nothing that draw-in doesn't.
        .filter(|h| h.what != "width")
        .map(|h| name(&h.what))
        .collect()
}

/// The first sentence.
fn fine(measurement: &Measurement, plan: Option<&Plan>) -> String {
    if measurement.is_empty() {
        return "Nothing of this band could be measured.".into();
    }
    if plan.is_none() || measurement.against_plan.is_empty() {
        let measured = [
            ("picks", measurement.picks.is_some()),
            ("width", measurement.width.is_some()),
            ("selvedges", measurement.selvedges.is_some()),
        ];
        let names: Vec<&str> = measured.iter().filter(|m| m.1).map(|m| m.0).collect();
        let clear = measurement.findings.is_empty()
            && doubts(measurement).is_empty()
            && unmeasured(measurement).is_empty();
        let rest = if clear {
            ", and nothing stands out"
        } else {
            ""
        };
        return match names.as_slice() {
            [] => "Hardly anything of this band could be measured.".into(),
            names => words::sentence(&format!("{} could be measured{rest}.", listed(names))),
        };
    }
    let within = with_verdict(measurement, Verdict::Within);
    match within.as_slice() {
        [] => "No figure can be said to meet the plan.".into(),
        names => {
            let verb = if names.len() == 1 { "is" } else { "are" };
            let list = listed(names);
            words::sentence(&format!("{list} {verb} within what the plan allows."))
        }
    }
}

/// The second sentence, where something is off or can't be told.
fn off(measurement: &Measurement, ranked: &[&Finding]) -> Option<String> {
    let outside = with_verdict(measurement, Verdict::Outside);
    let mut parts: Vec<String> = Vec::new();
    if !outside.is_empty() {
        let verb = if outside.len() == 1 { "is" } else { "are" };
        parts.push(format!("{} {verb} outside the plan", listed(&outside)));
    }
    for finding in ranked.iter().take(NAMED) {
        let seen = finding.text.split(". ").next().unwrap_or_default();
        let mut letters = seen.chars();
        let lower: String = letters
            .next()
            .into_iter()
            .flat_map(char::to_lowercase)
            .collect();
        parts.push(format!("{lower}{}", letters.as_str()));
    }
    match ranked.len().saturating_sub(NAMED) {
        0 => {}
        1 => parts.push("one more thing is listed below".into()),
        more => parts.push(format!("{more} more things are listed below")),
    }
    let mut doubtful = with_verdict(measurement, Verdict::CannotTell);
    doubtful.extend(unmeasured(measurement));
    if !doubtful.is_empty() {
        parts.push(format!(
            "{} can't be told from this photo",
            listed(&doubtful)
        ));
    }
    parts.extend(doubted(measurement));
    (!parts.is_empty()).then(|| words::sentence(&format!("{}.", parts.join("; "))))
}

/// What is left out of a band of which something is measured.
fn unmeasured(measurement: &Measurement) -> Vec<&'static str> {
    if measurement.is_empty() || measurement.swatch.is_some() {
        return Vec::new();
    }
    let parts = [
        ("the picks", measurement.picks.is_none()),
        ("the width", measurement.width.is_none()),
        ("the selvedges", measurement.selvedges.is_none()),
    ];
    let missing = parts.into_iter().filter(|part| part.1);
    missing.map(|part| part.0).collect()
}

/// What the doubts are about, so that no figure is taken for surer than it is.
fn doubted(measurement: &Measurement) -> Option<String> {
    let doubts = doubts(measurement);
    let about: BTreeSet<About> = doubts.iter().copied().collect();
    let about = listed(&about.into_iter().map(About::name).collect::<Vec<_>>());
    match doubts.len() {
        0 => None,
        1 => Some(format!("a doubt about {about} is told below")),
        _ => Some(format!("doubts about {about} are told below")),
    }
}

/// What each doubt is about.
fn doubts(measurement: &Measurement) -> Vec<About> {
    let warnings = measurement.warnings.iter();
    warnings.filter_map(|w| About::of(&w.code)).collect()
}

/// What a doubt is about.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
enum About {
    Picks,
    Width,
    Scale,
    Photo,
}

impl About {
    /// By a warning's code; what was put right by hand is no doubt.
    fn of(code: &str) -> Option<Self> {
        let about = match code {
            "put_right" => return None,
            "count_unsure" | "drawdown_unlike" | "far_from_plan" | "picks_faint"
            | "finer_threads" | "repeat_unplanned" | "spacing_jumps" | "spacing_unsure"
            | "weave_unsure" => Self::Picks,
            "ground_alike" | "selvedge_lost" | "selvedge_unsure" => Self::Width,
            "print_bar" => Self::Scale,
            _ => Self::Photo,
        };
        Some(about)
    }

    fn name(self) -> &'static str {
        match self {
            Self::Picks => "the picks",
            Self::Width => "the width",
            Self::Scale => "the scale",
            Self::Photo => "the photo",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::testing::measurement;
    use crate::measurement::{AgainstPlan, Quantity, Warning};

    fn held(what: &str, verdict: Verdict) -> AgainstPlan {
        AgainstPlan {
            what: what.into(),
            planned: 10.0,
            measured: Quantity {
                value: 10.0,
                u95: 0.1,
            },
            unit: "per inch".into(),
            verdict,
        }
    }

    /// A measurement of which the length alone is known.
    fn long() -> Measurement {
        let length = Quantity {
            value: 100.0,
            u95: 0.1,
        };
        Measurement {
            length_mm: Some(length),
            ..measurement()
        }
    }

    #[test]
    fn without_plan_and_findings_one_sentence_is_enough() {
        let said = verdict_sentences(&measurement(), None);
        assert_eq!(said, ["Nothing of this band could be measured."]);
    }

    #[test]
    fn what_is_left_out_is_said_where_something_is_measured() {
        let m = long();
        let said = verdict_sentences(&m, None);
        assert_eq!(
            said,
            [
                "Hardly anything of this band could be measured.",
                "The picks, the width and the selvedges can't be told from this photo."
            ]
        );
    }

    #[test]
    fn doubts_are_named_and_nothing_is_said_to_be_clear() {
        let mut m = measurement();
        let warn = |code: &str| Warning {
            code: code.into(),
            text: String::new(),
        };
        m.warnings = vec![warn("coarse")];
        let said = verdict_sentences(&m, None);
        assert_eq!(said[1], "A doubt about the photo is told below.");
        m.warnings.extend([
            warn("ground_alike"),
            warn("picks_faint"),
            warn("count_unsure"),
        ]);
        let said = verdict_sentences(&m, None);
        assert_eq!(
            said[1],
            "Doubts about the picks, the width and the photo are told below."
        );
    }

    #[test]
    fn fine_off_and_next_time_make_three() {
        let mut m = long();
        m.against_plan = vec![
            held("picks", Verdict::Within),
            held("waviness_left", Verdict::Within),
            held("beat", Verdict::Outside),
            held("draw_in", Verdict::CannotTell),
        ];
        m.findings = vec![Finding {
            kind: FindingKind::LooseStretch,
            side: None,
            from_mm: 50.0,
            to_mm: 70.0,
            size: 23.0,
            unit: "%".into(),
            pick: Some(18),
            ends: None,
            across_mm: None,
            text: "Picks 18 to 23, 5.0 to 7.0 cm from the start, are loose. Press.".into(),
        }];
        let plan = crate::findings::testing::plan();
        let said = verdict_sentences(&m, Some(&plan));
        assert_eq!(
            said,
            [
                "Picks per inch and left selvedge are within what the plan allows.",
                "Evenness of the beat is outside the plan; picks 18 to 23, 5.0 to 7.0 cm from the \
                 start, are loose; draw-in, the picks, the width and the selvedges can't be told from this \
                 photo.",
                "Next time, press the fell a little firmer there.",
            ]
        );
    }
}
