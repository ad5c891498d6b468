//! What is doubtful about the picks that were found, in words that help.

use super::count_doubt::SURE;
use super::find::Evidence;
use crate::measurement::Warning;

/// A spacing this many times the planned one, or its inverse, is more than hands miss a plan by.
const FAR_FROM_PLAN: f64 = 1.22;

/// Above this share unexplained the repeat is hardly seen at all.
pub(super) const FAINT: f64 = 0.55;

/// Below this correlation the cloth's cells don't show the drawdown.
const UNLIKE: f64 = 0.35;

/// A spacing that is a pick's, within 16 %, with at least this probability isn't warned of. With an eighth left
/// out in turn, 4 of 494 drawn bands that came above it were wrong, 25 of 152 that didn't.
const SURE_SPACING: f64 = 0.95;

/// Whether the cloth shows the drawdown's cells well enough to hold each against it.
pub(super) fn cells_show(evidence: &Evidence) -> bool {
    evidence.unexplained <= FAINT && evidence.correlation >= UNLIKE
}

/// Whether it is clear after how many picks the repeat comes round, and how far apart they are.
pub(super) fn repeat_is_sure(evidence: &Evidence) -> bool {
    evidence.spacing_confidence >= SURE_SPACING
}

/// The warnings that the evidence calls for; `planned` says whether a drawdown and its picks per
/// inch were known.
pub(super) fn doubts(evidence: &Evidence, planned: bool) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code: &str, text: &str| {
        warnings.push(Warning {
            code: code.into(),
            text: text.into(),
        });
    };
    if !repeat_is_sure(evidence) {
        warn(
            "repeat_unplanned",
            "without the plan's drawdown and picks per inch the picks were told from the cloth \
             alone, which isn't clear here: the count may be off by a whole factor; give a plan, or count \
             one inch by hand",
        );
    }
    if evidence.ends_confidence < SURE {
        warn(
            "count_unsure",
            "the first or the last pick is hard to tell from what lies beside it, so the count may \
             be one off: look at both ends in the marked photo",
        );
    }
    if !(FAR_FROM_PLAN.recip()..=FAR_FROM_PLAN).contains(&evidence.against_plan) {
        warn(
            "far_from_plan",
            "the picks lie much closer or wider than planned; a stripe may have been taken for the \
             weave: count one inch by hand",
        );
    }
    // Among hundreds of gaps one is odd for once: it matters where the count isn't sure all the same.
    if let Some(pick) = evidence.jump.filter(|_| evidence.count_confidence < SURE) {
        warn(
            "spacing_jumps",
            &format!(
                "the spacing jumps after pick {}: one may have been missed or counted twice there, or a \
                 header counted with the body; look \
                 at it in the marked photo",
                pick + 1
            ),
        );
    }
    if evidence.unexplained > FAINT {
        warn(
            "picks_faint",
            "the picks hardly show in this photo: take it sharper, with light from one side",
        );
    }
    if evidence.interlaced == Some(false) {
        warn(
            "weave_unsure",
            "what repeats here isn't clearly woven: no ends are seen to go over and under. A cord, a braid, slats or \
             a print would look the same: see in the marked photo whether those lines are picks, and give a plan \
             with a drawdown",
        );
    }
    if planned && evidence.correlation < UNLIKE {
        warn(
            "drawdown_unlike",
            "the cloth doesn't show the plan's drawdown: check that the plan is this band's",
        );
    }
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picks::find::testing::evidence;

    #[test]
    fn a_clear_band_with_its_plan_has_no_doubt() {
        assert!(doubts(&evidence(), true).is_empty());
    }

    #[test]
    fn each_doubt_is_said_once() {
        let poor = Evidence {
            unexplained: 0.9,
            correlation: 0.1,
            against_plan: 1.3,
            count_confidence: 0.5,
            ends_confidence: 0.6,
            jump: Some(4),
            ..evidence()
        };
        let codes: Vec<String> = doubts(&poor, true).into_iter().map(|w| w.code).collect();
        assert_eq!(
            codes,
            [
                "count_unsure",
                "far_from_plan",
                "spacing_jumps",
                "picks_faint",
                "drawdown_unlike"
            ]
        );
        assert!(doubts(&evidence(), false).is_empty());
        let unclear = Evidence {
            spacing_confidence: 0.6,
            ..evidence()
        };
        assert_eq!(doubts(&unclear, false)[0].code, "repeat_unplanned");
    }

    #[test]
    fn one_odd_gap_on_a_sure_band_is_not_spoken_of() {
        let jumps = Evidence {
            jump: Some(4),
            ..evidence()
        };
        assert!(doubts(&jumps, true).is_empty());
    }
}
