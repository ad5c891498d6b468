//! How much yarn do the next bands take, as planned and as the hands really weave?
//!
//! # Method
//! 1. Planned: the worked-out plan times the number of bands.
//! 2. Measured: picks = real picks per inch × planned woven length; weft of one pick = W ×
//!    (1 + crimp), W the real width where the plan says its draw-in, else the width in the loom.
//!    Several bands are [pooled](super::pooled), their spread in the interval.
//! 3. Crimp is what the plan says, else 0. Where it says none, a [weighed](super::Weighed) band
//!    gives it; where the plan says it, the weighing checks it. Where neither is given, Peirce's
//!    geometry offers an [estimate](super::estimate_weft_crimp) that stands beside the sums, not in
//!    them.
//!
//! # Limits
//! A warp is cut before it is woven: its real length isn't in a photo. What stands under
//! `measured.warp` is the planned length with the doubt of cutting and of the take-up.

use super::crimp::{ClothGeometry, estimate_weft_crimp};
use super::pooled::{self, BandFigures, Pooled};
use super::yardage_result::{
    Amount, Crimp, CrimpEstimate, CrimpSource, MeasuredAmount, MeasuredYarn, PlannedYarn,
    YARDAGE_SCHEMA, Yardage,
};
use super::{Firmness, Weighed, diameter_mm};
use crate::measurement::{Measurement, Quantity};
use crate::plan::{Plan, PlanWorked, work_out};
use crate::units::MM_PER_INCH;
use crate::{Error, Result};

/// Most bands that yarn is reckoned for at once.
const MOST_BANDS: u32 = 100_000;
/// By how much strands of one warp differ in length when cut, share (half-width; ours).
const CUT_DOUBT: f64 = 0.005;
/// How far a percentage of the plan may be off: it is written in whole points (half-width).
const STATED_DOUBT: f64 = 0.005;

/// For how many bands, and what was weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct YardageOptions {
    /// Bands to come. Default: 1.
    pub bands: u32,
    /// Mass of one finished band, fringe on and headers off. Default: none.
    pub weighed: Option<Weighed>,
}

impl Default for YardageOptions {
    fn default() -> Self {
        Self {
            bands: 1,
            weighed: None,
        }
    }
}

/// The yarn for `options.bands` bands, as planned and, where bands were measured, as they say.
///
/// ```
/// use evenfell::plan::{Plan, STARTER_PLAN};
/// use evenfell::yarn::{YardageOptions, yardage};
/// let plan = Plan::from_json(STARTER_PLAN)?;
/// let twelve = YardageOptions { bands: 12, ..YardageOptions::default() };
/// let yarn = yardage(&plan, &[], &twelve)?;
/// assert!((yarn.planned.weft.length_m - 12.0 * 4.2132).abs() < 0.01);
/// # Ok::<(), evenfell::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::Request`] for a number of bands that nobody weaves, a measurement without picks, a
/// weighing that can't be.
pub fn yardage(plan: &Plan, measured: &[Measurement], options: &YardageOptions) -> Result<Yardage> {
    if !(1..=MOST_BANDS).contains(&options.bands) {
        return Err(Error::Request {
            what: "bands".to_owned(),
            why: format!(
                "{} is no number of bands: say 1 to {MOST_BANDS}",
                options.bands
            ),
        });
    }
    let worked = work_out(plan);
    let pooled = pooled::pool(plan, &worked, measured, options.bands)?;
    let crimp = crimp(plan, &worked, pooled.as_ref(), options)?;
    let figures = Figures {
        plan,
        worked: &worked,
        bands: f64::from(options.bands),
        crimp: &crimp,
    };
    let planned = figures.planned();
    let measured_yarn = pooled.as_ref().map(|pooled| figures.measured(pooled));
    Ok(Yardage {
        schema: YARDAGE_SCHEMA.to_owned(),
        title: plan.title.clone(),
        bands: options.bands,
        weft_ratio: pooled.as_ref().map(|pooled| pooled.weft_ratio),
        estimate: figures.estimate(pooled.as_ref()),
        notes: notes(plan, measured, pooled.as_ref(), &crimp, options),
        measured: measured_yarn,
        measured_bands: measured.len(),
        assumed_zero: assumed_zero(plan, &crimp),
        planned,
        crimp,
    })
}

fn assumed_zero(plan: &Plan, crimp: &Crimp) -> Vec<String> {
    let mut places = plan.assumed_zero();
    if crimp.source == CrimpSource::Weighed {
        places.retain(|place| place != "weft.crimp");
    }
    places
}

fn crimp(
    plan: &Plan,
    worked: &PlanWorked,
    pooled: Option<&Pooled>,
    options: &YardageOptions,
) -> Result<Crimp> {
    let weighed_percent = options
        .weighed
        .as_ref()
        .map(|weighed| {
            let figures = pooled.map_or_else(
                || BandFigures::planned(plan, worked),
                |pooled| pooled.figures,
            );
            weighed.crimp_percent(plan, worked, figures)
        })
        .transpose()?;
    let (percent, source) = match (plan.weft.crimp, weighed_percent) {
        (Some(crimp), _) => (100.0 * crimp, CrimpSource::Plan),
        (None, Some(weighed)) => (weighed.value, CrimpSource::Weighed),
        (None, None) => (0.0, CrimpSource::NotGiven),
    };
    Ok(Crimp {
        percent,
        source,
        weighed_percent,
    })
}

/// What the sums are made of.
struct Figures<'a> {
    plan: &'a Plan,
    worked: &'a PlanWorked,
    bands: f64,
    crimp: &'a Crimp,
}

