//! Turns of the weft that the outline left out, by light or by colour, and what only looks like them.

use evenfell::band::BandTrace;
use evenfell::width::{hidden_turns, seen_turns};
use ndarray::Array2;

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

/// A [`band`], with how red what lies beside the cloth is: its a*, by the place along and how far outside.
fn tinted(weft: f64, beside: impl Fn(f64, f64) -> f64, red: impl Fn(f64, f64) -> f64) -> BandTrace {
    let mut trace = band(weft, beside);
    let straight = &trace.straight;
    let (rows, columns) = straight.lab[0].dim();
    let red = Array2::from_shape_fn((rows, columns), |(row, column)| {
        let s = straight.s0_mm + row as f64 * straight.step_mm;
        let t = straight.t0_mm + column as f64 * straight.step_mm;
        let outside = t.abs() - HALF_MM;
        if outside > 0.0 {
            red(s, outside * t.signum()) as f32
        } else {
            0.0
        }
    });
    trace.straight.lab[1] = red;
    trace
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
fn turns_of_a_shadow_s_grey_are_told_by_the_light_that_comes_and_goes_with_them() {
    let reach_mm = 1.3;
    let missed = band(50.0, |s, out| {
        let shadow = 85.0 - 20.0 * (1.0 - out.abs() / 1.6).max(0.0);
        let turn = ((reach_mm - out.abs()) / 0.5 + 0.5).clamp(0.0, 1.0);
        shadow - if turns_at(s, out) { 7.0 * turn } else { 0.0 }
    });
    let reach = hidden_turns(&missed, &centres()).expect("turns");
    assert!((reach - reach_mm).abs() < 0.3, "{reach}");
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

#[test]
fn turns_of_a_colour_of_their_own_are_seen_with_it() {
    let red = |s: f64, out: f64| {
        if turns_at(s, out) && out.abs() < TURN_MM {
            12.0
        } else {
            0.0
        }
    };
    let seen = seen_turns(&tinted(50.0, |_, _| 70.0, red), &centres()).expect("turns");
    // Half of the rows, on both sides.
    assert!((seen.wider_mm - TURN_MM).abs() < 0.2, "{}", seen.wider_mm);
    let far = |lab: &[f32; 3]| (lab[0] - 70.0).hypot(lab[1] - 12.0);
    assert!(seen.lab.iter().all(|lab| far(lab) < 3.0), "{:?}", seen.lab);
}

#[test]
fn a_printed_line_beside_the_band_a_tinted_shadow_and_grey_turns_show_no_colour_of_turns() {
    let line = |_: f64, out: f64| {
        if (0.2..0.7).contains(&out.abs()) {
            20.0
        } else {
            0.0
        }
    };
    let printed = tinted(50.0, |_, _| 70.0, line);
    let fades = |s: f64, out: f64| {
        let fades = (1.0 - out.abs() / 1.6).max(0.0);
        if turns_at(s, out) { fades } else { 0.0 }
    };
    let shaded = tinted(
        50.0,
        |s, out| 90.0 - 40.0 * fades(s, out),
        |s, out| 5.0 * fades(s, out),
    );
    let grey = band(50.0, |s, out| {
        if turns_at(s, out) && out.abs() < TURN_MM {
            50.0
        } else {
            90.0
        }
    });
    for (what, trace) in [("line", printed), ("shadow", shaded), ("grey", grey)] {
        assert!(seen_turns(&trace, &centres()).is_none(), "{what}");
    }
}

#[test]
fn too_few_picks_show_no_colour_of_turns() {
    let all_red = tinted(50.0, |_, _| 70.0, |_, _| 12.0);
    assert!(seen_turns(&all_red, &centres()[..7]).is_none());
    assert!(seen_turns(&all_red, &[]).is_none());
}
