//! How far above the plane the cloth shows: its thickness, and what of it a camera sees.
//!
//! # Method
//! 1. The thickness that the plan states; else from its yarns; else from the spacing of the picks.
//! 2. Picks are seen at the cloth's top, selvedges at half of it.
//!
//! # Limits
//! What shows of a round pick lies lower than its crown: on drawn plain weave of round yarn by
//! 0.35 of the thickness, on pressed cloth by nothing. The doubt covers both.

use crate::plan::Plan;
use crate::yarn::{Firmness, Yarn, diameter_mm};

/// How well a stated thickness is known, as a share of it, one standard uncertainty: a weaver
/// measures it with a ruler's edge.
const STATED_U: f64 = 0.15;

/// How well it is known where on the thickness the picks show, as a share of it.
const SEEN_U: f64 = 0.2;

/// Thickness of cloth over the sum of its two yarns' diameters: crossing yarns flatten.
const YARNS: f64 = 0.85;

/// How well that is known, of the thickness: where both yarns are known, and where one is.
const YARNS_U: (f64, f64) = (0.22, 0.35);

/// Thickness over the pick spacing, where nothing else is known, and how well: 0.8 in open
/// balanced cloth, 2.4 where the weft is packed over the warp.
const A_PICK: (f64, f64) = (1.3, 0.5);

/// Thickness where not even the pick spacing is known, mm, and how well.
const OF_A_BAND_MM: (f64, f64) = (1.5, 0.75);

/// Heights above the plane, mm, each with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Heights {
    /// At which the picks are seen.
    pub(super) picks: (f64, f64),
    /// At which the selvedges are seen.
    pub(super) selvedges: (f64, f64),
}

/// The heights of a band woven to that plan, or with that pick spacing.
pub(super) fn heights(plan: Option<&Plan>, pitch_mm: Option<f64>) -> Heights {
    let (thickness, u) = thickness(plan, pitch_mm);
    let u = u.hypot(SEEN_U * thickness);
    Heights {
        picks: (thickness, u),
        selvedges: (0.5 * thickness, 0.5 * u),
    }
}

/// The cloth's thickness and its standard uncertainty, mm.
fn thickness(plan: Option<&Plan>, pitch_mm: Option<f64>) -> (f64, f64) {
    if let Some(stated) = plan.and_then(|plan| plan.thickness_mm) {
        return (stated, STATED_U * stated);
    }
    if let Some(of_yarns) = plan.and_then(by_yarns) {
        return of_yarns;
    }
    pitch_mm.map_or(OF_A_BAND_MM, |pitch| (A_PICK.0 * pitch, A_PICK.1 * pitch))
}

/// Where the weft lies over the warp, both a little flattened.
fn by_yarns(plan: &Plan) -> Option<(f64, f64)> {
    let across = |given: Option<f64>, yarn: Option<&Yarn>| {
        given.or_else(|| yarn.map(|yarn| diameter_mm(yarn, Firmness::default())))
    };
    let warp = across(plan.warp.diameter_mm, plan.warp.yarn.as_ref());
    let weft = across(plan.weft.diameter_mm, plan.weft.yarn.as_ref());
    let (sum, share) = match (warp, weft) {
        (Some(warp), Some(weft)) => (warp + weft, YARNS_U.0),
        (Some(one), None) | (None, Some(one)) => (2.0 * one, YARNS_U.1),
        (None, None) => return None,
    };
    Some((YARNS * sum, share * YARNS * sum))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(more: &str) -> Plan {
        let text = format!(
            r#"{{ "ends": 11, "width_in_loom": "40 mm", "woven_length": "20 cm",
                 "picks": "10 per inch"{more} }}"#
        );
        Plan::from_json(&text).expect("the plan is sound")
    }

    #[test]
    fn a_stated_thickness_comes_before_yarn_and_yarn_before_the_spacing() {
        let stated = plan(r#", "thickness": "2 mm", "weft": { "yarn": "8/4 cotton" }"#);
        assert!((heights(Some(&stated), Some(2.5)).picks.0 - 2.0).abs() < 1e-9);
        // 8/4 cotton is 0.688 mm thick by Ashenhurst's rule: 1680 yd/lb.
        let weft = plan(r#", "weft": { "yarn": "8/4 cotton" }"#);
        let seen = heights(Some(&weft), Some(2.5)).picks;
        assert!((seen.0 - 0.85 * 2.0 * 0.6886).abs() < 0.001, "{seen:?}");
        let bare = heights(Some(&plan("")), Some(2.5));
        assert!((bare.picks.0 - 3.25).abs() < 1e-9);
        assert!((bare.selvedges.0 - 1.625).abs() < 1e-9);
        assert!(bare.picks.1 / bare.picks.0 > seen.1 / seen.0);
    }
}