impl Figures<'_> {
    /// Warp of all bands, m.
    fn warp_m(&self) -> f64 {
        self.worked.warp_total_mm / 1000.0 * self.bands
    }

    /// Weft of all bands as planned, m.
    fn weft_m(&self) -> f64 {
        let picks = f64::from(self.worked.picks) * self.bands;
        picks * self.plan.weft_width_mm() / 1000.0 * (1.0 + self.crimp.percent / 100.0)
    }

    fn planned(&self) -> PlannedYarn {
        let amount = |length_m: f64, yarn: &Option<super::Yarn>| Amount {
            length_m,
            mass_g: yarn.as_ref().map(|yarn| 1000.0 * yarn.mass_kg(length_m)),
        };
        PlannedYarn {
            picks: self.worked.picks,
            warp: amount(self.warp_m(), &self.plan.warp.yarn),
            weft: amount(self.weft_m(), &self.plan.weft.yarn),
        }
    }

    fn measured(&self, pooled: &Pooled) -> MeasuredYarn {
        let warp_m = self.warp_m();
        let weft_m = self.weft_m() * pooled.weft_ratio.value;
        let ratio_doubt = pooled.weft_ratio.u95 / pooled.weft_ratio.value;
        let weft_doubt = ratio_doubt.hypot(self.crimp_doubt());
        let amount = |length_m: f64, doubt: f64, yarn: &Option<super::Yarn>| MeasuredAmount {
            length_m: Quantity {
                value: length_m,
                u95: length_m * doubt,
            },
            mass_g: yarn.as_ref().map(|yarn| {
                let value = 1000.0 * yarn.mass_kg(length_m);
                Quantity {
                    value,
                    u95: value * doubt,
                }
            }),
        };
        MeasuredYarn {
            picks: pooled.picks,
            warp: amount(warp_m, self.warp_doubt(), &self.plan.warp.yarn),
            weft: amount(weft_m, weft_doubt, &self.plan.weft.yarn),
        }
    }

    /// Half-width of the crimp's doubt as a share of the weft.
    fn crimp_doubt(&self) -> f64 {
        let doubt = match (self.crimp.source, self.crimp.weighed_percent) {
            (CrimpSource::Plan, _) => STATED_DOUBT,
            (CrimpSource::Weighed, Some(weighed)) => weighed.u95 / 100.0,
            _ => 0.0,
        };
        doubt / (1.0 + self.crimp.percent / 100.0)
    }

    /// Half-width of the warp's doubt as a share: cutting, and the stated take-up.
    fn warp_doubt(&self) -> f64 {
        self.plan.warp.take_up.map_or(CUT_DOUBT, |take_up| {
            CUT_DOUBT.hypot(STATED_DOUBT / (1.0 - take_up))
        })
    }

    /// The crimp by Peirce's geometry where the plan gives none and the yarns' diameters are known.
    fn estimate(&self, pooled: Option<&Pooled>) -> Option<CrimpEstimate> {
        if self.crimp.source != CrimpSource::NotGiven {
            return None;
        }
        let figures = pooled.map_or_else(
            || BandFigures::planned(self.plan, self.worked),
            |p| p.figures,
        );
        let crimp_percent = estimate_weft_crimp(&geometry(self.plan, figures)?)?;
        let length_mm = figures.picks * figures.cloth_width_mm * self.bands;
        let factor = 1.0 + crimp_percent.value / 100.0;
        let spread = pooled.map_or(0.0, |p| p.weft_ratio.u95 / p.weft_ratio.value);
        let value = length_mm / 1000.0 * factor;
        Some(CrimpEstimate {
            crimp_percent,
            weft_length_m: Quantity {
                value,
                u95: value * spread.hypot(crimp_percent.u95 / 100.0 / factor),
            },
        })
    }
}

/// The cloth's geometry, where the diameters of both yarns are known.
fn geometry(plan: &Plan, figures: BandFigures) -> Option<ClothGeometry> {
    let of_size =
        |yarn: &Option<super::Yarn>| yarn.as_ref().map(|yarn| diameter_mm(yarn, Firmness::Firm));
    let warp = plan.warp.diameter_mm.or_else(|| {
        of_size(&plan.warp.yarn).map(|strand| strand * f64::from(plan.warp.strands).sqrt())
    })?;
    let weft = plan.weft.diameter_mm.or_else(|| of_size(&plan.weft.yarn))?;
    Some(ClothGeometry {
        end_spacing_mm: figures.cloth_width_mm / f64::from(plan.ends),
        pick_spacing_mm: MM_PER_INCH / figures.per_inch,
        diameters_mm: warp + weft,
        crossings_per_end: plan
            .drawdown
            .as_ref()
            .map_or(1.0, |drawdown| drawdown.crossings_per_end(plan.ends)),
        take_up: plan.warp.take_up,
    })
}

fn notes(
    plan: &Plan,
    measured: &[Measurement],
    pooled: Option<&Pooled>,
    crimp: &Crimp,
    options: &YardageOptions,
) -> Vec<String> {
    let mut notes = Vec::new();
    if measured.len() == 1 && options.bands > 1 {
        notes.push(
            "one measured band doesn't show how the next ones differ: the interval is that of \
             measuring alone; measure three or more"
                .to_owned(),
        );
    }
    notes.extend(
        pooled
            .into_iter()
            .flat_map(|pooled| pooled.notes.iter().cloned()),
    );
    if let (Some(stated), Some(weighed)) = (plan.weft.crimp, crimp.weighed_percent) {
        notes.push(super::weighed::check(100.0 * stated, weighed));
    }
    notes
}

#[cfg(test)]
mod tests;
