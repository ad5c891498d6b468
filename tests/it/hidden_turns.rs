//! Turns of the weft that the outline left out, and what only looks like them.

use evenfell::band::BandTrace;
use evenfell::width::hidden_turns;

use super::made_trace::trace;

/// Half the width of the cloth without turns, distance from pick to pick, and how far turns reach out, mm.
const HALF_MM: f64 = 12.0;
const PITCH_MM: f64 = 2.0;
const TURN_MM: f64 = 0.8;
const PICKS: u32 = 30;

/// CIE L* of the warp.
const WARP: f64 = 20.0;

fn centres() -> Vec<f64> {
    (0..PICKS)
        .map(|k| PITCH_MM * (f64::from(k) + 0.5))
        .collect()
}

/// Whether the weft turns at a place of the left (`t` below 0) or the right selvedge.
fn turns_at(s: f64, t: f64) -> bool {
    let pick = (s / PITCH_MM - 0.5).floor() as i64;
    (pick % 2 == 0) == (t > 0.0)
}

/// Cloth with weft between its outermost ends; beyond that `beside`, by the place along and how far outside.
fn band(weft: f64, beside: impl Fn(f64, f64) -> f64) -> BandTrace {
    let look = move |s: f64, t: f64| {
        let outside = t.abs() - HALF_MM;
        let between_picks = (s / PITCH_MM).fract() - 0.5;
        if outside > 0.0 {
            beside(s, outside * t.signum())
        } else if between_picks.abs() < 0.15 && (t / 1.5).floor() as i64 % 2 == 0 {
            weft
        } else {
            WARP
        }
    };
    trace(PITCH_MM * f64::from(PICKS), |_| (HALF_MM, HALF_MM), look)
}

#[test]
fn turns_of_a_yarn_lighter_than_the_ground_are_missed_by_as_much_as_they_reach() {
    let missed = band(85.0, |s, out| {
        if turns_at(s, out) && out.abs() < TURN_MM {
            85.0
        } else {
            60.0
        }
    });
    let reach = hidden_turns(&missed, &centres()).expect("turns");
    assert!((reach - TURN_MM).abs() < 0.15, "{reach}");
}

#[test]
fn turns_as_grey_as_a_shadow_are_told_by_their_sharp_end() {
    let missed = band(50.0, |s, out| {
        if turns_at(s, out) && out.abs() < TURN_MM {
            50.0
        } else {
            90.0
        }
    });
    let reach = hidden_turns(&missed, &centres()).expect("turns");
    assert!((reach - TURN_MM).abs() < 0.15, "{reach}");
}

#[test]
fn a_soft_shadow_beside_every_other_pick_is_no_turn() {
    let shaded = band(50.0, |s, out| {
        let fades = (1.0 - out.abs() / 1.6).max(0.0);
        90.0 - if turns_at(s, out) { 25.0 * fades } else { 0.0 }
    });
    assert_eq!(hidden_turns(&shaded, &centres()), None);
}

#[test]
fn marks_of_the_ground_apart_from_the_selvedge_are_no_turns() {
    let marked = band(50.0, |s, out| {
        let apart = (0.6..0.9).contains(&out.abs());
        if apart && turns_at(s, out) {
            40.0
        } else {
            90.0
        }
    });
    assert_eq!(hidden_turns(&marked, &centres()), None);
}

#[test]
fn a_blurred_selvedge_is_no_turn() {
    let blurred = trace(
        PITCH_MM * f64::from(PICKS),
        |_| (HALF_MM, HALF_MM),
        |_, t| 52.5 - 22.5 * ((t.abs() - HALF_MM) / 1.2).tanh(),
    );
    assert_eq!(hidden_turns(&blurred, &centres()), None);
}

#[test]
fn turns_that_were_followed_and_too_few_picks_say_nothing() {
    let reach = |s: f64, t: f64| HALF_MM + if turns_at(s, t) { TURN_MM } else { 0.0 };
    let followed = trace(
        PITCH_MM * f64::from(PICKS),
        |s| (reach(s, -1.0), reach(s, 1.0)),
        |s, t| if t.abs() < reach(s, t) { 50.0 } else { 90.0 },
    );
    assert_eq!(hidden_turns(&followed, &centres()), None);
    assert_eq!(hidden_turns(&followed, &centres()[..7]), None);
    assert_eq!(hidden_turns(&followed, &[]), None);
}
