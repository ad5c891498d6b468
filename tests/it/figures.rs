//! Figures, findings, warnings and verdicts from a trace and picks made up by hand.

use evenfell::findings::verdict_sentences;
use evenfell::measure::{Options, Seen, figures_of};
use evenfell::measurement::{FindingKind, Measurement, Side, Verdict};
use evenfell::picks::PickTrack;
use evenfell::plan::Plan;

use crate::made_trace::{photo, trace, track, view};

/// 50 picks of 3 mm, loose between 50 and 70 mm.
fn picks() -> PickTrack {
    let mut at = 1.5;
    let spacing: Vec<f64> = (0..49)
        .map(|k| {
            let loose = if (50.0..70.0).contains(&at) { 1.3 } else { 1.0 };
            let step = 3.0 * loose * (1.0 + 0.03 * (f64::from(k) * 2.4).sin());
            at += step;
            step
        })
        .collect();
    track(&spacing)
}

fn plan() -> Plan {
    Plan {
        draw_in: Some(0.08),
        header_picks: Some(0),
        ..Plan::new(11, 40.0, 150.0, 8.2)
    }
}

/// Selvedges that waver a little, the right one pulled in around 100 mm.
fn edges(at: f64) -> (f64, f64) {
    let waver =
        |phase: f64| 0.15 * (at / 4.1 + phase).sin() + 0.12 * (at / 6.3 + 2.0 * phase).cos();
    let pull = 2.0 * (-0.5 * ((at - 100.0) / 5.0_f64).powi(2)).exp();
    (18.5 + waver(0.3), 18.5 + waver(1.9) - pull)
}

fn even(_: f64, across: f64) -> f64 {
    if across.abs() < 18.5 { 75.0 } else { 30.0 }
}

fn measured(track: Option<&PickTrack>, plan: Option<&Plan>) -> Measurement {
    let trace = trace(155.0, edges, even);
    let (photo, view) = (photo(), view());
    let seen = Seen {
        photo: &photo,
        view: &view,
        trace: &trace,
        track,
    };
    figures_of(seen, plan, &Options::default(), Vec::new(), Vec::new())
}

#[test]
fn a_loose_stretch_and_a_pulled_selvedge_are_found_where_they_are() {
    let (picks, plan) = (picks(), plan());
    let m = measured(Some(&picks), Some(&plan));
    let kinds: Vec<FindingKind> = m.findings.iter().map(|f| f.kind).collect();
    assert_eq!(
        kinds,
        [FindingKind::LooseStretch, FindingKind::EdgePull],
        "{:?}",
        m.findings
    );
    let loose = &m.findings[0];
    assert!(
        loose.to_mm.min(70.0) - loose.from_mm.max(50.0) > 12.0,
        "{loose:?}"
    );
    let pull = &m.findings[1];
    assert_eq!(pull.side, Some(Side::Right));
    assert!(pull.from_mm < 100.0 && pull.to_mm > 100.0, "{pull:?}");
    let said = verdict_sentences(&m, Some(&plan));
    assert!(said.len() == 3 && said[2].contains("fell"), "{said:?}");
}

#[test]
fn figures_meet_the_made_up_band() {
    let (picks, plan) = (picks(), plan());
    let m = measured(Some(&picks), Some(&plan));
    let length = picks.body_mm.1;
    let figures = m.picks.as_ref().unwrap();
    assert_eq!(figures.count, Some(50));
    assert!((figures.per_inch.value - 50.0 * 25.4 / length).abs() < 1e-9);
    let width = &m.width.as_ref().unwrap();
    assert!(
        (width.mean_mm.value - 36.84).abs() < 0.05,
        "{:?}",
        width.mean_mm
    );
    let lost = m.draw_in_percent.unwrap();
    assert!((lost.value - 100.0 * (40.0 - width.mean_mm.value) / 40.0).abs() < 1e-9);
    let picks_held = &m.against_plan[0];
    assert_eq!(
        (picks_held.what.as_str(), picks_held.verdict),
        ("picks", Verdict::Within)
    );
}

#[test]
fn without_picks_the_width_stays_and_the_rest_is_said_to_be_missing() {
    let m = measured(None, Some(&plan()));
    assert!(m.picks.is_none() && m.beat.is_none() && m.width.is_some());
    assert!(
        m.length_mm.is_some(),
        "a plan without header leaves the cloth as the body"
    );
    let missing: Vec<&str> = m.unmeasured.iter().map(|u| u.what.as_str()).collect();
    assert_eq!(missing, ["picks", "beat"]);
}

#[test]
fn without_a_plan_there_is_no_draw_in_and_it_is_said() {
    let picks = picks();
    let m = measured(Some(&picks), None);
    assert!(m.draw_in_percent.is_none() && m.against_plan.is_empty());
    assert!(m.unmeasured.iter().any(|u| u.what == "draw_in"));
}

#[test]
fn a_band_that_runs_out_has_a_density_but_no_count() {
    let mut trace = trace(155.0, edges, even);
    trace.runs_out = (false, true);
    let (photo, view, picks) = (photo(), view(), picks());
    let seen = Seen {
        photo: &photo,
        view: &view,
        trace: &trace,
        track: Some(&picks),
    };
    let m = figures_of(seen, None, &Options::default(), Vec::new(), Vec::new());
    let figures = m.picks.unwrap();
    assert_eq!(figures.count, None);
    let run = picks.centres_mm[49] - picks.centres_mm[0];
    assert!((figures.per_inch.value - 49.0 * 25.4 / run).abs() < 1e-9);
    assert!(m.length_mm.is_none() && m.warnings.iter().any(|w| w.code == "cropped"));
}

/// Codes of the warnings for a band of that lightness.
fn warned(lightness: impl Fn(f64, f64) -> f64) -> Vec<String> {
    let trace = trace(155.0, |_| (18.5, 18.5), lightness);
    let (photo, view, picks) = (photo(), view(), picks());
    let seen = Seen {
        photo: &photo,
        view: &view,
        trace: &trace,
        track: Some(&picks),
    };
    let m = figures_of(seen, None, &Options::default(), Vec::new(), Vec::new());
    m.warnings.into_iter().map(|w| w.code).collect()
}

#[test]
fn a_good_photo_is_not_warned_of() {
    assert_eq!(warned(even), Vec::<String>::new());
}

#[test]
fn a_shadow_across_the_band_is_warned_of_and_a_dark_stripe_of_weft_is_not() {
    let shadow = |s: f64, t: f64| even(s, t) * if s > 80.0 { 0.55 } else { 1.0 };
    let shadow_on_pale = |s: f64, t: f64| shadow(s, t) + if t.abs() < 18.5 { 0.0 } else { 30.0 };
    assert_eq!(warned(shadow_on_pale), ["shadow"]);
    let stripe = |s: f64, t: f64| {
        if t.abs() < 18.5 && s > 80.0 {
            45.0
        } else {
            even(s, t)
        }
    };
    assert_eq!(warned(stripe), Vec::<String>::new());
}

#[test]
fn blown_out_threads_and_a_blurred_selvedge_are_warned_of() {
    let glare = |s: f64, t: f64| {
        if (s - 60.0).hypot(t) < 12.0 {
            100.0
        } else {
            even(s, t)
        }
    };
    assert_eq!(warned(glare), ["blown_out"]);
    let blurred = |_: f64, t: f64| 52.5 - 22.5 * ((t.abs() - 18.5) / 1.2).tanh();
    assert_eq!(warned(blurred), ["blurred"]);
}
