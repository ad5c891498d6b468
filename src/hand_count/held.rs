//! Does the weaver's count agree with the program's, and what would the difference mean?
//!
//! # Method
//! 1. The program's picks over the same stretch, parts of picks at its two ends counted in; without
//!    a place, its picks per inch over the whole times the length.
//! 2. The doubt of a hand count: where it begins and ends within a pick, half a pick either way at
//!    each end (a quarter where the weaver counted parts of picks), and the ruler's marks.
//! 3. The doubt of the place: two millimetres either way, by how much denser the cloth is at one end
//!    of the stretch than at the other.
//! 4. They agree where they differ by less than the 95 % interval of their difference.

use super::HandCountRequest;
use crate::beat::{MM_PER_INCH, PickPlaces};
use crate::measurement::{HandCount, Quantity};
use crate::stats::{Estimate, shown};

/// How far the place of a hand count may be off, one standard uncertainty, mm.
const PLACE_U_MM: f64 = 1.2;

/// How well each mark of a ruler is read against the cloth, one standard uncertainty, mm.
const RULER_U_MM: f64 = 0.25;

/// Holds a hand count beside the picks that were found; `per_inch` is the whole band's.
///
/// # Errors
///
/// In words, why the two can't be held beside each other.
pub fn hold(
    request: &HandCountRequest,
    places: &PickPlaces,
    per_inch: Quantity,
) -> Result<HandCount, String> {
    let measured = match request.at_mm {
        Some(at) => over_stretch(places, at, at + request.over_mm)?,
        None => {
            let picks = per_inch.value * request.over_mm / MM_PER_INCH;
            Estimate::new(picks, picks * per_inch.u95 / per_inch.value / 1.96, 0.0)
        }
    };
    let counted = Estimate::new(request.picks, counting_u(request), 0.0);
    let difference = counted.value - measured.value;
    let doubt = counted.u95().hypot(measured.u95());
    let agree = difference.abs() <= doubt;
    let percent = 100.0 * difference / measured.value;
    Ok(HandCount {
        counted: counted.into(),
        over_mm: request.over_mm,
        at_mm: request.at_mm,
        measured: measured.into(),
        agree,
        difference_percent: percent,
        text: words(request, measured, doubt, agree),
    })
}

/// One standard uncertainty of the count itself, picks.
fn counting_u(request: &HandCountRequest) -> f64 {
    let either_way = if request.picks.fract().abs() < 1e-9 {
        0.5
    } else {
        0.25
    };
    // Anywhere within that, at both ends.
    let ends = either_way / 3.0_f64.sqrt() * 2.0_f64.sqrt();
    let ruler = RULER_U_MM * 2.0_f64.sqrt() * request.picks / request.over_mm;
    ends.hypot(ruler)
}

/// Picks between two places, parts counted in.
fn over_stretch(places: &PickPlaces, from: f64, to: f64) -> Result<Estimate, String> {
    let length = places.length_mm.value;
    if from < -PLACE_U_MM || to > length + PLACE_U_MM {
        return Err(format!(
            "that stretch reaches from {:.0} to {:.0} mm, and picks were found from 0 to {length:.0} \
             mm: count within them",
            from, to
        ));
    }
    let c = &places.centres_mm;
    let index = |s: f64| -> f64 {
        let k = c.partition_point(|p| *p <= s).clamp(1, c.len() - 1);
        k as f64 - 1.0 + (s - c[k - 1]) / (c[k] - c[k - 1])
    };
    if c.len() < 3 {
        return Err("too few picks were found to hold a count beside".into());
    }
    let picks = index(to) - index(from);
    let shifted = |by: f64| index(to + by) - index(from + by);
    let by_place = 0.5 * (shifted(PLACE_U_MM) - shifted(-PLACE_U_MM)).abs();
    let pitch = (c[c.len() - 1] - c[0]) / (c.len() - 1) as f64;
    let own = places.centre_u_mm.iter().copied().fold(0.0, f64::max) * 2.0_f64.sqrt() / pitch;
    let scale = picks * places.length_mm.scale / length.max(f64::MIN_POSITIVE);
    Ok(Estimate::new(picks, own.hypot(by_place), scale))
}

