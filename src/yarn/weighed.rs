//! What a band's mass says of the weft in it.
//!
//! # Method
//! Mass of the finished band − mass of its warp (body with take-up, and both fringes) = mass of
//! its weft; by the yarn's size its length; over picks × width, the crimp.
//!
//! # Limits
//! Yarn sizes are kept to a few per cent only, which goes straight into the crimp: the interval
//! allows for [`SIZE_DOUBT`] on each.

use super::pooled::BandFigures;
use crate::measurement::Quantity;
use crate::plan::{Plan, PlanWorked};
use crate::units::{KG_PER_POUND, parse_mass_kg, rounded};
use crate::{Error, Result};

/// How far a yarn may be off its size, share (half-width; ours).
const SIZE_DOUBT: f64 = 0.03;
/// Crimps outside this range (fractions) mean that something else was weighed.
const POSSIBLE: std::ops::RangeInclusive<f64> = -0.1..=2.0;

/// Mass of one finished band, fringe on and headers off, with the doubt of its last digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// Mass, kg.
    pub kg: f64,
    /// Half of the last digit's worth, kg.
    pub doubt_kg: f64,
}

impl Weighed {
    /// Reads a mass as it was noted: its last digit says how finely it was weighed.
    ///
    /// ```
    /// let band = evenfell::yarn::Weighed::parse("14.2 g").unwrap();
    /// assert!((band.kg - 0.0142).abs() < 1e-12 && (band.doubt_kg - 0.00005).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    ///
    /// A sentence that quotes the text and says what would be right.
    pub fn parse(text: &str) -> std::result::Result<Self, String> {
        let kg = parse_mass_kg(text)?;
        if kg <= 0.0 {
            return Err(format!(
                "'{}' is nothing: weigh a finished band",
                text.trim()
            ));
        }
        let number_end = text
            .rfind(|c: char| c.is_ascii_digit())
            .map_or(0, |at| at + 1);
        let number = text[..number_end].rsplit(' ').next().unwrap_or_default();
        let decimals = number.split_once('.').map_or(0, |(_, after)| after.len());
        let unit_kg = match text[number_end..].trim().to_lowercase().as_str() {
            "g" => 0.001,
            "kg" => 1.0,
            "oz" => KG_PER_POUND / 16.0,
            "lb" => KG_PER_POUND,
            // Units that are spelled out are read as finely as grams.
            _ => 0.001,
        };
        let places = i32::try_from(decimals).unwrap_or(i32::MAX);
        Ok(Self {
            kg,
            doubt_kg: 0.5 * unit_kg * 0.1_f64.powi(places),
        })
    }

    /// The weft's crimp in a band of these figures, % of the width.
    pub(super) fn crimp_percent(
        &self,
        plan: &Plan,
        worked: &PlanWorked,
        figures: BandFigures,
    ) -> Result<Quantity> {
        let refuse = |why: String| Error::Request {
            what: "weighed".to_owned(),
            why,
        };
        let (Some(warp), Some(weft)) = (&plan.warp.yarn, &plan.weft.yarn) else {
            return Err(refuse(
                "a mass says nothing without both yarns' sizes: give warp.yarn and weft.yarn in \
                 the plan"
                    .to_owned(),
            ));
        };
        let each_mm = worked.warp_each_mm - plan.warp.loom_waste_mm;
        let warp_kg = warp.mass_kg(each_mm * plan.strands() / 1000.0);
        let weft_kg = self.kg - warp_kg;
        let straight_m = figures.picks * figures.weft_width_mm / 1000.0;
        let factor = weft_kg * weft.metres_per_kg / straight_m;
        if !POSSIBLE.contains(&(factor - 1.0)) {
            return Err(refuse(format!(
                "{} g for one band, of which the warp is {} g, leaves {} g of weft, which doesn't \
                 fit its picks: weigh one finished band with its fringe, without headers, and see \
                 that the yarn sizes are right",
                rounded(self.kg * 1000.0, 2),
                rounded(warp_kg * 1000.0, 2),
                rounded(weft_kg * 1000.0, 2)
            )));
        }
        let doubt_kg = self.doubt_kg.hypot(SIZE_DOUBT * warp_kg);
        let doubt = (doubt_kg / weft_kg).hypot(SIZE_DOUBT);
        Ok(Quantity {
            value: 100.0 * (factor - 1.0),
            u95: 100.0 * factor * doubt,
        })
    }
}

/// How a weighed crimp stands to the one that the plan states, in words.
pub(super) fn check(stated_percent: f64, weighed: Quantity) -> String {
    let shown = crate::stats::shown(weighed.value, weighed.u95);
    let stated = rounded(stated_percent, 1);
    if (weighed.value - stated_percent).abs() <= weighed.u95 {
        format!("the weighed band's crimp, {shown} %, agrees with the plan's {stated} %")
    } else {
        format!(
            "the weighed band's crimp is {shown} %, the plan's {stated} %: the sums keep the \
             plan's; if the weighing is right, change weft.crimp"
        )
    }
}
