//! What is doubtful about a swatch's picks?
//!
//! Each doubt rests on one piece of the evidence: how far the spacing stands above another, how clearly the picks show,
//! whether much finer threads show too, whether what repeats is woven (`picks::weave`), and whether two ways of counting, or
//! the parts side by side, agree on the count.

use super::find::ToldSingly;
use super::{SwatchEvidence, SwatchOptions};
use crate::measurement::Warning;

/// What is doubtful, in words that help.
pub(super) fn doubts(evidence: &SwatchEvidence, options: &SwatchOptions) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code: &str, text: String| {
        warnings.push(Warning {
            code: code.into(),
            text,
        });
    };
    if let Some(other) = evidence
        .other
        .filter(|_| evidence.margin < options.sure_margin)
    {
        warn(
            "spacing_unsure",
            format!(
                "another spacing fits this cloth nearly as well, {other:.2} times as wide, so the \
                 picks may be {:.2} times as many: count one inch by hand, or give a plan with its \
                 picks per inch",
                1.0 / other
            ),
        );
    }
    if evidence.score < options.sure_score {
        warn(
            "picks_faint",
            "the picks hardly show in this photo: take it sharper, with light from one side".into(),
        );
    }
    if let Some(finer) = evidence.finer_px {
        warn(
            "finer_threads",
            format!(
                "threads of about {finer:.1} pixels show too, much finer than these of {:.1}: what was counted may be \
                 checks, ribs or stripes that are made of them. Go closer, so that single threads are plain to see",
                evidence.px_a_pick
            ),
        );
    }
    let uneven = evidence.unevenness > options.sure_even;
    let alike = evidence.told_singly == ToldSingly::Alike;
    if !alike
        && (evidence.recurring < options.hardly_recurring
            || uneven && evidence.recurring < options.sure_recurring)
    {
        warn(
            "weave_unsure",
            "what repeats here isn't clearly woven: hardly anything goes over and under from one \
             line to the next. Lines of paper or boards would look the same: see in the marked photo \
             whether they are picks, and light the cloth from one side"
                .into(),
        );
    }
    let hand = "count one inch by hand, or look at the marked photo";
    let counts = evidence.counts;
    match evidence.told_singly {
        ToldSingly::Otherwise { singly, by_phase } => warn(
            "count_unsure",
            format!(
                "told one by one there are {singly:.1} picks, by how they follow one another {by_phase:.1}: {hand}"
            ),
        ),
        ToldSingly::Alone => warn(
            "count_unsure",
            format!("the picks can be told one by one only, and one may be missed: {hand}"),
        ),
        ToldSingly::Unclear if counts.1 - counts.0 > 1.0 => warn(
            "count_unsure",
            format!(
                "the parts of this cloth side by side count {:.1} to {:.1} picks: take a smaller, \
                 flatter piece of it, or look at the marked photo",
                counts.0, counts.1
            ),
        ),
        ToldSingly::Unclear | ToldSingly::Alike => {}
    }
    warnings
}