/// What it comes to.
fn words(request: &HandCountRequest, measured: Estimate, doubt: f64, agree: bool) -> String {
    let (over, at) = &request.typed;
    let place = at.as_ref().map_or_else(
        || "over the whole band".to_owned(),
        |at| format!("from {at} on"),
    );
    let (counted, seen) = (request.picks, shown(measured.value, measured.u95()));
    let head =
        format!("You counted {counted} picks in {over}; the program finds {seen} there ({place}).");
    let one = 100.0 / measured.value;
    let ends = format!(
        "A pick more or less is {one:.0} % over this length: count over a longer one to tell finer."
    );
    if agree {
        return format!("{head} The two agree within their doubts (±{doubt:.1} picks). {ends}");
    }
    format!(
        "{head} They differ by more than both doubts (±{doubt:.1} picks): {} {ends}",
        cause(counted, measured.value, doubt)
    )
}

/// What most likely lies behind a difference.
fn cause(counted: f64, seen: f64, doubt: f64) -> String {
    let near = |times: f64| (counted - times * seen).abs() <= doubt * times.max(1.0);
    let difference = counted - seen;
    if near(0.5) && (counted - seen).abs() > 1.6 {
        "yours is half of it. Where only every second pick shows on this face, or two lie in one shed, \
         one of the counts takes two picks for one: look at a crossing closely, from the back too."
            .into()
    } else if near(2.0) {
        "yours is twice as many. Either the two plies of a pick or both its edges were counted, or the \
         program takes two picks for one: look at a crossing closely."
            .into()
    } else if let Some(times) = (3..=8).find(|t| near(1.0 / f64::from(*t))) {
        format!("yours is about one in {times}: were the rows of one repeat counted as one pick?")
    } else if difference.abs() < 2.2 {
        let (more, which) = if difference > 0.0 {
            ("more", "both the first and the last")
        } else {
            ("fewer", "neither the first nor the last")
        };
        format!(
            "yours is {:.1} {more}, as when {which} were counted whole. Count the gaps from the middle \
             of one pick to the middle of another.",
            difference.abs()
        )
    } else {
        format!(
            "yours is {:.0} % {}. Check the place and the length that you counted over, and the scale.",
            100.0 * difference.abs() / seen,
            if difference > 0.0 { "more" } else { "fewer" }
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hundred picks, 2.54 mm apart, the first one's edge at 0.
    fn places() -> PickPlaces {
        PickPlaces {
            centres_mm: (0..100).map(|k| 2.54 * (f64::from(k) + 0.5)).collect(),
            noise_u_mm: vec![0.03; 100],
            own_u_mm: vec![0.03; 100],
            halves_mm: None,
            weft_hides_warp: false,
            centre_u_mm: vec![0.03; 100],
            rows: None,
            length_mm: Estimate::new(254.0, 0.05, 0.4),
        }
    }

    fn held(text: &str) -> HandCount {
        let per_inch = Quantity {
            value: 10.0,
            u95: 0.04,
        };
        hold(&text.parse().unwrap(), &places(), per_inch).unwrap()
    }

    #[test]
    fn a_right_count_agrees_wherever_it_is_made() {
        for text in ["10 in 1 in at 2 in", "10 in 1 in", "40 in 4 in at 3 in"] {
            let held = held(text);
            assert!(held.agree, "{held:?}");
            assert!((held.measured.value / held.counted.value - 1.0).abs() < 0.01);
        }
        let longer = held("40 in 4 in at 3 in");
        assert!((longer.measured.value - 40.0).abs() < 1e-9 && longer.counted.u95 < 1.1);
    }

    #[test]
    fn one_too_many_in_an_inch_can_just_be_told_and_is_nine_or_ten_per_cent() {
        let one = held("11 in 1 in at 2 in");
        assert!((one.difference_percent - 10.0).abs() < 0.1, "{one:?}");
        assert!(!one.agree || one.text.contains("agree"), "{one:?}");
        let two = held("12 in 1 in at 2 in");
        assert!(!two.agree && two.text.contains("counted whole"), "{two:?}");
        let part = held("11.5 in 1 in at 2 in");
        assert!(!part.agree, "a count in parts of a pick is finer: {part:?}");
    }

    #[test]
    fn half_and_double_are_said_to_be_that() {
        assert!(held("20 in 4 in").text.contains("half of it"));
        assert!(held("80 in 4 in").text.contains("twice as many"));
        assert!(held("13 in 4 in").text.contains("one in 3"));
        assert!(held("46 in 4 in").text.contains("15 % more"));
    }

    #[test]
    fn a_stretch_beyond_the_picks_is_not_held() {
        let request = "11 in 1 in at 9.5 in".parse().unwrap();
        let per_inch = Quantity {
            value: 10.0,
            u95: 0.04,
        };
        let why = hold(&request, &places(), per_inch).unwrap_err();
        assert!(why.contains("0 to 254 mm"), "{why}");
    }
}
